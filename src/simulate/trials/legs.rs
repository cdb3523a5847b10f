//! From one decision to the next: what becomes of every charge in every tier, through the step.
//!
//! A leg is the time between two instants at which somebody decides. For each of some trials, with
//! its own sky, and each leg, the step is run from each charge of a grid in each tier. All else that
//! a station remembers (battery temperature, fuel, latches) is as it is when the same trial comes
//! there in the fullest tier; latches are closed and sources in bulk where a leg begins.

use rayon::prelude::*;

use super::book::LightBook;
use super::company::Company;
use super::drawn::Drawn;
use super::meeting::{Meeting, Room};
use super::prepare::{Prepared, Way};
use super::terms::Terms;
use crate::numbers::lane::Single;
use crate::plan::{Plan, Slice};
use crate::simulate::guard::{self, Impossible};
use crate::simulate::state::State;
use crate::simulate::step::run_slice;

/// What one leg of one trial comes to from each charge, tier by tier.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Leg {
    /// Length, h.
    pub hours: f64,
    /// Of these, with somebody there, h.
    pub attended_h: f64,
    /// Charge of the trial in the fullest tier as it begins: at the first leg that of the trial.
    pub from_share: f64,
    /// Energy that the panels could give in the 24 h before it, Wh; `None` with less than 12 h of
    /// the trial before it.
    pub sun_before_wh: Option<f64>,
    /// By tier, then charge of the table: the charge at its end.
    pub to_share: Vec<Vec<f64>>,
    /// By tier, then charge of the table: hours without an essential load.
    pub no_power_h: Vec<Vec<f64>>,
}

/// Steps of the span at which somebody decides, the span's beginning always among them: `None`
/// where trials do not all go the same way.
#[must_use]
pub fn decisions(prepared: &Prepared) -> Option<Vec<usize>> {
    let plan = prepared.variants.first().filter(|_| prepared.begin_hours.is_none())?;
    let first = prepared.slice_at(prepared.settling_steps);
    let end = prepared.slice_at(prepared.settling_steps + prepared.span_steps);
    let mut slices: Vec<usize> =
        (first..end).filter(|at| *at == first || plan.slices[*at].decides).collect();
    slices.dedup();
    Some(slices)
}

/// When a slice begins, h since the span began.
#[must_use]
pub fn begins_h(prepared: &Prepared, slice: usize) -> f64 {
    let at = |slice: usize| prepared.exposure.slices.get(slice).map_or(0.0, |it| it.begins_h);
    at(slice) - at(prepared.slice_at(prepared.settling_steps))
}

/// The legs of some trials that begin at the slices named, each up to the next or to the end
/// of the span, from the charges of a grid.
///
/// # Errors
/// When one comes to something that no station can come to.
pub fn legs(
    prepared: &Prepared,
    trials: std::ops::Range<u64>,
    begins: &[usize],
    charges: &[f64],
) -> Result<Vec<Vec<Leg>>, Impossible> {
    let of_trial = |trial| Trial::new(prepared, trial).legs(begins, charges);
    let legs: Vec<Vec<Leg>> = trials.clone().into_par_iter().map(of_trial).collect();
    for (trial, of_trial) in trials.zip(&legs) {
        let all = of_trial.iter().try_for_each(Leg::possible);
        all.map_err(|it| it.of(&format!("trial {trial}")))?;
    }
    Ok(legs)
}

impl Leg {
    /// Whether a station can come to it.
    fn possible(&self) -> Result<(), Impossible> {
        guard::charge(self.from_share)?;
        self.to_share.iter().flatten().try_for_each(|share| guard::charge(*share))?;
        let dark = |no_power_h: &f64| guard::hours("the time off the air", *no_power_h, self.hours);
        self.no_power_h.iter().flatten().try_for_each(dark)
    }
}

/// One trial, slice by slice.
struct Trial<'a> {
    prepared: &'a Prepared,
    plan: &'a Plan,
    trial: u64,
    terms: Terms,
    drawn: [Drawn; 1],
    first: usize,
    end: usize,
}

impl<'a> Trial<'a> {
    fn new(prepared: &'a Prepared, trial: u64) -> Self {
        let way: Way = prepared.way_of(trial);
        let mut drawn = [Drawn::default()];
        drawn[0].draw(prepared, trial, way, false);
        Self {
            prepared,
            plan: &prepared.variants[way.variant],
            trial,
            terms: Terms::of(&prepared.variants[way.variant]),
            drawn,
            first: prepared.slice_at(way.first_step),
            end: prepared.slice_at(way.first_step + prepared.settling_steps + prepared.span_steps),
        }
    }

