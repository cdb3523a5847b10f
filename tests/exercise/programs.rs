//! `exercise` as its user runs it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::{Value, json};

use super::clubs::{folder, weekend, with};

fn run(here: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.current_dir(here).args(arguments).stdin(Stdio::null()).env("NO_COLOR", "1");
    command.output().unwrap()
}

fn fine(here: &Path, arguments: &[&str]) -> (String, String) {
    let output = run(here, arguments);
    let (out, err) = texts(&output);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}\n{out}\n{err}");
    (out, err)
}

fn texts(output: &Output) -> (String, String) {
    let text = |bytes: &Vec<u8>| String::from_utf8(bytes.clone()).unwrap();
    (text(&output.stdout), text(&output.stderr))
}

fn shipped() -> String {
    folder().join("club-weekend.json").display().to_string()
}

fn files(of: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(of).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else if !path.file_name().unwrap().to_string_lossy().starts_with('.') {
            found.insert(path.clone(), fs::read(&path).unwrap());
        }
    }
    found
}

fn names(of: &Path) -> Vec<String> {
    files(of).keys().map(|it| it.strip_prefix(of).unwrap().display().to_string()).collect()
}

#[test]
fn a_club_is_told_and_written() {
    let temporary = tempfile::tempdir().unwrap();
    let here = temporary.path();
    let (out, err) =
        fine(here, &["exercise", &shipped(), "--trials", "60", "--full", "--out", "r"]);
    let first = out.lines().next().unwrap();
    assert!(first.starts_with("The club was up for all 27 hours in "), "{first}");
    assert!(first.contains("of 60 simulated periods: at least 3 of 4 stations"), "{first}");
    // The sentence may be longer, the tables are not.
    for line in out.lines().skip(1) {
        assert!(line.chars().count() <= 80, "{} columns: {line}", line.chars().count());
    }
    for words in [
        "Up for all 27 hours",
        "first out",
        "generator, h",
        "Spare packs",
        "Brought by",
        "member D",
        "First to run out is most often ",
        "The club is down for ",
        "2 \u{d7} folding mast, 8 m",
        "Clopper and Pearson",
    ] {
        let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(words), "{words} is not in\n{out}");
    }
    assert!(err.contains("a sheet for each station: r"), "{err}");
    let mut wanted = vec![
        "exercise.json",
        "packing.csv",
        "sheets.csv",
        "timeline-median.csv",
        "timeline-worst.csv",
    ];
    for station in ["camp", "ferry-slip", "lighthouse", "ridge"] {
        for end in ["html", "txt"] {
            assert!(here.join(format!("r/sheets/{station}.{end}")).exists(), "{station}.{end}");
        }
    }
    wanted.extend(["timeline-median.svg", "timeline-worst.svg"]);
    let written = names(&here.join("r"));
    for name in wanted {
        assert!(written.iter().any(|it| it == name), "{name} is not among {written:?}");
    }
    let json: Value =
        serde_json::from_slice(&fs::read(here.join("r/exercise.json")).unwrap()).unwrap();
    assert_eq!(json["trials"], 60);
    let up = 60 - json["club"]["failures"].as_u64().unwrap();
    assert!(first.contains(&format!(" in {up} of 60")) || up == 60 || up == 0, "{first}");
    // Origins add up to what was served; nothing is served that nobody asked for.
    for station in json["stations"].as_object().unwrap().values() {
        let origin: f64 =
            station["origin_wh"].as_object().unwrap().values().map(|it| it.as_f64().unwrap()).sum();
        let served =
            station["load_wh"].as_f64().unwrap() - station["unserved_wh"].as_f64().unwrap();
        assert!((origin - served).abs() < 0.01 * served.max(1.0), "{origin} {served}");
    }
    // First out is counted once a trial at most.
    let first_out: u64 = json["stations"]
        .as_object()
        .unwrap()
        .values()
        .map(|it| it["first_out"].as_u64().unwrap())
        .sum();
    assert!(first_out <= 60);
}

