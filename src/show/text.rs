//! Text that has to fit: widths, shortening, folding, and names made safe to print.
//!
//! Widths come from the horizontal metrics of DejaVu Sans 2.37 (units of 1/2048 em) for Basic Latin
//! and Latin-1; other scripts are counted by class. They are a table here, not read from the font,
//! so that a picture has the same bytes whether or not the program can draw PNG. Trust: checked
//! against the font itself (`tests/pictures.rs`).

use super::theme::Type;

/// Units of an em in the metrics.
const EM: f64 = 2048.0;

/// U+0020 to U+007E, regular.
const REGULAR_BASIC: [u16; 95] = [
    651, 821, 942, 1716, 1303, 1946, 1597, 563, 799, 799, 1024, 1716, 651, 739, 651, 690, 1303,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 690, 690, 1716, 1716, 1716, 1087, 2048,
    1401, 1405, 1430, 1577, 1294, 1178, 1587, 1540, 604, 604, 1343, 1141, 1767, 1532, 1612, 1235,
    1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403, 1251, 1403, 799, 690, 799, 1716, 1024, 1024,
    1255, 1300, 1126, 1300, 1260, 721, 1300, 1298, 569, 569, 1186, 569, 1995, 1298, 1253, 1300,
    1300, 842, 1067, 803, 1298, 1212, 1675, 1212, 1212, 1075, 1303, 690, 1303, 1716,
];

/// U+00A0 to U+00FF, regular.
const REGULAR_LATIN: [u16; 96] = [
    651, 821, 1303, 1303, 1303, 1303, 690, 1024, 1024, 2048, 965, 1253, 1716, 739, 2048, 1024,
    1024, 1716, 821, 821, 1024, 1303, 1303, 651, 1024, 821, 965, 1253, 1985, 1985, 1985, 1087,
    1401, 1401, 1401, 1401, 1401, 1401, 1995, 1430, 1294, 1294, 1294, 1294, 604, 604, 604, 604,
    1587, 1532, 1612, 1612, 1612, 1612, 1612, 1716, 1612, 1499, 1499, 1499, 1499, 1251, 1239, 1290,
    1255, 1255, 1255, 1255, 1255, 1255, 2011, 1126, 1260, 1260, 1260, 1260, 569, 569, 569, 569,
    1253, 1298, 1253, 1253, 1253, 1253, 1253, 1716, 1253, 1298, 1298, 1298, 1298, 1212, 1300, 1212,
];

/// U+0020 to U+007E, bold.
const BOLD_BASIC: [u16; 95] = [
    713, 934, 1067, 1716, 1425, 2052, 1786, 627, 936, 936, 1071, 1716, 778, 850, 778, 748, 1425,
    1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 819, 819, 1716, 1716, 1716, 1188, 2048,
    1585, 1561, 1503, 1700, 1399, 1399, 1681, 1714, 762, 762, 1587, 1305, 2038, 1714, 1741, 1501,
    1741, 1577, 1475, 1397, 1663, 1585, 2259, 1579, 1483, 1485, 936, 748, 936, 1716, 1024, 1024,
    1382, 1466, 1214, 1466, 1389, 891, 1466, 1458, 702, 702, 1362, 702, 2134, 1458, 1407, 1466,
    1466, 1010, 1219, 979, 1458, 1335, 1892, 1321, 1335, 1192, 1458, 748, 1458, 1716,
];

/// U+00A0 to U+00FF, bold.
const BOLD_LATIN: [u16; 96] = [
    713, 934, 1425, 1425, 1303, 1425, 748, 1024, 1024, 2048, 1155, 1323, 1716, 850, 2048, 1024,
    1024, 1716, 897, 897, 1024, 1507, 1303, 778, 1024, 897, 1155, 1323, 2120, 2120, 2120, 1188,
    1585, 1585, 1585, 1585, 1585, 1585, 2222, 1503, 1399, 1399, 1399, 1399, 762, 762, 762, 762,
    1716, 1714, 1741, 1741, 1741, 1741, 1741, 1716, 1741, 1663, 1663, 1663, 1663, 1483, 1511, 1473,
    1382, 1382, 1382, 1382, 1382, 1382, 2146, 1214, 1389, 1389, 1389, 1389, 702, 702, 702, 702,
    1407, 1458, 1407, 1407, 1407, 1407, 1407, 1716, 1407, 1458, 1458, 1458, 1458, 1335, 1466, 1335,
];

