//! A told sky: the laws of the words, how they fade, and what the run makes of them.

use chrono::NaiveDate;
use longwatch::chance::transforms::normal::normal_deviate;
use longwatch::scenario::Scenario;
use longwatch::scenario::sun::Sun;
use longwatch::simulate::trials::{Options, prepare, replay};
use longwatch::sky::climate::ClimateTable;
use longwatch::sky::random_days::ClearnessDays;
use longwatch::sky::view::View;
use serde_json::{Value, json};

use super::support::{bench_with, run};

fn told(days: &Value) -> Value {
    bench_with(&json!({
        "span": {"start": "2027-01-19T00:00", "hours": 240},
        "sun": {"profile": null, "climate": {
            "ghi_kwh_m2_day": [1.4, 2.3, 3.4, 4.4, 5.2, 5.7, 5.7, 4.9, 3.7, 2.4, 1.5, 1.1],
            "air_mean_c": [2, 2, 4, 7, 11, 14, 17, 17, 14, 10, 6, 3],
            "air_swing_c": [6, 6, 7, 8, 9, 9, 9, 9, 8, 7, 6, 6],
            "outlook": {"from": "2027-01-19", "days": days}
        }}
    }))
}

fn days_of(value: &Value) -> (ClimateTable, ClearnessDays) {
    let scenario: Scenario = serde_json::from_value(value.clone()).unwrap();
    let Sun::Climate(climate) = &scenario.sun else { panic!("no climate") };
    let view = View::new(&scenario.site, &scenario.arrays);
    let first = NaiveDate::from_ymd_opt(2027, 1, 19).unwrap();
    let offset = chrono::FixedOffset::east_opt(0).unwrap();
    let table = ClimateTable::new(&view, climate, offset, first, 10).unwrap();
    let days = ClearnessDays::new(table.days(), 0.29).unwrap();
    (table, days)
}

/// Means and spreads stated in `sky::outlook` (judgement), drawn 20,000 times, 4.5 standard errors.
#[test]
fn words_are_drawn_by_their_laws() {
    const N: u64 = 20_000;
    for (word, mean, sd) in [
        ("clear", 0.70, 0.06),
        ("partly", 0.55, 0.12),
        ("mostly_cloudy", 0.38, 0.12),
        ("overcast", 0.20, 0.08),
    ] {
        let (_, days) = days_of(&told(&json!([{"sky": word}])));
        let mut drawn = Vec::new();
        for trial in 0..N {
            days.draw(7, trial, 0, 1, &mut drawn);
        }
        let n = N as f64;
        let average = drawn.iter().sum::<f64>() / n;
        let spread = (drawn.iter().map(|it| (it - average).powi(2)).sum::<f64>() / n).sqrt();
        // Ends of the law at 0.01 and 0.85 take off a little: 1 % of the spread.
        assert!((average - mean).abs() < 4.5 * sd / n.sqrt() + 0.01 * sd, "{word} {average}");
        let se = 4.5 * sd / (2.0 * n).sqrt();
        assert!((spread - sd).abs() < se + 0.03 * sd, "{word} {spread}");
    }
}

/// Day 6 and later are those of the climate, to the bit, and so is every day of which nothing is
/// known; days between stand between.
#[test]
fn what_was_told_fades_and_the_rest_is_as_without() {
    let words = |word: &str| json!(vec![json!({"sky": word}); 8]);
    let (_, clear) = days_of(&told(&words("clear")));
    let (_, plain) = days_of(&told(&words("unknown")));
    let of = |days: &ClearnessDays, trial| {
        let mut drawn = Vec::new();
        days.draw(3, trial, 0, 10, &mut drawn);
        drawn
    };
    for trial in 0..50 {
        let (clear, plain) = (of(&clear, trial), of(&plain, trial));
        assert_eq!(clear[5..], plain[5..]);
        assert_ne!(clear[0], plain[0]);
        assert_ne!(clear[4], plain[4]);
    }
    // The darkest twentieth of the first day: 0.70 - 1.645 x 0.06.
    let mut dark = Vec::new();
    clear.quantiles(0.05, (0, 1), &mut dark);
    assert!((dark[0] - (0.70 + 0.06 * normal_deviate(0.05))).abs() < 1e-6, "{dark:?}");
}

#[test]
fn a_told_energy_is_the_energy_of_the_run() {
    let ledger = run(&told(&json!([{"ghi_kwh_m2_day": 0.9}, {"sky": "overcast"}])));
    let day = |day: usize| -> f64 {
        ledger.rows[day * 24..(day + 1) * 24].iter().filter_map(|row| row.ghi_w_m2).sum()
    };
    // Ends of the law make the mean of the day a little higher than what was told.
    assert!((day(0) - 900.0).abs() < 9.0, "{}", day(0));
    assert!(day(1) < 0.6 * day(9), "{} {}", day(1), day(9));
}

/// A trial replays under an outlook and a drawn charge with the charges of the lanes.
#[test]
fn trials_replay_with_what_is_known_now() {
    let mut value = told(&json!([{"sky": "partly"}]));
    value["start"] = json!({"charge_between_share": [0.3, 0.7]});
    let scenario: Scenario = serde_json::from_value(value).unwrap();
    let options = Options { seed: 5, ..Options::default() };
    let prepared = prepare(&scenario, std::path::Path::new("tests"), Vec::new(), options).unwrap();
    let mut starts = Vec::new();
    for trial in [0, 1, 17] {
        let outcome = longwatch::simulate::trials::outcome_of(&prepared, trial);
        let ledger = longwatch::simulate::single::run(&replay(&prepared, trial));
        let last = ledger.rows.last().unwrap();
        assert_eq!(outcome.end_charge_share.to_bits(), last.charge_end_share.to_bits());
        assert_eq!(
            outcome.start_charge_share.to_bits(),
            ledger.rows[0].charge_start_share.to_bits()
        );
        assert!((0.3..=0.7).contains(&outcome.start_charge_share));
        starts.push(outcome.start_charge_share);
    }
    assert!(starts[0] != starts[1]);
}
