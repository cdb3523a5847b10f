//! A card that is followed, and one that is made.

use std::path::Path;

use longwatch::decide::card::attempts::{Attempt, printed};
use longwatch::decide::card::tried::tried;
use longwatch::decide::card::{Kind, MOST_ROWS, Options, Refused, card};
use longwatch::scenario::Scenario;
use longwatch::show::card::{card_text, first_sentence, html, page, text::why_chosen, when};
use longwatch::simulate::trials::{self, prepare, run_trials};
use serde_json::{Value, json};

use super::shipped;
use super::support::{bench_with, merge, run};

/// 1,000 Wh, no sun; tiers of 50, 20 and 0 W.
fn station(patch: &Value) -> Value {
    let lamp = |w: u32| json!({"group": "all", "draw": {"power": {"power_w": w}}});
    let mut value = bench_with(&json!({
        "span": {"start": "2027-01-19T12:00", "hours": 36},
        "start": {"charge_share": 0.8},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "battery": {"ideal": {"capacity_wh": 1000.0, "empty_v": 12.5, "full_v": 12.5}},
        "loads": {"lamp": null, "big": lamp(30), "small": lamp(20)},
        "tiers": [
            {"name": "both", "loads": {"big": {}, "small": {}}},
            {"name": "small", "loads": {"small": {}}},
            {"name": "ready", "on_air": false, "loads": {}}
        ]
    }));
    merge(&mut value, patch);
    value
}

/// At the start 80 %: both, 50 W, from 12:00 to 18:00: 300 Wh, 50 % are left. At 18:00 the row wants
/// 55 % for both: small, 20 W, to 06:00: 240 Wh, 26 %. At 06:00 (hour 18) both from 20 %: 50 W for
/// 12 h would take 600 Wh, and at 18:00 (hour 30) the later row is in force: below 5 % the last tier.
/// 260 Wh at 50 W last until hour 23.2.
#[test]
fn a_card_is_followed_row_by_row() {
    let card = json!({"decide_at": ["start", "06:00", "18:00"], "card": [
        {"at": "start", "at_least_share": [0.7, 0.1]},
        {"at": "06:00", "at_least_share": [0.2, 0.1]},
        {"at": "18:00", "at_least_share": [0.55, 0.1]},
        {"at": "18:00", "from_h": 24, "at_least_share": [1.01, 0.05]}
    ]});
    let ledger = run(&station(&json!({"shedding": card})));
    let tiers: Vec<usize> = ledger.rows.iter().map(|row| row.tier).collect();
    let wanted: Vec<usize> = (0..36)
        .map(|hour| match hour {
            0..6 | 18..30 => 0,
            6..18 => 1,
            _ => 2,
        })
        .collect();
    assert_eq!(tiers, wanted);
    let charge = |hour: usize| ledger.rows[hour].charge_start_share;
    for (hour, share) in [(6, 0.5), (18, 0.26), (22, 0.06), (30, 0.0)] {
        assert!((charge(hour) - share).abs() < 1e-6, "{hour}: {}", charge(hour));
    }
    // Exactly at a threshold counts as above it.
    let exact = json!({"decide_at": ["start"], "card": [{"at_least_share": [0.8, 0.1]}]});
    assert_eq!(run(&station(&json!({"shedding": exact}))).rows[0].tier, 0);
}

fn made(value: &Value, trials: u64, threads: usize) -> longwatch::decide::card::OperatingCard {
    let scenario: Scenario = serde_json::from_value(value.clone()).unwrap();
    let options = Options { target_chance: 0.95, trials, seed: 1, threads };
    let mut made =
        card(&scenario, Path::new("tests"), &options).unwrap_or_else(|it| panic!("{it:?}"));
    made.sentence = first_sentence(&made);
    made
}

