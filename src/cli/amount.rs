//! Numbers as people write them on the command line: shares, percent, decimals.
//!
//! A bare number from 1 up is never taken for a share: 1 may be meant as 1 % or as all of it.

/// A number of digits with at most one point or comma; `None` for anything else. A comma before three
/// digits may set thousands apart, so it is none, unless a lone 0 stands before it.
#[must_use]
pub fn decimal(text: &str) -> Option<f64> {
    let text = text.trim();
    if !text.bytes().all(|it| it.is_ascii_digit() || it == b'.' || it == b',') {
        return None;
    }
    if let Some((whole, decimals)) = text.split_once(',')
        && (whole.is_empty() || (decimals.len() == 3 && whole != "0"))
    {
        return None;
    }
    text.replace(',', ".").parse().ok()
}

/// A share 0..1 from `95%`, `95 %` or `0.95`; 0 is 0.
///
/// # Errors
/// What is allowed instead.
pub fn share(text: &str) -> Result<f64, String> {
    let text = text.trim();
    if let Some(number) = text.strip_suffix('%') {
        return decimal(number).map(|percent| percent / 100.0).ok_or_else(allowed);
    }
    bare(text)?.ok_or_else(allowed)
}

/// A share without a sign: `None` where it is no number.
///
/// # Errors
/// When it is 1 or more, which may be percent or not.
pub fn bare(text: &str) -> Result<Option<f64>, String> {
    let Some(value) = decimal(text) else { return Ok(None) };
    if value < 1.0 {
        return Ok(Some(value));
    }
    Err(if value > 1.0 {
        format!("{value} without a sign may mean anything; write {value}%")
    } else {
        "1 % or 100 %? write 1% or 100%".to_owned()
    })
}

fn allowed() -> String {
    "a share such as 95% or 0.95 is allowed".to_owned()
}

/// A share from `lowest` to `highest`, as [`share`] reads it.
///
/// # Errors
/// What is allowed instead.
pub fn share_within(text: &str, lowest: f64, highest: f64) -> Result<f64, String> {
    let value = share(text)?;
    if (lowest..=highest).contains(&value) {
        return Ok(value);
    }
    Err(format!("a share from {lowest} to {highest} is allowed, such as 95% or 0.95"))
}

/// The shortest text that is read as exactly this share: `55%`; `0.0007` where no percentage is.
#[must_use]
pub fn percent_of(share: f64) -> String {
    let written = (0..=17).map(|places| format!("{:.places$}%", share * 100.0));
    let same = |text: &String| self::share(text).is_ok_and(|read| read == share);
    let mut written = written.filter(same);
    written.next().unwrap_or_else(|| share.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_is_read_as_people_write_it() {
        for text in ["0.95", "95%", "95 %", " 95% ", "0,95", "95,0 %", ".95"] {
            assert_eq!(share(text), Ok(0.95), "{text}");
        }
        for (text, wanted) in
            [("0", 0.0), ("0%", 0.0), ("100%", 1.0), ("1%", 0.01), ("0.1%", 0.001)]
        {
            assert_eq!(share(text), Ok(wanted), "{text}");
        }
        for text in ["1", "1.0", "1,0", "01"] {
            assert_eq!(share(text), Err("1 % or 100 %? write 1% or 100%".to_owned()), "{text}");
        }
        assert!(share("95").unwrap_err().contains("write 95%"));
        for text in ["", "%", "NaN", "inf", "-5%", "1e-1", "1,000%", "1.2.3", "0.5.", "50%%", ",5"]
        {
            assert!(share(text).is_err(), "{text}");
        }
        assert!(share_within("100%", 0.5, 0.999).unwrap_err().contains("from 0.5 to 0.999"));
    }

    #[test]
    fn a_share_is_written_so_that_it_is_read_again_to_the_bit() {
        assert_eq!(percent_of(0.55), "55%");
        assert_eq!(percent_of(1.0), "100%");
        assert_eq!(percent_of(0.0), "0%");
        for at in 0..=10_000 {
            let value = f64::from(at) / 10_000.0;
            assert_eq!(share(&percent_of(value)), Ok(value), "{value}");
        }
        let third = 1.0 / 3.0;
        assert_eq!(share(&percent_of(third)), Ok(third));
    }
}
