//! What groups and the whole station draw: every operator transmitting, one transmitting, as scheduled.

use super::finding::{About, Finding, Severity, Subject, num, percent};
use super::ground::{Ground, Keyed};
use crate::scenario::loads::Fused;

const GROUP: &str = "the limit that the scenario states for the group";
const BOARD: &str = "the discharge limit of the BMS";
const UNBOUNDED: &str = "nothing that the scenario states bounds it";
const FUSE: &str = "the rating of the main fuse";

pub(super) fn budgets(ground: &Ground<'_>, found: &mut Vec<Finding>) {
    let plan = ground.plan;
    let feed = ground.scenario.main_feed.as_ref();
    let fuse = feed.and_then(|it| it.fuse.as_ref()).and_then(Fused::fuse);
    let fuse_a = fuse.map_or(f64::INFINITY, |it| it.rated_a);
    let board_a = plan.battery.discharge_limit_a;
    let (limit_a, basis) = if fuse_a < board_a { (fuse_a, FUSE) } else { (board_a, BOARD) };
    let main = About::new("all loads", "loads");
    budget(ground, None, &main, Subject::MainBudget, limit_a, basis, found);
    for (at, (name, group)) in ground.scenario.outlet_groups.iter().enumerate() {
        let about = About::new(format!("group “{name}”"), format!("outlet_groups.{name}"));
        budget(ground, Some(at), &about, Subject::GroupBudget, group.limit_a, GROUP, found);
    }
}

fn budget(
    ground: &Ground<'_>,
    group: Option<usize>,
    about: &About,
    subject: Subject,
    limit_a: f64,
    basis: &'static str,
    found: &mut Vec<Finding>,
) {
    let basis = if limit_a.is_finite() { basis } else { UNBOUNDED };
    let (every_a, tier) = ground.peak_a(group, Keyed::Every);
    let (one_a, _) = ground.peak_a(group, Keyed::One);
    let scheduled_a = ground.scheduled_a(group);
    let volts = num(ground.low_v, 1);
    let bounded = if limit_a.is_finite() {
        format!("; {} A are allowed", num(limit_a, 1))
    } else {
        String::new()
    };
    let mend = "Fewer radios on it, one operator for two of them, or a larger limit if wire and fuse \
                bear it.";
    let above = ground.share_above(group, limit_a);
    let often = if above > 0.0 {
        format!(" It is passed for {} of the time in the busiest tier.", percent(above))
    } else {
        String::new()
    };
    let mut put = |what: &str, amperes: f64, sentence: String, worst: Severity| {
        let finding = Finding::new(subject, about, what, sentence, basis)
            .value(amperes, "A")
            .at_most(limit_a);
        let over = finding.misses();
        let unbounded = finding.limit.is_none();
        let finding = finding.when(over, worst, mend);
        found.push(if unbounded { finding.severity(Severity::Note) } else { finding });
    };
    // What happens in one minute of a hundred and opens nothing at once can wait.
    let rarely = group.is_some() && above < RARE_SHARE;
    put(
        "every operator transmitting",
        every_a,
        format!(
            "With every operator transmitting in tier “{tier}”, at {volts} V, {} A flow{bounded}.{often}",
            num(every_a, 1)
        ),
        if rarely { Severity::Caution } else { Severity::Serious },
    );
    if (one_a - every_a).abs() > 1e-9 {
        let sentence = format!("With one operator transmitting {} A flow{bounded}.", num(one_a, 1));
        put("one operator transmitting", one_a, sentence, Severity::Serious);
    }
    if (scheduled_a - every_a).abs() > 1e-9 {
        let sentence = format!("As scheduled {} A flow on average{bounded}.", num(scheduled_a, 1));
        put("as scheduled, mean", scheduled_a, sentence, Severity::Serious);
    }
}

/// Below this share of the time a passed group limit is no more than a caution.
const RARE_SHARE: f64 = 0.01;
