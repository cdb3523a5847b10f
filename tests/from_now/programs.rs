//! `now`, `card`, and the flags that `run` and `odds` share with them, as their user runs them.

use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

fn scenario(name: &str) -> String {
    format!("{}/scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"))
}

/// Exit code, standard output, standard error.
fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_longwatch"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null());
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS"] {
        command.env_remove(name);
    }
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn expect(code: i32, arguments: &[&str]) -> (String, String) {
    let folder = tempfile::tempdir().unwrap();
    let (found, out, err) = run(folder.path(), arguments);
    assert_eq!(found, code, "{arguments:?}\n{out}\n{err}");
    (out, err)
}

const AT: &str = "2027-01-19T14:00";
const UNTIL: &str = "2027-01-21T20:00";

#[test]
fn now_answers_and_says_the_same_on_any_number_of_threads() {
    let hall = scenario("hall-72h");
    let flags = [
        "now",
        &hall,
        "--charge",
        "50..60%",
        "--at",
        AT,
        "--outlook",
        "overcast, partly, clear",
        "--until",
        UNTIL,
    ];
    let with = |more: &[&str]| expect(0, &[&flags[..], more].concat()).0;
    let out = with(&["--full"]);
    assert!(out.starts_with("In \"full traffic\" the station stays on the air "), "{out}");
    assert!(out.contains("To read out (") && out.contains("Transmit until Thu 20:00"), "{out}");
    let json = with(&["--json", "--threads", "1"]);
    assert_eq!(json, with(&["--json", "--threads", "2"]));
    let value: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(value["sentence"].as_str(), out.lines().next());
    let line = value["line"].as_str().unwrap();
    assert!(line.chars().count() <= 160 && out.contains(line), "{line}");
    assert_eq!(value["tiers"].as_array().unwrap().len(), 4);
    assert_eq!(value["until_h"].as_f64(), Some(54.0));
    // A darker sky never lasts longer.
    for tier in value["tiers"].as_array().unwrap() {
        let hours = |key: &str| tier[key]["hours"].as_f64().unwrap_or(f64::INFINITY);
        assert!(hours("darkest") <= hours("told") + 1e-9, "{tier}");
    }
}

#[test]
fn what_cannot_be_known_is_refused_with_the_reason() {
    let hall = scenario("hall-72h");
    let refused = |flags: &[&str], said: &str| {
        let (out, err) = expect(2, &[&["now", &hall], flags].concat());
        assert!(out.is_empty() && err.contains(said), "{flags:?}: {err}");
    };
    refused(
        &["--charge", "13.1V"],
        "volts do not say how full a lithium iron phosphate battery is",
    );
    refused(&["--charge", "full"], "a charge such as 55%");
    refused(&["--charge", "60..50%"], "the lower end comes first");
    refused(&["--at", "tomorrow"], "2027-01-18T18:00");
    refused(&["--at", AT, "--until", "2027-01-19T13:00"], "must lie after 2027-01-19T14:00");
    refused(&["--at", AT, "--mains-back", AT], "must lie after --at");
    refused(&["--mains-back", AT], "--at");
    refused(&["--outlook", "overcst"], "did you mean `overcast`?");
    refused(&["--outlook", "xyzzyxyzzy"], "says nothing of a day. Allowed are");
    refused(&["--at", AT, "--outlook", "clear, 9"], "no weather gives so much light on day 2");
    refused(&["--target", "100%"], "from 0.5 to 0.999");
    let (_, err) = expect(2, &["now", &scenario("ridge-relay"), "--outlook", "clear"]);
    assert!(err.contains("days can be told where the sun is that of a `climate`"), "{err}");
    let weekend = scenario("field-weekend");
    let (_, err) = expect(2, &["now", &weekend, "--charge", "14.4V"]);
    assert!(err.contains("take every source off for a minute"), "{err}");
    let (_, err) = expect(2, &["now", &weekend, "--charge", "3V"]);
    assert!(err.contains("less than this battery shows when empty"), "{err}");
}

#[test]
fn a_time_that_no_tier_reaches_is_a_target_missed() {
    let hall = scenario("hall-72h");
    let flags = [
        "now",
        &hall,
        "--charge",
        "3%",
        "--at",
        AT,
        "--outlook",
        "snow, snow, snow",
        "--until",
        UNTIL,
    ];
    let (out, err) = expect(3, &flags);
    assert!(out.contains("none until Thursday 20:00"), "{out}");
    assert!(err.contains("no tier stays on the air until 2027-01-21T20:00"), "{err}");
    // Without a stated time nothing was asked for.
    expect(0, &["now", &hall, "--charge", "3%", "--at", AT, "--outlook", "snow, snow, snow"]);
}