/// Advance of one character, units of 1/2048 em.
fn advance(c: char, bold: bool) -> u16 {
    let (basic, latin) =
        if bold { (&BOLD_BASIC, &BOLD_LATIN) } else { (&REGULAR_BASIC, &REGULAR_LATIN) };
    let code = c as u32;
    let known = match code {
        0x20..=0x7E => basic.get((code - 0x20) as usize),
        0xA0..=0xFF => latin.get((code - 0xA0) as usize),
        _ => None,
    };
    match (known, columns_of(c)) {
        (Some(width), _) => *width,
        (None, 0) => 0,
        (None, 2) => 2048,
        // En dash 1024, Greek and Cyrillic 1300 to 1600 on average, capitals up to 2200.
        (None, _) if c == '–' => 1024,
        (None, _) => 1700,
    }
}

/// Width of a text, px.
#[must_use]
pub fn width_px(text: &str, face: Type) -> f64 {
    let units: u32 = text.chars().map(|c| u32::from(advance(c, face.bold))).sum();
    f64::from(units) / EM * face.size_px
}

/// Columns that a character takes on a terminal: 0 for marks that sit on the letter before, 2 for
/// the wide scripts of East Asia, else 1 (coarse; Unicode Standard Annex 11).
#[must_use]
pub fn columns_of(c: char) -> usize {
    match c as u32 {
        0x0300..=0x036F | 0x0483..=0x0489 | 0x1AB0..=0x1AFF | 0x20D0..=0x20FF | 0xFE00..=0xFE0F => {
            0
        }
        0x1100..=0x115F
        | 0x2E80..=0xA4CF
        | 0xAC00..=0xD7A3
        | 0xF900..=0xFAFF
        | 0xFE30..=0xFE4F
        | 0xFF00..=0xFF60
        | 0xFFE0..=0xFFE6
        | 0x1F300..=0x1FAFF
        | 0x20000..=0x3FFFD => 2,
        _ => 1,
    }
}

/// Columns that a text takes on a terminal.
#[must_use]
pub fn columns(text: &str) -> usize {
    text.chars().map(columns_of).sum()
}

/// A name as it may be printed: no control characters, nothing that XML forbids or that turns the
/// direction of what follows, no more than two marks on a letter (more would climb into the line
/// above); runs of white space become one space. Never empty.
#[must_use]
pub fn clean(name: &str) -> String {
    let mut marks = 0;
    let kept: String = name
        .chars()
        .map(|c| if c.is_whitespace() { ' ' } else { c })
        .filter(|c| {
            !c.is_control()
                && !matches!(*c as u32,
                    0x200B..=0x200F | 0x2028..=0x202E | 0x2060..=0x206F | 0xFEFF | 0xFFF9..=0xFFFF)
        })
        .filter(|c| {
            marks = if columns_of(*c) == 0 { marks + 1 } else { 0 };
            marks <= 2
        })
        .collect();
    let words: Vec<&str> = kept.split_whitespace().collect();
    if words.is_empty() { "(no name)".to_owned() } else { words.join(" ") }
}

