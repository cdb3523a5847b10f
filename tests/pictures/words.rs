//! The first sentence and the tables.

use longwatch::show::charge::charge;
use longwatch::show::volts::volts;
use longwatch::show::{first_sentence, pictures, run_table};
use longwatch::simulate::ledger::WeatherOf;
use longwatch::simulate::summary::Summary;

use super::invented::Station;

#[test]
fn the_sentence_tells_a_station_that_lasts() {
    let (ledger, mut summary) = Station { tiers: vec!["net"], ..Station::january() }.walk();
    (summary.no_power_h, summary.off_air_h) = (0.0, 0.0);
    summary.unserved_wh = 0.0;
    summary.lowest_charge_share = 0.384;
    summary.lowest_charge_ah = 73.0;
    summary.lowest_charge_at = ledger.rows[36].start;
    assert_eq!(
        first_sentence(&ledger, &summary),
        "On air for all 72 hours; lowest charge 38 % (73 Ah) on Wednesday 06:00"
    );
    summary.unserved_wh = 120.0;
    assert!(first_sentence(&ledger, &summary).starts_with(
        "On air for all 72 hours, but 120 Wh of demand unserved that is not essential; lowest"
    ));
    summary.load_wh = 0.0;
    summary.unserved_wh = 0.0;
    assert!(
        first_sentence(&ledger, &summary).starts_with("No load asked for power in all 72 hours; ")
    );
}

#[test]
fn the_sentence_tells_when_and_how_long_a_station_is_off_the_air() {
    let (ledger, mut summary) = Station::january().walk();
    let first = ledger.rows[9].start + chrono::TimeDelta::minutes(20);
    (summary.no_power_h, summary.off_air_h) = (5.2, 5.2);
    (summary.first_no_power, summary.first_off_air) = (Some(first), Some(first));
    let begins = |summary: &Summary, words: &str| {
        let sentence = first_sentence(&ledger, summary);
        assert!(sentence.starts_with(words), "{sentence}");
    };
    begins(
        &summary,
        "Off the air for 5.2 of 72 hours, first on Tuesday 03:20 (without power); lowest charge ",
    );
    summary.off_air_tier_h = 10.0;
    summary.off_air_h = 13.0;
    begins(
        &summary,
        "Off the air for 13 of 72 hours, first on Tuesday 03:20 (without power in 5.2 of 13 hours); ",
    );
    (summary.off_air_tier_h, summary.off_air_h) = (0.0, 5.2);
    summary.hours = 240.0;
    begins(&summary, "Off the air for 5.2 of 240 hours, first on Tuesday 19 January 03:20 (");
    (summary.no_power_h, summary.off_air_h) = (240.0, 240.0);
    begins(&summary, "Off the air for all 240 hours (without power); lowest charge ");
    summary.hours = 1.0;
    (summary.no_power_h, summary.off_air_h) = (0.5, 0.5);
    begins(&summary, "Off the air for 30 minutes of 1 hour, first on");
}

/// A tier that does not count as on the air is a failure like a load without power: title, line,
/// band and lane of every picture say so, and so does the table.
#[test]
fn a_tier_that_does_not_count_is_off_the_air_everywhere() {
    let (mut ledger, _) = Station { start_share: 1.0, ..Station::january() }.walk();
    let last_tier = ledger.heads.tiers.len() - 1;
    ledger.heads.tiers_on_air[last_tier] = false;
    for row in &mut ledger.rows {
        (row.no_power_h, row.first_dark_h, row.tier) = (0.0, None, 0);
        for group in &mut row.groups {
            (group.load_wh, group.unserved_wh) = (group.served_wh, 0.0);
        }
    }
    let on_air = super::invented::summary_of(&ledger);
    for picture in pictures(&ledger, &on_air) {
        assert!(!picture.svg.contains("off the air"), "{}", picture.name);
        assert!(!picture.title.contains("ff the air"), "{}", picture.title);
    }
    let on_air = charge(&ledger, &on_air);
    // Ten hours from Thursday 08:00 on, every load served.
    for row in &mut ledger.rows[62..] {
        row.tier = last_tier;
    }
    let mut summary = super::invented::summary_of(&ledger);
    (summary.off_air_tier_h, summary.off_air_h) = (10.0, 10.0);
    summary.first_off_air = Some(ledger.rows[62].start);
    assert_eq!(summary.no_power_h, 0.0);
    for picture in pictures(&ledger, &summary) {
        let leads = "Off the air for 10 of 72 hours, first on Thursday 08:00; ";
        assert!(picture.title.starts_with(leads), "{}: {}", picture.name, picture.title);
        if picture.name != "balance" {
            assert!(picture.svg.contains("off the air, 10 h"), "{}", picture.name);
        }
    }
    let drawn = charge(&ledger, &summary);
    // The line turns crimson and the hatched band stands behind it.
    for mark in ["stroke=\"#B0202E\" stroke-width=\"22\"", "#E2B4B8"] {
        assert!(drawn.svg.contains(mark) && !on_air.svg.contains(mark), "{mark}");
    }
    let text = run_table(&ledger, &summary);
    assert!(text.contains("\n  off the air"), "{text}");
}

