//! Prepared trials changed on the spot: one tier held, an earlier end, an engine started at once.
//! The tables of the sky, which cost most to prepare, stay.

use super::prepare::Prepared;
use crate::plan::TierPlan;

impl Prepared {
    /// Holds one tier for good; the station counts as off the air only while it is dark.
    pub fn hold(&mut self, tier: usize) {
        for plan in &mut self.variants {
            plan.tiers = TierPlan::held(plan.tiers.count, tier);
            plan.heads.tiers_on_air.clear();
        }
    }

    /// Ends the span after so many hours, rounded up to whole steps, and nothing is watched after it.
    /// Never makes it longer.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    pub fn end_after(&mut self, hours: f64) {
        let steps = (hours / self.step_h - 1e-9).ceil().max(1.0) as usize;
        self.span_steps = self.span_steps.min(steps);
        self.after_steps = 0;
    }

    /// Makes every day as dark as the darkest of so large a share of its like, or draws the days
    /// again. Gives whether it could.
    pub fn darkest(&mut self, share: Option<f64>) -> bool {
        match share {
            Some(share) => self.weather.hold_at(share),
            None => {
                self.weather.let_go();
                true
            }
        }
    }

    /// Leaves the generator off, or starts it as the span begins and stops it after so many hours, when
    /// the battery is full, or when the fuel is used up, in its allowed hours. Only for trials that
    /// begin with their span.
    pub fn engine_for(&mut self, hours: f64) {
        for plan in &mut self.variants {
            if let Some(engine) = &mut plan.engine {
                engine.start_below_share = f64::INFINITY;
                engine.stop_above_share = 1.0;
            }
            let slices = plan.slices.iter_mut().zip(&self.exposure.slices);
            for (at, (slice, sky)) in slices.enumerate() {
                let runs = sky.begins_h < hours - 1e-9;
                slice.engine_allowed &= runs;
                slice.attended |= runs;
                slice.looks |= at == 0;
            }
        }
    }

    /// When the generator may first be started, h since the trials begin; `None` where it never may,
    /// or there is none.
    #[must_use]
    pub fn engine_first_h(&self) -> Option<f64> {
        self.plan.engine?;
        let plan = self.variants.first()?;
        let mut slices = plan.slices.iter().zip(&self.exposure.slices);
        slices.find(|(slice, _)| slice.engine_allowed).map(|(_, sky)| sky.begins_h)
    }

    /// The row of the operating card that a slice follows where somebody decides.
    #[must_use]
    pub fn card_row(&self, slice: usize) -> usize {
        let plan = self.variants.first();
        plan.and_then(|plan| plan.slices.get(slice)).map_or(0, |slice| slice.card_row)
    }

    /// Whether every trial meets the same: nothing but days is drawn, and those are held.
    #[must_use]
    pub fn all_alike(&self, days_held: bool) -> bool {
        let days = days_held || self.weather.one_sky();
        let charge = self.start_between.is_none();
        let inputs = self.variants.len() == 1 && self.uncertain.array_multiplier.is_none();
        days && charge
            && inputs
            && self.begin_hours.is_none()
            && self.events.are_known()
            && (self.engine_fails_chance <= 0.0 || self.engine_fails_chance >= 1.0)
    }
}