/// Same file, seed and version: the same bytes on any number of threads, in every file.
#[test]
fn the_same_bytes_on_any_number_of_threads() {
    let temporary = tempfile::tempdir().unwrap();
    let here = temporary.path();
    let mut all = Vec::new();
    for threads in ["1", "2", "7"] {
        let (out, _) = fine(
            here,
            &[
                "exercise",
                &shipped(),
                "--trials",
                "40",
                "--seed",
                "4",
                "--threads",
                threads,
                "--out",
                threads,
                "--json",
            ],
        );
        let by_name: BTreeMap<PathBuf, Vec<u8>> = files(&here.join(threads))
            .into_iter()
            .map(|(path, bytes)| (path.strip_prefix(here.join(threads)).unwrap().to_owned(), bytes))
            .collect();
        assert_eq!(by_name[Path::new("exercise.json")], out.as_bytes());
        all.push(by_name);
    }
    assert!(all[0] == all[1] && all[0] == all[2]);
}

#[test]
fn exit_codes_say_what_happened() {
    let temporary = tempfile::tempdir().unwrap();
    let here = temporary.path();
    let short = ["--trials", "30", "--no-charts", "--out", "r"];
    let with_target = |target: &str| {
        let club = shipped();
        let mut arguments = vec!["exercise", club.as_str(), "--target", target];
        arguments.extend(short);
        run(here, &arguments)
    };
    let missed = with_target("0.999");
    assert_eq!(missed.status.code(), Some(3));
    let (out, err) = texts(&missed);
    assert!(
        err.contains("misses the target of 99.9 %") || err.contains("misses the target of 100 %"),
        "{err}"
    );
    assert!(out.contains("The club was up"), "results are told all the same\n{out}");
    assert_eq!(with_target("0.01").status.code(), Some(0));
    assert_eq!(with_target("2").status.code(), Some(2));
    let wrong = with(weekend(), &json!({"stations": {"camp": {"owner": "member X"}}}));
    fs::write(here.join("wrong.json"), format!("{wrong:#}")).unwrap();
    let refused = run(here, &["exercise", "wrong.json"]);
    assert_eq!(refused.status.code(), Some(1));
    let (out, err) = texts(&refused);
    assert!(out.is_empty() && err.contains("wrong.json") && err.contains("member X"), "{err}");
    assert_eq!(run(here, &["exercise", "nowhere.json"]).status.code(), Some(4));
}

/// Names are text wherever they come: nothing of a title becomes a part of the page.
#[test]
fn a_hostile_title_stays_text_on_every_sheet() {
    let temporary = tempfile::tempdir().unwrap();
    let here = temporary.path();
    let hostile = "<img src=x onerror=alert(1)>&\"'";
    let club = with(
        weekend(),
        &json!({"title": hostile, "stations": {"ridge": {"notes": "</dd><script>x</script>"}}}),
    );
    fs::write(here.join("club.json"), format!("{club:#}")).unwrap();
    fine(here, &["exercise", "club.json", "--trials", "10", "--out", "r"]);
    for (path, bytes) in files(&here.join("r")) {
        let text = String::from_utf8_lossy(&bytes);
        let end = path.extension().and_then(|it| it.to_str()).unwrap_or_default();
        if matches!(end, "html" | "svg") {
            assert!(!text.contains("<img") && !text.contains("<script"), "{}", path.display());
        }
        if end == "html" {
            assert!(text.contains("&lt;img src=x"), "{}", path.display());
            // One page in itself: nothing is fetched.
            for word in ["http", "url(", "@import", "<link", " src="] {
                let outside = text.replace("&lt;img src=x", "");
                assert!(!outside.contains(word), "{word} in {}", path.display());
            }
        }
        if end == "txt" {
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "{}: {line}", path.display());
            }
        }
    }
}

/// A sheet has a row for every hour, the pen's columns are empty, and its band holds its middle.
#[test]
fn sheets_have_a_row_an_hour_and_room_for_the_pen() {
    let temporary = tempfile::tempdir().unwrap();
    let here = temporary.path();
    fine(here, &["exercise", &shipped(), "--trials", "50", "--no-charts", "--out", "r"]);
    let html = fs::read_to_string(here.join("r/sheets/camp.html")).unwrap();
    let rows: Vec<&str> = html.lines().filter(|line| line.starts_with("<tr class=")).collect();
    assert_eq!(rows.len(), 28);
    for row in rows {
        assert_eq!(row.matches("<td class=\"pen\"></td>").count(), 2);
        assert_eq!(row.matches("<td class=\"pen note\"></td>").count(), 1);
    }
    let text = fs::read_to_string(here.join("r/sheets/camp.txt")).unwrap();
    assert_eq!(text.lines().filter(|line| line.ends_with("____")).count(), 28);
    let mut reader = csv::Reader::from_path(here.join("r/sheets.csv")).unwrap();
    let mut rows = 0;
    for record in reader.records().map(Result::unwrap) {
        let of = |at: usize| record[at].parse::<f64>().unwrap();
        assert!(of(4) <= of(5) && of(5) <= of(6), "{record:?}");
        assert!(of(7) <= of(8) && of(8) <= of(9), "{record:?}");
        rows += 1;
    }
    assert_eq!(rows, 4 * 28);
}

