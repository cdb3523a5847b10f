//! Evidence of independence: how long without mains, how each number is known, what a test found,
//! what fails first, and what is still to be done.

use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::super::words::{hours, percent, trimmed};
use super::material::Material;
use super::section::Section;
use crate::decide::independence::{BatteryAlone, HOURS};
use crate::decide::odds::answers::Causes;
use crate::decide::preflight::Severity;
use crate::scenario::basis::Basis;
use crate::scenario::schedule::Grid;

/// What stands in place of a date that the scenario does not state.
const NOT_DATED: &str = "not dated";
/// Empty lines of the form of actions, besides those that are known.
const EMPTY_LINES: usize = 3;

/// Tells the section.
#[must_use]
pub fn independence(it: &Material) -> Section {
    let mut section = Section::new("independence", "Evidence of independence");
    section.prose(asked(it));
    section.heading("How long without mains");
    match it.reached {
        Ok(_) => {
            section.table("On the air without mains from the beginning on", reached_table(it));
        }
        Err(why) => {
            section.prose(format!("This scenario does not allow it: {}", clean(why)));
        }
    }
    if let Some(alone) = it.alone {
        section.prose(format!("On the battery alone: {}", alone_sentence(it, alone)));
    }
    section.heading("What fails first");
    section.prose(first_to_fail(it).unwrap_or_else(|| {
        "Nothing failed in any trial: never without power, never off the air.".to_owned()
    }));
    if let Ok(found) = it.without {
        section.prose(found.sentence.as_str());
    }
    section.heading("Basis and date of each number");
    basis(it, &mut section);
    section.heading("Last test against forecast");
    tests(it, &mut section);
    section.heading("Open actions");
    section.form("To be done, by whom, until when", actions(it));
    section
}

fn asked(it: &Material) -> String {
    let from = match it.scenario.grid {
        Grid::None => {
            "There is no mains at this station; the hours count from the beginning of the span."
        }
        Grid::OutageAtRandom(_) => {
            "The mains fails at a random hour of the scenario's season and does not come back."
        }
        _ => "The mains fails when the span begins and does not come back.",
    };
    format!(
        "{from} All else is as in the scenario: warm-up days, storms, strategy, generator and vehicle."
    )
}

/// How many lasted 8, 24, 72 and 168 hours.
fn reached_table(it: &Material) -> Table {
    let mut table = Table::new(&[
        ("Still on the air", Side::Left),
        ("trials", Side::Right),
        ("share", Side::Right),
        ("95 % range", Side::Left),
        ("at least, 95 %", Side::Right),
    ]);
    let Ok(reached) = it.reached else { return table };
    for (within, asked) in reached.within.iter().zip(HOURS) {
        let [low, high] = within.on_air_wilson_95.map(exact_percent);
        table.row(&[
            format!("after {}", hours(f64::from(asked))),
            format!(
                "{} of {}",
                whole(reached.trials.saturating_sub(within.failures)),
                whole(reached.trials)
            ),
            exact_percent(within.on_air_share),
            format!("{low} to {high}"),
            exact_percent(within.on_air_lower_95_one_sided),
        ]);
    }
    table
}

/// How long the battery alone lasts.
#[must_use]
pub fn alone_sentence(it: &Material, alone: &BatteryAlone) -> String {
    let lasts = |h: Option<f64>| match h {
        Some(h) => hours(h),
        None => format!("more than {}", hours(alone.watched_h)),
    };
    let top = it.scenario.tiers.first().map_or(String::new(), |tier| clean(&tier.name));
    let down = lasts(alone.stepping_down_h);
    if it.scenario.shedding.is_none() || it.scenario.tiers.len() < 2 {
        return format!("from full, with nothing charging it, it lasts {down}.");
    }
    format!(
        "from full, with nothing charging it, it lasts {down} with shedding by rule, {} in tier \"{top}\".",
        lasts(alone.top_tier_h)
    )
}

/// What failed first in most of the trials that failed; `None` when none did.
#[must_use]
pub fn first_to_fail(it: &Material) -> Option<String> {
    let odds = it.trials.odds;
    let Causes { fuel, cold, keying, low_at_start, dark_run } = odds.causes;
    let words = Words::of(odds.occasion);
    let said = [
        (dark_run, "the battery runs down over several dark days"),
        (low_at_start, "the battery is low when it begins"),
        (cold, "the battery is too cold to charge or to give"),
        (keying, "volts sag below a window while somebody transmits"),
        (fuel, "the generator has no fuel or does not start"),
    ];
    let (count, what) = said.into_iter().max_by_key(|(count, _)| *count).filter(|it| it.0 > 0)?;
    let sooner = odds.first_off_air_h.least.map_or(String::new(), |h| {
        format!(" The soonest was off the air after {}.", hours((h * 10.0).round() / 10.0))
    });
    let within = match (count == odds.failures, count) {
        (true, 1) => format!("In the one {} that failed", words.one),
        (true, _) => format!("In all {} {} that failed", whole(count), words.many),
        (false, _) => {
            format!(
                "In {} of the {} {} that failed",
                whole(count),
                whole(odds.failures),
                words.many
            )
        }
    };
    Some(format!("{within} {what}.{sooner}"))
}

