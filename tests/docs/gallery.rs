//! The pictures that the README shows.

use std::collections::BTreeSet;
use std::path::PathBuf;

use longwatch::show::{Picture, first_sentence, pictures};
use longwatch::simulate::single;
use longwatch::simulate::summary::summarise;

use super::made::{blessing, root, text};
use super::shipped::shipped;

fn folder() -> PathBuf {
    root().join("output/gallery")
}

/// Every picture of every shipped scenario, by the name of its file.
fn all() -> Vec<(String, Picture)> {
    let mut all = Vec::new();
    for shipped in shipped() {
        let plan = shipped.plan(&shipped.scenario.strategy);
        let ledger = single::run(&plan);
        let mut summary = summarise(&plan, &ledger);
        summary.sentence = first_sentence(&ledger, &summary);
        for picture in pictures(&ledger, &summary) {
            all.push((format!("{}-{}", shipped.name, picture.name), picture));
        }
    }
    all
}

/// Drawings are compared as text. Their PNG is drawn from them; another machine may round a pixel
/// otherwise, so only its size is held.
#[test]
fn the_gallery_shows_what_the_program_draws() {
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
fn the_gallery_holds_nothing_else_and_the_readme_shows_of_it() {
    let mut names: BTreeSet<String> = BTreeSet::new();
    for (name, _) in all() {
        names.insert(format!("{name}.svg"));
        names.insert(format!("{name}.png"));
    }
    let there: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(there, names);
    let readme = text("README.md");
    let shown = readme.matches("](output/gallery/").count();
    assert!(shown >= 3, "the README shows {shown} pictures");
}
