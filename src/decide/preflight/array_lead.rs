//! The lead of an array: what its wire and its fuse bear of what the panels can push, and fuses of the
//! strings.
//!
//! Panels push no more than their short-circuit current, so it is that which wire and fuse are sized
//! by: 1.25 times for bright skies, and 1.25 times for hours of it (NEC 690.8 and 690.9). Where three or
//! more strings are next to each other, two or more can push into one that fails, more than its leads
//! bear: each wants a fuse of its own. Without a datasheet the current of a panel is taken as its
//! rated watts over the battery's volts, which is on the safe side as long as it charges that battery.

use super::finding::{About, Finding, Severity, Subject, num};
use super::fuses::INTERRUPT;
use super::ground::Ground;
use super::leads::parallel;
use super::missing::Missing;
use super::panels::{COLD, disconnect_v};
use crate::scenario::loads::{Fuse, Fused};
use crate::scenario::sources::Array;
use crate::station::ampacity::{INSULATION_C, allowable_a};
use crate::station::fuse::{
    NEAR_M, NEAR_SHEATHED_M, PANEL_SIDE, STRING_FUSE_MOST, STRINGS_WITHOUT_FUSE, at_least_a,
};

const CURRENT: &str = "NEC 690.8: 1.56 times the short-circuit current; 33 CFR 183.425 table 5";
const FUSE: &str = "NEC 690.9: 1.56 times the short-circuit current";
const PLACE: &str =
    "33 CFR 183.455; NEC 690.9: a wire that carries the panels' full current needs no fuse";
const STRINGS: &str = "NEC 690.9 and IEC 62548: from three strings side by side each has its fuse, of \
                       at most 2.4 times its short-circuit current (from memory)";

const LABEL: &str = "IEC 62548: a fuse in each string where the others push more than the panels' \
                     label allows, and none larger (from memory)";

/// What an array can push.
struct Push {
    /// Short-circuit current of one string, A.
    string_a: f64,
    /// Strings side by side; unknown where nobody says how many panels stand in series.
    strings: Option<f64>,
    /// 1.56 times the short-circuit current of all strings, A.
    wants_a: f64,
    /// Where that current comes from, as the end of a sentence.
    whence: &'static str,
}

impl Push {
    fn of(ground: &Ground<'_>, array: &Array) -> Self {
        let (string_a, whence) = match array.datasheet {
            Some(sheet) => (sheet.isc_a, "1.56 times their short-circuit current"),
            None => (
                array.rated_w / ground.nominal_v,
                "1.56 times their rated watts over the battery's volts, an estimate since no \
                 `datasheet` is given",
            ),
        };
        let side_by_side = parallel(array);
        let strings = (array.datasheet.is_some() || array.count <= 1).then_some(side_by_side);
        Self { string_a, strings, wants_a: PANEL_SIDE * string_a * side_by_side, whence }
    }
}

