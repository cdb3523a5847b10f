//! What the book of trials reads of a plan: drop stages summed over their groups, profiles, and those that
//! are in force, looked up only when they change.

use crate::numbers::lane::{Lane, Mask, Places, Width};
use crate::plan::Plan;
use crate::station::load_set::{GroupRung, InverseVolts};

/// The terms of a drop stage summed over its groups.
#[derive(Debug, Clone, Copy)]
struct RungSum {
    current_a: f64,
    power_w: f64,
    covariance: InverseVolts,
    wiring_w: InverseVolts,
    unserved_w: f64,
    dark_share: f64,
}

/// What the book reads of a plan.
#[derive(Debug, Clone)]
pub(super) struct Terms {
    rungs: Vec<RungSum>,
    /// By profile: carried load W, carried on the bus W, shed W, 1 where an essential load is among.
    profiles: Vec<[f64; 4]>,
}

impl Terms {
    pub(super) fn of(plan: &Plan) -> Self {
        let rungs = plan.rungs.iter().map(|rung| {
            let sum = |of: &dyn Fn(&GroupRung) -> f64| rung.groups.iter().map(of).sum::<f64>();
            RungSum {
                current_a: sum(&|it| it.current_a),
                power_w: sum(&|it| it.power_w),
                covariance: InverseVolts {
                    cc: sum(&|it| it.covariance.cc),
                    cp: sum(&|it| it.covariance.cp),
                    pp: sum(&|it| it.covariance.pp),
                },
                wiring_w: InverseVolts {
                    cc: sum(&|it| it.wiring_w.cc),
                    cp: sum(&|it| it.wiring_w.cp),
                    pp: sum(&|it| it.wiring_w.pp),
                },
                unserved_w: sum(&|it| it.unserved_w),
                dark_share: rung.dark_share,
            }
        });
        let profiles = plan.profiles.iter().map(|it| {
            let carried_w: f64 = it.carried_groups_w.iter().sum();
            [carried_w, it.carried_bus_w, it.shed_w, if it.essential { 1.0 } else { 0.0 }]
        });
        Self { rungs: rungs.collect(), profiles: profiles.collect() }
    }
}

/// What the book reads of the drop stage and the profile in force: looked up only when they change.
pub(super) struct InForce<F> {
    pub(super) rung: F,
    pub(super) current_a: F,
    pub(super) power_w: F,
    pub(super) covariance: [F; 3],
    pub(super) wiring_w: [F; 3],
    pub(super) unserved_w: F,
    pub(super) dark_share: F,
    pub(super) profile: F,
    pub(super) carried_w: F,
    pub(super) carried_bus_w: F,
    pub(super) shed_w: F,
    pub(super) essential: F,
}

impl<F: Lane> InForce<F> {
    /// Before the first look.
    #[inline(always)]
    pub(super) fn unknown(w: F::Width) -> Self {
        let (zero, none) = (w.splat(0.0), w.splat(-1.0));
        Self {
            rung: none,
            current_a: zero,
            power_w: zero,
            covariance: [zero; 3],
            wiring_w: [zero; 3],
            unserved_w: zero,
            dark_share: zero,
            profile: none,
            carried_w: zero,
            carried_bus_w: zero,
            shed_w: zero,
            essential: zero,
        }
    }

    #[inline(always)]
    pub(super) fn take(&mut self, terms: &Terms, rung: F, profile: F) {
        let of = &terms.rungs;
        if rung.differs(self.rung).any() {
            let at = Places::of(rung);
            self.rung = rung;
            self.current_a = at.look_up(|at| of[at].current_a);
            self.power_w = at.look_up(|at| of[at].power_w);
            self.covariance[0] = at.look_up(|at| of[at].covariance.cc);
            self.covariance[1] = at.look_up(|at| of[at].covariance.cp);
            self.covariance[2] = at.look_up(|at| of[at].covariance.pp);
            self.wiring_w[0] = at.look_up(|at| of[at].wiring_w.cc);
            self.wiring_w[1] = at.look_up(|at| of[at].wiring_w.cp);
            self.wiring_w[2] = at.look_up(|at| of[at].wiring_w.pp);
            self.unserved_w = at.look_up(|at| of[at].unserved_w);
            self.dark_share = at.look_up(|at| of[at].dark_share);
        }
        let of = &terms.profiles;
        if profile.differs(self.profile).any() {
            let at = Places::of(profile);
            self.profile = profile;
            self.carried_w = at.look_up(|at| of[at][0]);
            self.carried_bus_w = at.look_up(|at| of[at][1]);
            self.shed_w = at.look_up(|at| of[at][2]);
            self.essential = at.look_up(|at| of[at][3]);
        }
    }
}