/// 720 of 800 Wh are what "small" takes in 36 h; 80 Wh are left for 30 W more: 2.67 h. Looked at each
/// hour the best is two hours of both, and the grid of 5 % and one row for many hours find no more.
#[test]
fn with_a_known_sky_a_card_survives_and_gives_what_is_left() {
    let value = station(&json!({"shedding": {"decide_at": ["hourly"],
        "down_below_share": [0.5, 0.2], "up_above_share": [0.6, 0.3]}}));
    let made = made(&value, 100, 1);
    let this = &made.tried[0];
    assert_eq!((this.stayed, this.trials), (100, 100), "{made:#?}");
    assert!(this.no_power_h < 1e-9);
    let both = this.tier_h["both"];
    assert!((1.0..=80.0 / 30.0).contains(&both), "{both}");
    // Never shedding: 800 / 50 = 16 of 36 h.
    let never = made.tried.iter().find(|it| it.name == "never shedding").unwrap();
    assert_eq!(never.stayed, 0);
    assert!((never.no_power_h - 20.0).abs() < 1e-3, "{}", never.no_power_h);
    assert!(made.rows.len() <= MOST_ROWS);
    assert_eq!(made.end_worth, 0.0);
    assert!(made.kept_share.is_none_or(|kept| kept <= 1.0 + 1e-9));
}

/// From 12:00 with 200 Wh "both" takes 50 W for 4 h; from 16:00 to the look at 18:00 there is no power.
/// Then "ready" is in force, which draws nothing and lacks nothing, for 30 h. Worth 1 and 0.01 an hour:
/// 4 + 0.3 h. The 2 h without power lie in "both", though "ready" is the more sparing tier.
#[test]
fn hours_without_power_are_worth_nothing_in_the_tier_they_lie_in() {
    let rule = json!({"start": {"charge_share": 0.2}, "shedding": {"decide_at": ["start", "18:00"],
        "card": [{"at": "start", "at_least_share": [0.0, 0.0]},
                 {"at": "18:00", "at_least_share": [0.5, 0.5]}]}});
    let scenario: Scenario = serde_json::from_value(station(&rule)).unwrap();
    let base = Path::new("tests");
    let found = tried("", &scenario, base, 1, &[1.0, 0.1, 0.01], (0..100, 1)).unwrap();
    assert_eq!((found.tier_h[0], found.tier_h[2]), (6.0, 30.0));
    assert!((found.no_power_h - 2.0).abs() < 1e-6, "{}", found.no_power_h);
    assert!((found.valued_h - 4.3).abs() < 1e-6, "{}", found.valued_h);

    let prepared = prepare(&scenario, base, Vec::new(), trials::Options::default()).unwrap();
    let outcome = trials::outcome_of(&prepared, 0);
    let wanted = [2.0, 0.0, 0.0];
    let near = |(one, other): (&f64, &f64)| (one - other).abs() < 1e-6;
    assert!(outcome.no_power_tier_h.iter().zip(&wanted).all(near), "{outcome:?}");
}

/// Every hour without power lies in a tier, and no tier is without power longer than it is in force.
#[test]
fn hours_without_power_by_tier_add_up() {
    let mut without = 0;
    for it in shipped::shipped() {
        let folder = shipped::folder();
        let Ok(prepared) = prepare(&it.scenario, &folder, Vec::new(), trials::Options::default())
        else {
            continue;
        };
        for trial in 0..20 {
            let outcome = trials::outcome_of(&prepared, trial);
            let all: f64 = outcome.no_power_tier_h.iter().sum();
            assert!((all - outcome.no_power_h).abs() < 1e-6, "{}: {outcome:?}", it.name);
            without += usize::from(all > 0.0);
            for (hours, of_them) in outcome.tier_h.iter().zip(&outcome.no_power_tier_h) {
                assert!((0.0..=hours + 1e-6).contains(of_them), "{}: {outcome:?}", it.name);
            }
        }
    }
    assert!(without > 0);
}

fn attempt(stayed: u64, trials: u64, target: f64) -> Attempt {
    let rule = json!({"start": {"charge_share": 0.2}});
    let scenario: Scenario = serde_json::from_value(station(&rule)).unwrap();
    let worths = [1.0, 0.1, 0.01];
    let mut found = tried("", &scenario, Path::new("tests"), 1, &worths, (0..1, 1)).unwrap();
    #[allow(clippy::cast_precision_loss)]
    let share = stayed as f64 / trials as f64;
    (found.stayed, found.trials, found.on_air_share) = (stayed, trials, share);
    Attempt::of(&found, 0, target)
}

