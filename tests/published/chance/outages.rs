//! Mains that fails and comes back.

use longwatch::chance::merge::TimeSum;
use longwatch::chance::outages::{Renewal, Start};
use longwatch::chance::transforms::Law;
use longwatch::chance::{Draw, Purpose};

use super::common::{SEED, check, json, list, number, sample, sample_share, sampled};
use super::laws::law_of;
use crate::support::figures::{Row, rows};

const TABLE: &str = "Renewal theory in closed form, checked by quadrature (table of 20 cases)";

fn renewal_of(row: &Row) -> Renewal {
    Renewal::new(Law::exponential(row.number("mean_up_h")).unwrap(), law_of(row)).unwrap()
}

fn trial(number: u64) -> Draw {
    Draw::new(SEED, number, 739_000, Purpose::OutageStart)
}

/// Long-run figures, 12 digits.
#[test]
fn long_run_figures() {
    let mut availability = check(TABLE, "availability", "1", 1e-12);
    let mut dark = check(TABLE, "dark share of time, relative", "1", 2e-11);
    let mut yearly = check(TABLE, "dark outages a year of 8760 h, relative", "1", 1e-11);
    for row in rows("risk/alternating_renewal.csv") {
        let renewal = renewal_of(&row);
        let battery_h = row.number("battery_hours_tau");
        let name = format!("{}, {battery_h} h", row.text("model"));
        availability.case(&name, renewal.availability_share(), row.number("availability"));
        let share = row.number("dark_fraction_of_time_full_at_each_outage");
        dark.relative(&name, renewal.dark_share(battery_h), share);
        let outages = row.number("expected_dark_outages_per_year");
        yearly.relative(&name, renewal.dark_outages_per_year(battery_h), outages);
    }
    availability.done();
    dark.done();
    yearly.done();
}

/// The same by drawing: 20,000 trials of 1,000 h that begin at any moment of the process.
///
/// In a window that begins at any moment every expectation over time is exact, without a run-in:
/// mains hours, dark hours, outages that begin. Standard errors are those of the trials.
#[test]
fn drawn_figures() {
    const TRIALS: u64 = 20_000;
    const SPAN_H: f64 = 1_000.0;
    let mut availability = sampled(TABLE, "availability, drawn from any moment");
    let mut dark = sampled(TABLE, "dark share of time, drawn");
    let mut begun = sampled(TABLE, "outages longer than the battery that begin, drawn");
    for row in rows("risk/alternating_renewal.csv") {
        let battery_h = row.number("battery_hours_tau");
        let share = row.number("dark_fraction_of_time_full_at_each_outage");
        let long = row.number("P_down_exceeds_tau") * SPAN_H
            / (row.number("mean_up_h") + row.number("mean_down_h"));
        // Fewer than 20 in all trials are too few for a standard error.
        if long * (TRIALS as f64) < 20.0 {
            continue;
        }
        let renewal = renewal_of(&row);
        let [mut up, mut no_power_h, mut outages] = [TimeSum::default(); 3];
        for number in 0..TRIALS {
            let (mut up_h, mut dark_of_trial_h, mut begun) = (SPAN_H, 0.0, 0.0);
            for outage in renewal.outages_before(trial(number), Start::AnyMoment, SPAN_H) {
                let end_h = outage.on_h.min(SPAN_H);
                up_h -= end_h - outage.off_h;
                // An outage under way at the start began earlier: not counted, nor its dark hours.
                if outage.off_h > 0.0 {
                    dark_of_trial_h += (outage.on_h - outage.off_h - battery_h).max(0.0);
                    begun += f64::from(u8::from(outage.on_h - outage.off_h > battery_h));
                }
            }
            up.add(up_h / SPAN_H).unwrap();
            no_power_h.add(dark_of_trial_h).unwrap();
            outages.add(begun).unwrap();
        }
        let name = format!("{}, {battery_h} h", row.text("model"));
        let exact = row.number("availability");
        sample(&mut availability, &name, up.mean(), exact, up.standard_error());
        // Every outage that begins within the span brings its whole dark time: rate x excess.
        sample(
            &mut dark,
            &name,
            no_power_h.mean() / SPAN_H,
            share,
            no_power_h.standard_error() / SPAN_H,
        );
        sample(&mut begun, &name, outages.mean(), long, outages.standard_error());
    }
    availability.done();
    dark.done();
    begun.done();
}

/// Exponential times, mains there at the start: the two-state chain in continuous time.
#[test]
fn two_state_chain() {
    const TRIALS: u64 = 200_000;
    let source = "Two-state Markov chain in continuous time, closed form";
    let chain = &json("risk/outage_models.json")["two_state_ctmc"];
    let rates = [number(&chain["fail_per_h"]), number(&chain["repair_per_h"])];
    let [up, down] = rates.map(|rate| Law::exponential(1.0 / rate).unwrap());
    let renewal = Renewal::new(up, down).unwrap();
    let mut long_run = check(source, "availability", "1", 1e-15);
    long_run.case("long run", renewal.availability_share(), number(&chain["availability"]));
    long_run.done();
    let mut there = sampled(source, "mains there at t, 2e5 trials");
    let mut share = sampled(source, "share of time with mains until t, 2e5 trials");
    let mut none = sampled(source, "no outage until t, 2e5 trials");
    for row in list(&chain["table"]) {
        let t_h = number(&row["t_h"]);
        let (mut up_at_t, mut without, mut up_h) = (0, 0, TimeSum::default());
        for number in 0..TRIALS {
            let (mut up, mut outages, mut hours) = (true, 0, t_h);
            for outage in renewal.outages_before(trial(number), Start::JustBack, t_h) {
                outages += 1;
                up = outage.on_h <= t_h;
                hours -= outage.on_h.min(t_h) - outage.off_h;
            }
            up_at_t += u64::from(up);
            without += u64::from(outages == 0);
            up_h.add(hours).unwrap();
        }
        let name = format!("{t_h} h");
        let expected = |key: &str| number(&row[key]);
        sample_share(&mut there, &name, up_at_t, TRIALS, expected("P_up_given_up_at_0"));
        sample_share(&mut none, &name, without, TRIALS, expected("P_no_outage_in_0_t"));
        let fraction = expected("expected_up_fraction_0_t");
        sample(&mut share, &name, up_h.mean() / t_h, fraction, up_h.standard_error() / t_h);
    }
    there.done();
    share.done();
    none.done();
}

