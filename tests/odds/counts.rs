//! Small examples counted by hand.

use longwatch::decide::odds::result::NamedTrial;
use longwatch::decide::odds::{Answers, Odds, Shape, Subject};
use longwatch::simulate::trials::{Cause, Gather as _, Outcome};

use super::invented::Station;

const SHAPE: Shape = Shape { steps: 24, step_h: 1.0, tiers: 2 };

fn subject(trials: u64) -> Subject {
    let station = Station { hours: 24, tiers: vec!["full", "low"], ..Station::january() };
    Subject { shape: SHAPE, ..station.subject(trials) }
}

/// A trial of a day that stays on the air.
fn quiet(trial: u64, lowest: f64) -> Outcome {
    Outcome {
        trial,
        no_power_h: 0.0,
        days_with_loss: 0,
        unserved_wh: 0.0,
        load_wh: 100.0,
        served_wh: 100.0,
        shed_wh: 8.0,
        first_off_air_h: None,
        lowest_charge_share: lowest,
        lowest_at_h: 12.0,
        start_charge_share: 0.9,
        end_charge_share: lowest,
        tier_h: vec![18.0, 6.0],
        no_power_tier_h: vec![0.0, 0.0],
        origin_wh: [40.0, 0.0, 0.0, 0.0, 60.0],
        fuel_l: 0.0,
        mains_plug_wh: 0.0,
        noise_h: 0.0,
        plugged_in_storm_h: 0.0,
        recharge_h: Some(10.0 * trial as f64),
        cause: None,
        charge_share: vec![lowest; 24],
    }
}

/// A trial that is dark from an hour on.
fn dark(trial: u64, first_off_air_h: f64, unserved_wh: f64, cause: Cause) -> Outcome {
    Outcome {
        no_power_h: 24.0 - first_off_air_h,
        days_with_loss: 1,
        unserved_wh,
        served_wh: 100.0 - unserved_wh,
        first_off_air_h: Some(first_off_air_h),
        recharge_h: None,
        cause: Some(cause),
        ..quiet(trial, 0.0)
    }
}

fn gathered(outcomes: &[Outcome]) -> Answers {
    let mut answers = Answers::empty(SHAPE).unwrap();
    for outcome in outcomes {
        answers.trial(outcome);
    }
    answers
}

fn odds(outcomes: &[Outcome]) -> Odds {
    let trials = outcomes.len() as u64;
    Odds::of(&subject(trials), &gathered(outcomes), None)
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-12, "{a} against {b}");
}

#[test]
fn five_trials_by_hand() {
    let odds = odds(&[
        quiet(0, 0.5),
        dark(1, 8.0, 30.0, Cause::DarkRun),
        quiet(2, 0.25),
        dark(3, 7.99, 10.0, Cause::Cold),
        quiet(4, 0.5),
    ]);
    assert_eq!((odds.trials, odds.failures, odds.ended_early), (5, 2, false));
    near(odds.on_air_share, 0.6);
    // 8 h were kept by the trial that went dark at the eighth hour, not by the one just before.
    let within: Vec<(f64, u64)> =
        odds.on_air_within.iter().map(|it| (it.hours, it.failures)).collect();
    assert_eq!(within, [(8.0, 1), (24.0, 2)]);
    near(odds.no_power_time_share, (16.0 + 16.01) / (5.0 * 24.0));
    near(odds.loss_of_load_days, 0.4);
    near(odds.unserved_share, 40.0 / 500.0);
    near(odds.expected_unserved_wh, 8.0);
    // Of 0, 30, 0, 10, 0: variance 170, standard error sqrt(170 / 5).
    near(odds.expected_unserved_standard_error_wh, 34.0_f64.sqrt());
    near(odds.load_wh, 100.0);
    near(odds.served_wh, 92.0);
    near(odds.shed_wh, 8.0);
    near(odds.tier_h["full"], 18.0);
    near(odds.tier_h["low"], 6.0);
    near(odds.origin_wh.sun, 40.0);
    near(odds.origin_wh.stored_before, 60.0);
    near(odds.origin_sd_wh.sun, 0.0);
    assert_eq!((odds.causes.dark_run, odds.causes.cold, odds.causes.keying), (1, 1, 0));
    // Lowest charges in order: 0, 0, 0.25, 0.5, 0.5.
    let lowest = odds.lowest_charge_share;
    assert_eq!((lowest.least, lowest.p50, lowest.p95), (Some(0.0), Some(0.25), Some(0.5)));
    // First dark minutes: 479 and 480; three of five trials never.
    let first = odds.first_off_air_h;
    assert_eq!((first.least, first.p25, first.p50), (Some(479.0 / 60.0), Some(8.0), None));
    assert_eq!(first.greatest, None);
    // 0, 20 and 40 h, and two that were not charged again.
    let recharge = odds.recharge_h;
    assert_eq!((recharge.p25, recharge.p50, recharge.p75), (Some(20.0), Some(40.0), None));
    assert_eq!(odds.not_recharged, 2);
    let named = odds.named_trials;
    let one = |trial, unserved_wh, lowest_charge_share| {
        Some(NamedTrial { trial, unserved_wh, lowest_charge_share })
    };
    assert_eq!(named.worst, one(1, Some(30.0), Some(0.0)));
    assert_eq!(named.median, one(2, None, Some(0.25)));
    assert_eq!(named.first_failing, one(1, None, None));
}

