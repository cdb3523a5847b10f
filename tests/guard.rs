//! The last guard: planted numbers that no station can come to are never an answer.

use std::path::Path;

use longwatch::commands::odds::results::complete;
use longwatch::decide::calendar::{self, calendar};
use longwatch::decide::card::{self, Refused, card};
use longwatch::decide::compare::{compare, contenders};
use longwatch::decide::contest::{Play, Unplayed};
use longwatch::decide::exercise::{Asked, exercise};
use longwatch::decide::independence::reach;
use longwatch::decide::now::{self, Failure, now};
use longwatch::decide::odds::{Answers, Occasion};
use longwatch::decide::size::{self, size};
use longwatch::decide::without::without;
use longwatch::error::Error;
use longwatch::plan::club::examine_club;
use longwatch::scenario::{Named, Scenario, battery::Battery};
use longwatch::simulate::beside::Answer;
use longwatch::simulate::guard::{self, Impossible};
use longwatch::simulate::ledger::Row;
use longwatch::simulate::single;
use longwatch::simulate::trials::club::prepare_club;
use longwatch::simulate::trials::{
    Gather, Options, Outcome, Watch, outcome_of, prepare, run_trials,
};

use crate::support::shipped::{Shipped, folder, named};
use crate::support::{bench, plan_of};

fn refused(result: Result<(), Impossible>, word: &str) {
    let error = result.expect_err(word).fault();
    assert_eq!(error.exit_code(), 5);
    assert!(error.to_string().contains(word), "{word}: {error}");
}

/// One planted number a row: the guard refuses each and says what it is.
#[test]
fn a_ledger_with_an_impossible_number_is_refused() {
    type Plant = fn(&mut Row);
    let plants: [(&str, Plant); 16] = [
        ("charge at its end", |row| row.charge_end_share = 2_235_230.31),
        ("charge at its end", |row| row.charge_end_share = -1e-3),
        ("lowest charge", |row| row.charge_lowest_share = f64::NAN),
        ("cold locks", |row| row.locked_share = 1.1),
        ("time with mains", |row| row.grid_share = 1.01),
        ("off the air", |row| row.no_power_h = row.hours + 0.01),
        ("off the air", |row| row.no_power_h = -1.0),
        ("loads off", |row| row.open_h = 1.3e13),
        ("generator", |row| row.generator_h = f64::INFINITY),
        ("source gave", |row| row.sources[0].used_wh = f64::NAN),
        ("group was served", |row| row.groups[0].served_wh = f64::NAN),
        ("losses", |row| row.losses.self_discharge_wh = f64::INFINITY),
        ("mean volts", |row| row.mean_v = f64::NAN),
        ("lowest volts", |row| row.lowest_v = f64::INFINITY),
        ("stored before", |row| row.served_origin.stored_before = f64::NAN),
        ("does not add up", |row| row.residual_wh = 1e-3),
    ];
    let good = single::run(&plan_of(&bench()));
    guard::ledger(&good).unwrap();
    for (word, plant) in plants {
        let mut bad = good.clone();
        plant(&mut bad.rows[7]);
        refused(guard::ledger(&bad), word);
        refused(guard::ledger(&bad), "2026-06-01 07:00");
    }
    // Tests hold 1e-9 of what goes through, the guard a thousand times that.
    let mut near = good.clone();
    near.rows[7].residual_wh = 1e-7;
    guard::ledger(&near).unwrap();
    let beside =
        Answer { lowest_charge_share: 0.2, no_power_h: 3.0, off_air_h: 3.0, unserved_wh: 4.0 };
    guard::answer(&beside, 24.0).unwrap();
    refused(guard::answer(&Answer { no_power_h: 25.0, ..beside }, 24.0), "off the air");
    refused(guard::answer(&Answer { lowest_charge_share: -0.1, ..beside }, 24.0), "lowest charge");
    refused(guard::answer(&Answer { unserved_wh: f64::NAN, ..beside }, 24.0), "not served");
}

#[test]
fn a_trial_with_an_impossible_number_is_refused() {
    type Plant = fn(&mut Outcome);
    let plants: [(&str, Plant); 15] = [
        ("charge at its start", |it| it.start_charge_share = f64::NAN),
        ("charge at its end", |it| it.end_charge_share = 1.001),
        ("lowest charge", |it| it.lowest_charge_share = -0.5),
        ("the charge is", |it| it.charge_share[5] = 1e9),
        ("off the air", |it| it.no_power_h = 24.1),
        ("first moment off the air", |it| it.first_off_air_h = Some(-134_534_556_600.3)),
        ("lowest charge", |it| it.lowest_at_h = 25.0),
        ("in all tiers", |it| it.tier_h[0] = -1.0),
        ("in all tiers", |it| it.tier_h[0] = 30.0),
        ("without power in a tier", |it| it.no_power_tier_h[0] = 30.0),
        ("noise", |it| it.noise_h = f64::INFINITY),
        ("served", |it| it.served_wh = f64::NAN),
        ("origin", |it| it.origin_wh[3] = f64::NAN),
        ("fuel", |it| it.fuel_l = f64::NAN),
        ("charged again", |it| it.recharge_h = Some(f64::INFINITY)),
    ];
    let scenario: Scenario = serde_json::from_value(bench()).unwrap();
    let prepared = prepare(&scenario, Path::new(""), Vec::new(), Options::default()).unwrap();
    let good = Outcome { trial: 17, ..outcome_of(&prepared, 0) };
    guard::outcome(&good, 24.0).unwrap();
    for (word, plant) in plants {
        let mut bad = good.clone();
        plant(&mut bad);
        refused(guard::outcome(&bad, 24.0), word);
        refused(guard::outcome(&bad, 24.0), "trial 17");
    }
}

