//! What is said about a club that is wrong: where, what, what was meant.

use serde_json::{Value, json};

use super::clubs::{examined, folder, good, lamps, weekend, with};
use longwatch::plan::club::examine_club;

/// Everything said about a club with a patch.
fn said(patch: &Value) -> String {
    let examined = examined(&with(lamps(), patch));
    assert!(examined.club.is_none(), "nothing is wrong");
    examined.problems.iter().map(|it| it.render(false)).collect()
}

#[track_caller]
fn says(patch: &Value, words: &[&str]) {
    let text = said(patch);
    for word in words {
        assert!(text.contains(word), "`{word}` is not in\n{text}");
    }
}

#[test]
fn faults_of_form_are_told_with_their_place() {
    let text = format!("{:#}", lamps()).replacen("\"title\"", "\"titel\"", 1);
    let told = examine_club(&text, "club.json", &folder()).problems[0].render(false);
    assert!(told.contains("did you mean `title`?") && told.contains("club.json:3"), "{told}");
    says(&json!({"stations": {"a": {"swap": {"below_share": 50}}}}), &["0 to 1", "50 % is 0.5"]);
    says(&json!({"charging_point": {"queue": "first"}}), &["first_come"]);
    let broken = format!("{:#}", lamps()).replacen('{', "{,", 1);
    assert!(examine_club(&broken, "club.json", &folder()).club.is_none());
}

#[test]
fn names_that_nobody_bears_bring_the_one_meant() {
    says(&json!({"roster": {"early": ["aa"]}}), &["no station called `aa`", "allowed: `a`, `b`"]);
    says(
        &json!({"roster": {"erly": ["a"]}}),
        &["no window called `erly`", "did you mean `early`?"],
    );
    says(&json!({"packs": {"each": {"one": {"at": "c"}}}}), &["no station called `c`"]);
    says(
        &json!({"members": {"member A": {}}, "stations": {"a": {"owner": "member B"}}}),
        &["no member called `member B`", "did you mean `member A`?"],
    );
    says(&json!({"stations": {"a": {"owner": "somebody"}}}), &["has no `members`"]);
    says(
        &json!({"roster": {"early": ["a"]}, "stations": {"a": {"off_watch": {"tier": "of"}}}}),
        &["no tier called `of`", "stations.a.off_watch"],
    );
}

#[test]
fn stations_that_do_not_fit_each_other_are_told() {
    says(&json!({"counts_as_up": {"at_least": 3}}), &["3 stations must be up, and there are 2"]);
    says(
        &json!({"packs": {"each": {"three": {"at": "a"}}}}),
        &["two packs are at `a`", "never in parallel"],
    );
    says(
        &json!({"stations": {"b": {"patch": {"span": {"hours": 9}}}}}),
        &["do not share `span`", "one weather and one mains"],
    );
    says(&json!({"stations": {"b": {"patch": {"grid": "none"}}}}), &["do not share `grid`"]);
    let other = json!({"ideal": {"capacity_wh": 999.0, "empty_v": 12.8, "full_v": 12.8}});
    says(
        &json!({"stations": {"b": {"patch": {"battery": other}}}}),
        &["the packs do not fit `b`", "another kind or size"],
    );
    says(
        &json!({"packs": {"each": {"two": {"at": null}}}}),
        &["no pack stands at `b` when the exercise begins"],
    );
    says(
        &json!({"stations": {"a": {"swap": {"below_share": 0.9}}}}),
        &["as empty as the pack that it replaces"],
    );
    says(&json!({"packs": null}), &["and there are no `packs`", "nothing to charge"]);
    says(
        &json!({"stations": {"a": {"swap": {"handover": {"off_min": 45}}}}, "common": {"span": {"step_min": 30}}}),
        &["longer than a step", "30 minutes"],
    );
    let bank = json!({"packs": {"battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4,
        "capacity_ah": 40, "strings": 2, "charge_limit_a": 20, "discharge_limit_a": 40}}},
        "charging_point": {"patch": {"supply": {"rated_v": 14.6, "charger": {"set_points": {"absorption_v": 14.4}}}}}});
    says(&bank, &["a pack is one string, and this one has 2"]);
}

/// What is wrong inside a station is told at the place that said it: its own part, its patch, what all
/// share, or the packs.
#[test]
fn a_fault_of_a_station_is_told_where_it_was_said() {
    let path = |patch: Value| {
        let examined = examined(&with(lamps(), &patch));
        examined.problems[0].list[0].path.clone()
    };
    assert_eq!(
        path(
            json!({"stations": {"a": {"from": {"inline": {"loads": {"lamp": {"group": "al"}}}}}}})
        ),
        "stations.a.from.inline.loads.lamp.group"
    );
    assert_eq!(
        path(json!({"stations": {"a": {"patch": {"loads": {"lamp": {"group": "al"}}}}}})),
        "stations.a.patch.loads.lamp.group"
    );
    // Said once for all stations, and told once.
    let shared = examined(&with(lamps(), &json!({"common": {"site": {"latitude_deg": 95}}})));
    let list = &shared.problems[0].list;
    assert_eq!(list.len(), 1, "{list:?}");
    assert_eq!(list[0].path, "common.site.latitude_deg");
    assert_eq!(
        path(json!({"packs": {"battery": {"ideal": {"capacity_wh": -1.0}}}})),
        "packs.battery.ideal.capacity_wh"
    );
}

