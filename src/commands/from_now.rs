//! What is known now, put in the place of what the scenario says: the one place that does it.

use chrono::{Duration, NaiveDateTime};

use crate::cli::from_now::{ChargeNow, FromNowArgs};
use crate::clock::LocalClock;
use crate::error::Error;
use crate::plan::compile::battery_of;
use crate::scenario::Scenario;
use crate::scenario::basis::chrono_date::Date;
use crate::scenario::outlook::Outlook;
use crate::scenario::schedule::{Grid, OneOutage};
use crate::scenario::site::local_minute;
use crate::scenario::sun::Sun;
use crate::show::words::{full, percent, volts};
use crate::sky::outlook::too_bright;
use crate::sky::position::Place;
use crate::station::battery::register::holds;
use crate::station::receive::{charge_at, receive_a, receive_v, volts_tell};

/// Longest time that is looked ahead, h.
const MOST_H: i64 = 87_840;

/// Puts what is known now into a checked scenario: the charge, the beginning with a mains that is
/// away from then on, the end, the outlook. An outlook stands in the place of the storm: nothing
/// dims it further and nothing snows but what the scenario lists.
///
/// # Errors
/// What cannot be, as a fault of the command line.
pub fn apply(scenario: &mut Scenario, args: &FromNowArgs) -> Result<(), Error> {
    put(scenario, args).map_err(Error::CommandLine)
}

fn put(scenario: &mut Scenario, args: &FromNowArgs) -> Result<(), String> {
    let clock = LocalClock::new(&scenario.site.clock).map_err(|it| it.to_string())?;
    let instant = |flag: &str, local: NaiveDateTime| {
        clock.instant(local).map_err(|problem| format!("--{flag}: {problem}"))
    };
    if let Some(now) = args.charge {
        let (low, high) = shares(scenario, now)?;
        scenario.start.warmup_days = None;
        scenario.start.charge_share = (low == high).then_some(low);
        scenario.start.charge_between_share = (low < high).then_some([low, high]);
    }
    if let Some(at) = args.at {
        instant("at", at)?;
        scenario.span.start = at;
    }
    let start = instant("at", scenario.span.start)?;
    if let Some(until) = args.until {
        scenario.span.hours = hours_between(start, instant("until", until)?).ok_or_else(|| {
            let begins = scenario.span.start.format(local_minute::FORMAT);
            format!("--until: it must lie after {begins}, when the time that is played begins")
        })?;
    }
    if (args.at.is_some() || args.mains_away)
        && scenario.supply.is_some()
        && scenario.grid != Grid::None
    {
        let hours = match args.mains_back {
            None => f64::from(scenario.span.hours),
            Some(back) => {
                let seconds = (instant("mains-back", back)? - start).num_seconds();
                if seconds <= 0 {
                    return Err("--mains-back: it must lie after --at".to_owned());
                }
                #[allow(clippy::cast_precision_loss)]
                let hours = seconds as f64 / 3600.0;
                hours
            }
        };
        scenario.grid = Grid::Outage(OneOutage { off: scenario.span.start, hours });
    }
    let offset = clock.standard_offset(start);
    let told = args.outlook.as_ref().and_then(|told| {
        let from = Date(start.with_timezone(&offset).date_naive());
        // Days of which nothing is known change nothing.
        Outlook { from, days: told.0.clone(), notes: None }.that_tells()
    });
    if let Some(outlook) = told {
        if let Some((day, most)) = too_bright(Place::from(&scenario.site), &outlook, offset).first()
        {
            return Err(format!(
                "--outlook: no weather gives so much light on day {}; up to {most:.1} kWh/m2 is possible",
                day + 1
            ));
        }
        let Sun::Climate(climate) = &mut scenario.sun else {
            return Err("--outlook: days can be told where the sun is that of a `climate`; a `profile` and a \
                        `measured` series say themselves what each day is like"
                .to_owned());
        };
        climate.outlook = Some(outlook);
    }
    Ok(())
}

/// Whole hours between two instants, rounded up; `None` where they are none or too many.
fn hours_between(
    from: chrono::DateTime<chrono::Utc>,
    to: chrono::DateTime<chrono::Utc>,
) -> Option<u32> {
    let seconds = (to - from).num_seconds();
    let hours = seconds.div_euclid(3600) + i64::from(seconds.rem_euclid(3600) > 0);
    let some = seconds > 0 && Duration::hours(hours) <= Duration::hours(MOST_H);
    u32::try_from(hours).ok().filter(|_| some)
}

/// The charge that is meant, from and to.
fn shares(scenario: &Scenario, now: ChargeNow) -> Result<(f64, f64), String> {
    let (low_v, high_v) = match now {
        ChargeNow::Shares(low, high) => return Ok((low, high)),
        ChargeNow::AmpereHours(low_ah, high_ah) => {
            let full_ah = battery_of(&scenario.battery).capacity_ah;
            if high_ah > full_ah * (1.0 + 1e-9) {
                return Err(format!(
                    "--charge: {high_ah} Ah is more than this battery holds when full: {}",
                    full(full_ah, &holds(&scenario.battery))
                ));
            }
            let share = |ah: f64| (ah / full_ah).clamp(0.0, 1.0);
            return Ok((share(low_ah), share(high_ah)));
        }
        ChargeNow::Volts(low_v, high_v) => (low_v, high_v),
    };
    if !volts_tell(&scenario.battery) {
        return Err("--charge: volts do not say how full a lithium iron phosphate battery is: from a fifth to nine \
                    tenths of its charge they differ by less than a meter's error. Read the charge off \
                    its monitor, or count ampere-hours"
            .to_owned());
    }
    let battery = battery_of(&scenario.battery);
    let draws_a = receive_a(scenario, &battery, 0);
    let (empty_v, full_v) = (receive_v(&battery, 0.0, draws_a), receive_v(&battery, 1.0, draws_a));
    if high_v > full_v + 1e-9 {
        return Err(format!(
            "--charge: {} is more than this battery shows when full and receiving ({}): take every source \
             off for a minute, then read it",
            volts(high_v),
            volts(full_v)
        ));
    }
    if low_v < empty_v - 1e-9 {
        return Err(format!(
            "--charge: {} is less than this battery shows when empty and receiving ({}); read it while \
             nobody transmits, or give a charge such as {}",
            volts(low_v),
            volts(empty_v),
            percent(0.05)
        ));
    }
    let share = |it: f64| charge_at(&battery, it, draws_a).clamp(0.0, 1.0);
    Ok((share(low_v), share(high_v)))
}
