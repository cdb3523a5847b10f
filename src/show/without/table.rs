//! A station without its parts, and its guesses moved, as a page of text.

use super::super::compare::table::{cut, folded};
use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::page_text::Page;
use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::super::words::{listed, trimmed};
use super::sentence::{measured_by, value};
use super::{first_sentence, measure_sentence, whose};
use crate::decide::without::guesses::Why;
use crate::decide::without::{ByCharge, ToldBy, Without};

/// Columns of a name.
const NAME: usize = 34;

/// The text. Warnings are not in it.
#[must_use]
pub fn without_table(it: &Without) -> String {
    without_page(it).full()
}

/// The same as blocks.
#[must_use]
pub fn without_page(it: &Without) -> Page {
    let lead = format!("{}\n{}", folded(&first_sentence(it), 0), folded(&whose(it), 0));
    Page::new(lead)
        .block(0, "parts", lost_table(it).to_string())
        .block(1, "what to measure", folded(&measure_sentence(it), 0))
        .block(3, "what the heads mean", folded(&lost_note(it), 2))
        .block(2, "guesses", swing_table(it).map_or(String::new(), |table| table.to_string()))
        .block(4, "how far guesses vary", spread_note(it))
}

/// What the station survives without each part.
#[must_use]
pub fn lost_table(it: &Without) -> Table {
    let mut table = Table::new(&[
        ("Without", Side::Left),
        ("on the air", Side::Right),
        ("share", Side::Right),
        ("fail", Side::Right),
        ("survive", Side::Right),
        ("enough?", Side::Left),
    ]);
    table.row(&[
        "  nothing, the whole station".to_owned(),
        whole(it.whole.lasted),
        exact_percent(it.whole.on_air_share),
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
            exact_percent(lost.carried.on_air_share),
            whole(lost.pair.only_a),
            whole(lost.pair.only_b),
            enough.to_owned(),
        ]);
    }
    table
}

/// What the columns say, and why a trial may be survived only without a part.
fn lost_note(it: &Without) -> String {
    let sooner: Vec<String> = it
        .by_charge
        .iter()
        .map(|what| match what {
            ByCharge::Shedding => "the rules shed sooner",
            ByCharge::Generator => "the generator starts sooner",
            ByCharge::TopUp => "topping up from the mains begins sooner",
        })
        .map(str::to_owned)
        .collect();
    let won = match sooner.as_slice() {
        [] => "survived only without the part".to_owned(),
        all => format!("survived only without the part: with less charge {}", listed(all)),
    };
    let counted = Words::of(it.occasion).counted(it.trials);
    format!(
        "On the air: of {counted}. Fail: survived only with the part. Survive: {won}. The part is missing from the first warm-up day on."
    )
}

/// The results at both ends of each guess, in the measure that tells the first apart;
/// `None` without guesses.
#[must_use]
pub fn swing_table(it: &Without) -> Option<Table> {
    let told_by = it.swings.first()?.told_by();
    let (value_head, apart_head) = match told_by {
        ToldBy::OffAir => ("off the air".to_owned(), "h apart".to_owned()),
        ToldBy::LowestCharge => ("1 in 20".to_owned(), "% apart".to_owned()),
        ToldBy::Count | ToldBy::Nothing => ("survived".to_owned(), "apart".to_owned()),
    };
    let mut table = Table::new(&[
        ("Measure first", Side::Left),
        ("from", Side::Right),
        ("to", Side::Right),
        (&value_head, Side::Right),
        ("and", Side::Right),
        (&apart_head, Side::Right),
    ]);
    for (place, swing) in it.swings.iter().enumerate() {
        let before = place.checked_sub(1).and_then(|before| it.swings.get(before));
        let mark = if before.is_some_and(|it| it.ties_with(swing)) { "=" } else { " " };
        table.row(&[
            format!("{mark} {}", cut(&swing.path, NAME)),
            swing.ends[0].clone(),
            swing.ends[1].clone(),
            value(told_by, &swing.low),
            value(told_by, &swing.high),
            match told_by {
                ToldBy::OffAir => trimmed(swing.off_air_apart_h, 2),
                ToldBy::LowestCharge => trimmed(swing.lowest_charge_apart_share * 100.0, 1),
                ToldBy::Count | ToldBy::Nothing => whole(swing.swing),
            },
        ]);
    }
    (!table.is_empty()).then_some(table)
}

fn spread_note(it: &Without) -> String {
    if it.swings.is_empty() && it.not_moved.is_empty() {
        return String::new();
    }
    let words = Words::of(it.occasion);
    let mut said = String::new();
    if let Some(first) = it.swings.first() {
        said.push_str(&match first.told_by() {
            ToldBy::Count | ToldBy::Nothing => format!(
                "Apart: {} that do not end the same way at both ends and as stated. ",
                words.many
            ),
            told_by => format!(
                "Measured by {}, as the count does not change. Apart: the largest minus the smallest of both ends and as stated ({}). ",
                measured_by(told_by, words),
                value(told_by, &it.whole)
            ),
        });
        if it.swings.windows(2).any(|two| matches!(two, [a, b] if a.ties_with(b))) {
            said.push_str("With = a guess ties with the one above it. ");
        }
    }
    if it.swings.iter().any(|swing| swing.why != Why::Uncertain) {
        said.push_str("How far a guess may be off is judgement. `uncertain` in the scenario states it for loads, capacity and arrays. ");
    }
    for not in &it.not_moved {
        said.push_str(&format!("Not varied: {}. ", clean(not)));
    }
    format!("{}\n", folded(&said, 2))
}
