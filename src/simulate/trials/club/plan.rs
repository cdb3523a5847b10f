//! From the good scenarios of a club to what its trials share.

use super::super::prepare::{Options, Prepared, prepare};
use super::super::terms::Terms;
use crate::plan::Carrier;
use crate::plan::club::{Composed, GoodClub, POINT};
use crate::plan::compile::CompileProblem;
use crate::scenario::club::{Club, CountsAsUp, Handover, Queue};

/// What the trials of a club share.
#[derive(Debug, Clone)]
pub struct ClubPlan {
    /// What all draws depend on.
    pub seed: u64,
    /// The stations, in the order of the file.
    pub stations: Vec<ClubPart>,
    /// The charging point.
    pub point: Option<PointPlan>,
    /// Where packs stand and are carried.
    pub shelf: Option<Part>,
    /// The packs, in the order of the file.
    pub packs: Vec<PackPlan>,
    /// Chance of each member to come.
    pub comes_chance: Vec<f64>,
    /// How many stations must be up.
    pub needed: usize,
}

/// A prepared scenario with what its book reads.
#[derive(Debug, Clone)]
pub struct Part {
    /// The scenario.
    pub prepared: Prepared,
    pub(super) terms: Vec<Terms>,
}

impl Part {
    fn new(prepared: Prepared) -> Self {
        let terms = prepared.variants.iter().map(Terms::of).collect();
        Self { prepared, terms }
    }
}

/// A station of a club.
#[derive(Debug, Clone)]
pub struct ClubPart {
    /// Its name.
    pub name: String,
    /// Its scenario.
    pub part: Part,
    /// Whether it takes packs.
    pub takes_packs: bool,
    /// When its pack is swapped.
    pub swap: Option<SwapPlan>,
    /// Member whose it is.
    pub owner: Option<usize>,
}

/// When a pack is swapped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SwapPlan {
    /// Charge below which a spare is sent for.
    pub below_share: f64,
    /// Least charge of a spare.
    pub spare_above_share: f64,
    /// How long the loads are off, h.
    pub handover_h: f64,
    /// Steps on the way.
    pub carry_steps: usize,
    /// Whether the handover counts as off the air.
    pub counts_as_off_air: bool,
}

/// The charging point.
#[derive(Debug, Clone)]
pub struct PointPlan {
    /// Its scenario.
    pub part: Part,
    /// Which pack comes next.
    pub queue: Queue,
    /// Charge at which a pack makes room.
    pub done_above_share: f64,
    /// Member whose charger it is.
    pub owner: Option<usize>,
    /// Member whose generator it is.
    pub generator_owner: Option<usize>,
}

/// A pack.
#[derive(Debug, Clone, PartialEq)]
pub struct PackPlan {
    /// Its name.
    pub name: String,
    /// Charge when the exercise begins.
    pub charge_share: f64,
    /// Station in which it stands then; a spare when none.
    pub at: Option<usize>,
    /// Member whose it is.
    pub owner: Option<usize>,
}

/// A scenario of a club that cannot be compiled: whose, and why.
pub type NotPrepared = (String, Vec<CompileProblem>);

