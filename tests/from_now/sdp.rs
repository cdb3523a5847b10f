//! Decisions solved backwards, against a small problem that is known exactly.

use longwatch::decide::card::reduce::{Shape, reduce};
use longwatch::decide::card::sdp::{Decisions, Place, Way, mean_over, solve, worth_of};
use serde_json::Value;

use super::support::figures::Check;
use super::support::text;

const SOURCE: &str = "exact rational backward induction, tests/reference/risk/sdp_tiers.json";

/// Decision at sunset; the day's load first, then the gain of a day drawn given yesterday.
struct Small {
    capacity: f64,
    loads: Vec<f64>,
    values: Vec<f64>,
    penalty: f64,
    gains: [f64; 2],
    /// Chance of the other kind of day after a sunny and after a cloudy one.
    turns: [f64; 2],
    days: usize,
}

fn number(value: &Value) -> f64 {
    value.as_f64().or_else(|| value.as_str()?.parse().ok()).unwrap_or_else(|| panic!("{value}"))
}

/// A number such as `2212/125`.
fn fraction(value: &Value) -> f64 {
    let text = value.as_str().unwrap();
    match text.split_once('/') {
        Some((up, down)) => up.parse::<f64>().unwrap() / down.parse::<f64>().unwrap(),
        None => text.parse().unwrap(),
    }
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

impl Small {
    fn of(case: &Value) -> Self {
        let given = &case["inputs"];
        Self {
            capacity: number(&given["capacity"]),
            loads: numbers(&given["tier_loads"]),
            values: numbers(&given["tier_values"]),
            penalty: number(&given["dark_penalty"]),
            gains: [number(&given["gain_sunny"]), number(&given["gain_cloudy"])],
            turns: [
                1.0 - number(&given["p_sunny_given_sunny"]),
                1.0 - number(&given["p_cloudy_given_cloudy"]),
            ],
            days: number(&given["days"]) as usize,
        }
    }

    /// The place of a row of the tables: classes are yesterday sunny, cloudy.
    fn place(&self, row: &Value, level: usize) -> Place {
        let class = match row["yesterday"].as_str().unwrap() {
            "sunny" => 0,
            "cloudy" => 1,
            other => panic!("{other}"),
        };
        Place { stage: self.days - number(&row["days_left"]) as usize, level, class }
    }
}

impl Decisions for Small {
    fn stages(&self) -> usize {
        self.days
    }
    fn levels(&self) -> usize {
        self.capacity as usize + 1
    }
    fn classes(&self) -> usize {
        2
    }
    fn actions(&self) -> usize {
        self.loads.len()
    }
    fn ways(&self, at: Place, action: usize, each: &mut dyn FnMut(Way)) {
        let left = at.level as f64 - self.loads[action];
        let worth = if left < 0.0 { -self.penalty } else { self.values[action] };
        for to_class in 0..2 {
            let turns = self.turns[at.class];
            let chance = if to_class == at.class { 1.0 - turns } else { turns };
            let to_level = (left.max(0.0) + self.gains[to_class]).min(self.capacity);
            each(Way { chance, worth, to_level, to_class });
        }
    }
    fn end_worth(&self, _: usize, _: usize) -> f64 {
        0.0
    }
}

fn case() -> Value {
    serde_json::from_str(&text("tests/reference/risk/sdp_tiers.json")).unwrap()
}

/// Full, after a sunny day.
const START: [(f64, usize, f64); 1] = [(10.0, 0, 1.0)];

#[test]
fn values_and_actions_are_those_of_the_exact_table() {
    let case = case();
    let small = Small::of(&case);
    let solution = solve(&small);
    // Rounding of sums of at most five terms: far below any difference between two actions.
    let mut values =
        Check::new("decisions", SOURCE, "worth of each action, each place", "1", 1e-12);
    let mut wrong = Check::new("decisions", SOURCE, "best action, wrong places", "places", 0.0);
    for row in case["q_table"].as_array().unwrap() {
        let at = small.place(row, number(&row["battery"]) as usize);
        let exact = row["q_exact"].as_array().unwrap();
        for (ours, theirs) in solution.of_action(at).iter().zip(exact) {
            values.case(&format!("{at:?}"), *ours, fraction(theirs));
        }
        let best = solution.action(at) as f64;
        wrong.case(&format!("{at:?}"), best, number(&row["best_tier"]));
    }
    values.done();
    wrong.done();
    let mut places = 0;
    for row in case["policy_table"].as_array().unwrap() {
        for (level, tier) in row["tier_for_battery_0_to_10"].as_array().unwrap().iter().enumerate()
        {
            assert_eq!(solution.action(small.place(row, level)) as f64, number(tier));
            places += 1;
        }
    }
    assert_eq!(places, 5 * 2 * 11);
    let whole = mean_over(&solution.worth[0], &START);
    let exact = fraction(&case["value_full_sunny_5_days"]["exact"]);
    assert!((whole - exact).abs() < 1e-12, "{whole} {exact}");
}

#[test]
fn rules_are_worth_what_the_table_says() {
    let case = case();
    let small = Small::of(&case);
    let table = &case["policy_compare_from_full_sunny_5_days"];
    let worth = |rule: &dyn Fn(Place) -> usize| mean_over(&worth_of(&small, rule), &START);
    let mut check = Check::new("decisions", SOURCE, "worth of five rules", "1", 5e-5);
    for tier in 0..3 {
        let name = format!("always_tier_{tier}");
        check.case(&name, worth(&|_| tier), number(&table[&name]));
    }
    let affordable =
        |at: Place| (0..3).rev().find(|tier| small.loads[*tier] <= at.level as f64).unwrap_or(0);
    check.case("affordable", worth(&affordable), number(&table["highest_tier_affordable_now"]));
    let best = &table["best_static_two_threshold"];
    let (reduced, full) = (number(&best["reduced_at_or_above"]), number(&best["full_at_or_above"]));
    let rule =
        |at: Place| usize::from(at.level as f64 >= reduced) + usize::from(at.level as f64 >= full);
    check.case("two thresholds", worth(&rule), number(&best["value"]));
    check.done();
}

#[test]
fn a_card_of_one_row_keeps_nearly_all() {
    let case = case();
    let small = Small::of(&case);
    let solution = solve(&small);
    let shape = Shape { kinds: vec![0; 5], level_step: 1, most_rows: 1, one_row: true };
    let card = reduce(&small, &solution, &shape, &START);
    assert_eq!(card.rows.len(), 1);
    assert_eq!(card.rows[0].least_level.len(), 2);
    let kept = card.worth / card.best_worth;
    println!("one row: {:?} keeps {kept}", card.rows[0].least_level);
    assert!(kept >= 0.98, "{kept}");
    // It cannot be better than the best rule of its kind, 17.4779 by the table.
    let best = &case["policy_compare_from_full_sunny_5_days"]["best_static_two_threshold"];
    assert!(card.worth <= number(&best["value"]) + 5e-5, "{}", card.worth);
    // A row for each day may keep more, and never keeps less.
    let rows = Shape { most_rows: 5, one_row: false, ..shape };
    let finer = reduce(&small, &solution, &rows, &START);
    println!("{} rows keep {}", finer.rows.len(), finer.worth / finer.best_worth);
    assert!(finer.worth >= card.worth - 1e-9 && finer.worth <= finer.best_worth + 1e-9);
    assert!(finer.rows.len() <= 5);
}
