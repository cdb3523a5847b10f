//! Pictures of stations side by side and of parts lost: text on the sheet and apart, extremes
//! harmless.

use std::path::Path;

use longwatch::decide::compare::{Comparison, Kind};
use longwatch::decide::contest::Play;
use longwatch::decide::without::{Without, without};
use longwatch::show::Picture;
use longwatch::show::png::with_png;
use longwatch::show::{compare, without as lost};
use longwatch::simulate::trials::Watch;
use serde_json::{Value, json};

use super::common::{compared, examined};
use super::measure::faults;
use super::support::{merge, text};

fn hall() -> Value {
    serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap()
}

fn assert_sound(name: &str, pictures: &[Picture]) {
    for picture in pictures {
        let faults = faults(picture);
        assert!(faults.is_empty(), "{name}, {}: {faults:#?}", picture.name);
    }
}

fn leave_for_eyes(pictures: Vec<Picture>) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pictures");
    std::fs::create_dir_all(&folder).unwrap();
    for (picture, png) in with_png(pictures).unwrap() {
        std::fs::write(folder.join(format!("{}.svg", picture.name)), &picture.svg).unwrap();
        std::fs::write(folder.join(format!("{}.png", picture.name)), &png).unwrap();
    }
}

/// A small comparison to distort.
fn small() -> Comparison {
    let mut value = hall();
    merge(&mut value, &json!({"start": {"warmup_days": 3}}));
    compared(&value, 1, 40)
}

#[test]
fn ordinary_comparisons_are_legible_and_left_for_eyes() {
    let found = compared(&hall(), 1, 200);
    let pictures = compare::pictures(&found);
    assert_eq!(pictures.len(), 2);
    assert_sound("hall", &pictures);
    leave_for_eyes(pictures);
}

#[test]
fn extremes_of_a_comparison_are_harmless() {
    let small = small();
    let distorted = |name: &str, change: &dyn Fn(&mut Comparison)| {
        let mut found = small.clone();
        change(&mut found);
        assert_sound(name, &compare::pictures(&found));
    };
    distorted("long names", &|it| {
        it.title = "a \"<&>\" b ".repeat(30);
        for pair in &mut it.pairs {
            pair.a = "the one that somebody has given a very long name ".repeat(2);
        }
        for station in &mut it.stations {
            station.name = "the one that somebody has given a very long name ".repeat(2);
        }
    });
    distorted("nobody lasts", &|it| {
        for station in &mut it.stations {
            station.on_air.fill(0);
            station.lasted = 0;
        }
    });
    distorted("all last", &|it| {
        for station in &mut it.stations {
            station.on_air.fill(40);
            station.lasted = 40;
        }
        for pair in &mut it.pairs {
            (pair.only_a, pair.only_b, pair.enough_trials) = (0, 0, false);
        }
    });
    distorted("two alone", &|it| {
        it.stations.truncate(2);
        it.pairs.truncate(1);
    });
    distorted("variants alone", &|it| {
        for station in it.stations.iter_mut().skip(1) {
            station.kind = Kind::Variant;
        }
    });
    distorted("many trials", &|it| {
        it.trials = 10_000_000;
        for station in &mut it.stations {
            station.lasted *= 250_000;
            for count in &mut station.on_air {
                *count *= 250_000;
            }
        }
        for pair in &mut it.pairs {
            (pair.only_a, pair.only_b) = (pair.only_a * 250_000, pair.only_b * 250_000);
        }
    });
}

fn hall_without(trials: u64) -> Without {
    let scenario = examined(&hall()).scenario.unwrap();
    let how = Play { seed: 1, trials, ..Play::default() };
    without(&scenario, Path::new(""), &how, &Watch::default()).unwrap()
}

#[test]
fn losses_and_guesses_are_legible_and_extremes_harmless() {
    let mut found = hall_without(200);
    let pictures = lost::pictures(&found);
    assert_eq!(pictures.len(), 2);
    assert_sound("hall", &pictures);
    leave_for_eyes(pictures);

    for lost in &mut found.lost {
        (lost.pair.only_a, lost.pair.only_b, lost.pair.enough_trials) = (0, 0, false);
        lost.part = "a part with a name that is longer than any line of a page ".repeat(3);
    }
    for swing in &mut found.swings {
        (swing.low, swing.high, swing.swing) = (found.whole, found.whole, 0);
        swing.path =
            "loads.\"a load with a name that is longer than a line\".transmit_share".repeat(2);
    }
    assert_sound("nothing moves", &lost::pictures(&found));
    found.lost.clear();
    found.swings.clear();
    assert!(lost::pictures(&found).is_empty());
}