/// The words about spare packs are those of the counts: the least number that is enough.
#[test]
fn spare_packs_are_counted_up_to_what_is_enough() {
    let temporary = tempfile::tempdir().unwrap();
    let here = temporary.path();
    let (out, _) = fine(
        here,
        &["exercise", &shipped(), "--trials", "80", "--no-charts", "--json", "--out", "r"],
    );
    let json: Value = serde_json::from_str(&out).unwrap();
    let spares = &json["spares"];
    let tried = spares["tried"].as_array().unwrap();
    assert_eq!(spares["brought"], 3);
    let target = spares["target_chance"].as_f64().unwrap();
    let enough = tried.iter().find(|it| it["lower_95_one_sided"].as_f64().unwrap() >= target);
    assert_eq!(spares["needed"], enough.map_or(Value::Null, |it| it["spares"].clone()));
    let as_brought = tried.iter().find(|it| it["spares"] == 3).unwrap();
    let up = 80 - json["club"]["failures"].as_u64().unwrap();
    assert_eq!(as_brought["up"].as_u64(), Some(up));
    // Without a spare nobody can swap; more are better than none.
    let ups: Vec<u64> = tried.iter().map(|it| it["up"].as_u64().unwrap()).collect();
    assert!(ups.first() < ups.last(), "{ups:?}");
}

#[test]
fn the_schema_of_a_club_is_printed() {
    let temporary = tempfile::tempdir().unwrap();
    let (out, _) = fine(temporary.path(), &["schema", "--club"]);
    let schema: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(schema["title"], "Club");
    assert!(schema["properties"]["charging_point"].is_object());
}

/// A sheet tells its own station what it can do, and that the place is invented.
#[test]
fn a_sheet_tells_no_swap_to_a_station_without_one_and_nobody_where_nobody_is() {
    let temporary = tempfile::tempdir().unwrap();
    let here = temporary.path();
    let kept = with(weekend(), &json!({"stations": {"ridge": {"patch": {"attended": "always"}}}}));
    fs::write(here.join("kept.json"), kept.to_string()).unwrap();
    let arguments = ["--trials", "40", "--no-charts", "--out", "r"];
    let sheet = |file: &str, station: &str| {
        fine(here, &[&["exercise", file], &arguments[..]].concat());
        let text = fs::read_to_string(here.join(format!("r/sheets/{station}.txt"))).unwrap();
        assert!(text.lines().nth(1).unwrap().starts_with("Invented: "), "{text}");
        let html = fs::read_to_string(here.join(format!("r/sheets/{station}.html"))).unwrap();
        assert!(html.contains("<br>Invented: the place"), "{html}");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(sheet(&shipped(), "camp").contains("band: swap"));
    let ridge = sheet("kept.json", "ridge");
    assert!(ridge.contains("band: transmit less, and tell net control"), "{ridge}");
    let ridge = sheet(&shipped(), "ridge");
    assert!(ridge.contains("nobody is there") && !ridge.contains("swap"), "{ridge}");
    // A band without width is no band; a full battery is told at rest, below what a charger holds.
    assert!(!ridge.contains("14.22") && !ridge.contains("14.20 to 14.20"), "{ridge}");
}

/// The charge of a station's own battery is told from the beginning of the span.
#[test]
fn a_timeline_begins_at_the_beginning() {
    use longwatch::decide::exercise::timeline::timeline;
    let (good, plan) = super::clubs::prepared(&weekend(), 1);
    let told = timeline(&good, &plan, 0, "median");
    assert!(told.invented);
    let ridge = told.stations.iter().find(|it| it.name == "ridge").unwrap();
    assert!(ridge.came && !ridge.takes_packs);
    // Full at noon in June; half an hour later the sun or the relay has moved it by a few percent.
    assert!((ridge.start_share - ridge.charge_share[0]).abs() < 0.05, "{ridge:?}");
}
