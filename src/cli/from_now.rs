//! What is known now: how full the battery is, what time it is, what the sky will be like. The same
//! flags for every command that plays a station.

use chrono::NaiveDateTime;
use clap::Args;

use super::amount::{bare, decimal, percent_of};
use super::local_time;
use crate::scenario::outlook::{SkyWord, ToldDay};
use crate::scenario::site::local_minute;
use crate::show::shell;

/// Most days of an outlook.
const MOST_DAYS: usize = 14;

/// What is known now; whatever is absent stays as the scenario has it.
#[derive(Debug, Clone, Default, Args)]
pub struct FromNowArgs {
    /// Charge to begin with: 55%, 0.55, 95Ah, between 50..60%, or volts while receiving: 12.1V
    #[arg(long, value_name = "CHARGE", value_parser = charge)]
    pub charge: Option<ChargeNow>,
    /// Local time to begin at; from then on the mains is away
    #[arg(long, value_name = "YYYY-MM-DDTHH:MM", value_parser = local_time)]
    pub at: Option<NaiveDateTime>,
    /// The days to come, the first one being today: words such as "overcast, partly, clear", or
    /// their energy on the level, kWh/m2
    #[arg(long, value_name = "DAYS", value_parser = outlook)]
    pub outlook: Option<ToldDays>,
    /// Local time until which the station must stay on the air
    #[arg(long, value_name = "YYYY-MM-DDTHH:MM", value_parser = local_time)]
    pub until: Option<NaiveDateTime>,
    /// Local time at which the mains is back; not before the end if left out
    #[arg(long, value_name = "YYYY-MM-DDTHH:MM", value_parser = local_time, requires = "at")]
    pub mains_back: Option<NaiveDateTime>,
    /// Whether the mains is away from the beginning on even where no time is said.
    #[arg(skip)]
    pub mains_away: bool,
}

impl FromNowArgs {
    /// Whether anything is said at all.
    #[must_use]
    pub fn any(&self) -> bool {
        let Self { charge, at, outlook, until, mains_back, mains_away } = self;
        charge.is_some()
            || at.is_some()
            || outlook.is_some()
            || until.is_some()
            || mains_back.is_some()
            || *mains_away
    }
}

impl FromNowArgs {
    /// The flags that say the same again.
    #[must_use]
    pub fn again(&self) -> String {
        let mut flags = String::new();
        let ends = |(low, high): (f64, f64), written: fn(f64) -> String| {
            if low < high { format!("{}..{}", written(low), written(high)) } else { written(low) }
        };
        let mut add = |name: &str, value: &str| flags += &shell::flag(name, value);
        let charge = self.charge.map(|now| match now {
            ChargeNow::Shares(low, high) => ends((low, high), percent_of),
            ChargeNow::AmpereHours(low, high) => ends((low, high), |it| format!("{it}Ah")),
            ChargeNow::Volts(low, high) => ends((low, high), |it| format!("{it}V")),
        });
        if let Some(charge) = charge {
            add("charge", &charge);
        }
        let time = |local: NaiveDateTime| local.format(local_minute::FORMAT).to_string();
        if let Some(at) = self.at {
            add("at", &time(at));
        }
        if let Some(ToldDays(days)) = &self.outlook {
            let words: Vec<String> = days.iter().map(|day| word_of(*day)).collect();
            add("outlook", &words.join(", "));
        }
        if let Some(until) = self.until {
            add("until", &time(until));
        }
        if let Some(back) = self.mains_back {
            add("mains-back", &time(back));
        }
        flags
    }
}

/// What a told day is called.
#[must_use]
pub fn word_of(day: ToldDay) -> String {
    match day {
        ToldDay::GhiKwhM2Day(energy) => format!("{energy}"),
        ToldDay::Sky(word) => {
            WORDS.iter().find(|(_, it)| *it == word).map_or("?", |(name, _)| name).to_owned()
        }
    }
}

/// How full the battery is said to be: from, to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ChargeNow {
    /// As shares of its capacity.
    Shares(f64, f64),
    /// As ampere-hours of what it holds when full, Ah.
    AmpereHours(f64, f64),
    /// As volts while receiving, with every source off for a minute, V.
    Volts(f64, f64),
}

/// What is said of the coming days.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldDays(pub Vec<ToldDay>);

/// What a number of a charge is told in.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Unit {
    Percent,
    AmpereHours,
    Volts,
    /// Nothing stands behind it.
    Bare,
}

/// A number and its unit.
fn with_unit(text: &str) -> Option<(f64, Unit)> {
    let text = text.trim();
    let units = [("%", Unit::Percent), ("ah", Unit::AmpereHours), ("v", Unit::Volts)];
    let found = units.iter().find_map(|(end, unit)| Some((text.strip_suffix(end)?, *unit)));
    let (number, unit) = found.unwrap_or((text, Unit::Bare));
    Some((decimal(number)?, unit))
}

