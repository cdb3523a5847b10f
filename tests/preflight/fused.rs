//! A fuse is stated, `"none"`, or not stated; and what flows into a short circuit behind the main feed.

use std::path::Path;
use std::process::Command;

use longwatch::decide::preflight::{Severity, Subject};
use longwatch::plan::check::examine;
use serde_json::{Value, json};

use super::common::{faults, findings, one, with};
use super::support::text;

fn hall() -> Value {
    serde_json::from_str(&text("scenarios/hall-72h.json")).unwrap()
}

/// The same without a word about any fuse, or with a word in place of each.
fn without_fuses(mut value: Value, word: Option<&str>) -> Value {
    fn walk(value: &mut Value, word: Option<&str>) {
        match value {
            Value::Object(fields) => {
                for key in ["fuse", "string_fuse", "pack_fuse"] {
                    if fields.remove(key).is_some()
                        && let Some(word) = word
                    {
                        fields.insert(key.to_owned(), json!(word));
                    }
                }
                fields.values_mut().for_each(|it| walk(it, word));
            }
            Value::Array(items) => items.iter_mut().for_each(|it| walk(it, word)),
            _ => {}
        }
    }
    walk(&mut value, word);
    value
}

#[test]
fn a_station_from_which_every_fuse_is_deleted_is_serious() {
    for (word, says) in [
        (
            None,
            "Nobody has said whether there is a fuse within 7 inches (17 cm) of the battery: look, then write it down.",
        ),
        (Some("none"), "There is no fuse at the battery"),
    ] {
        let value = without_fuses(hall(), word);
        let found = findings(&value);
        for item in ["main feed", "controller “roof tracker”", "supply"] {
            let it = one(&found, Subject::Fused, item, "fuse");
            assert_eq!(it.severity, Severity::Serious, "{it:?}");
            assert!(it.sentence.contains(says) && it.mend.is_some(), "{it:?}");
        }
        assert_eq!(one(&found, Subject::Fused, "packs", "fuse").severity, Severity::Serious);
        for item in ["group “hf bench”", "group “desk”", "group “house”"] {
            let it = one(&found, Subject::Fused, item, "fuse");
            assert_eq!(it.severity, Severity::Caution, "{it:?}");
        }
        // Two strings in series pairs whose wire bears 1.56 x 2 x 5.8 A: NEC 690.9.
        let array = one(&found, Subject::Fused, "array “roof”", "needed");
        assert_eq!(array.severity, Severity::Fine);
        assert!((array.value.unwrap() - 1.5625 * 2.0 * 5.8).abs() < 1e-9);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("hall.json");
        std::fs::write(&path, value.to_string()).unwrap();
        let output =
            Command::new(env!("CARGO_BIN_EXE_longwatch")).arg("check").arg(&path).output().unwrap();
        assert_eq!(output.status.code(), Some(3));
        let said = String::from_utf8(output.stdout).unwrap();
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(says), "{said}");
    }
}

/// The leads from the battery are told in different words when somebody has looked.
#[test]
fn a_group_needs_no_fuse_where_the_one_before_it_protects_it() {
    let of = |fuse: Value, mm2: f64| {
        let mut value = with(&json!({"outlet_groups": {"bench": {"wire": {"mm2": mm2}}}}));
        value["outlet_groups"]["bench"]["fuse"] = fuse;
        if value["outlet_groups"]["bench"]["fuse"].is_null() {
            value["outlet_groups"]["bench"].as_object_mut().unwrap().remove("fuse");
        }
        let found = findings(&value);
        let it = one(&found, Subject::Fused, "group “bench”", "fuse").clone();
        (it.severity, it.what)
    };
    // The feed's fuse is of 40 A; 10 mm2 counts as 8 AWG, 70 A at 90 deg C; 2.5 mm2 as 14 AWG, 30 A.
    for fuse in [json!("none"), Value::Null] {
        assert_eq!(of(fuse.clone(), 10.0).0, Severity::Fine);
        assert_eq!(of(fuse, 2.5).0, Severity::Caution);
    }
    assert_eq!(of(json!("none"), 2.5).1, "no fuse");
    assert_eq!(of(Value::Null, 2.5).1, "fuse not stated");
}

/// Every lead from the battery, in a station that is sound but for it.
#[test]
fn no_fuse_at_the_battery_is_serious_in_every_lead_from_it() {
    for (pointer, item) in [
        ("/main_feed", "main feed"),
        ("/controllers/a/mppt/lead", "controller “a”"),
        ("/supply/lead", "supply"),
    ] {
        for word in [None, Some("none")] {
            let mut value = with(&json!({}));
            let lead = value.pointer_mut(pointer).unwrap().as_object_mut().unwrap();
            lead.remove("fuse");
            if let Some(word) = word {
                lead.insert("fuse".to_owned(), json!(word));
            }
            let found = faults(&findings(&value));
            assert_eq!(found, [(Subject::Fused, Severity::Serious, item.to_owned())]);
        }
    }
    // No main feed at all: nobody has said anything of it.
    let mut value = with(&json!({}));
    value.as_object_mut().unwrap().remove("main_feed");
    let found = faults(&findings(&value));
    assert_eq!(found, [(Subject::Fused, Severity::Serious, "main feed".to_owned())]);
}

