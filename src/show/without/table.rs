//! A station without its parts, and its guesses moved, as a page of text.

use super::super::compare::table::{cut, folded};
use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::{first_sentence, measure_sentence};
use crate::decide::without::Without;
use crate::decide::without::guesses::Why;

/// Columns of a name.
const NAME: usize = 34;

/// The text. Warnings are not in it.
#[must_use]
pub fn without_table(it: &Without) -> String {
    let blocks = [
        format!("{}\n", folded(&first_sentence(it), 0)),
        format!("{}\n", folded(&measure_sentence(it), 0)),
        lost_table(it).to_string(),
        format!(
            "{}\n",
            folded(
                "Lost: carried by the whole station, not without the part. Won: the other way round, where less to run on makes the rules shed sooner. A part is missing from the settling days on.",
                2
            )
        ),
        swing_table(it).map_or(String::new(), |table| table.to_string()),
        spread_note(it),
    ];
    let kept: Vec<String> = blocks.into_iter().filter(|block| !block.trim().is_empty()).collect();
    kept.join("\n")
}

/// What the station carries without each part.
#[must_use]
pub fn lost_table(it: &Without) -> Table {
    let many = Words::of(it.occasion).many;
    let mut table = Table::new(&[
        ("Without", Side::Left),
        (many, Side::Right),
        ("share", Side::Right),
        ("lost", Side::Right),
        ("won", Side::Right),
        ("enough?", Side::Left),
    ]);
    table.row(&[
        "  nothing, the whole station".to_owned(),
        whole(it.whole.lasted),
        exact_percent(it.whole.readiness),
    ]);
    for lost in &it.lost {
        let enough = match (lost.pair.only_a + lost.pair.only_b, lost.pair.enough_trials) {
            (0, _) => "alike",
            (_, true) => "yes",
            (_, false) => "no",
        };
        table.row(&[
            format!("  {}", cut(&lost.part, NAME)),
            whole(lost.carried.lasted),
            exact_percent(lost.carried.readiness),
            whole(lost.pair.only_a),
            whole(lost.pair.only_b),
            enough.to_owned(),
        ]);
    }
    table
}

/// What the station carries at both ends of each guess; `None` without guesses.
#[must_use]
pub fn swing_table(it: &Without) -> Option<Table> {
    let many = Words::of(it.occasion).many;
    let head = format!("{many} apart");
    let mut table = Table::new(&[
        ("Measure first", Side::Left),
        ("from", Side::Right),
        ("to", Side::Right),
        ("carries", Side::Right),
        ("and", Side::Right),
        (&head, Side::Right),
    ]);
    for swing in &it.swings {
        table.row(&[
            format!("  {}", cut(&swing.path, NAME)),
            swing.ends[0].clone(),
            swing.ends[1].clone(),
            whole(swing.low.lasted),
            whole(swing.high.lasted),
            whole(swing.swing),
        ]);
    }
    (!table.is_empty()).then_some(table)
}

fn spread_note(it: &Without) -> String {
    if it.swings.is_empty() && it.not_moved.is_empty() {
        return String::new();
    }
    let mut said = String::new();
    if it.swings.iter().any(|swing| swing.why != Why::Uncertain) {
        said.push_str("How far a guess may be off is judgement, by its kind; `uncertain` in the scenario states it for loads, capacity and arrays. ");
    }
    for not in &it.not_moved {
        said.push_str(&format!("Not moved: {}. ", clean(not)));
    }
    format!("{}\n", folded(&said, 2))
}
