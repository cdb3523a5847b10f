//! Whether to start the generator now, and for how long.
//!
//! The fullest tier on the air that does not last by itself is held with the generator started now and
//! stopped after 1, 2, ... hours; the fewest that let it last until the stated time are the answer.
//! Where none do, the next tier down is tried; where none of those, the hours that all the fuel
//! gives to the last tier on the air are told. The generator keeps its allowed hours.

use serde::Serialize;

use super::TierFromNow;
use super::lasts::Asked;
use crate::error::Error;
use crate::simulate::trials::Prepared;

/// Longest run that is tried, h.
const MOST_H: u32 = 48;

/// What to do with the generator.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EngineAdvice {
    /// The fullest tier lasts without it.
    NotNeeded {
        /// That tier.
        tier: String,
    },
    /// Start it.
    Start {
        /// The tier that then lasts.
        tier: String,
        /// For so many hours.
        hours: u32,
        /// Hours from now until it is allowed to run; 0 for now.
        from_h: f64,
    },
    /// Start it, but it is not enough.
    NotEnough {
        /// The last tier on the air.
        tier: String,
        /// Hours that it lasts with the generator; absent where all of them do.
        lasts_h: Option<f64>,
        /// Hours from now until it is allowed to run; 0 for now.
        from_h: f64,
    },
    /// It may not run before the stated time.
    NotAllowed,
    /// The charge is not known now: warm-up days would find it.
    ChargeUnknown,
}

impl EngineAdvice {
    /// Whether a tier lasts until the stated time with what is advised.
    #[must_use]
    pub fn reaches(&self) -> bool {
        matches!(self, Self::NotNeeded { .. } | Self::Start { .. })
    }

    /// Hours from now until it should be started; `None` where it should not.
    #[must_use]
    pub fn starts_in_h(&self) -> Option<f64> {
        match self {
            Self::Start { from_h, .. } | Self::NotEnough { from_h, .. } => Some(*from_h),
            Self::NotNeeded { .. } | Self::NotAllowed | Self::ChargeUnknown => None,
        }
    }
}

/// What to do with the generator that these trials have; `None` without a tier on the air.
pub fn advice(
    mut with: Prepared,
    tiers: &[TierFromNow],
    asked: &Asked,
    until_h: f64,
) -> Result<Option<EngineAdvice>, Error> {
    let on_air: Vec<(usize, &TierFromNow)> =
        tiers.iter().enumerate().filter(|(_, tier)| tier.on_air).collect();
    let (Some((_, fullest)), Some((last_place, last))) = (on_air.first(), on_air.last()) else {
        return Ok(None);
    };
    if fullest.told.until {
        return Ok(Some(EngineAdvice::NotNeeded { tier: fullest.name.clone() }));
    }
    if with.settling_steps > 0 {
        return Ok(Some(EngineAdvice::ChargeUnknown));
    }
    let Some(from_h) = with.engine_first_h().filter(|first_h| *first_h < until_h) else {
        return Ok(Some(EngineAdvice::NotAllowed));
    };
    with.end_after(until_h);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let most_h = MOST_H.min((until_h - from_h).ceil() as u32).max(1);
    let lasts = |place: usize, hours: u32| {
        let mut tried = with.clone();
        tried.engine_for(from_h + f64::from(hours));
        tried.hold(place);
        asked.lasted(&tried)
    };
    for (place, tier) in &on_air {
        if tier.told.until {
            // It lasts by itself, and the ones above do not with any hours.
            return Ok(Some(EngineAdvice::NotNeeded { tier: tier.name.clone() }));
        }
        if lasts(*place, most_h)?.at_odds_h() < f64::INFINITY {
            continue;
        }
        let (mut low, mut high) = (0, most_h);
        while high - low > 1 {
            let middle = u32::midpoint(low, high);
            let enough = lasts(*place, middle)?.at_odds_h() == f64::INFINITY;
            if enough { high = middle } else { low = middle }
        }
        return Ok(Some(EngineAdvice::Start { tier: tier.name.clone(), hours: high, from_h }));
    }
    let lasts_h = Some(lasts(*last_place, most_h)?.at_odds_h()).filter(|it| it.is_finite());
    Ok(Some(EngineAdvice::NotEnough { tier: last.name.clone(), lasts_h, from_h }))
}