/// Each of three is held to the one-sided bound at 1 - 0.05/3. Where all of n stay it is the nth root
/// of 0.05/3 (Clopper and Pearson 1934): 0.959 88 of 100, 0.995 91 of 1,000.
#[test]
fn a_card_holds_by_its_lower_bound() {
    for (trials, root) in [(100_u32, 0.959_88), (1_000, 0.995_91)] {
        let all = attempt(trials.into(), trials.into(), 0.95);
        let bound = libm::pow(0.05 / 3.0, 1.0 / f64::from(trials));
        assert!((all.on_air_lower_one_sided - bound).abs() < 1e-9 && all.holds, "{all:?}");
        assert!((bound - root).abs() < 1e-5, "{bound}");
    }
    // The share reaches the odds, the bound does not: the next is tried. 2.128 standard errors of
    // 0.00427 are 0.0091.
    let edge = attempt(7_600, 10_000, 0.76);
    assert!(!edge.holds);
    assert!((edge.lacks_share(0.76).unwrap() - 0.0091).abs() < 2e-4, "{edge:?}");
    assert_eq!(attempt(7_700, 10_000, 0.76).lacks_share(0.76), None);
    // 100 trials never show 0.99: their share says whether another is tried.
    let few = attempt(99, 100, 0.99);
    assert!(!few.holds && few.lacks_share(0.99).is_none());
    assert!(attempt(98, 100, 0.99).lacks_share(0.99).is_some());
    // The last where it holds; else the surest, of equal ones the first.
    let [low, high, holds] = [7_500, 7_610, 7_700].map(|it| attempt(it, 10_000, 0.76));
    assert_eq!(printed(&[high, low, holds], 0.76), 2);
    assert_eq!(printed(&[low, high, low], 0.76), 1);
    assert_eq!(printed(&[high, high], 0.76), 0);
}

fn hall() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/hall-72h.json");
    let mut value: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    // Some charge at the start, so that nothing has to settle.
    value["start"] = json!({"charge_between_share": [0.6, 1.0]});
    value
}

#[derive(Default)]
struct Stayed(u64);

impl trials::Gather for Stayed {
    fn trial(&mut self, outcome: &trials::Outcome) {
        self.0 += u64::from(outcome.first_off_air_h.is_none());
    }
    fn join(&mut self, later: Self) {
        self.0 += later.0;
    }
}

