//! `HH:MM` as minutes of a day.

/// Minutes between two midnights of a day without a clock change.
pub const MINUTES_A_DAY: u32 = 24 * 60;

/// Minutes after midnight of a time written `HH:MM`, 0 to 1440; `None` when it is not one.
///
/// `24:00` is the end of the day. Whoever wants the beginning of something refuses 1440.
#[must_use]
pub fn parse_time_of_day(text: &str) -> Option<u32> {
    let (hours, minutes) = text.split_once(':')?;
    let total = two_digits(hours)? * 60 + two_digits(minutes).filter(|&minutes| minutes < 60)?;
    (total <= MINUTES_A_DAY).then_some(total)
}

/// The value of exactly two decimal digits.
pub(super) fn two_digits(text: &str) -> Option<u32> {
    match text.as_bytes() {
        [tens @ b'0'..=b'9', ones @ b'0'..=b'9'] => {
            Some(u32::from(tens - b'0') * 10 + u32::from(ones - b'0'))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_the_day_from_end_to_end() {
        assert_eq!(parse_time_of_day("00:00"), Some(0));
        assert_eq!(parse_time_of_day("06:05"), Some(365));
        assert_eq!(parse_time_of_day("23:59"), Some(1439));
        assert_eq!(parse_time_of_day("24:00"), Some(1440));
    }

    #[test]
    fn refuses_what_no_clock_shows() {
        for text in [
            "", ":", "24:01", "25:00", "12:60", "7:30", "07:3", "07:30:00", "-1:30", "+7:30",
            "0７:30", "noon",
        ] {
            assert_eq!(parse_time_of_day(text), None, "{text}");
        }
    }
}