/// A battery whose self-discharge is no number: no check of a file lets that in, and every command
/// must end as a fault of the program.
fn poison(scenario: &mut Scenario) {
    match &mut scenario.battery {
        Battery::LithiumIronPhosphate(it) => it.self_discharge_share_month = f64::NAN,
        Battery::LeadAcid(it) => it.self_discharge_share_month = f64::NAN,
        Battery::Ideal(it) => it.self_discharge_share_month = f64::NAN,
    }
}

struct Nothing;

impl Gather for Nothing {
    fn trial(&mut self, _: &Outcome) {}
    fn join(&mut self, _: Self) {}
}

fn is_fault<T>(command: &str, error: Result<T, Error>) {
    match error {
        Err(error) => assert_eq!(error.exit_code(), 5, "{command}: {error}"),
        Ok(_) => panic!("{command} gave an answer"),
    }
}

fn unplayed(why: Unplayed) -> Error {
    match why {
        Unplayed::Failed(error) => error,
        other => panic!("{other:?}"),
    }
}

#[test]
fn every_command_ends_with_a_fault_rather_than_an_impossible_answer() {
    let Shipped { mut scenario, .. } = named("hall-72h");
    poison(&mut scenario);
    let (folder, watch) = (folder(), Watch::default());
    let plan = named("hall-72h").plan_with(poison);
    is_fault("run, check", guard::ledger(&single::run(&plan)).map_err(Impossible::fault));

    let prepared = prepare(&scenario, &folder, Vec::new(), Options::default()).unwrap();
    is_fault("odds", run_trials(&prepared, 0..300, 2, || Nothing, &watch));
    is_fault("report", reach(&scenario, &folder, 1, 0..10, 2, &watch));

    let asked = now::Options { target_chance: 0.5, seed: 1, threads: 2, mains_back: false };
    let told = now(&scenario, &folder, &asked).map_err(|why| match why {
        Failure::Run(error) => error,
        Failure::Compile(problems) => panic!("{problems:?}"),
    });
    is_fault("now", told);

    let asked = card::Options { target_chance: 0.5, trials: 20, seed: 1, threads: 2 };
    let told = card(&scenario, &folder, &asked).map_err(|why| match why {
        Refused::Failed(Failure::Run(error)) => error,
        other => panic!("{other:?}"),
    });
    is_fault("card", told);

    let play = Play { trials: 10, months: 2, threads: 2, ..Play::default() };
    let all = contenders(&scenario, &Named::new(), &[], &[]);
    is_fault("compare", compare(&scenario, &all, &folder, &play, &watch).map_err(unplayed));
    is_fault("without", without(&scenario, &folder, &play, &watch).map_err(unplayed));

    let options = size::Options {
        target_chance: 0.5,
        lowest_tier: None,
        lines: false,
        minimize: None,
        trials: 20,
        seed: 1,
        threads: 2,
    };
    let told = size(&scenario, &folder, &options, &watch).map_err(|why| match why {
        size::Trouble::Failed(error) => error,
        other => panic!("{other:?}"),
    });
    is_fault("size", told);

    let strategies = vec![scenario.strategy.clone()];
    let options = calendar::Options { hours: 24, trials: 31, seed: 1, threads: 2, strategies };
    let told = calendar(&scenario, &folder, &options, &watch).map_err(|why| match why {
        calendar::Trouble::Other(error) => error,
        calendar::Trouble::Scenario(problems) => panic!("{problems:?}"),
    });
    is_fault("calendar", told);

    let text = std::fs::read_to_string(folder.join("club-weekend.json")).unwrap();
    let mut good = examine_club(&text, "club", &folder).club.unwrap();
    good.stations.iter_mut().for_each(|station| poison(&mut station.scenario));
    let club = prepare_club(&good, Options::default()).unwrap();
    let asked = Asked {
        name: "club".to_owned(),
        club_sha256: String::new(),
        occasion: Occasion::Weather,
        trials: 10,
        threads: 2,
    };
    is_fault("exercise", exercise(&good, &club, &asked, &watch));
}

#[test]
fn trials_left_out_are_no_answer() {
    let scenario: Scenario = serde_json::from_value(bench()).unwrap();
    let prepared = prepare(&scenario, Path::new(""), Vec::new(), Options::default()).unwrap();
    let shape = longwatch::decide::odds::subject::Shape { steps: 24, step_h: 1.0, tiers: 1 };
    let mut answers = Answers::empty(shape).unwrap();
    answers.trial(&outcome_of(&prepared, 0));
    complete(&answers).unwrap();
    answers.trial(&Outcome { trial: 9, unserved_wh: 1e20, ..outcome_of(&prepared, 0) });
    let error = complete(&answers).unwrap_err();
    assert_eq!(error.exit_code(), 5);
    assert!(error.to_string().contains("the first is trial 9"), "{error}");
}