#[test]
fn bands_by_hand() {
    let mut rising = quiet(0, 0.5);
    rising.charge_share = (0..24).map(|hour| 0.4 + 0.02 * f64::from(hour)).collect();
    let odds = odds(&[rising, dark(1, 2.5, 10.0, Cause::DarkRun)]);
    assert_eq!(odds.bands.len(), 25);
    let on_air: Vec<u64> = odds.bands.iter().take(5).map(|band| band.on_air).collect();
    // Dark in the third hour: two hours are kept, not three.
    assert_eq!(on_air, [2, 2, 2, 1, 1]);
    for band in &odds.bands {
        assert!(band.on_air_low_share <= band.on_air_share);
        assert!(band.on_air_share <= band.on_air_high_share);
    }
    // Both began at 0.9; then one is empty, the other at 0.4 after the first hour.
    let half_bin = 0.5 / 200.0;
    let band = odds.bands[0];
    assert!((band.charge_p05_share - 0.9).abs() <= half_bin);
    let band = odds.bands[1];
    assert!(band.charge_p50_share <= half_bin, "{band:?}");
    assert!((band.charge_p95_share - 0.4).abs() <= half_bin, "{band:?}");
}

#[test]
fn named_trials_are_the_first_of_equals() {
    let named = |outcomes: &[Outcome]| {
        let named = odds(outcomes).named_trials;
        [named.worst, named.median, named.first_failing].map(|it| it.map(|it| it.trial))
    };
    // Without unserved energy the worst is the one with the lowest charge.
    let all_equal = [quiet(7, 0.5), quiet(5, 0.5), quiet(6, 0.5)];
    assert_eq!(named(&all_equal), [Some(5), Some(5), None]);
    assert_eq!(named(&[quiet(1, 0.5), quiet(2, 0.4)]), [Some(2), Some(2), None]);
    // Of four the lower middle; a difference below a hundred-thousandth is none.
    let four = [quiet(1, 0.300_001), quiet(0, 0.9), quiet(3, 0.3), quiet(2, 0.1)];
    assert_eq!(named(&four), [Some(2), Some(1), None]);
    let failing = [dark(9, 3.0, 5.0, Cause::Fuel), dark(4, 20.0, 5.0, Cause::Keying)];
    assert_eq!(named(&failing), [Some(4), Some(4), Some(4)]);
    assert_eq!(named(&[]), [None; 3]);
}

#[test]
fn what_is_no_number_is_left_out_whole_and_told() {
    let spoil: [&dyn Fn(&mut Outcome); 9] = [
        &|it| it.load_wh = f64::NAN,
        &|it| it.origin_wh[4] = f64::INFINITY,
        &|it| it.charge_share[23] = f64::NAN,
        &|it| it.charge_share.truncate(23),
        &|it| it.tier_h.push(0.0),
        &|it| it.lowest_charge_share = f64::NEG_INFINITY,
        &|it| it.recharge_h = Some(f64::NAN),
        &|it| it.first_off_air_h = Some(-1.0),
        &|it| it.unserved_wh = 1e20,
    ];
    let good = [quiet(0, 0.5), quiet(1, 0.4)];
    for change in spoil {
        let mut bad = quiet(2, 0.3);
        change(&mut bad);
        let mut answers = gathered(&good);
        answers.trial(&bad);
        let mut expected = gathered(&good);
        (expected.left_out, expected.first_left_out) = (1, Some(2));
        assert_eq!(answers, expected);
        let odds = Odds::of(&subject(3), &answers, None);
        assert_eq!((odds.trials, odds.trials_left_out, odds.ended_early), (2, 1, false));
        assert!(odds.warnings.iter().any(|it| it.text.contains("trial 2 first")));
    }
}

#[test]
fn a_run_that_was_stopped_says_so() {
    let odds = Odds::of(&subject(10), &gathered(&[quiet(0, 0.5)]), None);
    assert!(odds.ended_early);
    assert!(odds.warnings.iter().any(|it| it.text.contains("1 of 10 trials")));
    let said = longwatch::show::odds::first_sentence(&odds);
    assert!(said.ends_with("Ended early: 10 simulated outages were asked for."), "{said}");
}

#[test]
fn a_dark_moment_at_the_very_end_is_in_the_span() {
    let odds = odds(&[dark(0, 24.0 - 1e-6, 1e-3, Cause::DarkRun), quiet(1, 0.2)]);
    assert_eq!(odds.failures, 1);
    assert_eq!(odds.on_air_within.last().unwrap().failures, 1);
    assert_eq!(odds.bands.last().unwrap().on_air, 1);
}

#[test]
fn trials_that_are_all_the_same_are_warned_about() {
    let said = |outcomes: &[Outcome]| {
        odds(outcomes).warnings.iter().any(|it| it.text.contains("came to the same"))
    };
    assert!(said(&[quiet(0, 0.5), quiet(1, 0.5)]));
    assert!(!said(&[quiet(0, 0.5)]));
    assert!(!said(&[quiet(0, 0.5), quiet(1, 0.4)]));
}