fn basis(it: &Material, section: &mut Section) {
    let mut table = Table::new(&[
        ("Number", Side::Left),
        ("value", Side::Left),
        ("basis", Side::Left),
        ("date", Side::Left),
        ("looked at on, by", Side::Left),
    ]);
    for stated in it.stated {
        let (basis, date) = match &stated.basis {
            Basis::Guess => ("guess", NOT_DATED.to_owned()),
            Basis::Datasheet => ("datasheet", NOT_DATED.to_owned()),
            Basis::Measured(date) => ("measured", date.0.to_string()),
        };
        let value = if stated.unit.is_empty() {
            stated.value.clone()
        } else {
            format!("{} {}", stated.value, stated.unit)
        };
        table.row(&[clean(&stated.path), clean(&value), basis.to_owned(), date]);
    }
    if table.is_empty() {
        section.prose("The scenario states no basis for any number: take them all as guesses.");
        return;
    }
    section.form("Numbers whose basis the scenario states", table);
    section.prose("The last column is for the pen: who looked at the part or its sheet, and when. Every other number \
         states no basis: take it as a guess until somebody looked.");
}

fn tests(it: &Material, section: &mut Section) {
    if it.tests.is_empty() {
        section.prose(
            "The scenario records no test. Run the whole chain on battery for the whole planned \
             time, write down what was found, and put it into the scenario under \"tests\".",
        );
        let mut form = Table::new(&[
            ("What", Side::Left),
            ("forecast", Side::Right),
            ("measured", Side::Right),
            ("date", Side::Left),
            ("by", Side::Left),
        ]);
        let alone = it.alone.and_then(|alone| alone.stepping_down_h);
        for (what, forecast) in [
            ("Hours on the battery alone, from full", alone.map(|h| figure("battery_alone_h", h))),
            (
                "Capacity from full to cut-off",
                Some(it.ledger.heads.capacity_ah)
                    .filter(|ah| *ah > 0.0)
                    .map(|ah| figure("capacity_ah", ah)),
            ),
            (
                "Lowest charge over the span",
                Some(figure("lowest_charge_share", it.summary.lowest_charge_share)),
            ),
        ] {
            form.row(&[what.to_owned(), forecast.unwrap_or_default()]);
        }
        section.form("To be filled in after a test", form);
        return;
    }
    for (place, test) in it.tests.iter().enumerate() {
        let mut table = Table::new(&[
            ("Figure", Side::Left),
            ("expected then", Side::Right),
            ("measured", Side::Right),
            ("forecast now", Side::Right),
            ("measured over forecast", Side::Right),
        ]);
        for line in &test.lines {
            let told = |value: Option<f64>| value.map_or(String::new(), |it| figure(line.key, it));
            let ratio = match (line.measured, line.forecast) {
                (Some(found), Some(told)) if told > 0.0 => percent(found / told),
                _ => String::new(),
            };
            let name = name_of(line.key);
            table.row(&[
                name,
                &told(line.expected),
                &told(line.measured),
                &told(line.forecast),
                &ratio,
            ]);
        }
        let latest = if place == 0 { "Last test" } else { "Earlier test" };
        let on = test.on.0.format("%-d %B %Y");
        section.table(format!("{latest}, {on}: {}", clean(&test.what)), table);
    }
    section.prose(
        "\"Forecast now\" is what longwatch computes from the scenario. Where a \
         test found less, trust the test and change the scenario.",
    );
}

/// What a figure of a test is called.
fn name_of(key: &str) -> &str {
    match key {
        "capacity_ah" => "Capacity from full to cut-off",
        "battery_alone_h" => "Hours on the battery alone",
        "day_wh" => "Energy of the loads in 24 hours",
        "lowest_charge_share" => "Lowest charge over the span",
        other => other,
    }
}

/// A figure of a test with its unit.
fn figure(key: &str, value: f64) -> String {
    match key.rsplit('_').next() {
        Some("ah") => format!("{} Ah", trimmed(value, 1)),
        Some("h") => format!("{} h", trimmed(value, 1)),
        Some("wh") => format!("{} Wh", trimmed(value, 0)),
        _ => percent(value),
    }
}

/// What is still to be done: findings to be mended, guesses to be measured, a capacity to be tested, a
/// test to be run.
fn actions(it: &Material) -> Table {
    let mut table =
        Table::new(&[("Action", Side::Left), ("owner", Side::Left), ("date", Side::Left)]);
    let mut action = |what: String| {
        table.row(&[what]);
    };
    for finding in it.findings {
        if let (Severity::Serious | Severity::Caution, Some(mend)) =
            (finding.severity, &finding.mend)
        {
            action(format!("{}, {}: {}", clean(&finding.item), finding.what, clean(mend)));
        }
    }
    for stated in it.stated.iter().filter(|stated| stated.basis == Basis::Guess) {
        action(format!("Measure {}, a guess of {}", clean(&stated.path), clean(&stated.value)));
    }
    if it.summary.at_65_percent.is_some() {
        action("Test the capacity of the battery: it is the rated one".to_owned());
    }
    if it.tests.is_empty() {
        action("Run the whole chain on battery for the whole planned time".to_owned());
    }
    for _ in 0..EMPTY_LINES {
        action(String::new());
    }
    table
}