/// Whose hours they are stands on every picture and on the page.
#[test]
fn strategy_trial_and_mean_weather_are_told() {
    let (mut ledger, summary) = Station::january().walk();
    for (weather, told) in [
        (WeatherOf::Mean, "strategy \"charger on\"; mean weather, no clouds drawn"),
        (
            WeatherOf::Trial { trial: 5806, seed: 3 },
            "strategy \"charger on\"; trial 5806 of seed 3",
        ),
        (WeatherOf::Stated, "strategy \"charger on\""),
    ] {
        ledger.heads.weather = weather;
        for picture in pictures(&ledger, &summary) {
            assert!(picture.description.contains(told), "{}", picture.description);
        }
        let text = run_table(&ledger, &summary).replace('\n', " ");
        assert!(text.contains(told), "{text}");
    }
}

#[test]
fn the_sentence_counts_hours_below_the_top_tier() {
    let (ledger, mut summary) = Station::january().walk();
    (summary.no_power_h, summary.off_air_h) = (0.0, 0.0);
    summary.unserved_wh = 0.0;
    summary.tier_h =
        [("full traffic", 41.0), ("listen", 31.0)].map(|(t, h)| (t.to_owned(), h)).into();
    assert!(first_sentence(&ledger, &summary).starts_with(
        "On air for all 72 hours, 31 of them below tier \"full traffic\"; lowest charge"
    ));
    summary.tier_h =
        [("full traffic", 0.0), ("listen", 72.0)].map(|(t, h)| (t.to_owned(), h)).into();
    assert!(first_sentence(&ledger, &summary).contains("none of them in tier \"full traffic\""));
}

/// What comes first when the volts fall is what the title measures against.
#[test]
fn the_volts_are_told_against_what_comes_first() {
    let (mut ledger, _) = Station::january().walk();
    for row in &mut ledger.rows {
        (row.lowest_v, row.mean_v, row.open_h, row.no_power_h) = (12.5, 12.6, 0.0, 0.0);
    }
    let mut summary = super::invented::summary_of(&ledger);
    // The disconnect opens at 11.8 V, the set quits at 11.7 V.
    assert_eq!(
        volts(&ledger, &summary).title,
        "Bus never below 12.5 V, 0.7 V above the disconnect"
    );
    ledger.heads.disconnect_v = 11.0;
    assert_eq!(
        volts(&ledger, &summary).title,
        "Bus never below 12.5 V, 0.8 V above the lowest for voice set"
    );
    ledger.heads.window_v = None;
    assert_eq!(
        volts(&ledger, &summary).title,
        "Bus never below 12.5 V, 1.5 V above the disconnect"
    );
    // Off with volts to spare: the cold did that.
    summary.disconnected_h = 6.0;
    assert_eq!(
        volts(&ledger, &summary).title,
        "Loads disconnected in 6 of 72 hours; bus never below 12.5 V"
    );
    let said = "Loads also go off where the cold locks what is left.";
    assert!(!volts(&ledger, &summary).description.contains(said));
    (ledger.rows[9].open_h, ledger.rows[9].locked_share) = (1.0, 1.0);
    assert!(volts(&ledger, &summary).description.contains(said));
}

#[test]
fn what_the_cold_locks_is_drawn_where_it_matters() {
    let (mut ledger, summary) = Station::january().walk();
    assert!(!charge(&ledger, &summary).svg.contains("locked by the cold"));
    for row in &mut ledger.rows {
        row.locked_share = 0.05;
    }
    assert!(!charge(&ledger, &summary).svg.contains("locked by the cold"));
    ledger.rows[9].locked_share = 0.2;
    assert!(charge(&ledger, &summary).svg.contains("locked by the cold"));
}

#[test]
fn the_table_adds_up_and_stands_straight() {
    let (ledger, summary) = Station::january().walk();
    let text = run_table(&ledger, &summary);
    let amount = |name: &str| -> f64 {
        let line = text
            .lines()
            .find(|line| line.trim_start().starts_with(name))
            .unwrap_or_else(|| panic!("{name}\n{text}"));
        let words: Vec<&str> = line.split_whitespace().collect();
        words[words.len() - 3].replace(',', "").parse().unwrap()
    };
    // Rounded to whole Wh, three sources: at most 2 Wh apart.
    let came = amount("sun, roof tracker")
        + amount("sun, lawn tracker")
        + amount("mains")
        + amount("out of the battery");
    assert!((came - amount("came in")).abs() <= 2.0);
    assert!((amount("came in") - amount("went out")).abs() <= 1.0);
    assert!((amount("loads served") - summary.served_wh).abs() <= 0.5);
    // Shares end in one column.
    let ends: Vec<usize> = text
        .lines()
        .skip_while(|line| !line.starts_with("Energy"))
        .take_while(|l| !l.is_empty())
        .filter(|l| l.ends_with('%'))
        .map(str::len)
        .collect();
    assert!(ends.len() > 5 && ends.iter().all(|end| *end == ends[0]), "{text}");
    assert!(text.lines().next().unwrap().starts_with("Off the air for "));
    for part in [
        "tier full traffic",
        "without power",
        "lowest",
        "taken from the mains",
        "demand not served",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    assert!(text.lines().all(|line| line == line.trim_end()));
}
