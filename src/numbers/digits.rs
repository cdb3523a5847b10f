//! Numbers in digits, the one way in which all texts write them.

/// A number with `decimals` places, commas between thousands, and no minus before zero; `-` for what
/// is no number or without end.
#[must_use]
pub fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "-".to_owned();
    }
    let plain = format!("{:.*}", decimals, value.abs());
    let (whole, rest) = plain.split_once('.').unwrap_or((&plain, ""));
    let zero = plain.chars().all(|c| matches!(c, '0' | '.'));
    let mut text = String::new();
    if value < 0.0 && !zero {
        text.push('-');
    }
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place) % 3 == 0 {
            text.push(',');
        }
        text.push(digit);
    }
    if !rest.is_empty() {
        text.push('.');
        text.push_str(rest);
    }
    text
}

/// A number with up to `decimals` places, no trailing zeros.
#[must_use]
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = number(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
