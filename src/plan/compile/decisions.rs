//! When somebody decides on the tier, and which row of an operating card a decision follows.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, Duration, Utc};

use super::timeline::next_whole_hour;
use super::{CompileProblem, Stretch};
use crate::clock::{LocalClock, parse_time_of_day};
use crate::scenario::Scenario;
use crate::sky::events::disc_above_horizon;
use crate::sky::position::Place;
use crate::sky::track::SunTrack;

/// Instants at which somebody decides, each with the places of the words that say so.
pub(super) type Decisions = BTreeMap<DateTime<Utc>, Vec<usize>>;

/// The row of the operating card for a decision: of those for one of its words, or for any, that
/// hold already, the one that begins last; of several the first. Before the span the first row is
/// followed as at its beginning. Without a card 0.
pub(super) fn card_row(
    scenario: &Scenario,
    stretch: &Stretch,
    decisions: &Decisions,
    at: DateTime<Utc>,
) -> usize {
    let (Some(shedding), Some(words)) = (&scenario.shedding, decisions.get(&at)) else { return 0 };
    #[allow(clippy::cast_precision_loss)]
    let elapsed_h = ((at - stretch.start).num_seconds() as f64 / 3600.0).max(0.0);
    let mut found: Option<usize> = None;
    for (row, it) in shedding.card.iter().enumerate() {
        let asked = it.at.as_ref().is_none_or(|word| {
            words.iter().any(|index| shedding.decide_at.get(*index) == Some(word))
        });
        let later = found.is_none_or(|best| it.from_h > shedding.card[best].from_h);
        if asked && it.from_h <= elapsed_h + 1e-9 && later {
            found = Some(row);
        }
    }
    found.unwrap_or(0)
}

/// When somebody decides on the tier, with the places of the words of `decide_at` that say so:
/// sunrise and sunset count from the next whole hour on.
pub(super) fn decision_instants(
    scenario: &Scenario,
    clock: &LocalClock,
    stretch: &Stretch,
) -> Result<Decisions, CompileProblem> {
    let mut decisions = Decisions::new();
    let Some(shedding) = &scenario.shedding else { return Ok(decisions) };
    let place = Place {
        latitude_deg: scenario.site.latitude_deg,
        longitude_deg: scenario.site.longitude_deg,
        elevation_m: scenario.site.elevation_m,
    };
    let first = clock.local(stretch.begin).date_naive();
    let last = clock.local(stretch.end).date_naive();
    let before = next_whole_hour(clock, stretch.begin) - Duration::hours(1);
    let mut track = None;
    for (place_of_word, word) in shedding.decide_at.iter().enumerate() {
        let mut instants: BTreeSet<DateTime<Utc>> = BTreeSet::new();
        match word.as_str() {
            "start" => {
                instants.insert(stretch.start);
            }
            "hourly" => {
                let mut at = before + Duration::hours(1);
                while at < stretch.end {
                    instants.insert(at);
                    at += Duration::hours(1);
                }
            }
            "sunrise" | "sunset" => {
                let track: &SunTrack = match &mut track {
                    Some(track) => track,
                    none => none.insert(
                        SunTrack::new(place, before, stretch.end)
                            .map_err(|problem| CompileProblem::new("site", problem))?,
                    ),
                };
                let mut was_up = disc_above_horizon(&track.at(before));
                let mut at = before + Duration::hours(1);
                while at < stretch.end {
                    let is_up = disc_above_horizon(&track.at(at));
                    if is_up != was_up && is_up == (word == "sunrise") {
                        instants.insert(at);
                    }
                    was_up = is_up;
                    at += Duration::hours(1);
                }
            }
            time => {
                let Some(minute) = parse_time_of_day(time) else {
                    return Err(CompileProblem::new(
                        "shedding.decide_at",
                        format!(
                            "`{time}` is not start, sunrise, sunset, hourly or a time such as 07:00"
                        ),
                    ));
                };
                for date in first.iter_days().take_while(|date| *date <= last) {
                    let at = date
                        .and_hms_opt(minute / 60 % 24, minute % 60, 0)
                        .and_then(|local| clock.instant(local).ok());
                    instants.extend(at);
                }
            }
        }
        for at in instants {
            decisions.entry(at).or_default().push(place_of_word);
        }
    }
    Ok(decisions)
}