/// The text, cut with three points where it would be wider than `room_px`.
#[must_use]
pub fn fit(text: &str, face: Type, room_px: f64) -> String {
    if width_px(text, face) <= room_px {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut best = String::new();
    for c in text.chars() {
        kept.push(c);
        let tried = format!("{}...", kept.trim_end());
        if width_px(&tried, face) > room_px {
            break;
        }
        best = tried;
    }
    best
}

/// The text folded at spaces into at most `lines` lines no wider than `room_px`, of about equal
/// length; the last is cut if more is left.
#[must_use]
pub fn fold(text: &str, face: Type, room_px: f64, lines: usize) -> Vec<String> {
    let widest = fold_at(text, face, room_px, lines);
    let mut folded = widest.clone();
    for percent in (50..100).rev() {
        let tried = fold_at(text, face, room_px * f64::from(percent) / 100.0, lines);
        if widest.len() < 2 || tried.len() > widest.len() || tried.join(" ") != widest.join(" ") {
            break;
        }
        folded = tried;
    }
    folded
}

/// Words of a text. A number and the percent sign or the h behind it are one: they stay together.
fn words_of(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let unit = word.trim_end_matches([',', ';', '.', ':', ')']);
        match words.last_mut() {
            Some(last)
                if ["%", "h"].contains(&unit) && last.ends_with(|c: char| c.is_ascii_digit()) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// The same with each line as full as it can be.
#[must_use]
pub fn fold_at(text: &str, face: Type, room_px: f64, lines: usize) -> Vec<String> {
    let mut folded: Vec<String> = vec![String::new()];
    for word in words_of(text) {
        let full = folded.len() >= lines;
        let Some(line) = folded.last_mut() else { break };
        let tried = if line.is_empty() { word.clone() } else { format!("{line} {word}") };
        if line.is_empty() || full || width_px(&tried, face) <= room_px {
            *line = tried;
        } else {
            folded.push(word);
        }
    }
    folded.iter().map(|line| fit(line, face, room_px)).collect()
}

/// The text in lines of at most `most` columns, folded at spaces, the first set in by `first` and the
/// others by `rest`.
#[must_use]
pub fn lines(text: &str, most: usize, (first, rest): (usize, usize)) -> Vec<String> {
    let mut lines = vec![" ".repeat(first)];
    let mut empty = true;
    for word in words_of(text) {
        let Some(line) = lines.last_mut() else { break };
        if !empty && columns(line) + 1 + columns(&word) > most {
            lines.push(format!("{}{word}", " ".repeat(rest)));
            continue;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(&word);
        empty = false;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::show::theme::{LABEL, TITLE};

    #[test]
    fn lines_are_no_wider_than_asked_for() {
        assert_eq!(lines("one two 95 % three", 9, (0, 2)), ["one two", "  95 %", "  three"]);
        assert_eq!(lines("for 72 h, or", 6, (0, 0)), ["for", "72 h,", "or"]);
        assert_eq!(lines("overlong words", 4, (1, 1)), [" overlong", " words"]);
        assert_eq!(lines("", 9, (0, 0)), [""]);
    }

    #[test]
    fn names_lose_what_a_page_cannot_show() {
        assert_eq!(clean("a\u{0}b\n\tc \u{202E}d\u{FEFF}"), "ab c d");
        assert_eq!(clean(" \u{7} "), "(no name)");
        assert_eq!(clean("Küste <&> 海"), "Küste <&> 海");
    }

    #[test]
    fn cut_and_folded_text_fits() {
        let long = "the quick brown fox jumps over the lazy dog and on and on ".repeat(9);
        for room in [0.0, 3.0, 40.0, 200.0, 868.0] {
            assert!(width_px(&fit(&long, TITLE, room), TITLE) <= room.max(0.0));
            for line in fold(&long, LABEL, room, 3) {
                assert!(width_px(&line, LABEL) <= room);
            }
        }
        assert_eq!(fold("one two", LABEL, 500.0, 2), ["one two"]);
        assert_eq!(fold("", LABEL, 500.0, 2), [""]);
    }

    #[test]
    fn columns_follow_the_script() {
        assert_eq!(columns("abc"), 3);
        assert_eq!(columns("海辺"), 4);
        assert_eq!(columns("e\u{301}"), 1);
    }
}
