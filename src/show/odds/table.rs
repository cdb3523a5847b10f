//! Results of many trials as a page of text: the sentence, the share on the air by hour, why trials failed,
//! how bad the bad cases are, energy, hours in each tier, and the trials to look at.

use super::super::compare::table::folded;
use super::super::page_text::Page;
use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::super::words::{EnergyUnit, hours, number, percent, trimmed};
use super::sentence::{Words, exact_percent, first_sentence, whole, whose};
use crate::decide::odds::Odds;
use crate::decide::odds::result::{Quantiles, Within};

/// The text of many trials. `replay` is the command that runs one of them, without its number.
/// Warnings are not in it.
#[must_use]
pub fn odds_table(odds: &Odds, replay: &str) -> String {
    odds_page(odds, replay).full()
}

/// The same as blocks.
#[must_use]
pub fn odds_page(odds: &Odds, replay: &str) -> Page {
    let text = |table: Option<Table>| table.map_or(String::new(), |table| table.to_string());
    let lead = format!(
        "{}\n{}\n{}",
        first_sentence(odds),
        folded(&whose(odds), 0),
        folded(&rests_on(odds), 0)
    );
    Page::new(lead)
        .block(0, "hours on the air", readiness_table(odds).to_string())
        .block(4, "how sure", how_sure(odds))
        .block(1, "causes", text(cause_table(odds)))
        .block(2, "bad cases", case_table(odds).to_string())
        .block(5, "energy", energy_table(odds).to_string())
        .block(3, "hours in tiers", text(tier_table(odds)))
        .block(6, "trials to look at", replay_table(odds, replay).to_string())
}

/// By which rule the loads were shed, and which command holds one tier instead.
fn rests_on(odds: &Odds) -> String {
    let rules = if odds.tier_h.len() > 1 {
        "Your rules shed loads; `now` tells how long one tier lasts, `card` finds other rules. "
    } else {
        ""
    };
    let known = if odds.as_stated.is_some() {
        "The inputs that the scenario calls uncertain are drawn too."
    } else {
        "Your numbers are taken as exact."
    };
    format!("{rules}{known}")
}

/// How many trials were still on the air after some hours, and how sure that is.
#[must_use]
pub fn readiness_table(odds: &Odds) -> Table {
    let words = Words::of(odds.occasion);
    let mut table = Table::new(&[
        ("Still on the air", Side::Left),
        (words.many, Side::Right),
        ("share", Side::Right),
        ("95 % range", Side::Left),
        ("at least, 95 %", Side::Right),
    ]);
    let whole_span = Within {
        hours: odds.hours,
        failures: odds.failures,
        on_air_share: odds.on_air_share,
        on_air_wilson_95: odds.on_air_wilson_95,
        on_air_lower_95_one_sided: odds.on_air_lower_95_one_sided,
    };
    let told = odds.on_air_within.iter().filter(|it| it.hours < odds.hours - 1e-9);
    let after = |it: &Within| format!("  after {}", hours(it.hours));
    let rows = told.chain([&whole_span]).map(|it| (after(it), it));
    let stated = odds.as_stated.iter().map(|it| ("    inputs as stated".to_owned(), it));
    for (name, within) in rows.chain(stated) {
        let [low, high] = within.on_air_wilson_95.map(exact_percent);
        table.row(&[
            name,
            whole(odds.trials.saturating_sub(within.failures)),
            exact_percent(within.on_air_share),
            format!("{low} to {high}"),
            exact_percent(within.on_air_lower_95_one_sided),
        ]);
    }
    table
}

/// What the ranges say and what they do not.
#[must_use]
pub fn how_sure(odds: &Odds) -> String {
    let counted = Words::of(odds.occasion).counted(odds.trials);
    let inputs = if odds.as_stated.is_some() {
        "they include the inputs that the scenario calls uncertain"
    } else {
        "how well your numbers are known is not in them"
    };
    let mut said = format!("  The ranges are those of {counted};\n  {inputs}.");
    match odds.series_years {
        Some((first, last)) if first == last => {
            said += &format!("\n  The weather is that of {first}.")
        }
        Some((first, last)) => said += &format!("\n  The weather is that of {first} to {last}."),
        None => {}
    }
    if let Some(it) = odds.stopping {
        let narrow = it.half_width_reached <= it.half_width_asked;
        said += &format!(
            "\n  You asked for half a range of {}; it is {}: {}.",
            exact_percent(it.half_width_asked),
            if narrow { "reached" } else { "not reached" },
            exact_percent(it.half_width_reached)
        );
    }
    said
}

/// Why trials failed; `None` if none did.
#[must_use]
pub fn cause_table(odds: &Odds) -> Option<Table> {
    if odds.failures == 0 {
        return None;
    }
    let many = Words::of(odds.occasion).many;
    let mut table =
        Table::new(&[("Why off the air", Side::Left), (many, Side::Right), ("share", Side::Right)]);
    let causes = odds.causes;
    for (name, count) in [
        ("several dark days in a row", causes.dark_run),
        ("battery low at the start", causes.low_at_start),
        ("cold battery", causes.cold),
        ("only while transmitting", causes.keying),
        ("generator: no fuel or no start", causes.fuel),
    ] {
        if count > 0 {
            let share = percent(count as f64 / odds.failures as f64);
            table.row(&[format!("  {name}"), whole(count), share]);
        }
    }
    Some(table)
}

