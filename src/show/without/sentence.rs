//! The part whose loss hurts most, and the guess to measure first, in counts; where the count stands
//! still, in hours off the air or in lowest charge. What ties is named together.

use super::super::odds::sentence::{Words, whole};
use super::super::text::clean;
use super::super::words::{hours, listed, percent, trimmed};
use crate::decide::without::{Carried, ToldBy, Without};

/// `A missing array "roof" hurts most: ...`.
#[must_use]
pub fn first_sentence(it: &Without) -> String {
    let words = Words::of(it.occasion);
    let kept = format!(
        "The whole station stays on the air for all {} in {} of {}",
        hours(it.hours),
        whole(it.whole.lasted),
        words.counted(it.trials)
    );
    let Some(first) = it.lost.first() else {
        return format!("{kept}; it has no part that could be missing.");
    };
    let ties = it.lost.iter().take_while(|lost| lost.ties_with(first, &it.whole));
    let parts: Vec<String> = ties.map(|lost| clean(&lost.part)).collect();
    let hurts = match parts.as_slice() {
        [part] => format!("a missing {part} hurts most"),
        all => format!("one of these missing hurts most, all alike: {}", listed(all)),
    };
    let told_by = first.told_by(&it.whole);
    let measure = match told_by {
        ToldBy::Count => {
            return format!("{kept}; {hurts}: {} of those fail.", whole(first.pair.only_a));
        }
        ToldBy::Nothing => {
            return format!("{kept}; no single missing part makes it worse in what is counted.");
        }
        ToldBy::OffAir | ToldBy::LowestCharge => measured_by(told_by, words),
    };
    format!(
        "{kept}; no single missing part makes one of them fail. By {measure}, {hurts}: {} instead of {}.",
        value(told_by, &first.carried),
        value(told_by, &it.whole)
    )
}

/// `Measure first: ...`.
#[must_use]
pub fn measure_sentence(it: &Without) -> String {
    let words = Words::of(it.occasion);
    let Some(first) = it.swings.first() else {
        return "No input is marked as a guess, so nothing is to be measured first. Mark with `basis` the numbers that nobody has measured.".to_owned();
    };
    let told_by = first.told_by();
    let ties = it.swings.iter().take_while(|swing| swing.ties_with(first));
    let paths: Vec<String> = ties.map(|swing| clean(&swing.path)).collect();
    let same = format!(
        "Varied one at a time, no guess changes the count: {} of {}.",
        whole(it.whole.lasted),
        words.counted(it.trials)
    );
    let which = match paths.as_slice() {
        [path] => format!("{path}."),
        all => format!("{}; these tie.", listed(all)),
    };
    match told_by {
        ToldBy::Count if first.low.lasted == first.high.lasted => format!(
            "Measure first: {which} At {} and at {} the station survives {}, as stated {} of {}; {} of them end differently.",
            first.ends[0],
            first.ends[1],
            whole(first.low.lasted),
            whole(it.whole.lasted),
            words.counted(it.trials),
            whole(first.swing)
        ),
        ToldBy::Count => format!(
            "Measure first: {which} At {} the station survives {}, at {} {} of {}.",
            first.ends[0],
            whole(first.low.lasted),
            first.ends[1],
            whole(first.high.lasted),
            words.counted(it.trials)
        ),
        ToldBy::Nothing => {
            format!("{same} Neither the hours off the air nor the lowest charge change: all tie.")
        }
        ToldBy::OffAir | ToldBy::LowestCharge => format!(
            "{same} By {}, measure first: {which} It is {} at {}, {} at {}.",
            measured_by(told_by, words),
            value(told_by, &first.low),
            first.ends[0],
            value(told_by, &first.high),
            first.ends[1]
        ),
    }
}

/// What is measured where the count stands still.
#[must_use]
pub fn measured_by(told_by: ToldBy, words: Words) -> String {
    match told_by {
        ToldBy::OffAir => "the mean hours off the air".to_owned(),
        ToldBy::LowestCharge => format!("the lowest charge of 1 in 20 {}", words.many),
        ToldBy::Count | ToldBy::Nothing => format!("{} survived", words.many),
    }
}

/// The result of a station in that measure, in words.
#[must_use]
pub fn value(told_by: ToldBy, of: &Carried) -> String {
    match told_by {
        ToldBy::OffAir => format!("{} h", trimmed(of.off_air_h, 2)),
        ToldBy::LowestCharge => percent(of.lowest_charge_p05_share),
        ToldBy::Count | ToldBy::Nothing => whole(of.lasted),
    }
}
