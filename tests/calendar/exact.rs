//! Chances that follow by hand.

use longwatch::decide::calendar::{Calendar, Options, calendar};
use longwatch::simulate::trials::Watch;
use serde_json::{Value, json};

use super::common::{folder, scenario};
use super::support::bench_with;

/// The bench with a mains that keeps its battery full, and nothing else but the sun.
fn kept_full(patch: &Value) -> Value {
    let mut value = bench_with(&json!({
        "supply": {
            "rated_v": 13.8, "limit_a": 40, "efficiency_share": 0.87, "joins": "charger_only",
            "charger": {"limit_a": 25, "set_points": {"absorption_v": 14.2}}
        },
        "storm": "independent",
        "strategy": "on", "strategies": {"on": {"supply": "always"}, "off": {"supply": "never"}}
    }));
    super::support::merge(&mut value, patch);
    value
}

fn calendar_of(value: &Value, hours: u32, trials: u64) -> Calendar {
    let strategies = ["on", "off"].map(str::to_owned).to_vec();
    let options = Options { hours, trials, seed: 1, threads: 0, strategies };
    calendar(&scenario(value), folder(), &options, &Watch::default())
        .unwrap_or_else(|e| panic!("{e:?}"))
}

/// No sun and 10 W on 105 Wh: ten and a half hours from full, whatever the month and the hour. What
/// never sees the mains is empty.
#[test]
fn without_sun_the_battery_lasts_its_hours() {
    let dark = kept_full(&json!({
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "battery": {"ideal": {"capacity_wh": 105.0}}
    }));
    for (hours, kept) in [(10, 1.0), (11, 0.0)] {
        let found = calendar_of(&dark, hours, 3);
        let (on, off) = (&found.strategies[0], &found.strategies[1]);
        assert_eq!((on.points.len(), on.months.len()), (12 * 24, 12));
        assert!(on.points.iter().all(|point| point.chance == kept && point.trials == 3), "{hours}");
        assert!(off.points.iter().all(|point| point.chance == 0.0), "{hours}");
    }
}

/// Sunny days, on which the panels carry everything, and dark days without sun follow each other in
/// a chain; the battery lasts 30.5 hours. From full, 72 hours are lost when two dark days in a row
/// ask for more than that. From midnight to 06:00 that is any two of three whole days; the fourth
/// day then is too short to matter. From 07:00 to 17:00 it is any two of four days: the shorter two
/// ends, of 7 hours or more each, still make 31 hours with the day beside them. From 18:00 on the
/// first day is too short, and three days count again. The chance of no two in a row comes from
/// the chain by adding up.
#[test]
fn two_dark_days_in_a_row_are_too_many() {
    let (dark, lag1) = (0.35, 0.3);
    let value = kept_full(&json!({
        "sun": {"profile": {"rated_share": vec![1.0; 24], "day_types": {
            "types": {"sunny": {"sun_multiplier": {"fixed": 1.0}}, "dark": {"sun_multiplier": {"fixed": 0.0}}},
            "chain": {"shares": {"type_share": [1.0 - dark, dark], "lag1_correlation": lag1}}
        }}},
        "battery": {"ideal": {"capacity_wh": 305.0}}
    }));
    let no_two_of = |days: u32| {
        // Chance of no two dark days in a row so far, the last one sunny or dark.
        let (mut sunny_last, mut dark_last) = (1.0 - dark, dark);
        let (to_dark, stays_dark) = (dark * (1.0 - lag1), dark + lag1 * (1.0 - dark));
        for _ in 1..days {
            (sunny_last, dark_last) = (
                sunny_last * (1.0 - to_dark) + dark_last * (1.0 - stays_dark),
                sunny_last * to_dark,
            );
        }
        sunny_last + dark_last
    };
    let found = calendar_of(&value, 72, 620);
    let on = &found.strategies[0];
    for hour in 0..24 {
        let exact = no_two_of(if (7..18).contains(&hour) { 4 } else { 3 });
        let (kept, trials) =
            on.at(hour).fold((0, 0), |sum, point| (sum.0 + point.kept, sum.1 + point.trials));
        assert_eq!(trials, 12 * 620);
        // Days of different months are far apart: as good as independent.
        let ours = kept as f64 / trials as f64;
        let within = 4.5 * (exact * (1.0 - exact) / trials as f64).sqrt();
        assert!((ours - exact).abs() < within, "{hour}: {ours} {exact} {within}");
    }
    assert!((no_two_of(3) - no_two_of(4)).abs() > 0.05, "the two are told apart");
}

/// Where the clock is put forward the skipped hour is no branch: one day of March has none.
#[test]
fn an_hour_that_the_clock_skips_has_fewer_branches() {
    let value = kept_full(&json!({
        "site": {"clock": {"fixed_offset": null, "zone": "America/Halifax"}},
        "span": {"start": "2027-03-01T00:00"}
    }));
    let found = calendar_of(&value, 1, 31);
    for point in &found.strategies[0].points {
        let skipped = point.month == 3 && point.clock_hour == 2;
        assert_eq!(point.trials, if skipped { 30 } else { 31 }, "{point:?}");
    }
}