#[test]
fn panels_need_no_fuse_where_their_wire_bears_what_they_push() {
    let severity = |patch: Value| {
        let found = findings(&with(&patch));
        one(&found, Subject::Fused, "array “a”", "fuse").severity
    };
    // 1.5625 x 5.8 A = 9.1 A a string; 6 mm2 counts as 10 AWG, 55 A at 90 deg C.
    assert_eq!(severity(json!({})), Severity::Fine);
    assert_eq!(severity(json!({"arrays": {"a": {"count": 2}}})), Severity::Fine);
    assert_eq!(severity(json!({"arrays": {"a": {"count": 3}}})), Severity::Caution);
    let each = json!({"rated_a": 10, "interrupt_a": 1000, "rated_v": 58});
    let fused = json!({"arrays": {"a": {"count": 3, "string_fuse": each}}});
    assert_eq!(severity(fused), Severity::Fine);
    let none = json!({"arrays": {"a": {"count": 3, "string_fuse": "none"}}});
    assert_eq!(severity(none), Severity::Caution);
    let unknown = json!({"arrays": {"a": {"lead": null}}});
    assert_eq!(severity(unknown), Severity::Caution);
}

#[test]
fn packs_side_by_side_want_a_fuse_each() {
    let packs = |strings: u32, fuse: Value| {
        let mut value = with(&json!({"battery": {"lithium_iron_phosphate": {"strings": strings}}}));
        if !fuse.is_null() {
            value["battery"]["lithium_iron_phosphate"]["pack_fuse"] = fuse;
        }
        let found = findings(&value);
        let of = found.into_iter().filter(|it| it.item == "packs" && it.severity < Severity::Note);
        of.map(|it| (it.subject, it.severity)).collect::<Vec<_>>()
    };
    let serious = [(Subject::Fused, Severity::Serious)];
    assert_eq!(packs(1, Value::Null), []);
    assert_eq!(packs(2, Value::Null), serious);
    assert_eq!(packs(2, json!("none")), serious);
    let of = |interrupt_a: f64| json!({"rated_a": 80, "interrupt_a": interrupt_a, "rated_v": 58});
    // At 14.2 V a pack gives 14.2 / 13.39 x 2000 = 2121 A, two 4242 A, three 6363 A.
    assert_eq!(packs(2, of(2200.0)), []);
    assert_eq!(packs(2, of(2100.0)), [(Subject::FuseInterrupt, Severity::Serious)]);
    assert_eq!(packs(4, of(6300.0)), [(Subject::FuseInterrupt, Severity::Serious)]);
    assert_eq!(packs(4, of(6400.0)), []);
}

/// A word that is none of the two, and a bare number, are told what may stand there.
#[test]
fn what_is_no_fuse_is_told_what_may_stand_there() {
    for (fuse, says) in [("\"non\"", "did you mean `none`?"), ("30", "the word \"none\"")] {
        let mut value = hall();
        value["main_feed"]["fuse"] = serde_json::from_str(fuse).unwrap();
        let written = serde_json::to_string_pretty(&value).unwrap();
        let examined = examine(&written, "hall.json", Path::new(""));
        let said = examined.problems.render(false);
        assert!(said.contains(says), "{said}");
        assert!(said.contains("main_feed"), "{said}");
    }
    let mut value = hall();
    value["main_feed"]["fuse"] = json!("none");
    let examined = examine(&value.to_string(), "hall.json", Path::new(""));
    assert!(examined.problems.list.is_empty(), "{}", examined.problems.render(false));
}

/// Behind a feed of 35 mm2 and 0.75 m a battery of 5,000 A pushes, by hand: 13.390 V / 5,000 A = 2.678 mohm,
/// copper of 20 deg C, IACS: 1.5 m x 1.7241e-8 / 35 mm2 = 0.739 mohm, no connectors; 14.4 V on charge: 4,214 A.
/// With warm copper, two connectors and the volts at rest it would be 2,438 A.
#[test]
fn a_short_circuit_behind_the_feed_is_reckoned_on_the_safe_side() {
    let of = |interrupt_a: f64, air_c: f64| {
        let found = findings(&with(&json!({
            "sun": {"profile": {"air_c": air_c}},
            "battery": {"lithium_iron_phosphate": {"short_circuit_a": 5000}},
            "controllers": {"a": {"mppt": {"set_points": {"absorption_v": 14.4}}}},
            "supply": {"charger": {"set_points": {"absorption_v": 14.4}}},
            "main_feed": {"wire": {"mm2": 35, "one_way_m": 0.75, "connectors": 2}},
            "outlet_groups": {"bench": {"fuse": {"interrupt_a": interrupt_a}}}
        })));
        one(&found, Subject::FuseInterrupt, "group “bench”", "breaks").clone()
    };
    let weak = of(3500.0, 25.0);
    assert!((weak.limit.unwrap() - 4214.0).abs() < 1.0, "{weak:?}");
    assert_eq!(weak.severity, Severity::Serious);
    assert_eq!(of(4220.0, 25.0).severity, Severity::Fine);
    // In the cold the copper resists less.
    assert!(of(4220.0, -20.0).limit.unwrap() > 4300.0);
}

/// Sheets tell people to put fuses; they do not know whether there are any.
#[test]
fn sheets_say_put_and_never_that_a_fuse_is_there() {
    let sheets = text("src/show/cautions.rs");
    assert!(sheets.contains("Put a fuse at every pack") && !sheets.contains("A fuse sits"));
}
