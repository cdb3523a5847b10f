//! The results of a club in sentences: who runs out first, and what everybody brings.

use super::super::odds::sentence::{Words, whole};
use super::super::text::{clean, lines};
use super::table::{moment_of, small};
use crate::decide::exercise::Exercise;

/// Columns of a line.
const WIDTH: usize = 80;

/// Who runs out first and when, and how long the club is down.
pub(super) fn who_first(exercise: &Exercise) -> String {
    let words = Words::of(exercise.occasion);
    // Of equals the first of the file.
    let most = exercise.stations.iter().rev().max_by_key(|(_, it)| it.first_out);
    let first = match most.filter(|(_, it)| it.first_out > 0) {
        None => "No station that came went off the air.".to_owned(),
        Some((name, it)) => {
            let by = it.first_out_h.p50.map_or(String::new(), |h| {
                format!(", half of these by {}", moment_of(exercise, h))
            });
            format!(
                "First to run out is most often {}: in {} of {}{by}.",
                clean(name),
                whole(it.first_out),
                words.counted(exercise.trials)
            )
        }
    };
    let down = if exercise.club.failures == 0 {
        String::new()
    } else {
        let first = &exercise.club_first_down_h;
        let known = [("half", first.p50), ("a quarter", first.p25), ("one in twenty", first.p05)];
        let begins = known
            .into_iter()
            .find_map(|(of, h)| Some((of, h?)))
            .map_or(String::new(), |(of, h)| {
                format!("; in {of} it is down by {}", moment_of(exercise, h))
            });
        format!(" The club is down for {} h on average{begins}.", small(exercise.club_down_h))
    };
    lines(&format!("{first}{down}"), WIDTH, (0, 0)).join("\n") + "\n"
}

/// What everybody brings, item by item.
pub(super) fn packing_items(exercise: &Exercise) -> String {
    let packing = &exercise.packing;
    let mut text = String::new();
    for owner in packing.by_owner.keys() {
        let name = if owner.is_empty() { "nobody named".to_owned() } else { clean(owner) };
        let things: Vec<String> = packing
            .rows
            .iter()
            .filter(|row| row.owner == *owner)
            .map(|row| match row.count {
                1 => clean(&row.what),
                count => format!("{count} \u{d7} {}", clean(&row.what)),
            })
            .collect();
        let brings = format!("{name}: {}.", things.join("; "));
        text += &(lines(&brings, WIDTH, (2, 4)).join("\n") + "\n");
    }
    text
}
