//! Trials side by side on their way through a plan.
//!
//! The one place that knows in what order a step of a trial happens: what happens to it, the step's slices,
//! what the book takes down. Trials of one station, branches of a year and the stations of a club
//! all go this way.

use super::book::LightBook;
use super::company::Company;
use super::engine::Leg;
use super::meeting::{Meeting, Room, Storms};
use super::prepare::Prepared;
use super::terms::Terms;
use crate::numbers::lane::{Lane, Width};
use crate::plan::{Plan, Slice};
use crate::simulate::phase::{Book, Phase};
use crate::simulate::state::State;
use crate::simulate::step::{Inputs, run_slice};

/// Where a step lies.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage {
    Settles,
    Counts,
    After,
}

/// Trials on their way through a plan, step by step.
pub(super) struct Walk<'a, W: Width> {
    w: W,
    prepared: &'a Prepared,
    plan: &'a Plan,
    leg: Leg<'a>,
    meeting: Meeting<'a>,
    inputs: Inputs<W::Lane>,
    /// The first slice of the leg.
    first_slice: usize,
    /// What the station remembers.
    pub(super) state: State<W::Lane>,
    terms: &'a Terms,
    only_off_air: bool,
    /// The storms, once the span has begun.
    storms: Option<Storms<W::Lane>>,
    /// The book of the span, once that has begun or somebody asks for it.
    book: Option<Box<LightBook<'a, W::Lane>>>,
}

impl<'a, W: Width> Walk<'a, W> {
    /// Before the first step. The book counts nothing but when a trial was first off the air if that
    /// is all that is wanted.
    #[inline(always)]
    pub(super) fn new(
        w: W,
        prepared: &'a Prepared,
        terms: &'a Terms,
        leg: Leg<'a>,
        company: Company<'a>,
        room: &'a mut Room,
        only_off_air: bool,
    ) -> Self {
        let plan = &prepared.variants[leg.variant];
        let steps = leg.first_step..leg.first_step + leg.steps();
        let meeting = Meeting::new(w, company, prepared, leg.drawn_from, steps, room);
        let state = match leg.start {
            Some(states) => states.side_by_side(plan, w),
            None => {
                let mut state = State::<W::Lane>::at_start(plan, w);
                state.battery_c = w.by_lane(|lane| meeting.of(lane).first_c);
                state.charge = w.by_lane(|lane| meeting.of(lane).start_share);
                state.at_hand = state.charge;
                if let Some((below_c, _)) = plan.battery.charge_inhibit_c {
                    state.too_cold = state.battery_c.lt(w.splat(below_c));
                }
                state
            }
        };
        let inputs = meeting.nothing(w, prepared);
        let first_slice = prepared.slice_at(leg.first_step);
        Self {
            w,
            prepared,
            plan,
            leg,
            meeting,
            inputs,
            first_slice,
            state,
            terms,
            only_off_air,
            storms: None,
            book: None,
        }
    }