/// Prepares the trials of a good club.
///
/// # Errors
/// What cannot be compiled, with the name of the station.
pub fn prepare_club(good: &GoodClub, options: Options) -> Result<ClubPlan, NotPrepared> {
    let of = |composed: &Composed| {
        prepare(&composed.scenario, &composed.base_dir, composed.warnings.clone(), options)
            .map(Part::new)
            .map_err(|problems| (composed.name.clone(), problems))
    };
    let club = &good.club;
    let member = |owner: Option<&String>| owner.and_then(|it| club.members.get_index_of(it));
    let mut stations = Vec::new();
    for composed in &good.stations {
        let station = &club.stations[&composed.name];
        let part = of(composed)?;
        let step_h = part.prepared.step_h;
        stations.push(ClubPart {
            name: composed.name.clone(),
            takes_packs: composed.takes_packs,
            swap: swap_of(club, &composed.name, step_h),
            owner: member(station.owner.as_ref()),
            part,
        });
    }
    let point = match (&good.point, &club.charging_point) {
        (Some(composed), Some(point)) => Some(PointPlan {
            part: of(composed)?,
            queue: point.queue,
            done_above_share: point.done_above_share,
            owner: member(point.owner.as_ref()),
            generator_owner: member(point.generator_owner.as_ref()),
        }),
        _ => None,
    };
    let base_dir = good.stations.first().map(|it| it.base_dir.clone()).unwrap_or_default();
    let shelf = match &good.shelf {
        Some(shelf) => {
            let prepared = prepare(shelf, &base_dir, Vec::new(), options)
                .map_err(|problems| (POINT.to_owned(), problems))?;
            Some(Part::new(prepared))
        }
        None => None,
    };
    let packs = club.packs.iter().flat_map(|packs| &packs.each).map(|(name, pack)| PackPlan {
        name: name.clone(),
        charge_share: pack.charge_share,
        at: pack.at.as_ref().and_then(|at| club.stations.get_index_of(at)),
        owner: member(pack.owner.as_ref()),
    });
    Ok(ClubPlan {
        seed: options.seed,
        point,
        shelf,
        packs: packs.collect(),
        comes_chance: club.members.values().map(|member| member.comes_chance).collect(),
        needed: match club.counts_as_up {
            CountsAsUp::All => stations.len(),
            CountsAsUp::AtLeast(count) => count as usize,
        },
        stations,
    })
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn swap_of(club: &Club, station: &str, step_h: f64) -> Option<SwapPlan> {
    let swap = club.stations[station].swap.as_ref()?;
    Some(SwapPlan {
        below_share: swap.below_share,
        spare_above_share: swap.spare_above_share,
        handover_h: match swap.handover {
            Handover::Bridged => 0.0,
            Handover::OffMin(off_min) => off_min / 60.0,
        },
        carry_steps: (swap.carry_min / 60.0 / step_h - 1e-9).ceil().max(0.0) as usize,
        counts_as_off_air: swap.counts_as_off_air,
    })
}

impl ClubPlan {
    /// The same club with so many spares: the first of its own, then others that are always there
    /// and full.
    #[must_use]
    pub fn with_spares(&self, spares: usize) -> Self {
        let mut other = self.clone();
        let mut kept = 0;
        other.packs.retain(|pack| {
            kept += usize::from(pack.at.is_none());
            pack.at.is_some() || kept <= spares
        });
        for number in kept.min(spares)..spares {
            other.packs.push(PackPlan {
                name: format!("spare {}", number + 1),
                charge_share: 1.0,
                at: None,
                owner: None,
            });
        }
        other
    }

    /// Spares that the club brings.
    #[must_use]
    pub fn spares(&self) -> usize {
        self.packs.iter().filter(|pack| pack.at.is_none()).count()
    }

    /// Steps of the span, and their length, h.
    #[must_use]
    pub fn span(&self) -> (usize, f64) {
        self.stations
            .first()
            .map_or((0, 1.0), |it| (it.part.prepared.span_steps, it.part.prepared.step_h))
    }
}

impl Part {
    /// Current from the battery while nobody transmits, after so many steps of the span: of the fullest tier
    /// that the clock then has on, A.
    #[must_use]
    pub fn receiving_a(&self, steps: usize) -> f64 {
        let plan = &self.prepared.plan;
        let step = (plan.settling_steps + steps).min(plan.steps.len().saturating_sub(1));
        let slice = plan.slices.iter().find(|slice| slice.step == step);
        let profile = slice.map(|it| plan.profile_index(it.set, 0, Carrier::Battery));
        profile.and_then(|it| plan.profiles.get(it)).map_or(0.0, |it| it.receiving_a)
    }
}