#[test]
fn volts_while_receiving_are_a_charge_where_they_mean_something() {
    let (out, _) = expect(0, &["now", &scenario("field-weekend"), "--charge", "12.3V", "--json"]);
    let value: Value = serde_json::from_str(&out).unwrap();
    let share = value["charge_share"][0].as_f64().unwrap();
    assert!((0.4..0.95).contains(&share), "{share}");
    assert!(value["engine"].is_object(), "{out}");
}

#[test]
fn run_and_odds_take_the_same_flags() {
    let hall = scenario("hall-72h");
    let flags = ["--charge", "55%", "--at", AT, "--until", UNTIL, "--outlook", "overcast, clear"];
    let (out, _) = expect(0, &[&["run", &hall, "--no-charts", "--out", "r"], &flags[..]].concat());
    assert!(out.contains("start    55 %") || out.contains("start     55 %"), "{out}");
    assert!(out.contains("all 54 hours"), "{out}");
    let more = ["--trials", "100", "--no-charts", "--full", "--out", "r"];
    let (out, _) = expect(0, &[&["odds", &hall], &more[..], &flags[..]].concat());
    assert!(out.contains("for all 54 hours"), "{out}");
    // The command that plays one of the trials again has them too.
    let again = "--charge 55% --at 2027-01-19T14:00 --outlook \"overcast, clear\" --until 2027-01-21T20:00 --trial";
    assert!(out.contains(again), "{out}");
}

#[test]
fn a_card_is_written_as_text_page_and_json() {
    let folder = tempfile::tempdir().unwrap();
    let hall = scenario("hall-72h");
    let flags = [
        "card", &hall, "--charge", "80%", "--at", AT, "--until", UNTIL, "--trials", "200",
        "--full", "--out", "c",
    ];
    let (code, out, err) = run(folder.path(), &flags);
    assert_eq!(code, 0, "{out}\n{err}");
    assert!(out.starts_with("This card stays on the air for all 54 hours in "), "{out}");
    let read = |name: &str| std::fs::read_to_string(folder.path().join("c").join(name)).unwrap();
    assert_eq!(read("card.txt"), out);
    let value: Value = serde_json::from_str(&read("card.json")).unwrap();
    let tried = value["tried"].as_array().unwrap();
    assert_eq!(tried[0]["name"].as_str(), Some("this card"));
    let own = tried.iter().any(|it| it["name"] == "the scenario's own rules");
    assert_eq!(own, value["kind"].as_str() != Some("own_rules"));
    assert!(
        read("card.svg").contains("role=\"img\"")
            && read("card.html").starts_with("<!DOCTYPE html>")
    );
    for (name, why) in [
        ("cold-node", "the scenario has one tier"),
        ("ridge-relay", "8760 hours are too long for one"),
    ] {
        let (code, _, err) = run(folder.path(), &["card", &scenario(name), "--out", "x"]);
        assert_eq!(code, 2, "{err}");
        assert!(err.contains("there is no card: ") && err.contains(why), "{err}");
    }
}

/// A sky that is darker never lasts longer, on every station whose skies are drawn; and nothing is
/// said to last with the engine and not to last in one breath.
#[test]
fn the_darkest_sky_never_outlasts_the_told_one() {
    let mut told_some = 0;
    for name in ["hall-72h", "harbour-south", "field-weekend", "ridge-relay", "cold-node"] {
        let (out, err) = expect(0, &["now", &scenario(name), "--json"]);
        let value: Value = serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out}{err}"));
        for tier in value["tiers"].as_array().unwrap() {
            if tier["darkest"].is_null() {
                continue;
            }
            told_some += 1;
            let hours = |key: &str| tier[key]["hours"].as_f64().unwrap_or(f64::INFINITY);
            assert!(hours("darkest") <= hours("told") + 1e-9, "{name}: {tier}");
        }
    }
    assert!(told_some >= 6, "only {told_some} tiers have a darkest sky");
}