    /// The book of the span.
    #[inline(always)]
    pub(super) fn book(&mut self) -> &mut LightBook<'a, W::Lane> {
        match &mut self.book {
            Some(book) => book,
            none @ None => {
                let steps = self.leg.span_steps;
                let (w, only_off_air) = (self.w, self.only_off_air);
                none.insert(Box::new(LightBook::new(w, self.terms, self.plan, steps, only_off_air)))
            }
        }
    }

    /// One step, counted from the first; `beside` takes down phases too while the span lasts.
    #[inline(always)]
    #[allow(clippy::cast_precision_loss)]
    pub(super) fn step<B: Book<W::Lane>>(&mut self, number: usize, beside: &mut B) {
        let leg = self.leg;
        let stage = match number {
            _ if number < leg.settling_steps => Stage::Settles,
            _ if number < leg.settling_steps + leg.span_steps => Stage::Counts,
            _ => Stage::After,
        };
        if stage != Stage::Settles {
            self.book();
        }
        let Self { w, prepared, plan, meeting, inputs, state, storms, book, .. } = self;
        let first_slice = self.first_slice;
        let (w, prepared, plan) = (*w, *prepared, *plan);
        // Nothing of what warms up is written down.
        let mut book = book.as_deref_mut().filter(|_| stage != Stage::Settles);
        let step_h = prepared.step_h;
        let counts = stage == Stage::Counts;
        // Steps of the span, and those after it, that are over.
        let over = number.saturating_sub(leg.settling_steps);
        let (begin_h, end_h) = (over as f64 * step_h, (over + 1) as f64 * step_h);
        let mut now_h = w.splat(begin_h);
        let mut grid = w.all(true);
        if let Some(book) = &mut book {
            if over == 0 {
                book.begin_span(state);
            }
            book.begin_step(begin_h);
        }
        let step = leg.first_step + number;
        let (from, end) = (prepared.slice_at(step), prepared.slice_at(step + 1));
        for (at, slice) in (from..end).zip(&plan.slices[from..end]) {
            let local = at - first_slice;
            meeting.see(w, local, number, inputs);
            let cut = meeting.is_cut(local);
            // Rules look as the slice begins, not where it is cut.
            let rest = cut.then(|| Slice { looks: false, decides: false, ..slice.clone() });
            let mut part = slice;
            let mut from_h = w.splat(0.0);
            loop {
                if cut {
                    let to_h = meeting.next_change(w, local, slice.hours);
                    inputs.part_h = Some(to_h - from_h);
                    from_h = to_h;
                }
                if let Some(book) = &mut book {
                    book.see_grid(inputs.grid, now_h, counts);
                }
                let counted = book.as_deref_mut().filter(|_| counts);
                let mut kept = Kept { book: counted, beside: &mut *beside };
                run_slice(plan, part, inputs, state, &mut kept);
                now_h = now_h + inputs.part_h.unwrap_or_else(|| w.splat(slice.hours));
                if counts && let Some(book) = &mut book {
                    book.end_slice(plan, inputs, state, now_h);
                }
                grid = inputs.grid;
                if !cut || !meeting.turn(w, local, inputs) {
                    break;
                }
                part = rest.as_ref().unwrap_or(slice);
            }
            if counts
                && prepared.events.storm.is_some()
                && plan.supply.is_some()
                && let Some(book) = &mut book
            {
                let begins_h = prepared.exposure.slices[at].begins_h;
                let of_all = match *storms {
                    Some(of_all) => of_all,
                    None => meeting.storms(w),
                };
                *storms = Some(of_all);
                let storm_h = meeting.storm_h(w, &of_all, begins_h, slice.hours);
                book.see_plug(plan, slice, inputs, state, storm_h);
            }
        }
        let Some(book) = book else { return };
        if counts {
            let steps_a_day = 24 * prepared.steps_an_hour;
            let day_ends = (over + 1).is_multiple_of(steps_a_day) || over + 1 == leg.span_steps;
            book.end_step(plan, state, grid, (end_h, step_h), day_ends);
        }
        book.see_charge(state, end_h);
    }

    /// A step in which nothing is there to be stepped: the mains goes its way.
    pub(super) fn pass(&mut self, number: usize) {
        let next_slice = self.prepared.slice_at(self.leg.first_step + number + 1);
        self.meeting.skip_to(next_slice - self.first_slice);
    }

    /// The plan that is walked through.
    pub(super) fn plan(&self) -> &'a Plan {
        self.plan
    }
}

/// Takes nothing down.
pub(super) struct Nothing;

impl<F: Lane> Book<F> for Nothing {
    #[inline(always)]
    fn phase(&mut self, _: &Plan, _: &Slice, _: &Phase<F>) {}
}

/// The book while the span lasts, nothing besides.
struct Kept<'a, 'b, F: Lane, B> {
    book: Option<&'a mut LightBook<'b, F>>,
    beside: &'a mut B,
}

impl<F: Lane, B: Book<F>> Book<F> for Kept<'_, '_, F, B> {
    #[inline(always)]
    fn phase(&mut self, plan: &Plan, slice: &Slice, phase: &Phase<F>) {
        if let Some(book) = &mut self.book {
            book.phase(plan, slice, phase);
        }
        self.beside.phase(plan, slice, phase);
    }

    #[inline(always)]
    fn takes(&self) -> bool {
        self.book.is_some()
    }
}