/// The middle, the bad and the worst cases.
#[must_use]
pub fn case_table(odds: &Odds) -> Table {
    let mut table = Table::new(&[
        ("Cases", Side::Left),
        ("half", Side::Right),
        ("1 in 20", Side::Right),
        ("1 in 100", Side::Right),
        ("worst", Side::Right),
    ]);
    let lowest = &odds.lowest_charge_share;
    let at_most = |share: Option<f64>| share.map_or("-".to_owned(), percent);
    table.row(&[
        "  lowest charge, or less".to_owned(),
        at_most(lowest.p50),
        at_most(lowest.p05),
        at_most(lowest.p01),
        at_most(lowest.least),
    ]);
    if odds.failures > 0 {
        let off = &odds.first_off_air_h;
        let hour =
            |h: Option<f64>| h.map_or("never".to_owned(), |h| format!("{} h", trimmed(h, 1)));
        table.row(&[
            "  off the air after, or sooner".to_owned(),
            hour(off.p50),
            hour(off.p05),
            hour(off.p01),
            hour(off.least),
        ]);
    }
    let Quantiles { p50, p95, p99, greatest, least, .. } = odds.recharge_h;
    if least.is_some() {
        let hour =
            |h: Option<f64>| h.map_or("longer".to_owned(), |h| format!("{} h", trimmed(h, 1)));
        table.row(&[
            "  charged again after, or later".to_owned(),
            hour(p50),
            hour(p95),
            hour(p99),
            hour(greatest),
        ]);
    }
    table
}

/// Energy of a mean trial, shares of the demand.
#[must_use]
pub fn energy_table(odds: &Odds) -> Table {
    let one = Words::of(odds.occasion).one;
    let unit = EnergyUnit::for_largest(odds.load_wh.max(odds.mains_plug_wh));
    let head = format!("Mean {one}");
    let mut table =
        Table::new(&[(&head, Side::Left), (unit.name, Side::Right), ("share", Side::Right)]);
    let mut line = |name: &str, wh: f64, small: bool| {
        let share = if odds.load_wh > 0.0 { wh / odds.load_wh } else { 0.0 };
        let share = if small { exact_percent(share) } else { percent(share) };
        // What is missing is never rounded to nothing.
        let value = wh / unit.wh;
        let amount = match value {
            value if small && value > 0.0 && value < 0.005 => "< 0.01".to_owned(),
            value if small && value < 10.0 => trimmed(value, 2),
            _ => unit.write(wh),
        };
        table.row(&[format!("  {name}"), amount, share]);
    };
    let origin = &odds.origin_wh;
    line("demand", odds.load_wh, false);
    for (name, wh) in [
        ("  served from what was stored", origin.stored_before),
        ("  served from the sun", origin.sun),
        ("  served from the mains", origin.mains),
        ("  served from the generator", origin.generator),
        ("  served from the vehicle", origin.vehicle),
    ] {
        if wh > 0.0 {
            line(name, wh, false);
        }
    }
    line("  not served", odds.expected_unserved_wh, true);
    if odds.shed_wh > 0.0 {
        // Not a share of the demand: it is what the top tier would also draw.
        table.row(&["  shed below the top tier".to_owned(), unit.write(odds.shed_wh)]);
    }
    if odds.mains_plug_wh > 0.0 {
        table.row(&["  taken from the mains".to_owned(), unit.write(odds.mains_plug_wh)]);
    }
    if odds.fuel_l > 0.0 {
        table.row(&["  fuel".to_owned(), format!("{} l", trimmed(odds.fuel_l, 2))]);
    }
    table
}

/// Mean hours in each tier and without power; `None` if there is nothing to tell.
#[must_use]
pub fn tier_table(odds: &Odds) -> Option<Table> {
    let mut table =
        Table::new(&[("Mean hours", Side::Left), ("h", Side::Right), ("share", Side::Right)]);
    let mut line = |name: &str, h: f64, share: String| {
        let decimals = [1.0, 1000.0].iter().filter(|above| h < **above).count();
        table.row(&[format!("  {name}"), number(h, decimals), share]);
    };
    if odds.tier_h.len() > 1 {
        for (name, h) in &odds.tier_h {
            line(&format!("tier {}", clean(name)), *h, percent(h / odds.hours));
        }
    }
    if odds.no_power_time_share > 0.0 {
        let no_power_h = odds.no_power_time_share * odds.hours;
        line("without power", no_power_h, exact_percent(odds.no_power_time_share));
    }
    (!table.is_empty()).then_some(table)
}

/// Trials to look at, and how.
#[must_use]
pub fn replay_table(odds: &Odds, replay: &str) -> Table {
    let mut table = Table::new(&[("To look at", Side::Left), ("command", Side::Left)]);
    let named = odds.named_trials;
    for (name, trial) in [
        ("worst", named.worst),
        ("middle", named.median),
        ("first that failed", named.first_failing),
    ] {
        if let Some(it) = trial {
            table.row(&[format!("  {name}"), format!("{replay} --trial {}", it.trial)]);
        }
    }
    table
}