/// A fault inside a station's file names that file and its line, and the club's own stays out of it.
#[test]
fn a_fault_in_a_file_of_a_station_names_that_file() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(super::clubs::folder().join("hall-72h.json")).unwrap();
    let wrong = text.replacen("\"tilt_deg\": ", "\"tilt_deg\": 9", 1);
    std::fs::write(folder.path().join("hall.json"), &wrong).unwrap();
    let hall: Value = serde_json::from_str(&text).unwrap();
    let club = json!({"format": 2, "title": "t", "common": {"site": hall["site"]},
        "stations": {"hall": {"from": {"file": "hall.json"}}}});
    let of = |club: &Value| examine_club(&format!("{club:#}"), "club.json", folder.path());
    let problems = of(&club).problems;
    assert_eq!(problems.len(), 1);
    let told = problems[0].render(false);
    let line = wrong.lines().position(|line| line.contains("tilt_deg")).unwrap() + 1;
    assert!(told.contains(&format!("hall.json:{line}")), "{told}");
    assert!(told.contains("tilt_deg` is out of range"), "{told}");
    // Broken JSON, and no file at all.
    std::fs::write(folder.path().join("hall.json"), "{\"format\": 2,}").unwrap();
    assert!(of(&club).problems[0].render(false).contains("hall.json:1"));
    std::fs::remove_file(folder.path().join("hall.json")).unwrap();
    let told = of(&club).problems[0].render(false);
    assert!(told.contains("cannot be read") && told.contains("club.json"), "{told}");
}

/// `null` in a patch takes a key away (RFC 7386), and what all share replaces what a file says.
#[test]
fn patches_are_merged_in_their_order() {
    let patch =
        json!({"stations": {"a": {"patch": {"title": "mine", "windows": {"early": null}}}}});
    let club = good(&with(lamps(), &patch));
    assert_eq!(club.stations[0].scenario.title, "mine");
    assert!(club.stations[0].scenario.windows.is_empty());
    assert_eq!(club.stations[1].scenario.title, "b, lamps");
    assert_eq!(club.stations[1].scenario.windows.len(), 1);
}

#[test]
fn nothing_is_wrong_with_the_shipped_club_whatever_its_title() {
    let hostile = with(weekend(), &json!({"title": "<script>alert(1)</script> & \"so\""}));
    assert_eq!(good(&hostile).stations.len(), 4);
}

/// A slip in the date of a watch took its stations off watch unseen, and 41 more of 500 clubs were up.
#[test]
fn a_watch_on_a_date_that_never_comes_is_refused() {
    let slip = with(
        weekend(),
        &json!({"common": {"windows": {"night watch": {"dates": ["2027-07-26"]}}}}),
    );
    let examined = examined(&slip);
    assert!(examined.club.is_none());
    let list = &examined.problems[0].list;
    assert_eq!(list.len(), 1, "{list:?}");
    assert_eq!(list[0].text, "the watch `night watch` never comes on 2027-07-26");
    assert_eq!(list[0].path, "common.windows.\"night watch\".dates");
    let told = examined.problems[0].render(false);
    assert!(told.contains("a watch of the roster") && told.contains("hours that are simulated"));
    // The day on which the exercise ends is met as well, up to 15:00.
    let last = json!({"common": {"windows": {"first watch": {"dates": ["2027-06-27"]}}}});
    assert_eq!(good(&with(weekend(), &last)).stations.len(), 4);
}

#[test]
fn a_station_that_the_roster_leaves_out_is_told() {
    let left = |patch: &Value| -> Vec<(String, String)> {
        let about = |it: &(String, longwatch::warning::Warning)| it.1.path == "roster";
        let told = good(&with(lamps(), patch)).warnings.into_iter().filter(about);
        told.map(|(station, warning)| (station, warning.text)).collect()
    };
    assert_eq!(
        left(&json!({"roster": {"early": ["a"]}})),
        [(
            "b".to_owned(),
            "The roster leaves out `b`: it is taken to be on watch in every hour.".to_owned()
        )]
    );
    assert_eq!(left(&json!({"roster": {"early": ["a", "b"]}})), []);
    assert_eq!(left(&json!({})), [], "without a roster all are on watch");
    // Nobody stands watch where nobody comes: the ridge of the shipped club.
    let about = |it: &(String, longwatch::warning::Warning)| it.1.path == "roster";
    assert!(!good(&weekend()).warnings.iter().any(about));
}