/// What is printed is what was tried: a scenario with the card's own key stays on the air in the same
/// trials; and threads change nothing.
#[test]
fn the_printed_card_is_the_one_that_was_tried() {
    let made = made(&hall(), 300, 1);
    let mut scenario: Scenario = serde_json::from_value(hall()).unwrap();
    scenario.shedding = Some(made.shedding.clone());
    // One of them changes the thresholds, which the card takes the place of.
    scenario.variants.clear();
    let base = Path::new("tests");
    let (problems, _) = {
        let text = serde_json::to_string(&scenario).unwrap();
        let examined = longwatch::plan::check::examine(&text, "card.json", base);
        (examined.problems.list, examined.warnings)
    };
    assert!(problems.is_empty(), "{problems:?}");
    let prepared = prepare(&scenario, base, Vec::new(), trials::Options::default()).unwrap();
    let (stayed, _) =
        run_trials(&prepared, 0..300, 1, Stayed::default, &trials::Watch::default()).unwrap();
    assert_eq!(stayed.0, made.tried[0].stayed);
    assert!(made.rows.len() <= MOST_ROWS);
    assert_eq!(made.kept_share.is_some(), made.kind == Kind::Rows);
    for row in &made.rows {
        let shares: Vec<f64> = row.at_least.iter().filter_map(|it| it.share).collect();
        assert!(shares.windows(2).all(|two| two[0] > two[1]), "{shares:?}");
        for it in &row.at_least {
            assert_eq!(it.receive_v, None, "no volts for lithium cells");
            let fives = it.share.map(|share| (share * 20.0 - (share * 20.0).round()).abs());
            assert!(fives.unwrap_or(0.0) < 1e-9, "{it:?}");
        }
    }
    let again = self::made(&hall(), 300, 2);
    assert_eq!(serde_json::to_string(&made).unwrap(), serde_json::to_string(&again).unwrap());

    // 80 columns, one page of A5, type of 11 points and more.
    let text = card_text(&made);
    for line in text.lines() {
        assert!(longwatch::show::text::columns(line) <= 80, "{line}");
    }
    assert!(text.contains("Initials") && text.contains("Local codes"), "{text}");
    let picture = page(&made);
    assert!((picture.width_px - 559.0).abs() < 1.0 && (picture.height_px - 794.0).abs() < 1.0);
    // Sizes are in tenths of a pixel; 11 points are 14.67 px.
    let sizes: Vec<f64> = picture
        .svg
        .split("font-size=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap().parse::<f64>().unwrap() / 10.0)
        .collect();
    assert!(sizes.len() > 20 && sizes.iter().all(|it| *it >= 14.6), "{sizes:?}");
    let page = html(&picture);
    assert!(page.contains("@page { size: 148mm 210mm") && !page.contains("http://www.w3.org/1999"));
    for outside in ["<script", "src=", "@import", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
}

/// What the card aims at: first the odds, then the most valued hours. No rival may have more of both,
/// and none may keep the odds where the card does not; rows must be told apart.
#[test]
fn no_rival_beats_the_printed_card_on_both_aims() {
    let mut made_some = 0;
    for it in shipped::shipped() {
        let options = Options { target_chance: 0.95, trials: 1_000, seed: 1, threads: 0 };
        let mut made = match card(&it.scenario, &shipped::folder(), &options) {
            Ok(made) => made,
            Err(Refused::NoCard(_)) => continue,
            Err(other) => panic!("{}: {other:?}", it.name),
        };
        made_some += 1;
        made.sentence = first_sentence(&made);
        let (this, rivals) = made.tried.split_first().unwrap();
        println!(
            "{}: {:?} {} of {}, {} h",
            it.name, made.kind, this.stayed, this.trials, this.valued_h
        );
        let keeps = |share: f64| share >= made.target_chance;
        for rival in rivals {
            let both = rival.stayed > this.stayed && rival.valued_h > this.valued_h;
            assert!(!both, "{}: {rival:?} beats {this:?}", it.name);
            assert!(
                keeps(this.on_air_share) || !keeps(rival.on_air_share),
                "{}: {rival:?}",
                it.name
            );
        }
        let none = made.tried.iter().all(|it| !keeps(it.on_air_share));
        assert_eq!(made.sentence.contains("No card found reaches"), none, "{}", made.sentence);
        let surer = rivals.iter().any(|rival| rival.stayed > this.stayed);
        assert_eq!(!why_chosen(&made).is_empty(), surer && !none, "{}", why_chosen(&made));

        let rows: Vec<Vec<String>> = made.rows.iter().map(when).collect();
        let apart: std::collections::BTreeSet<&Vec<String>> = rows.iter().collect();
        assert_eq!(apart.len(), rows.len(), "{}: {rows:?}", it.name);
        for line in card_text(&made).lines() {
            assert!(longwatch::show::text::columns(line) <= 80, "{}: {line}", it.name);
        }
        // The hours that the card is chosen for stand on its page.
        let picture = page(&made);
        let hours = format!("{} h", longwatch::show::words::trimmed(this.tier_h[0], 1));
        assert!(picture.svg.contains(&hours), "{}: {hours}", it.name);
        let floor = made.lowest_tier_of_sizing.is_some();
        assert_eq!(card_text(&made).contains("of `sizing` is for sizes"), floor, "{}", it.name);
    }
    assert!(made_some >= 3, "only {made_some} cards");
}

/// Rows for looks at every hour of one day are told apart by the hour.
#[test]
fn rows_of_one_day_are_told_by_the_hour() {
    let row = |from: &str, to: &str| longwatch::decide::card::PrintedRow {
        at: "hourly".into(),
        from: chrono::DateTime::parse_from_rfc3339(from).unwrap(),
        to: chrono::DateTime::parse_from_rfc3339(to).unwrap(),
        from_h: 0.0,
        at_every_look: false,
        at_least: Vec::new(),
    };
    let morning = when(&row("2027-06-27T06:00:00+02:00", "2027-06-27T09:00:00+02:00"));
    assert_eq!(morning, ["Sun 27 06:00", "to Sun 27 09:00"]);
    let one = when(&row("2027-06-27T10:00:00+02:00", "2027-06-27T10:00:00+02:00"));
    assert_eq!(one, ["Sun 27 10:00"]);
}
