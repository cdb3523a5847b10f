//! The pictures that the README shows.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

use longwatch::show::{Picture, first_sentence, pictures};
use longwatch::simulate::single;
use longwatch::simulate::summary::summarise;

use super::made::{blessing, root, text};
use super::shipped::shipped;

fn folder() -> PathBuf {
    root().join("output/gallery")
}

/// Pictures are written by one test at a time.
static WRITING: Mutex<()> = Mutex::new(());

/// Names of the pictures that the README shows, without their ending.
fn shown() -> BTreeSet<String> {
    let readme = text("README.md");
    let names = readme.split("](output/gallery/").skip(1);
    names.filter_map(|piece| piece.split(".png)").next()).map(str::to_owned).collect()
}

/// The pictures that the README shows, by the name of their file: scenario, then chart.
fn all() -> Vec<(String, Picture)> {
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
        for picture in pictures(&ledger, &summary) {
            let name = format!("{}-{}", shipped.name, picture.name);
            if shown.contains(&name) {
                all.push((name, picture));
            }
        }
    }
    assert_eq!(all.len(), shown.len(), "the README shows pictures that no scenario has: {shown:?}");
    all
}

/// Drawings are compared as text. Their PNG is drawn from them; another machine may round a pixel
/// otherwise, so only its size is held.
#[test]
fn the_gallery_shows_what_the_program_draws() {
    let _writing = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
    let pictures = all();
    if blessing() {
        write(&pictures);
    }
    let mut stale = Vec::new();
    for (name, picture) in &pictures {
        let svg = std::fs::read_to_string(folder().join(format!("{name}.svg"))).unwrap_or_default();
        if svg != picture.svg {
            stale.push(name.clone());
        }
        let png = std::fs::read(folder().join(format!("{name}.png"))).unwrap_or_default();
        assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"), "{name}.png is not there");
        let number = |at: usize| f64::from(u32::from_be_bytes(png[at..at + 4].try_into().unwrap()));
        let ratio = number(16) / number(20);
        assert!((ratio / (picture.width_px / picture.height_px) - 1.0).abs() < 0.01, "{name}.png");
    }
    assert!(
        stale.is_empty(),
        "out of date (`BLESS=1 cargo test --test docs` draws them anew): {}",
        stale.join(", ")
    );
}

#[cfg(feature = "png")]
fn write(pictures: &[(String, Picture)]) {
    // What the README no longer shows goes.
    let _ = std::fs::remove_dir_all(folder());
    std::fs::create_dir_all(folder()).unwrap();
    for (name, picture) in pictures {
        std::fs::write(folder().join(format!("{name}.svg")), &picture.svg).unwrap();
        let png = longwatch::show::png::png(picture).unwrap();
        std::fs::write(folder().join(format!("{name}.png")), png).unwrap();
    }
}

#[cfg(not(feature = "png"))]
fn write(_pictures: &[(String, Picture)]) {
    panic!("the gallery needs the feature `png`");
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