/// Looked at on the hour the same chain is a coin an hour; drawn here as geometric durations.
#[test]
fn chain_by_the_hour() {
    const TRIALS: u64 = 200_000;
    let chain = &json("risk/outage_models.json")["two_state_ctmc"];
    let by_hour = &chain["hour_step_exact"];
    let [up, down] =
        ["p_fail", "p_repair"].map(|key| Law::geometric(number(&by_hour[key])).unwrap());
    let renewal = Renewal::new(up, down).unwrap();
    let mut check = sampled("The same chain on whole hours", "mains there at t, 2e5 trials");
    for row in list(&chain["table"]) {
        let t_h = number(&row["t_h"]);
        let mut up_at_t = 0;
        for number in 0..TRIALS {
            // Off from the whole hour on, so an outage that begins at t counts.
            let last = renewal.outages_before(trial(number), Start::JustBack, t_h + 0.5).last();
            up_at_t += u64::from(last.is_none_or(|outage| outage.on_h <= t_h));
        }
        let expected = number(&row["P_up_given_up_at_0"]);
        sample_share(&mut check, &format!("{t_h} h"), up_at_t, TRIALS, expected);
    }
    check.done();
}

/// At any moment means any: the share of trials with mains is the availability at every hour,
/// whatever the laws of both kinds.
#[test]
fn any_moment_is_like_any_other() {
    const TRIALS: u64 = 40_000;
    let mut check = sampled("Cox 1962, renewal theory", "mains there at 0 to 100 h, 4e4 trials");
    for (name, up, down) in [
        ("lognormal and Weibull", Law::lognormal(3.0, 1.0), Law::weibull(0.6, 8.0)),
        ("uniform and fixed", Law::uniform(10.0, 30.0), Law::fixed(6.0)),
        ("Weibull and lognormal", Law::weibull(2.0, 40.0), Law::lognormal(1.0, 1.5)),
    ] {
        let renewal = Renewal::new(up.unwrap(), down.unwrap()).unwrap();
        let times_h = [0.0, 3.0, 11.0, 40.0, 100.0];
        let mut there = [TRIALS; 5];
        for number in 0..TRIALS {
            for outage in renewal.outages_before(trial(number), Start::AnyMoment, 101.0) {
                for (seen, t_h) in there.iter_mut().zip(times_h) {
                    *seen -= u64::from(outage.off_h <= t_h && t_h < outage.on_h);
                }
            }
        }
        for (seen, t_h) in there.into_iter().zip(times_h) {
            let case = format!("{name}, {t_h} h");
            sample_share(&mut check, &case, seen, TRIALS, renewal.availability_share());
        }
    }
    check.done();
}

/// Same name, same outages; outages follow each other; a change of one law leaves the other.
#[test]
fn outages_are_looked_up() {
    let up = Law::exponential(50.0).unwrap();
    let down = Law::weibull(0.7, 8.0).unwrap();
    let renewal = Renewal::new(up.clone(), down.clone()).unwrap();
    let first: Vec<_> = renewal.outages(trial(7), Start::JustBack).take(100).collect();
    let again: Vec<_> = renewal.outages(trial(7), Start::JustBack).take(100).collect();
    assert_eq!(first, again);
    for two in first.windows(2) {
        assert!(two[0].off_h < two[0].on_h && two[0].on_h < two[1].off_h);
    }
    let longer = Renewal::new(Law::exponential(100.0).unwrap(), down.clone()).unwrap();
    let other = longer.outages(trial(7), Start::JustBack).take(100);
    let scale_h = first[99].on_h;
    for (one, other) in first.iter().zip(other) {
        let apart = (one.on_h - one.off_h) - (other.on_h - other.off_h);
        assert!(apart.abs() < 1e-12 * scale_h, "the hours down changed with the law of hours up");
    }
    let failed = renewal.outages(trial(7), Start::JustFailed).next().unwrap();
    assert_eq!(failed.off_h, 0.0);
    // Cycles beyond the 65,536 of a block differ from the first.
    let far: Vec<_> = renewal.outages(trial(7), Start::JustBack).skip(65_536).take(2).collect();
    let down_h = |outage: &longwatch::chance::outages::Outage| outage.on_h - outage.off_h;
    assert!((down_h(&far[0]) - down_h(&first[0])).abs() > 1e-6);
    assert!(Renewal::new(Law::fixed(0.001).unwrap(), Law::fixed(0.001).unwrap()).is_err());
}