#[test]
fn what_lasts_only_with_the_engine_is_told_so() {
    let weekend = scenario("field-weekend");
    let flags = ["now", &weekend, "--charge", "12%", "--at", "2027-06-26T15:00", "--full"];
    let (out, _) = expect(0, &flags);
    let first = out.lines().next().unwrap();
    assert!(first.contains("without the generator; started now for "), "{first}");
    let line = out.lines().last().unwrap();
    assert!(
        line.contains(", without generator: ") && line.contains(" h: voice listens until"),
        "{line}"
    );
    assert!(!line.contains("even without transmitting"), "{line}");
    assert!(out.contains("No generator, in tier"), "{out}");
    // Without an outlook no column speaks of one.
    assert!(out.contains("in 95 of 100") && !out.contains("your outlook"), "{out}");
}

#[test]
fn keying_names_its_sets_and_a_tier_that_carries_it() {
    let relay = scenario("ridge-relay");
    let (out, _) = expect(0, &["now", &relay]);
    assert!(!out.contains("at most 0 min/h"), "{out}");
    // The fullest tier carries less than is planned: the line tells of one that does.
    let hall = scenario("hall-72h");
    let at = ["--charge", "60%", "--at", AT, "--until", UNTIL, "--json"];
    let (out, _) = expect(0, &[&["now", &hall][..], &at[..]].concat());
    let value: Value = serde_json::from_str(&out).unwrap();
    let line = value["line"].as_str().unwrap();
    let said = line.contains("transmit at most ")
        || line.contains("even without transmitting")
        || line.contains("do not transmit");
    assert!(said, "{line}");
    if let Some((_, keyed)) = line.split_once("transmit at most ") {
        let sets = keyed.split(" min/h").next().unwrap();
        assert!(sets.starts_with("each radio ") || sets.contains("set "), "{line}");
    }
}

fn json(arguments: &[&str]) -> Value {
    let (out, err) = expect(0, arguments);
    serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out}{err}"))
}

/// 1 was all of the charge and 2 a fiftieth of it.
#[test]
fn a_charge_says_in_what_it_is_told() {
    let hall = scenario("hall-72h");
    let weekend = scenario("field-weekend");
    let refused = |station: &str, charge: &str, said: &str| {
        let (out, err) = expect(2, &["now", station, "--charge", charge]);
        assert!(out.is_empty() && err.contains(said), "{charge}: {err}");
    };
    refused(&hall, "1", "1 % or 100 %? write 1% or 100%");
    refused(&hall, "2", "write 2%");
    refused(&hall, "55", "write 55%");
    // 2 x 100 Ah with 0.95 left by age: 190 Ah, by hand.
    refused(
        &hall,
        "250Ah",
        "250 Ah is more than this battery holds when full: 190 Ah; 200 Ah rated",
    );
    let share = |station: &str, charge: &str| {
        let now = json(&["now", station, "--charge", charge, "--json"]);
        now["charge_share"][0].as_f64().unwrap()
    };
    assert!((share(&hall, "95Ah") - 0.5).abs() < 1e-12);
    assert_eq!(share(&hall, "50 %"), 0.5);
    assert_eq!(share(&hall, "0.5"), 0.5);
    assert_eq!(share(&hall, "1%"), 0.01);
    assert!(share(&weekend, "12,3V") > 0.4);
    // What is told in one way is told again in a way that comes to the same.
    let flags = ["--trials", "60", "--no-charts", "--full", "--out", "r"];
    for charge in ["95Ah", "90..95Ah", "0.5..0.6", "100%"] {
        let (out, _) = expect(0, &[&["odds", &hall, "--charge", charge], &flags[..]].concat());
        assert!(out.contains(" --charge ") && out.contains(" --trial "), "{out}");
    }
}

#[test]
fn odds_are_a_share_however_it_is_written() {
    let hall = scenario("hall-72h");
    let of = |odds: &str| {
        json(&["now", &hall, "--charge", "50%", "--target", odds, "--json"])["target_chance"]
            .as_f64()
    };
    for odds in ["0.9", "90%", "90 %", "0,9"] {
        assert_eq!(of(odds), Some(0.9), "{odds}");
    }
    for odds in ["90", "1", "95 percent"] {
        expect(2, &["now", &hall, "--target", odds]);
        expect(2, &["card", &hall, "--target", odds]);
        expect(2, &["size", &hall, "--target", odds]);
    }
}

