//! A phase the long way: thresholds, what changes at once, how it goes on.

use super::course::{Ahead, Course};
use super::events::{close, drop_out, end_bulk, retry};
use super::offers::{Offer, Threshold};
use super::pieces::{FreeCourse, FreeNow, HeldCourse, Thresholds, TwoWellCourse, TwoWellRegimes};
use super::wells::Held;
use super::{Asked, FEW, here};
use crate::numbers::lane::{Lane, Mask, Piece, Width};
use crate::plan::Plan;
use crate::simulate::state::State;

/// What bounds a phase.
pub(super) struct Facts<F: Lane> {
    pub(super) charge_limit_a: F,
    pub(super) ahead: Ahead<F>,
}

/// How a phase went.
pub(super) struct Gone<F: Lane> {
    pub(super) course: Course<F>,
    /// Lanes in which something changed that takes no time: they go round again.
    pub(super) changed: F::Mask,
    /// Volts that a source holds; 0 where none does.
    pub(super) held_v: F,
    pub(super) block_v: F,
    pub(super) blocked: F::Mask,
}

/// A phase the long way: thresholds, what changes at once, how it goes on.
#[inline(always)]
pub(super) fn go<F: Lane, const S: usize>(
    plan: &Plan,
    state: &mut State<F>,
    waiting: F::Mask,
    asked: &Asked<F>,
    offers: &mut [Offer<F>],
    facts: &Facts<F>,
) -> Gone<F> {
    let w = state.charge.width();
    let zero = w.splat(0.0);
    let second = if S > FEW { plan.battery.second.as_ref() } else { None };
    let Asked { sheds, ref demand, .. } = *asked;
    let Facts { charge_limit_a, ref ahead } = *facts;
    let Ahead { most_h, empty_share, self_discharge_a, .. } = *ahead;
    let mut changed = w.all(false);
    let (mut held, mut held_v, mut held_most_a);
    let mut thresholds = [Threshold::unknown(w); S];
    let thresholds = &mut thresholds[..offers.len()];
    let charge_ohm = loop {
        let placed = Thresholds {
            plan,
            state,
            demand,
            charge_limit_a,
            self_discharge_a,
            offers: &mut *offers,
            into: &mut *thresholds,
        };
        let charge_ohm = match second {
            None => here::<F, S, _>(w, placed),
            Some(second) => w.apart(TwoWellRegimes { second, most_h, of: placed }),
        };
        (held, held_v, held_most_a) = (w.all(false), zero, zero);
        for (offer, at) in offers.iter().zip(&*thresholds) {
            let holds = offer.live.and(offer.full.not()).and(offer.off.not());
            held_v = F::select(holds, offer.set_v, held_v);
            held_most_a = F::select(holds, at.with_a, held_most_a);
            held = held.or(holds);
        }
        // Changes that take no time. A source that goes over to float only has other thresholds...
        let ends = end_bulk(plan, state, waiting, offers, thresholds, held, held_v);
        if second.is_some() {
            changed = ends;
            break charge_ohm;
        }
        if !ends.any() {
            break charge_ohm;
        }
        for offer in &mut *offers {
            offer.tune(plan, state);
        }
    };
    // ... after the others the lane goes round again.
    if sheds {
        changed = changed.or(retry(state, waiting));
    }
    let (offers, thresholds) = (&*offers, &*thresholds);
    let course;
    let mut block_v = zero;
    let mut blocked = w.all(false);
    // A lane that waits for others counts for nothing.
    if second.is_none() && !waiting.and(held.not()).any() {
        changed = changed.or(close(plan, state, waiting, held_v));
        let held_course = HeldCourse { plan, state, offers, thresholds, held_v, ahead };
        course = here::<F, S, _>(w, held_course);
    } else {
        let free_now =
            FreeNow { plan, state, demand, offers, charge_limit_a, self_discharge_a, charge_ohm };
        let free = here::<F, S, _>(w, free_now);
        let level_v = F::select(held, held_v, free.first_v);
        changed = changed.or(close(plan, state, waiting, level_v)).or(drop_out(
            plan,
            state,
            waiting,
            &free,
            held,
            empty_share,
        ));
        let free_course = FreeCourse { bus: &free, plan, state, demand, offers, thresholds, ahead };
        course = if let Some(second) = second {
            let held = Held { held, volts: held_v, most_a: held_most_a };
            w.apart(TwoWellCourse { second, free: free_course, held, charge_limit_a })
        } else {
            let free_course = here::<F, S, _>(w, free_course);
            if held.any() {
                let held_course = HeldCourse { plan, state, offers, thresholds, held_v, ahead };
                let held_course = here::<F, S, _>(w, held_course);
                held_course.where_else(held, &free_course)
            } else {
                free_course
            }
        };
        block_v = free.block_v;
        blocked = free.blocked.and(held.not());
    }
    Gone { course, changed, held_v: F::select(held, held_v, zero), block_v, blocked }
}

/// [`go`].
pub(super) struct LongWay<'a, F: Lane, const S: usize> {
    pub(super) plan: &'a Plan,
    pub(super) state: &'a mut State<F>,
    pub(super) waiting: F::Mask,
    pub(super) asked: &'a Asked<F>,
    pub(super) offers: &'a mut [Offer<F>],
    pub(super) facts: &'a Facts<F>,
}

impl<F: Lane, const S: usize> Piece for LongWay<'_, F, S> {
    type Output = Gone<F>;

    #[inline(always)]
    fn done(self) -> Gone<F> {
        go::<F, S>(self.plan, self.state, self.waiting, self.asked, self.offers, self.facts)
    }
}