fn charge(text: &str) -> Result<ChargeNow, String> {
    let allowed = || {
        "a charge such as 55%, 0.55, 95Ah, 50..60% or, in volts while receiving, 12.1V is allowed"
            .to_owned()
    };
    let lower = text.trim().to_lowercase();
    let (from, to) = lower.split_once("..").unwrap_or((&lower, &lower));
    let ends = with_unit(from).zip(with_unit(to));
    let Some(((from_value, from_unit), (to_value, to_unit))) = ends else {
        return Err(allowed());
    };
    let one = |unit: Unit| from_unit == unit || from_unit == Unit::Bare;
    if from_unit == Unit::Bare && to_unit == Unit::Percent && 0.0 < from_value && from_value < 1.0 {
        let share = percent_of(from_value);
        return Err(format!("{from_value}% or {share}? write the sign at both ends"));
    }
    if !one(to_unit) {
        return Err(allowed());
    }
    if to_unit == Unit::Bare {
        bare(from)?;
        bare(to)?;
    }
    if from_value > to_value {
        return Err(format!("{}; the lower end comes first", allowed()));
    }
    match to_unit {
        Unit::Volts if from_value > 0.0 => Ok(ChargeNow::Volts(from_value, to_value)),
        Unit::Volts => Err(allowed()),
        Unit::AmpereHours => Ok(ChargeNow::AmpereHours(from_value, to_value)),
        Unit::Percent if to_value > 100.0 => {
            Err("a charge from 0 to 100 percent is allowed".to_owned())
        }
        Unit::Percent => Ok(ChargeNow::Shares(from_value / 100.0, to_value / 100.0)),
        Unit::Bare => Ok(ChargeNow::Shares(from_value, to_value)),
    }
}

fn outlook(text: &str) -> Result<ToldDays, String> {
    let days: Result<Vec<ToldDay>, String> =
        days_of(text)?.iter().map(|day| told(&day.trim().to_lowercase())).collect();
    let days = days?;
    if days.len() > MOST_DAYS {
        return Err(format!("at most {MOST_DAYS} days are allowed"));
    }
    Ok(ToldDays(days))
}

/// The days of an outlook: commas stand between them, but one between two digits is a decimal comma.
/// A semicolon always stands between days.
fn days_of(text: &str) -> Result<Vec<String>, String> {
    let mut days = vec![String::new()];
    let letters: Vec<char> = text.chars().collect();
    for (at, letter) in letters.iter().enumerate() {
        let digit =
            |at: Option<usize>| at.and_then(|at| letters.get(at)).is_some_and(char::is_ascii_digit);
        let decimal = digit(at.checked_sub(1)) && digit(Some(at + 1));
        match (letter, days.last_mut()) {
            (',', Some(day)) if decimal => day.push('.'),
            (';' | ',', _) => days.push(String::new()),
            (_, Some(day)) => day.push(*letter),
            (_, None) => {}
        }
    }
    if let Some(day) = days.iter().find(|day| day.matches('.').count() > 1) {
        return Err(format!(
            "`{day}` may be one day or several: a comma between two digits is a decimal comma, so \
             put a space behind one that stands between days: `1.2, 3.4`"
        ));
    }
    Ok(days)
}

/// The words that are understood, and what they mean.
const WORDS: [(&str, SkyWord); 14] = [
    ("clear", SkyWord::Clear),
    ("sunny", SkyWord::Clear),
    ("partly", SkyWord::Partly),
    ("partly cloudy", SkyWord::Partly),
    ("mostly cloudy", SkyWord::MostlyCloudy),
    ("cloudy", SkyWord::MostlyCloudy),
    ("overcast", SkyWord::Overcast),
    ("dark", SkyWord::DarkAllDay),
    ("rain", SkyWord::DarkAllDay),
    ("snow", SkyWord::Snow),
    ("fog", SkyWord::DarkAllDay),
    ("smoke", SkyWord::DarkAllDay),
    ("unknown", SkyWord::Unknown),
    ("?", SkyWord::Unknown),
];