    fn legs(&self, begins: &[usize], charges: &[f64]) -> Vec<Leg> {
        let tiers = self.plan.tiers.count;
        let mut state = State::<f64>::at_start(self.plan, Single);
        state.battery_c = self.drawn[0].first_c;
        state.charge = self.drawn[0].start_share;
        state.at_hand = state.charge;
        if let Some((below_c, _)) = self.plan.battery.charge_inhibit_c {
            state.too_cold = state.battery_c < below_c;
        }
        let company = Company::all(&self.drawn);
        let first = self.prepared.way_of(self.trial).first_step;
        let steps = first..first + self.prepared.steps();
        let room = &mut Room::default();
        let meeting = &mut Meeting::new(Single, company, self.prepared, first, steps, room);
        let mut at = self.first;
        let mut found = Vec::with_capacity(begins.len());
        for (number, begin) in begins.iter().enumerate() {
            let end = begins.get(number + 1).copied().unwrap_or(self.end);
            self.run(meeting, &mut state, at..*begin, 0);
            let mut leg = Leg {
                hours: (*begin..end).map(|slice| self.plan.slices[slice].hours).sum(),
                attended_h: (*begin..end)
                    .map(|at| &self.plan.slices[at])
                    .filter(|slice| slice.attended)
                    .map(|slice| slice.hours)
                    .sum(),
                from_share: state.charge,
                sun_before_wh: self.sun_before_wh(*begin),
                to_share: vec![Vec::with_capacity(charges.len()); tiers],
                no_power_h: vec![Vec::with_capacity(charges.len()); tiers],
            };
            for tier in 0..tiers {
                for charge in charges {
                    let mut from = State::<f64>::at_start(self.plan, Single);
                    from.battery_c = state.battery_c;
                    from.too_cold = state.too_cold;
                    from.tank_l = state.tank_l;
                    from.cans_l = state.cans_l;
                    from.charge = *charge;
                    from.at_hand = *charge;
                    let no_power_h = self.run(meeting, &mut from, *begin..end, tier);
                    leg.to_share[tier].push(from.charge);
                    leg.no_power_h[tier].push(no_power_h);
                }
            }
            found.push(leg);
            at = *begin;
        }
        found
    }

    /// Runs slices in a tier and gives the hours without an essential load.
    fn run(
        &self,
        meeting: &mut Meeting<'_>,
        state: &mut State<f64>,
        slices: std::ops::Range<usize>,
        tier: usize,
    ) -> f64 {
        #[allow(clippy::cast_precision_loss)]
        let in_tier = tier as f64;
        meeting.skip_to(slices.start - self.first);
        let mut inputs = meeting.nothing(Single, self.prepared);
        let mut book = LightBook::new(Single, &self.terms, self.plan, 0, false);
        for at in slices {
            let slice = &self.plan.slices[at];
            let local = at - self.first;
            meeting.see(Single, local, slice.step, &mut inputs);
            let cut = meeting.is_cut(local);
            let mut part = Slice { decides: false, ..slice.clone() };
            let mut from_h = 0.0;
            loop {
                if cut {
                    let to_h = meeting.next_change(Single, local, slice.hours);
                    inputs.part_h = Some(to_h - from_h);
                    from_h = to_h;
                }
                state.tier = in_tier;
                run_slice(self.plan, &part, &inputs, state, &mut book);
                if !cut || !meeting.turn(Single, local, &mut inputs) {
                    break;
                }
                part.looks = false;
            }
        }
        book.no_power_h()
    }

    /// What the panels could give in the day before a slice, Wh.
    fn sun_before_wh(&self, slice: usize) -> Option<f64> {
        let sources = self.prepared.sun_sources();
        let (mut hours, mut energy_wh) = (0.0, 0.0);
        for at in (self.first..slice).rev() {
            let slice_h = self.plan.slices[at].hours;
            let from = (at - self.first) * sources;
            let watts: f64 = self.drawn[0].available_w[from..from + sources].iter().sum();
            energy_wh += watts * slice_h;
            hours += slice_h;
            if hours >= 24.0 - 1e-9 {
                break;
            }
        }
        (hours >= 12.0).then_some(energy_wh)
    }
}
