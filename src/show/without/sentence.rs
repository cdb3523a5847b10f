//! The part whose loss hurts most, and the guess to measure first, in counts.

use super::super::odds::sentence::{Words, whole};
use super::super::text::clean;
use super::super::words::hours;
use crate::decide::without::Without;

/// `Losing the array "roof" hurts most: ...`.
#[must_use]
pub fn first_sentence(it: &Without) -> String {
    let words = Words::of(it.occasion);
    let counted = words.counted(it.trials);
    let kept = format!(
        "The whole station is on the air for all {} {} {} of {counted}",
        hours(it.hours),
        words.within,
        whole(it.whole.lasted)
    );
    match it.lost.first() {
        _ if it.whole.lasted == 0 => format!("{kept}; there is none to lose."),
        None => format!("{kept}; it has no part that it could lose and still run."),
        Some(first) if first.pair.only_a == 0 => {
            format!("{kept}; no loss of a single part takes one of them away.")
        }
        Some(first) => format!(
            "{kept}; losing the {} hurts most: {} of those are lost.",
            clean(&first.part),
            whole(first.pair.only_a)
        ),
    }
}

/// `Measure first: ...`.
#[must_use]
pub fn measure_sentence(it: &Without) -> String {
    let words = Words::of(it.occasion);
    match it.swings.first() {
        None => "No input is marked as a guess, so nothing is to be measured first; say with `basis` which numbers nobody has looked at.".to_owned(),
        Some(first) if first.swing == 0 => {
            let besides = match it.lost.first() {
                Some(lost) if lost.pair.only_a > 0 => " A part that is lost is another matter.",
                _ => "",
            };
            format!(
                "Moved one at a time, no guess changes the count: {} of {} at either end, so none has to be measured first.{besides}",
                whole(first.low.lasted),
                words.counted(it.trials)
            )
        }
        Some(first) => format!(
            "Measure first: {}. At {} the station carries {}, at {} {} of {}.",
            clean(&first.path),
            first.ends[0],
            whole(first.low.lasted),
            first.ends[1],
            whole(first.high.lasted),
            words.counted(it.trials)
        ),
    }
}
