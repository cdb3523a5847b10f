//! The pictures that the README shows.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

use longwatch::decide::preflight::preflight;
use longwatch::show::diagram::diagram;
use longwatch::show::{Picture, first_sentence, pictures};
use longwatch::simulate::single;
use longwatch::simulate::summary::summarise;

use super::made::{DOCUMENTS, blessing, root, text};
use super::outputs;
use super::shipped::shipped;

/// Scenario and chart with which names of pictures begin, and the command of the README that draws
/// them.
const COMMANDS: &[(&str, &str, &[&str])] = &[
    ("hall-72h-", "odds-", &["odds", "scenarios/hall-72h.json", "--trials", "10000"]),
    (
        "hall-72h-",
        "size-",
        &["size", "scenarios/hall-72h.json", "--hours", "72", "--target", "0.95"],
    ),
    ("hall-72h-", "card", &outputs::CARD),
    ("hall-72h-", "calendar", &outputs::CALENDAR),
    ("hall-72h-", "compare-", &outputs::COMPARE),
    ("hall-72h-", "without-", &outputs::WITHOUT),
    ("club-weekend-", "timeline-", &["exercise", "scenarios/club-weekend.json"]),
];

fn folder() -> PathBuf {
    root().join("output/gallery")
}

/// Pictures are written by one test at a time.
static WRITING: Mutex<()> = Mutex::new(());

/// Names of the pictures that the README shows, without their ending.
fn shown() -> BTreeSet<String> {
    let texts = DOCUMENTS.map(text).concat();
    let names = texts.split("gallery/").skip(1);
    let shown = names.filter_map(|piece| piece.split_once(".png)").map(|(name, _)| name));
    shown.filter(|name| !name.contains(char::is_whitespace)).map(str::to_owned).collect()
}

/// A picture as it is drawn now.
struct Drawn {
    name: String,
    svg: String,
    png: Vec<u8>,
}

/// The pictures that the README shows, by the name of their file: scenario, then chart.
fn all() -> Vec<Drawn> {
    let shown = shown();
    let mut all = Vec::new();
    for shipped in shipped() {
        if !shown.iter().any(|name| name.starts_with(&format!("{}-", shipped.name))) {
            continue;
        }
        let plan = shipped.plan(&shipped.scenario.strategy);
        let ledger = single::run(&plan);
        let mut summary = summarise(&plan, &ledger);
        summary.sentence = first_sentence(&ledger, &summary);
        let station =
            diagram(&shipped.scenario, &plan, &preflight(&shipped.scenario, &plan, &ledger));
        for picture in pictures(&ledger, &summary).into_iter().chain([station]) {
            let name = format!("{}-{}", shipped.name, picture.name);
            if shown.contains(&name) {
                let png = png_of(&picture);
                all.push(Drawn { name, svg: picture.svg, png });
            }
        }
    }
    for (of, chart, command) in COMMANDS {
        all.extend(by_command(&shown, (of, chart), command));
    }
    assert_eq!(all.len(), shown.len(), "the README shows pictures that no scenario has: {shown:?}");
    all
}

/// Those that a command of the README draws: names begin with the scenario, then the chart.
fn by_command(shown: &BTreeSet<String>, (of, chart): (&str, &str), command: &[&str]) -> Vec<Drawn> {
    let before = format!("{of}{chart}");
    let names: Vec<&String> = shown.iter().filter(|name| name.starts_with(&before)).collect();
    if names.is_empty() {
        return Vec::new();
    }
    let played = outputs::played(command);
    let read = |file: String| std::fs::read(played.folder.join(file)).unwrap();
    let drawn = names.into_iter().map(|name| {
        let chart = &name[of.len()..];
        Drawn {
            name: name.clone(),
            svg: String::from_utf8(read(format!("{chart}.svg"))).unwrap(),
            png: read(format!("{chart}.png")),
        }
    });
    drawn.collect()
}

/// Width over height of a PNG.
fn ratio(png: &[u8]) -> f64 {
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"), "this is no PNG");
    let number = |at: usize| f64::from(u32::from_be_bytes(png[at..at + 4].try_into().unwrap()));
    number(16) / number(20)
}

/// Drawings are compared as text. Their PNG is drawn from them; another machine may round a pixel
/// otherwise, so only its shape is held.
#[test]
fn the_gallery_shows_what_the_program_draws() {
    let _writing = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
    let pictures = all();
    if blessing() {
        write(&pictures);
    }
    let mut stale = Vec::new();
    for Drawn { name, svg, png } in &pictures {
        let there = std::fs::read_to_string(folder().join(format!("{name}.svg")));
        if there.unwrap_or_default() != *svg {
            stale.push(name.clone());
        }
        let there = std::fs::read(folder().join(format!("{name}.png"))).unwrap_or_default();
        assert!((ratio(&there) / ratio(png) - 1.0).abs() < 0.01, "{name}.png");
    }
    assert!(
        stale.is_empty(),
        "out of date (`BLESS=1 cargo test docs::` draws them anew): {}",
        stale.join(", ")
    );
}

#[cfg(feature = "png")]
fn png_of(picture: &Picture) -> Vec<u8> {
    longwatch::show::png::png(picture).unwrap()
}

#[cfg(not(feature = "png"))]
fn png_of(_: &Picture) -> Vec<u8> {
    panic!("the gallery needs the feature `png`");
}

fn write(pictures: &[Drawn]) {
    // What the README no longer shows goes.
    let _ = std::fs::remove_dir_all(folder());
    std::fs::create_dir_all(folder()).unwrap();
    for Drawn { name, svg, png } in pictures {
        std::fs::write(folder().join(format!("{name}.svg")), svg).unwrap();
        std::fs::write(folder().join(format!("{name}.png")), png).unwrap();
    }
}

#[test]
fn the_gallery_holds_what_the_readme_shows_and_nothing_else() {
    let _writing = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
    if blessing() {
        write(&all());
    }
    let shown = shown();
    assert!(shown.len() >= 3, "the README shows {} pictures", shown.len());
    let wanted: BTreeSet<String> =
        shown.iter().flat_map(|name| [format!("{name}.svg"), format!("{name}.png")]).collect();
    let there: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(there, wanted);
}