/// Wire and fuses on the panels' side.
pub(super) fn array_lead(
    ground: &Ground<'_>,
    name: &str,
    array: &Array,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let push = Push::of(ground, array);
    let item = format!("array “{name}”");
    strings(
        ground,
        &About::new(item.clone(), format!("arrays.{name}")),
        array,
        &push,
        missing,
        found,
    );
    let about = About::new(item, format!("arrays.{name}.lead"));
    let Some((lead, wire)) = array.lead.as_ref().and_then(|it| Some((it, it.wire.as_ref()?)))
    else {
        if array.lead.as_ref().and_then(|it| it.fuse.as_ref()?.fuse()).is_none() {
            unfused_lead(&about, array, &push, None, found);
        }
        return;
    };
    let assumed_c = wire.insulation_c.unwrap_or(INSULATION_C[0]);
    let allowed_a = allowable_a(wire, assumed_c)
        .filter(|it| wire.insulation_c.is_some() || push.wants_a <= *it);
    match allowed_a {
        Some(allowed_a) => {
            let sentence = format!(
                "Wire on the panels' side is sized for {} A, {}; this one carries {} A.",
                num(push.wants_a, 1),
                push.whence,
                num(allowed_a, 1)
            );
            let finding =
                Finding::new(Subject::Ampacity, &about, "wire carries", sentence, CURRENT)
                    .value(push.wants_a, "A")
                    .at_most(allowed_a);
            let over = finding.misses();
            // An estimate may be too high: panels in series push less than it says.
            let worst =
                if array.datasheet.is_some() { Severity::Serious } else { Severity::Caution };
            let mend = if array.datasheet.is_some() {
                "A thicker wire from the panels."
            } else {
                "A thicker wire from the panels; or state their `datasheet`, which says what they push."
            };
            found.push(finding.when(over, worst, mend));
        }
        None => missing.note(
            Subject::Ampacity,
            "temperature of the insulation (`insulation_c`)",
            &about.item,
        ),
    }
    let bears = allowed_a.is_some_and(|it| it >= push.wants_a);
    let Some(fuse) = lead.fuse.as_ref().and_then(Fused::fuse) else {
        unfused_lead(&about, array, &push, allowed_a.filter(|_| bears), found);
        return;
    };
    let sentence = format!(
        "A fuse on the panels' side carries {} A, {}; this one is of {} A.",
        num(push.wants_a, 1),
        push.whence,
        num(fuse.rated_a, 1)
    );
    let finding = Finding::new(Subject::FuseLoad, &about, "fuse against load", sentence, FUSE)
        .value(fuse.rated_a, "A")
        .at_least(push.wants_a);
    let over = finding.misses();
    let mend = "A wire that bears a larger fuse, and then that fuse; never a larger fuse alone.";
    found.push(finding.when(over, Severity::Caution, mend));
    place(&about, fuse, bears, missing, found);
    let fault = format!("{} A, {}", num(push.wants_a, 1), push.whence);
    breaks(&about, "fuse breaks", fuse, (push.wants_a, &fault), missing, found);
    volts(ground, &about, "fuse volts", array, fuse, missing, found);
}

/// Strings side by side, and their fuses.
fn strings(
    ground: &Ground<'_>,
    about: &About,
    array: &Array,
    push: &Push,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let Some(strings) = push.strings else {
        if f64::from(array.count) > STRINGS_WITHOUT_FUSE {
            let lacks = "how many panels stand in series (`datasheet`): fuses of strings";
            missing.note(Subject::StringFuse, lacks, &about.item);
        }
        return;
    };
    let wants_a = PANEL_SIDE * push.string_a;
    let label_a = array.datasheet.and_then(|sheet| sheet.series_fuse_a);
    let Some(fuse) = array.string_fuse.as_ref().and_then(Fused::fuse) else {
        let finding = unfused(about, strings, push.string_a, label_a);
        let over = finding.misses();
        let mend = "In each string a fuse for direct current (`string_fuse`): what is proposed says its size.";
        if strings > 1.0 {
            found.push(finding.when(over, Severity::Caution, mend));
        }
        return;
    };
    let sentence = format!(
        "The fuse of a string carries {} A, 1.56 times its short-circuit current; this one is of {} A.",
        num(wants_a, 1),
        num(fuse.rated_a, 1)
    );
    let finding = Finding::new(Subject::FuseLoad, about, "string fuse", sentence, FUSE)
        .value(fuse.rated_a, "A")
        .at_least(wants_a);
    let over = finding.misses();
    let mend = "In each string a fuse for direct current: what is proposed says its size.";
    found.push(finding.when(over, Severity::Caution, mend));
    let opens = format!("The fuse of a string, {} A, opens before", num(fuse.rated_a, 1));
    let (most_a, sentence, basis) = match label_a {
        Some(label_a) => {
            let label = num(label_a, 1);
            (label_a, format!("{opens} a panel is harmed: its label allows {label} A."), LABEL)
        }
        None => {
            let most_a = STRING_FUSE_MOST * push.string_a;
            let told = format!(
                "{opens} the others harm it: up to {} A, and no more than the panels' label allows \
                 (`series_fuse_a`), which is not stated.",
                num(most_a, 1)
            );
            (most_a.max(at_least_a(wants_a)), told, STRINGS)
        }
    };
    let finding = Finding::new(Subject::StringFuse, about, "string fuse, most", sentence, basis)
        .value(fuse.rated_a, "A")
        .at_most(most_a);
    let over = finding.misses();
    found.push(finding.when(over, Severity::Caution, mend));
    let others_a = PANEL_SIDE * push.string_a * (strings - 1.0).max(1.0);
    let fault = format!("{} A from the strings beside it", num(others_a, 1));
    breaks(about, "string fuse breaks", fuse, (others_a, &fault), missing, found);
    volts(ground, about, "string fuse volts", array, fuse, missing, found);
}

