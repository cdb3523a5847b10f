//! Offsets from UTC as people write them.

use chrono::FixedOffset;

use super::ClockProblem;
use super::time_of_day::two_digits;

/// An offset from UTC written like `-07:00`, from -12:00 to +14:00 (the range in civil use).
///
/// # Errors
/// When the text is not an offset.
pub fn offset_from_text(text: &str) -> Result<FixedOffset, ClockProblem> {
    read_offset(text).ok_or_else(|| ClockProblem {
        found: text.to_owned(),
        allowed: "an offset from UTC from `-12:00` to `+14:00`",
        near: near_offset(text).into_iter().collect(),
    })
}

fn read_offset(text: &str) -> Option<FixedOffset> {
    let (sign, rest) = match text.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-", rest) => (-1, rest),
        _ => return None,
    };
    let (hours, minutes) = rest.split_once(':')?;
    let (hours, minutes) = (two_digits(hours)?, two_digits(minutes)?);
    let east_min = sign * i32::try_from(hours * 60 + minutes).ok()?;
    let allowed = minutes < 60 && (-12 * 60..=14 * 60).contains(&east_min);
    allowed.then(|| FixedOffset::east_opt(east_min * 60)).flatten()
}

/// The offset that was probably meant: `UTC`, `Z`, `-7`, `+0530`, `−03:00` with a real minus.
fn near_offset(text: &str) -> Option<String> {
    let plain = text.trim().replace('\u{2212}', "-").to_uppercase();
    let plain = plain.trim_start_matches("UTC").trim_start_matches("GMT").trim();
    if plain.is_empty() && !text.trim().is_empty() || plain == "Z" {
        return Some("+00:00".to_owned());
    }
    let (sign, rest) = match plain.split_at_checked(1)? {
        (sign @ ("+" | "-"), rest) => (sign, rest),
        _ => ("+", plain),
    };
    let digits: String = rest.chars().filter(|&letter| letter != ':').collect();
    let four = match digits.len() {
        1 => format!("0{digits}00"),
        2 => format!("{digits}00"),
        3 => format!("0{digits}"),
        _ => digits,
    };
    let (hours, minutes) = four.split_at_checked(2)?;
    let near = format!("{sign}{hours}:{minutes}");
    read_offset(&near).map(|_| near)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_offsets_in_civil_use() {
        for (text, minutes) in [
            ("-03:00", -180),
            ("+05:45", 345),
            ("+00:00", 0),
            ("-00:00", 0),
            ("+14:00", 840),
            ("-12:00", -720),
        ] {
            assert_eq!(
                offset_from_text(text),
                Ok(FixedOffset::east_opt(minutes * 60).unwrap()),
                "{text}"
            );
        }
    }

    #[test]
    fn a_wrong_offset_says_what_was_probably_meant() {
        for (text, meant) in [
            ("-3", Some("-03:00")),
            ("+0530", Some("+05:30")),
            ("-3:30", Some("-03:30")),
            ("UTC", Some("+00:00")),
            ("Z", Some("+00:00")),
            ("UTC+2", Some("+02:00")),
            ("\u{2212}07:00", Some("-07:00")),
            ("05:45", Some("+05:45")),
            ("+15:00", None),
            ("-12:01", None),
            ("+05:60", None),
            ("", None),
            ("é", None),
            ("+éa:b", None),
            ("noon", None),
        ] {
            let problem = offset_from_text(text).unwrap_err();
            assert_eq!(problem.near.first().map(String::as_str), meant, "{text}");
        }
    }
}
