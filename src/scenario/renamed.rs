//! Keys of format 1 and what they are called since format 2.
//!
//! Lives here: the one table of old and new names, finding old names in a file, and writing the
//! file anew with the new ones: order, notes, numbers and spaces stay. Nothing else of format 1 is
//! known. A name that its author gave to a part is never a key, whatever it is.

use std::ops::Range;

use super::json_path::{JsonPath, Step};
use super::problem::{Problem, ProblemKind, Problems};
use super::scan;
use super::spans::{Member, Node, NodeKind, Spans};

/// Format that this program reads.
pub const FORMAT: u32 = 2;

/// The old format, which only this table knows.
const OLD_FORMAT: f64 = 1.0;

/// A key that has another name since format 2.
struct Renamed {
    /// The keys above it, nearest last; `*` is any name, `^` the top of a station.
    above: &'static [&'static str],
    old: &'static str,
    new: &'static str,
}

const fn key(above: &'static [&'static str], old: &'static str, new: &'static str) -> Renamed {
    Renamed { above, old, new }
}

/// Every key that has another name, in the order of the file.
const RENAMED: &[Renamed] = &[
    key(&["start"], "settle_days", "warmup_days"),
    key(&["profile"], "plane_w_m2", "in_plane_w_m2"),
    key(&["day_types", "types", "*"], "sun_share", "sun_multiplier"),
    key(&["resample"], "blocks_days", "block_days"),
    key(&["storm", "coupled"], "clearness_share", "clearness_multiplier"),
    key(&["grid"], "forced", "outage"),
    key(&["grid"], "forced_at_random", "outage_at_random"),
    key(&["grid"], "listed", "outages"),
    key(&["warning"], "lead_h", "lead_time_h"),
    key(&["warning"], "lead_least_h", "shortest_lead_time_h"),
    key(&["warning"], "false_per_month", "false_alarms_per_month"),
    key(&["arrays", "*"], "power_per_c", "pmax_per_c"),
    key(&["arrays", "*"], "rows_up", "rows_up_slope"),
    key(&["controllers", "*"], "tracking", "mppt"),
    key(&["controllers", "*"], "switching", "pwm"),
    key(&["controllers", "*", "*"], "own_draw_w", "standby_w"),
    key(&["controllers", "*", "*"], "silent_in", "off_in"),
    key(&["supply"], "silent_in", "off_in"),
    key(&["controllers", "*", "*"], "charge", "set_points"),
    key(&["charger"], "charge", "set_points"),
    key(&["vehicle"], "charge", "set_points"),
    key(&["charge"], "bulk_v", "absorption_v"),
    key(&["charge"], "rebulk_v", "recharge_below_v"),
    key(&["lead_acid"], "absorption_v", "rated_absorption_v"),
    key(&["lead_acid"], "absorption_v_per_k_cell", "rated_absorption_v_per_k_cell"),
    key(&["lithium_iron_phosphate"], "cell_again_v", "cell_reconnect_v"),
    key(&["lithium_iron_phosphate"], "wakes", "cutoff_reset"),
    key(&["charge_inhibit"], "again_above_c", "resume_above_c"),
    key(&["packs", "*"], "nominal_ah", "rated_ah"),
    key(&["heater"], "w", "power_w"),
    key(&["draw", "power"], "w", "power_w"),
    key(&["disconnect"], "open_v", "disconnect_v"),
    key(&["disconnect"], "close_v", "reconnect_v"),
    key(&["disconnect"], "closes", "reconnects"),
    key(&["disconnect"], "min_open_min", "min_off_min"),
    key(&["strategies", "*"], "engine", "generator"),
    key(&["uncertain"], "load_share", "load_multiplier"),
    key(&["uncertain"], "capacity_share", "capacity_multiplier"),
    key(&["uncertain"], "array_share", "array_multiplier"),
    key(&["^"], "preflight", "check_limits"),
    key(&["preflight"], "board_margin_cell_v", "bms_margin_cell_v"),
    key(&["^"], "tests", "field_tests"),
    key(&["^"], "choices", "sizing"),
    key(&["choices", "target"], "readiness_share", "chance"),
    key(&["choices", "target"], "floor_tier", "lowest_tier"),
    key(&["^"], "target_share", "target_chance"),
    key(&["swap"], "counts_as_dark", "counts_as_off_air"),
    key(&["handover"], "dark_min", "off_min"),
];