/// The lead of an array without a fuse: the rule by which it needs none, or that nobody has shown it.
fn unfused_lead(
    about: &About,
    array: &Array,
    push: &Push,
    bears_a: Option<f64>,
    found: &mut Vec<Finding>,
) {
    let strings = parallel(array);
    let fused = array.string_fuse.as_ref().and_then(Fused::fuse).is_some();
    if let Some(bears_a) = bears_a
        && (fused || strings <= STRINGS_WITHOUT_FUSE)
    {
        let sentence = format!(
            "These panels need no fuse in their lead: its wire carries {} A, more than {} A, {}.",
            num(bears_a, 1),
            num(push.wants_a, 1),
            push.whence
        );
        let finding = Finding::new(Subject::Fused, about, "no fuse needed", sentence, PLACE);
        found.push(finding.value(push.wants_a, "A").at_most(bears_a));
        return;
    }
    let lacks = if bears_a.is_some() {
        "and more than two strings are in parallel, not each with a fuse"
    } else {
        "and nothing stated shows that its wire bears what the panels push (`lead.wire` with its \
         `insulation_c`)"
    };
    let sentence = match array.lead.as_ref().and_then(|it| it.fuse.as_ref()) {
        Some(_) => format!("There is no fuse in the lead of these panels, {lacks}."),
        None => format!(
            "Nobody has said whether there is a fuse in the lead of these panels, {lacks}: look, then \
             write it down."
        ),
    };
    let mend = "State the wire and its insulation, and the fuse or `\"none\"`. At most two strings side by \
                side need no fuse where the wire bears 1.56 times their short-circuit current.";
    let what = if array.lead.as_ref().is_some_and(|it| it.fuse.is_some()) {
        "no fuse"
    } else {
        "fuse not stated"
    };
    let finding = Finding::new(Subject::Fused, about, what, sentence, PLACE);
    found.push(finding.when(true, Severity::Caution, mend));
}

/// Strings without fuses: what the others push into one that fails, where its label says what it
/// bears; otherwise how many there are.
fn unfused(about: &About, strings: f64, string_a: f64, label_a: Option<f64>) -> Finding {
    let what = "strings unfused";
    let Some(label_a) = label_a else {
        let sentence = format!(
            "{} strings of panels are in parallel without a fuse of their own; up to {} need none, \
             with more the others push into one that fails.",
            num(strings, 1),
            num(STRINGS_WITHOUT_FUSE, 0)
        );
        return Finding::new(Subject::StringFuse, about, what, sentence, STRINGS)
            .value(strings, "strings")
            .at_most(STRINGS_WITHOUT_FUSE);
    };
    let others_a = (strings - 1.0).max(0.0) * string_a;
    let sentence = format!(
        "{} strings of panels are in parallel without a fuse of their own: into one that fails the \
         others push {} A; the panels' label allows {} A.",
        num(strings, 1),
        num(others_a, 1),
        num(label_a, 1)
    );
    Finding::new(Subject::StringFuse, about, what, sentence, LABEL)
        .value(others_a, "A")
        .at_most(label_a)
}

