//! Every shipped scenario, under each of its strategies: the answer does not hang on the length of
//! the step, and the books close row by row.
//!
//! No source: this is the scheme against itself. A run of fine steps on the same hourly inputs (the
//! weather is given by the hour) must come to what the hour steps come to. What remains between
//! them has two causes: currents of a phase are those at its mean volts, and cold and tiers are
//! looked at when a step or an hour ends.

use crate::support::books;
use crate::support::shipped;

use books::check_row;
use longwatch::simulate::ledger::{Ledger, Row};
use longwatch::simulate::single;
use shipped::{Shipped, shipped};

/// Charge that hours and minutes may differ by, in the mean and at the end. A fortieth of what a
/// good shunt meter is off after a few days without a full charge (common practice, no source).
const CHARGE_SHARE: f64 = 0.002;
/// Unserved energy that they may differ by, share of the demand.
const UNSERVED_SHARE: f64 = 0.005;

/// Charge at the end of each hour.
fn hourly_charge(book: &Ledger) -> Vec<f64> {
    let mut passed_h = 0.0_f64;
    let mut at_hours = Vec::new();
    for row in &book.rows {
        passed_h += row.hours;
        if (passed_h - passed_h.round()).abs() < 1e-6 {
            at_hours.push(row.charge_end_share);
        }
    }
    at_hours
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn unserved_and_load_wh(book: &Ledger) -> (f64, f64) {
    let groups = || book.rows.iter().flat_map(|row| &row.groups);
    (groups().map(|it| it.unserved_wh).sum(), groups().map(|it| it.load_wh).sum())
}

/// Whether nothing was disconnected in the last day.
fn quiet_day(book: &Ledger) -> bool {
    let mut left_h = 24.0;
    book.rows.iter().rev().all(|row| {
        left_h -= row.hours;
        left_h < 0.0 || row.open_h == 0.0
    })
}

fn compare(shipped: &Shipped, strategy: &str, step_min: u32, hours: u32) {
    let run = |step_min| {
        single::run(&shipped.plan_with(|scenario| {
            strategy.clone_into(&mut scenario.strategy);
            scenario.span.step_min = step_min;
            scenario.span.hours = hours;
        }))
    };
    let (coarse, fine) = (run(60), run(step_min));
    let (coarse_h, fine_h) = (hourly_charge(&coarse), hourly_charge(&fine));
    assert_eq!(coarse_h.len(), hours as usize);
    assert_eq!(fine_h.len(), hours as usize);
    let name = format!("{}, {strategy}", shipped.name);
    let mean_off = (mean(&coarse_h) / mean(&fine_h) - 1.0).abs();
    let (unserved, load) = unserved_and_load_wh(&coarse);
    let (fine_unserved, _) = unserved_and_load_wh(&fine);
    let unserved_off = (unserved - fine_unserved).abs() / load;
    let end_off = (coarse_h[coarse_h.len() - 1] - fine_h[fine_h.len() - 1]).abs();
    println!("{name:36} mean {mean_off:.1e}, unserved {unserved_off:.1e}, end {end_off:.1e}");
    assert!(mean_off <= CHARGE_SHARE, "{name}: mean charge is off by {mean_off:.2e} of it");
    assert!(
        unserved_off <= UNSERVED_SHARE,
        "{name}: unserved is off by {unserved_off:.2e} of the load"
    );
    if quiet_day(&coarse) && quiet_day(&fine) {
        assert!(end_off <= CHARGE_SHARE, "{name}: end charge is off by {end_off:.2e}");
    }
}

#[test]
fn minutes_and_hours_come_to_the_same_on_every_shipped_scenario() {
    let mut compared = 0;
    for shipped in shipped() {
        let hours = shipped.scenario.span.hours;
        if hours > 1000 {
            continue;
        }
        for strategy in shipped.strategies() {
            compare(&shipped, &strategy, 1, hours);
            compared += 1;
        }
    }
    assert!(compared >= 8, "only {compared} runs");
}

/// A year of minutes is slow in a test: spans of months are compared in steps of five minutes, and
/// their first forty days in minutes.
#[test]
fn five_minutes_and_hours_come_to_the_same_over_months() {
    let mut compared = 0;
    for shipped in shipped() {
        let hours = shipped.scenario.span.hours;
        if hours > 1000 {
            for strategy in shipped.strategies() {
                compare(&shipped, &strategy, 5, hours);
                compare(&shipped, &strategy, 1, 40 * 24);
                compared += 1;
            }
        }
    }
    assert!(compared >= 2, "only {compared} runs");
}

#[test]
fn the_books_of_every_shipped_scenario_close_row_by_row() {
    for shipped in shipped() {
        for strategy in shipped.strategies() {
            let plan = shipped.plan(&strategy);
            let book = single::run(&plan);
            let hours: f64 = book.rows.iter().map(|row| row.hours).sum();
            assert!((hours - f64::from(shipped.scenario.span.hours)).abs() < 1e-6);
            for row in &book.rows {
                check_row(&plan, row)
                    .and_then(|()| no_sun_at_night(row))
                    .unwrap_or_else(|what| panic!("{}, {strategy}: {what}", shipped.name));
            }
            let lit = book.rows.iter().filter(|row| sun_wh(row) > 0.0).count();
            assert!(lit > book.rows.len() / 10, "{}: {lit} hours of sun", shipped.name);
        }
    }
}

fn sun_wh(row: &Row) -> f64 {
    row.sources.iter().map(|source| source.available_wh).sum()
}

fn no_sun_at_night(row: &Row) -> Result<(), String> {
    if row.daylight_share <= 0.0 && (sun_wh(row) > 0.0 || row.ghi_w_m2.unwrap_or(0.0) > 0.0) {
        return Err(format!("{}: {} Wh of sun at night", row.start, sun_wh(row)));
    }
    Ok(())
}
