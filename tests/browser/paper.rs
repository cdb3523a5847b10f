//! On paper: A4 and Letter, no picture cut, nothing lost at the edge.

use std::path::Path;
use std::process::Command;

use roxmltree::Document;
use serde_json::json;

use super::devtools::{Browser, hall, report};

/// Sheets, inches.
const SHEETS: [(&str, f64, f64); 2] = [("A4", 8.27, 11.69), ("Letter", 8.5, 11.0)];

/// Puts a word into two opposite corners of every picture, so that both are found on the paper.
const MARK: &str = "document.querySelectorAll('svg.chart').forEach((svg, k) => {
  const box = svg.viewBox.baseVal;
  for (const [word, x, y, anchor] of [['Begin', 0, 100, 'start'], ['End', box.width, box.height - 20, 'end']]) {
    const text = document.createElementNS('http://www.w3.org/2000/svg', 'text');
    text.textContent = `Mark${word}${k}X`;
    text.setAttribute('x', x); text.setAttribute('y', y); text.setAttribute('text-anchor', anchor);
    text.setAttribute('font-size', 60); text.setAttribute('fill', '#000000');
    svg.append(text);
  }
}); document.querySelectorAll('svg.chart').length";

#[test]
#[ignore = "needs Chromium and Poppler"]
fn no_picture_is_cut() {
    let folder = tempfile::tempdir().unwrap();
    let path = report(&hall(), folder.path());
    let mut browser = Browser::start();
    browser.open(&path);
    // A reader of a dark screen prints on white paper too.
    browser.look(1280, true);
    let pictures = browser.value(MARK).as_u64().unwrap();
    assert!(pictures >= 7, "only {pictures}");
    for (sheet, width, height) in SHEETS {
        let printed = browser.ask(
            "Page.printToPDF",
            json!({"paperWidth": width, "paperHeight": height, "printBackground": true,
                "preferCSSPageSize": false}),
        );
        let pdf = folder.path().join(format!("{sheet}.pdf"));
        std::fs::write(&pdf, from_base64(printed["data"].as_str().unwrap())).unwrap();
        let words = words_of(&pdf);
        for picture in 0..pictures {
            let place = |word: &str| {
                let found: Vec<&Word> =
                    words.iter().filter(|it| it.text == format!("Mark{word}{picture}X")).collect();
                assert_eq!(found.len(), 1, "{sheet}: {word} of picture {picture}: {found:?}");
                found[0]
            };
            let (begin, end) = (place("Begin"), place("End"));
            assert_eq!(begin.page, end.page, "{sheet}: picture {picture} is cut");
            assert!(end.y > begin.y && end.x > begin.x, "{sheet}: picture {picture} is turned");
        }
        for word in &words {
            let inside = word.x >= 0.0
                && word.y >= 0.0
                && word.x_end <= width * 72.0
                && word.y_end <= height * 72.0;
            assert!(inside, "{sheet}: {word:?} is beyond the edge");
        }
        assert!(words.iter().any(|it| it.text == "Cautions"), "{sheet}: cautions are not printed");
    }
}

/// A word on a page of the PDF, with its box in points.
#[derive(Debug)]
struct Word {
    page: usize,
    text: String,
    x: f64,
    y: f64,
    x_end: f64,
    y_end: f64,
}

/// Every word, by `pdftotext -bbox`, which writes XHTML.
fn words_of(pdf: &Path) -> Vec<Word> {
    let output = Command::new("pdftotext").arg("-bbox").arg(pdf).arg("-").output();
    let output = output.expect("pdftotext, of poppler-utils");
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).unwrap();
    let body = text.split_once("<html").map(|(_, body)| format!("<html{body}")).unwrap();
    let document = Document::parse(&body).unwrap();
    let named = |name: &'static str| {
        move |it: &roxmltree::Node| it.is_element() && it.tag_name().name() == name
    };
    let pages = document.descendants().filter(named("page"));
    let mut words = Vec::new();
    for (page, node) in pages.enumerate() {
        for word in node.descendants().filter(named("word")) {
            let at = |name: &str| word.attribute(name).unwrap().parse::<f64>().unwrap();
            words.push(Word {
                page,
                text: word.text().unwrap_or_default().to_owned(),
                x: at("xMin"),
                y: at("yMin"),
                x_end: at("xMax"),
                y_end: at("yMax"),
            });
        }
    }
    assert!(words.len() > 1000, "only {} words", words.len());
    words
}

/// Bytes of base64 (RFC 4648).
fn from_base64(text: &str) -> Vec<u8> {
    let value = |c: u8| match c {
        b'A'..=b'Z' => u32::from(c - b'A'),
        b'a'..=b'z' => u32::from(c - b'a') + 26,
        b'0'..=b'9' => u32::from(c - b'0') + 52,
        b'+' => 62,
        _ => 63,
    };
    let bytes: Vec<u8> = text.bytes().filter(|c| *c != b'=').collect();
    let mut whole = Vec::with_capacity(bytes.len() * 3 / 4);
    for four in bytes.chunks(4) {
        let bits = four.iter().fold(0, |bits, c| bits << 6 | value(*c)) << (6 * (4 - four.len()));
        whole.extend(&bits.to_be_bytes()[1..four.len()]);
    }
    whole
}

#[test]
fn base64_reads_back() {
    // RFC 4648, section 10, test vectors.
    for (text, plain) in [("Zg==", "f"), ("Zm8=", "fo"), ("Zm9v", "foo"), ("Zm9vYmFy", "foobar")] {
        assert_eq!(from_base64(text), plain.as_bytes());
    }
}