fn told(day: &str) -> Result<ToldDay, String> {
    if let Some((_, word)) = WORDS.iter().find(|(name, _)| *name == day) {
        return Ok(ToldDay::Sky(*word));
    }
    if let Ok(energy) = day.trim_end_matches("kwh/m2").trim_end().parse::<f64>() {
        return if (0.0..=14.0).contains(&energy) {
            Ok(ToldDay::GhiKwhM2Day(energy))
        } else {
            Err("a day's energy from 0 to 14 kWh/m2 is allowed".to_owned())
        };
    }
    let near = WORDS.iter().map(|(name, _)| (strsim::osa_distance(day, name), *name)).min();
    let meant = match near {
        Some((distance, name)) if !day.is_empty() && distance <= name.len().div_ceil(3) => {
            format!("; did you mean `{name}`?")
        }
        _ => ".".to_owned(),
    };
    Err(format!(
        "`{day}` says nothing of a day{meant} Allowed are clear, partly, mostly cloudy, overcast, rain, snow, fog, \
         smoke, unknown, or kWh/m2 of the day"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_charge_is_read_as_people_write_it() {
        for (text, wanted) in [
            ("55%", ChargeNow::Shares(0.55, 0.55)),
            ("55 %", ChargeNow::Shares(0.55, 0.55)),
            ("0.55", ChargeNow::Shares(0.55, 0.55)),
            ("0,55", ChargeNow::Shares(0.55, 0.55)),
            ("0", ChargeNow::Shares(0.0, 0.0)),
            ("1%", ChargeNow::Shares(0.01, 0.01)),
            ("100%", ChargeNow::Shares(1.0, 1.0)),
            ("50..60%", ChargeNow::Shares(0.5, 0.6)),
            ("50%..60%", ChargeNow::Shares(0.5, 0.6)),
            ("0.5..0.6", ChargeNow::Shares(0.5, 0.6)),
            ("0..60%", ChargeNow::Shares(0.0, 0.6)),
            ("95Ah", ChargeNow::AmpereHours(95.0, 95.0)),
            ("90..95.5 Ah", ChargeNow::AmpereHours(90.0, 95.5)),
            ("12.1V", ChargeNow::Volts(12.1, 12.1)),
            ("12,1 V", ChargeNow::Volts(12.1, 12.1)),
            ("12.0..12.2 v", ChargeNow::Volts(12.0, 12.2)),
        ] {
            assert_eq!(charge(text), Ok(wanted), "{text}");
            let args = FromNowArgs { charge: Some(wanted), ..FromNowArgs::default() };
            let again = args.again();
            assert_eq!(charge(&again[" --charge ".len()..]), Ok(wanted), "{again}");
        }
        for text in [
            "", "full", "60..50%", "101%", "-5%", "NaN", "12.1%V", "..", "5..", "-1V", "inf", "0V",
            "12V..55%", "50%..60", "1e1%", "5Wh",
        ] {
            assert!(charge(text).is_err(), "{text}");
        }
    }

    /// 1 was taken for all of it and 2 for a fiftieth: neither is known to be meant.
    #[test]
    fn a_bare_number_from_one_up_is_refused_with_what_to_write() {
        for text in ["1", "1.0", "0.5..1"] {
            let said = charge(text).unwrap_err();
            assert_eq!(said, "1 % or 100 %? write 1% or 100%", "{text}");
        }
        for (text, write) in [("2", "write 2%"), ("55", "write 55%"), ("50..60", "write 50%")] {
            assert!(charge(text).unwrap_err().contains(write), "{text}");
        }
        assert!(charge("0.5..60%").unwrap_err().contains("0.5% or 50%?"));
    }

    #[test]
    fn days_are_words_or_energies() {
        let days = outlook("Overcast, partly cloudy,1.2, snow ,?").unwrap().0;
        let wanted = [
            ToldDay::Sky(SkyWord::Overcast),
            ToldDay::Sky(SkyWord::Partly),
            ToldDay::GhiKwhM2Day(1.2),
            ToldDay::Sky(SkyWord::Snow),
            ToldDay::Sky(SkyWord::Unknown),
        ];
        assert_eq!(days, wanted);
        // A comma between digits is a decimal comma, with a space behind it stands between days.
        let energies = |text: &str| -> Vec<f64> {
            let days = outlook(text).unwrap().0.into_iter();
            days.map(|day| if let ToldDay::GhiKwhM2Day(energy) = day { energy } else { f64::NAN })
                .collect()
        };
        assert_eq!(energies("1,1"), [1.1]);
        assert_eq!(energies("1, 1"), [1.0, 1.0]);
        assert_eq!(energies("1,1, 2,3;4"), [1.1, 2.3, 4.0]);
        assert_eq!(outlook("clear,2,overcast").unwrap().0.len(), 3);
        for text in ["1,1,1", "1.2,3.4"] {
            assert!(outlook(text).unwrap_err().contains("is a decimal comma"), "{text}");
        }
        let text = outlook("overcst").unwrap_err();
        assert!(text.contains("did you mean `overcast`?"), "{text}");
        for text in ["", "clear,,clear", "-1", "25", "bright"] {
            assert!(outlook(text).is_err(), "{text}");
        }
        assert!(outlook(&["clear"; 15].join(",")).is_err());
    }
}
