//! What is known now: how full the battery is, what time it is, what the sky will be like. The same
//! flags for every command that plays a station.

use chrono::NaiveDateTime;
use clap::Args;

use super::local_time;
use crate::scenario::outlook::{SkyWord, ToldDay};
use crate::scenario::site::local_minute;

/// Most days of an outlook.
const MOST_DAYS: usize = 14;

/// What is known now; whatever is absent stays as the scenario has it.
#[derive(Debug, Clone, Default, Args)]
pub struct FromNowArgs {
    /// Charge to begin with: 55 (percent), 0.55, between 50..60, or volts while receiving: 12.1V
    #[arg(long, value_name = "CHARGE", value_parser = charge)]
    pub charge: Option<ChargeNow>,
    /// Local time to begin at; from then on the mains is away
    #[arg(long, value_name = "YYYY-MM-DDTHH:MM", value_parser = local_time)]
    pub at: Option<NaiveDateTime>,
    /// The days to come, the first one being today: words such as "overcast, partly, clear", or
    /// their energy on the level, kWh/m2
    #[arg(long, value_name = "DAYS", value_parser = outlook)]
    pub outlook: Option<ToldDays>,
    /// Local time until which the station must last
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
        let ends = |low: f64, high: f64| {
            if low < high { format!("{low}..{high}") } else { format!("{low}") }
        };
        let mut add = |flag: &str, value: String| {
            flags.extend([" --", flag, " ", &value]);
        };
        match self.charge {
            Some(ChargeNow::Shares(low, high)) => add("charge", ends(low, high)),
            Some(ChargeNow::Volts(low, high)) => add("charge", format!("{}V", ends(low, high))),
            None => {}
        }
        let time = |local: NaiveDateTime| local.format(local_minute::FORMAT).to_string();
        if let Some(at) = self.at {
            add("at", time(at));
        }
        if let Some(ToldDays(days)) = &self.outlook {
            let words: Vec<String> = days.iter().map(|day| word_of(*day)).collect();
            add("outlook", format!("\"{}\"", words.join(", ")));
        }
        if let Some(until) = self.until {
            add("until", time(until));
        }
        if let Some(back) = self.mains_back {
            add("mains-back", time(back));
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
    /// As volts while receiving, with every source off for a minute, V.
    Volts(f64, f64),
}

/// What is said of the coming days.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldDays(pub Vec<ToldDay>);

fn charge(text: &str) -> Result<ChargeNow, String> {
    let allowed =
        "a charge such as 55, 55%, 0.55, 50..60 or, in volts while receiving, 12.1V is allowed";
    let lower = text.trim().to_lowercase();
    let (plain, volts) = match lower.strip_suffix('v') {
        Some(plain) => (plain.trim_end(), true),
        None => (lower.as_str(), false),
    };
    let (from, to) = plain.split_once("..").unwrap_or((plain, plain));
    let parsed = |text: &str| -> Option<f64> {
        let text = text.trim();
        let (number, percent) = match text.strip_suffix('%') {
            Some(number) if !volts => (number.trim_end(), true),
            Some(_) => return None,
            None => (text.trim_end_matches('v').trim_end(), false),
        };
        let value: f64 = number.parse().ok()?;
        // A number above 1 is a percentage; 1 itself is all of it.
        Some(if percent || (!volts && value > 1.0) { value / 100.0 } else { value })
    };
    let (Some(from_value), Some(to_value)) = (parsed(from), parsed(to)) else {
        return Err(allowed.to_owned());
    };
    if !(from_value.is_finite() && to_value.is_finite() && from_value <= to_value) {
        return Err(format!("{allowed}; the lower end comes first"));
    }
    if volts {
        return if from_value > 0.0 {
            Ok(ChargeNow::Volts(from_value, to_value))
        } else {
            Err(allowed.to_owned())
        };
    }
    if from_value < 0.0 || to_value > 1.0 {
        return Err("a charge from 0 to 100 percent is allowed".to_owned());
    }
    Ok(ChargeNow::Shares(from_value, to_value))
}

fn outlook(text: &str) -> Result<ToldDays, String> {
    let days: Result<Vec<ToldDay>, String> =
        text.split(',').map(|day| told(&day.trim().to_lowercase())).collect();
    let days = days?;
    if days.len() > MOST_DAYS {
        return Err(format!("at most {MOST_DAYS} days are allowed"));
    }
    Ok(ToldDays(days))
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
    ("snow", SkyWord::DarkAllDay),
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
            ("55", ChargeNow::Shares(0.55, 0.55)),
            ("55%", ChargeNow::Shares(0.55, 0.55)),
            ("55 %", ChargeNow::Shares(0.55, 0.55)),
            ("0.55", ChargeNow::Shares(0.55, 0.55)),
            ("1", ChargeNow::Shares(1.0, 1.0)),
            ("1%", ChargeNow::Shares(0.01, 0.01)),
            ("50..60", ChargeNow::Shares(0.5, 0.6)),
            ("50%..60%", ChargeNow::Shares(0.5, 0.6)),
            ("12.1V", ChargeNow::Volts(12.1, 12.1)),
            ("12.0..12.2 v", ChargeNow::Volts(12.0, 12.2)),
        ] {
            assert_eq!(charge(text), Ok(wanted), "{text}");
        }
        for text in ["", "full", "60..50", "101", "-5", "NaN", "12.1%V", "..", "5..", "-1V", "inf"]
        {
            assert!(charge(text).is_err(), "{text}");
        }
    }

    #[test]
    fn days_are_words_or_energies() {
        let days = outlook("Overcast, partly cloudy,1.2, snow ,?").unwrap().0;
        let wanted = [
            ToldDay::Sky(SkyWord::Overcast),
            ToldDay::Sky(SkyWord::Partly),
            ToldDay::GhiKwhM2Day(1.2),
            ToldDay::Sky(SkyWord::DarkAllDay),
            ToldDay::Sky(SkyWord::Unknown),
        ];
        assert_eq!(days, wanted);
        let text = outlook("overcst").unwrap_err();
        assert!(text.contains("did you mean `overcast`?"), "{text}");
        for text in ["", "clear,,clear", "-1", "25", "bright"] {
            assert!(outlook(text).is_err(), "{text}");
        }
        assert!(outlook(&["clear"; 15].join(",")).is_err());
    }
}