/// Where the fuse stands. What lies before it bears what the panels push, or is not protected.
fn place(about: &About, fuse: &Fuse, bears: bool, missing: &mut Missing, found: &mut Vec<Finding>) {
    let Some(away_m) = fuse.from_source_m else {
        let lacks = "place of the fuse (`from_source_m`)";
        missing.note(Subject::FusePlace, lacks, &about.item);
        return;
    };
    let limit_m = if fuse.sheathed { NEAR_SHEATHED_M } else { NEAR_M };
    let before = if bears {
        "what lies before it bears all that the panels push".to_owned()
    } else {
        format!(
            "the wire before it does not bear what the panels push, and {} m of it are allowed",
            num(limit_m, 2)
        )
    };
    let sentence = format!("The fuse is {} m from the panels; {before}.", num(away_m, 2));
    let finding = Finding::new(Subject::FusePlace, about, "fuse from source", sentence, PLACE)
        .value(away_m, "m");
    if bears {
        found.push(finding);
        return;
    }
    let finding = finding.at_most(limit_m);
    let over = finding.misses();
    let mend = "Move the fuse to the panels, or take a wire that bears what they push.";
    found.push(finding.when(over && away_m > NEAR_SHEATHED_M, Severity::Serious, mend).when(
        over,
        Severity::Caution,
        mend,
    ));
}

/// What the fuse breaks, against what panels can push into a fault behind it.
fn breaks(
    about: &About,
    what: &str,
    fuse: &Fuse,
    (fault_a, fault): (f64, &str),
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let Some(interrupt_a) = fuse.interrupt_a else {
        let lacks = "what the fuse breaks (`interrupt_a`)";
        missing.note(Subject::FuseInterrupt, lacks, &about.item);
        return;
    };
    let own = if fuse.rated_a > fault_a {
        format!("; no fuse breaks less than its own {} A", num(fuse.rated_a, 1))
    } else {
        String::new()
    };
    let sentence = format!(
        "The panels push up to {fault}, into a fault{own}; this one breaks {} A. What the battery pushes \
         back through a controller that fails is for the fuse at the battery.",
        num(interrupt_a, 0)
    );
    let finding = Finding::new(Subject::FuseInterrupt, about, what, sentence, INTERRUPT)
        .value(interrupt_a, "A")
        .at_least(fault_a.max(fuse.rated_a));
    let over = finding.misses();
    let mend = "A fuse that breaks more, marked for direct current.";
    found.push(finding.when(over, Severity::Serious, mend));
}

/// The volts that the fuse is made for, against those of the open string in the cold.
fn volts(
    ground: &Ground<'_>,
    about: &About,
    what: &str,
    array: &Array,
    fuse: &Fuse,
    missing: &mut Missing,
    found: &mut Vec<Finding>,
) {
    let Some(rated_v) = fuse.rated_v else {
        missing.note(Subject::FuseVolts, "volts of the fuse (`rated_v`)", &about.item);
        return;
    };
    let Some(disconnect_v) = disconnect_v(ground, array) else {
        let lacks = "open-circuit volts of the panels (`datasheet`), for their fuse";
        missing.note(Subject::FuseVolts, lacks, &about.item);
        return;
    };
    let sentence = format!(
        "The fuse is made for {} V of direct current; the open string has up to {} V.",
        num(rated_v, 0),
        num(disconnect_v, 1)
    );
    let finding = Finding::new(Subject::FuseVolts, about, what, sentence, COLD)
        .value(rated_v, "V")
        .at_least(disconnect_v);
    let over = finding.misses();
    found.push(finding.when(over, Severity::Serious, "A fuse for the volts of the string."));
}