/// Values that have another name: the old key they belong to, and both words.
const RENAMED_VALUES: &[(&[&str], &str, &str)] =
    &[(&["disconnect", "closes"], "itself", "by_itself")];

/// Where the keys of a station may stand: at the top, in a variant, in a patch of a club.
const TOPS: &[&[&str]] = &[
    &[],
    &["variants", "*"],
    &["common"],
    &["stations", "*", "patch"],
    &["stations", "*", "from", "inline"],
];

/// An old name in a file.
struct Old<'n> {
    path: JsonPath,
    span: Range<usize>,
    old: &'n str,
    new: &'static str,
    /// Where the new name is next to it, if it does.
    beside: Option<Range<usize>>,
}

/// The new name of a key of format 1; none if it is not one.
///
/// The path may use the old or the new names of the keys above.
#[must_use]
pub(super) fn new_name(path: &JsonPath) -> Option<&'static str> {
    let (above, last) = named(path)?;
    // A `basis` may speak of every key of its part and of what lies inside.
    let in_basis = above.last() == Some(&"basis");
    let found =
        RENAMED.iter().find(|it| it.old == last && (in_basis || ends_with(&above, it.above)));
    found.map(|it| it.new)
}

/// The keys above and the last one; list elements are left out.
fn named(path: &JsonPath) -> Option<(Vec<&str>, &str)> {
    let mut keys: Vec<&str> = path
        .steps()
        .iter()
        .filter_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Index(_) => None,
        })
        .collect();
    let last = keys.pop()?;
    Some((keys, last))
}

fn ends_with(above: &[&str], wanted: &[&str]) -> bool {
    if wanted == ["^"] {
        return TOPS.iter().any(|top| {
            top.len() == above.len() && top.iter().zip(above).all(|(one, other)| same(one, other))
        });
    }
    above.len() >= wanted.len()
        && wanted.iter().rev().zip(above.iter().rev()).all(|(one, other)| same(one, other))
}

/// Whether a pattern's key is this one, by its old or its new name.
fn same(pattern: &str, key: &str) -> bool {
    pattern == "*" || pattern == key || RENAMED.iter().any(|it| it.old == pattern && it.new == key)
}

/// Whether a file is of format 1.
#[must_use]
pub(super) fn is_old(spans: &Spans) -> bool {
    let NodeKind::Object(members) = &spans.root().kind else { return false };
    members
        .iter()
        .any(|it| it.key == "format" && matches!(it.value.kind, NodeKind::Number(number) if (number - OLD_FORMAT).abs() < f64::EPSILON))
}

/// What is said of a file of format 1: one problem with the list of its own old keys, and one for
/// each place where the old and the new name are next to each other.
#[must_use]
pub(super) fn problems(spans: &Spans) -> Vec<Problem> {
    let olds = old_names(spans.root());
    let mut list: Vec<(&str, &str, Vec<usize>)> = Vec::new();
    for it in &olds {
        let line = spans.line_col(it.span.start).0;
        match list.iter_mut().find(|(old, new, _)| *old == it.old && *new == it.new) {
            Some((_, _, lines)) => lines.push(line),
            None => list.push((it.old, it.new, vec![line])),
        }
    }
    let rows: Vec<String> = list
        .iter()
        .map(|(old, new, lines)| {
            let word = if lines.len() == 1 { "line" } else { "lines" };
            let lines: Vec<String> = lines.iter().map(ToString::to_string).collect();
            format!("`{old}` is now `{new}` ({word} {})", lines.join(", "))
        })
        .collect();
    let path = JsonPath::keys(&["format"]);
    let mut problem = Problem::new(
        ProblemKind::OutOfRange,
        "this file has format 1, and longwatch now reads format 2",
    )
    .at(spans, &path, "found 1")
    .maybe_meaning((!rows.is_empty()).then(|| rows.join("\n")));
    problem = problem
        .hint("`longwatch check --rewrite FILE` writes the file with the new names beside it.");
    let mut all = vec![problem];
    all.extend(olds.iter().filter_map(both));
    all
}

