//! The timeline of a trial in words: its title, what is drawn, and every swap.

use chrono::{DateTime, Duration, FixedOffset};

use super::super::page::ROOM_PX;
use super::super::text::{clean, fit, width_px};
use super::super::theme::TITLE;
use super::super::words::{listed, percent, trimmed};
use crate::decide::exercise::{ClubTimeline, Exercise};

/// A share in whole percent.
pub(super) fn percent_whole(share: f64) -> String {
    percent((share * 100.0).round() / 100.0)
}

/// `Sun 03:30`, so many hours after the beginning.
pub(super) fn weekday_time(start: Option<DateTime<FixedOffset>>, h: f64) -> Option<String> {
    #[allow(clippy::cast_possible_truncation)]
    let minutes = (h * 60.0).round() as i64;
    let at = start? + Duration::minutes(minutes);
    Some(at.format("%a %H:%M").to_string())
}

pub(super) fn moment(timeline: &ClubTimeline, h: f64) -> String {
    weekday_time(timeline.start, h).unwrap_or_else(|| format!("after {} h", trimmed(h, 1)))
}

/// The finding.
pub(super) fn title_of(timeline: &ClubTimeline) -> String {
    let case = format!("The {} trial", timeline.called);
    let missing: Vec<String> =
        timeline.stations.iter().filter(|it| !it.came).map(|it| clean(&it.name)).collect();
    let mut out: Vec<(f64, &str)> = timeline
        .stations
        .iter()
        .filter(|it| it.came)
        .filter_map(|it| it.first_off_h.map(|h| (h, it.name.as_str())))
        .collect();
    out.sort_by(|one, other| one.0.total_cmp(&other.0));
    let swaps = match timeline.swaps.len() {
        0 => "no swap".to_owned(),
        1 => "1 swap".to_owned(),
        many => format!("{many} swaps"),
    };
    let absent = if missing.is_empty() {
        String::new()
    } else {
        format!("{} never came, ", listed(&missing))
    };
    let nobody = if missing.is_empty() { "nobody" } else { "nobody else" };
    let went = match out.as_slice() {
        [] => format!("{nobody} goes off the air"),
        [(h, name)] => format!("{} goes off the air {}", clean(name), moment(timeline, *h)),
        [(h, name), rest @ ..] => format!(
            "{} goes off the air first, {}, then {} more",
            clean(name),
            moment(timeline, *h),
            rest.len()
        ),
    };
    let whole = format!("{case}: {absent}{went}, {swaps}");
    // A title may have two lines.
    if width_px(&whole, TITLE) <= 1.8 * ROOM_PX {
        return whole;
    }
    // Names stand in their lanes; here it is enough how many.
    let absent = match missing.len() {
        0 => String::new(),
        1 => "1 station never came, ".to_owned(),
        many => format!("{many} stations never came, "),
    };
    format!("{case}: {absent}{went}, {swaps}")
}

/// Which trial of which club it is, and who did not come.
pub(super) fn about(exercise: &Exercise, timeline: &ClubTimeline) -> String {
    let missing = match timeline.absent.as_slice() {
        [] => "everybody came".to_owned(),
        names => {
            format!("without {}", names.iter().map(|it| clean(it)).collect::<Vec<_>>().join(", "))
        }
    };
    let line = format!(
        "{}{}; trial {} of seed {}, {missing}",
        clean(&timeline.title),
        if timeline.invented { ", invented" } else { "" },
        timeline.trial,
        exercise.seed
    );
    fit(&line, super::super::theme::SUBTITLE, ROOM_PX)
}

/// What is drawn.
pub(super) fn drawn_of(timeline: &ClubTimeline) -> &'static str {
    if timeline.packs.is_empty() {
        "Bars: on watch; red and hatched where off the air. Lines: charge of each battery. Grey behind: night."
    } else {
        "Bars: on watch; red and hatched where off the air. Lines: charge of each pack, blue beneath while it is in a station, olive on the charger, hatched while it charges; a ring is taken off, the dot at the other end of its line put on. Pale bar: hours in which the generator may run. Grey behind: night."
    }
}

/// Every swap, for those who hear the page.
pub(super) fn swaps_in_words(timeline: &ClubTimeline) -> String {
    let one = |swap: &crate::decide::exercise::timeline::SwapLine| {
        format!(
            "{}: {} takes {} at {} for {} at {}",
            moment(timeline, swap.at_h),
            swap.station,
            swap.on,
            percent_whole(swap.on_share),
            swap.off,
            percent_whole(swap.off_share)
        )
    };
    let all: Vec<String> = timeline.swaps.iter().map(one).collect();
    if all.is_empty() { String::new() } else { format!("{}.", all.join("; ")) }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::decide::exercise::timeline::StationLine;

    /// Four stations of eight hours: two of them never came, one goes off at 03:57.
    pub fn evening() -> ClubTimeline {
        let station = |name: &str, came: bool, first_off_h: Option<f64>| StationLine {
            name: name.to_owned(),
            came,
            takes_packs: false,
            watch_h: vec![(0.0, 8.0)],
            start_share: 0.9,
            charge_share: vec![0.5; 16],
            off: (0..16).map(|step| first_off_h.is_some() && [7, 8, 11].contains(&step)).collect(),
            first_off_h,
        };
        ClubTimeline {
            title: "evening".to_owned(),
            invented: true,
            called: "worst".to_owned(),
            trial: 7,
            start: None,
            hours: 8.0,
            step_h: 0.5,
            nights_h: Vec::new(),
            stations: vec![
                station("camp", true, Some(3.95)),
                station("slip", false, Some(0.0)),
                station("ridge", true, None),
                station("mole", false, Some(0.0)),
            ],
            packs: Vec::new(),
            swaps: Vec::new(),
            absent: Vec::new(),
            has_point: false,
            engine_allowed_h: Vec::new(),
            generator_h: Vec::new(),
            fuel_l: 0.0,
        }
    }

    #[test]
    fn a_title_names_all_that_never_came_and_who_went_off() {
        let mut told = evening();
        assert_eq!(
            title_of(&told),
            "The worst trial: slip and mole never came, camp goes off the air after 4 h, no swap"
        );
        told.stations.swap_remove(0);
        assert_eq!(
            title_of(&told),
            "The worst trial: mole and slip never came, nobody else goes off the air, no swap"
        );
        for station in &mut told.stations {
            station.name = "a name that somebody wrote at length, and then went on".to_owned();
        }
        assert!(title_of(&told).contains("2 stations never came"), "{}", title_of(&told));
    }
}