/// The hall has a storm that dims the sky: told days took its place even where nothing was told.
#[test]
fn an_outlook_of_which_nothing_is_known_is_none() {
    let hall = scenario("hall-72h");
    let flags = ["--trials", "120", "--no-charts", "--json", "--out", "r"];
    let of = |outlook: &[&str]| expect(0, &[&["odds", &hall], &flags[..], outlook].concat()).0;
    let none = of(&[]);
    assert_eq!(none, of(&["--outlook", "unknown"]));
    assert_eq!(none, of(&["--outlook", "?, unknown, ?"]));
    let clear = of(&["--outlook", "clear"]);
    assert_ne!(none, clear);
    assert_eq!(clear, of(&["--outlook", "clear, unknown"]));
    let at = ["now", &hall, "--charge", "50%", "--at", AT, "--outlook", "unknown", "--json"];
    assert_eq!(json(&at)["outlook_told"], false);
}

/// The storm of the scenario dims the days of which an outlook says nothing, and those alone: a first
/// day that is `unknown` once lost its storm, and so did the days after the last one told.
#[test]
fn a_day_of_which_nothing_is_known_keeps_its_storm() {
    let hall = scenario("hall-72h");
    let sun_of_days = |trial: &str, outlook: &[&str]| -> [f64; 3] {
        let folder = tempfile::tempdir().unwrap();
        let flags = [
            "run",
            &hall,
            "--at",
            "2027-01-19T00:00",
            "--until",
            "2027-01-22T00:00",
            "--trial",
            trial,
            "--charge",
            "50%",
            "--no-charts",
            "--out",
            "r",
        ];
        let (code, out, err) = run(folder.path(), &[&flags[..], outlook].concat());
        assert_eq!(code, 0, "{out}{err}");
        let mut reader = csv::Reader::from_path(folder.path().join("r/ledger.csv")).unwrap();
        let heads = reader.headers().unwrap().clone();
        let at = |name: &str| heads.iter().position(|head| head == name).unwrap();
        let (local, sun) = (at("start_local"), at("ghi_w_m2"));
        let mut days = [0.0; 3];
        for row in reader.records().map(Result::unwrap) {
            let day: usize = row[local][8..10].parse().unwrap();
            days[day - 19] += row[sun].parse::<f64>().unwrap();
        }
        days
    };
    let mut dimmer = 0;
    for trial in ["0", "1", "2", "3"] {
        let none = sun_of_days(trial, &[]);
        let later = sun_of_days(trial, &["--outlook", "unknown, clear"]);
        assert_eq!(none[0], later[0]);
        assert_eq!(none[2], later[2]);
        // A clear day is as bright as one that the storm spares.
        let first = sun_of_days(trial, &["--outlook", "clear"]);
        assert_eq!(none[1..], first[1..]);
        dimmer += usize::from(none[0] < first[0]);
    }
    assert!(dimmer >= 3, "the storm dims nothing");
}

/// Snow was a dark day on panels that stayed clean.
#[test]
fn told_snow_covers_the_panels() {
    let hall = scenario("hall-72h");
    let available_wh = |outlook: &str| {
        let flags = ["--at", "2027-01-19T07:30", "--until", "2027-01-20T20:00", "--no-charts"];
        let more = ["--charge", "50%", "--outlook", outlook, "--json", "--out", "r"];
        json(&[&["run", &hall], &flags[..], &more].concat())["solar_available_wh"].as_f64().unwrap()
    };
    let (rain, snow) = (available_wh("rain, rain"), available_wh("snow, snow"));
    assert!(rain > 0.0 && snow == 0.0, "{rain} {snow}");
    let second = available_wh("rain, snow");
    assert!(second > 0.0 && second < rain, "{second} {rain}");
}

#[test]
fn rated_and_usable_ampere_hours_are_told_apart() {
    // Two packs of 80 Ah at 20 h; one measured 66, one 80 with 0.85 left by age: 134 Ah, by hand.
    let weekend = scenario("field-weekend");
    let said = "145 Ah drawn slowly; 134 Ah in 20 hours; 160 Ah rated";
    let (out, _) = expect(0, &["now", &weekend]);
    assert!(out.contains(&format!("Full is {said}.")), "{out}");
    let (out, _) = expect(0, &["run", &weekend, "--no-charts", "--out", "r"]);
    let full = out.lines().find(|line| line.starts_with("  full ")).unwrap();
    assert!(full.contains("145 Ah  drawn slowly; 134 Ah in 20 hours; 160 Ah rated"), "{full}");
}
