//! What people see of the station from now on.
//!
//! Lives here: the first sentence, the page of text, and the line that is read out on the air. Does
//! not live here: anything that computes how long a tier lasts (`decide::now`).

pub mod line;
pub mod table;

pub use line::{LONGEST_LINE, line};
pub use table::{first_sentence, now_page, now_text};

/// A number of hours, never rounded up: a day and a half is `36 h`, less than ten `9.5 h`.
#[must_use]
fn hours_down(hours: f64) -> String {
    if hours < 10.0 {
        let tenths = (hours * 10.0 + 1e-6).floor() / 10.0;
        format!("{} h", super::words::trimmed(tenths, 1))
    } else {
        format!("{} h", super::words::number((hours + 1e-6).floor(), 0))
    }
}

/// A chance as people say it: `95 of 100`, `999 of 1,000`.
#[must_use]
fn odds_words(share: f64) -> String {
    for whole in [100.0, 1000.0, 10_000.0] {
        let part: f64 = share * whole;
        if (part - part.round()).abs() < 1e-6 {
            let number = super::words::number;
            return format!("{} of {}", number(part.round(), 0), number(whole, 0));
        }
    }
    super::odds::sentence::exact_percent(share)
}