/// The problem of an old and a new name side by side.
fn both(it: &Old) -> Option<Problem> {
    let beside = it.beside.clone()?;
    Some(both_names(&it.path, (it.old, &it.span), (it.new, beside)))
}

/// What is said where the old and the new name of one key stand in one object.
#[must_use]
pub(super) fn both_names(
    path: &JsonPath,
    (old, old_span): (&str, &Range<usize>),
    (new, new_span): (&str, Range<usize>),
) -> Problem {
    let text = format!("`{old}` and `{new}` are the old and the new name of one key");
    Problem::new(ProblemKind::DuplicateKey, &text)
        .mark(old_span.clone(), "old name")
        .mark(new_span, "new name")
        .hint(&format!("Keep `{new}` with the right value and take `{old}` away."))
        .about(path)
}

/// All old names below a node, in the order of the file.
fn old_names(root: &Node) -> Vec<Old<'_>> {
    let mut found = Vec::new();
    walk(root, &JsonPath::top(), &mut |path, member, siblings| {
        if let Some(new) = new_name(path) {
            let beside = siblings.iter().find(|it| it.key == new).map(|it| it.key_span.clone());
            found.push(Old {
                path: path.clone(),
                span: member.key_span.clone(),
                old: &member.key,
                new,
                beside,
            });
        }
    });
    found
}

fn walk<'n>(
    node: &'n Node,
    path: &JsonPath,
    see: &mut impl FnMut(&JsonPath, &'n Member, &'n [Member]),
) {
    match &node.kind {
        NodeKind::Object(members) => {
            for member in members {
                let here = path.key(&member.key);
                see(&here, member, members);
                walk(&member.value, &here, see);
            }
        }
        NodeKind::List(items) => {
            for (index, item) in items.iter().enumerate() {
                walk(item, &path.index(index), see);
            }
        }
        _ => {}
    }
}

/// A file of format 1 as format 2 writes it, with how many names have changed; none if the file
/// has format 2 already.
///
/// # Errors
/// When the text is not JSON, or an old name is next to its new one.
pub fn rewritten(text: &str, file_name: &str) -> Result<Option<(String, usize)>, Problems> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let scanned = scan::scan(text);
    let refused = |problems: Vec<Problem>| Problems::new(file_name, text, problems);
    let Some(root) = scanned.root.filter(|_| scanned.problems.is_empty()) else {
        return Err(refused(scanned.problems));
    };
    let spans = Spans::new(file_name, text, root);
    if !is_old(&spans) {
        return Ok(None);
    }
    let olds = old_names(spans.root());
    let conflicts: Vec<Problem> = olds.iter().filter_map(both).collect();
    if !conflicts.is_empty() {
        return Err(refused(conflicts));
    }
    let mut changes: Vec<(Range<usize>, String)> =
        olds.iter().map(|it| (it.span.clone(), format!("\"{}\"", it.new))).collect();
    let names = changes.len();
    walk(spans.root(), &JsonPath::top(), &mut |path, member, _| {
        let Some((above, last)) = named(path) else { return };
        if above.is_empty() && last == "format" {
            changes.push((member.value.span.clone(), FORMAT.to_string()));
        }
        let NodeKind::Text(value) = &member.value.kind else { return };
        let whole = [&above[..], &[last]].concat();
        for (at, old, new) in RENAMED_VALUES {
            if value == old && ends_with(&whole, at) {
                changes.push((member.value.span.clone(), format!("\"{new}\"")));
            }
        }
    });
    changes.sort_by_key(|(span, _)| span.start);
    let (mut out, mut upto) = (String::with_capacity(text.len()), 0);
    for (span, new) in changes {
        out.push_str(&text[upto..span.start]);
        out.push_str(&new);
        upto = span.end;
    }
    out.push_str(&text[upto..]);
    Ok(Some((out, names)))
}

#[cfg(test)]
mod tests;
