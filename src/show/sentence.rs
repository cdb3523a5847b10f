//! The first sentence: what a run found, in words.

use super::text::clean;
use super::words::{charge, energy, hours, hours_of, moment, percent_full, trimmed};
use crate::simulate::ledger::{Ledger, WeatherOf};
use crate::simulate::summary::Summary;

/// Demand below this share of all demand is rounding, not a shortfall.
const ROUNDING_SHARE: f64 = 1e-9;

/// What the run found: off the air or not, for how long, how low the charge went and when.
///
/// `On air for all 72 hours; lowest charge 38 % (76 Ah) on Wednesday 06:00`. No full stop, so that
/// it can stand as a title.
#[must_use]
pub fn first_sentence(ledger: &Ledger, summary: &Summary) -> String {
    format!("{}{}", on_air(ledger, summary), lowest_charge(ledger, summary))
}

/// The same without the charge: whether the station stayed on the air.
#[must_use]
pub fn on_air(ledger: &Ledger, summary: &Summary) -> String {
    let span_h = summary.hours;
    if summary.off_air_h > 0.0 {
        return format!("{}{}", off_air(summary), without_power(summary));
    }
    let whole = hours_of(span_h, span_h);
    if summary.load_wh <= 0.0 {
        return format!("No load asked for power in {}", whole.replace("the whole", "the"));
    }
    let mut said = format!("On air for {whole}");
    if summary.unserved_wh > ROUNDING_SHARE * summary.load_wh {
        said += &format!(
            ", but {} of demand unserved that is not essential",
            energy(summary.unserved_wh)
        );
    }
    if let Some(top) = ledger.heads.tiers.first() {
        let below_h: f64 =
            summary.tier_h.iter().filter(|(name, _)| *name != top).map(|(_, h)| h).sum();
        if below_h >= span_h * (1.0 - 1e-9) {
            said += &format!(", none of them in tier \"{}\"", clean(top));
        } else if below_h > 0.0 {
            let them = if below_h < 0.05 { "some minutes".to_owned() } else { trimmed(below_h, 1) };
            said += &format!(", {them} of them below tier \"{}\"", clean(top));
        }
    }
    said
}

/// `Off the air for 10 of 72 hours, first on Thursday 08:00`.
fn off_air(summary: &Summary) -> String {
    let span_h = summary.hours;
    let within = summary.first_off_air.filter(|_| summary.off_air_h < span_h);
    let first = within.map_or(String::new(), |at| format!(", first on {}", moment(&at, span_h)));
    format!("Off the air for {}{first}", hours_of(summary.off_air_h, span_h))
}

/// Which hours off the air are without power; the others are those of a tier that does not count.
fn without_power(summary: &Summary) -> String {
    if summary.no_power_h <= 0.0 {
        return " (in a tier that does not count as on the air)".to_owned();
    }
    if summary.off_air_tier_h <= 0.0 {
        return " (without power)".to_owned();
    }
    format!(" (without power in {})", hours_of(summary.no_power_h, summary.off_air_h))
}

/// The title of a picture of a run: what it finds, behind the hours off the air if there are any.
#[must_use]
pub fn led_by_off_air(summary: &Summary, found: &str) -> String {
    if summary.off_air_h <= 0.0 {
        return found.to_owned();
    }
    let mut letters = found.chars();
    let first = letters.next().map_or(String::new(), |first| first.to_lowercase().to_string());
    format!("{}; {first}{}", off_air(summary), letters.as_str())
}

/// The last tier that counts as on the air, cleaned for a sentence; `None` where there is one tier.
#[must_use]
pub fn lowest_on_air(tiers: &[String], on_air: &[bool]) -> Option<String> {
    if tiers.len() < 2 {
        return None;
    }
    let last = on_air.iter().rposition(|it| *it)?;
    tiers.get(last).map(|name| clean(name))
}

/// Whose hours a run shows: the strategy in force, and the trial or that no clouds are drawn.
#[must_use]
pub fn whose_hours(strategy: &str, weather: WeatherOf) -> String {
    let strategy = format!("strategy \"{}\"", clean(strategy));
    match weather {
        WeatherOf::Stated => strategy,
        WeatherOf::Mean => format!("{strategy}; mean weather, no clouds drawn"),
        WeatherOf::Trial { trial, seed } => format!("{strategy}; trial {trial} of seed {seed}"),
    }
}

/// `; lowest charge 38 % (76 Ah) on Wednesday 06:00`.
fn lowest_charge(ledger: &Ledger, summary: &Summary) -> String {
    if !summary.lowest_charge_share.is_finite() {
        return String::new();
    }
    let amount = if ledger.heads.capacity_ah > 0.0 {
        format!(" ({})", charge(summary.lowest_charge_ah))
    } else {
        String::new()
    };
    format!(
        "; lowest charge {}{amount} on {}",
        percent_full(summary.lowest_charge_share),
        moment(&summary.lowest_charge_at, summary.hours)
    )
}

/// How the charge went from start to end: `90 % at the start, 38 % at the lowest, 61 % at the end`.
#[must_use]
pub fn charge_course(summary: &Summary) -> String {
    let full_again = summary.hours_to_full_after.filter(|h| *h > 0.0);
    let full_again =
        full_again.map_or(String::new(), |h| format!(", full again {} after the lowest", hours(h)));
    format!(
        "{} at the start, {} at the lowest, {} at the end{full_again}",
        percent_full(summary.start_charge_share),
        percent_full(summary.lowest_charge_share),
        percent_full(summary.end_charge_share)
    )
}
