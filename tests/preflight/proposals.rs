//! Proposals of fuses and wires: leads by hand, and what is missing. Ten thousand random leads: see `random_leads`.

use longwatch::decide::preflight::{ProposedFuse, Severity, Subject};
use serde_json::{Value, json};

use super::common::{findings, one, sound};
use super::support::merge;

/// The sound station with every number of its wires stated, and a patch.
pub fn stated(patch: &Value) -> Value {
    let lies = json!({"wire": {"bundled": 2, "surroundings_c": 30}});
    let mut value = sound();
    merge(
        &mut value,
        &json!({"main_feed": lies, "outlet_groups": {"bench": lies}, "supply": {"lead": lies},
            "controllers": {"a": {"mppt": {"lead": lies}}}}),
    );
    merge(&mut value, patch);
    value
}

fn proposed(patch: &Value, item: &str) -> (Option<ProposedFuse>, Option<f64>, String) {
    let found = findings(&stated(patch));
    let it = one(&found, Subject::FuseProposal, item, "proposed");
    assert_eq!(it.severity, Severity::Note);
    let proposal = it.proposal.clone().unwrap();
    (proposal.fuse, proposal.mm2, it.sentence.clone())
}

/// Six leads by hand. What flows: 11 A while the set transmits, 1 A of 12 W at 12.0 V; 12 A at the peak, mean
/// square 0.8 x 4 + 0.2 x 144 = 32, 1.25 x 5.66 = 7.1 A (NEC 215.3). Ampacity: 33 CFR 183.425 table 5.
/// Short circuits: 14.2 V / 6.695 mohm = 2,121 A at the battery; with the feed's 1.901 mohm 1,652 A.
#[test]
fn six_leads_by_hand() {
    let bench = |it: Value| json!({"outlet_groups": {"bench": it}});
    let cases = [
        // 14 AWG and insulation for 90 deg C: 30 A, less than the feed's fuse of 40 A. 12 A want 15 A.
        (
            bench(json!({"fuse": "none", "wire": {"mm2": 2.5, "one_way_m": 1}})),
            "group “bench”",
            (15.0, "ISO 8820-3", 1652.0, None),
        ),
        // 18 AWG at 75 deg C: 10 A. 15 A need 16 AWG, 1.309 mm2: 1.5 mm2, which drops 2.6 %.
        (
            bench(json!({"fuse": "none",
                "wire": {"mm2": null, "awg": 18, "one_way_m": 1, "insulation_c": 75}})),
            "group “bench”",
            (15.0, "ISO 8820-3", 1652.0, Some(1.5)),
        ),
        // 3 % of 12.8 V less 0.028 V of the feed: 0.3556 V at 12 A, 29.6 mohm: 3.84 mm2 over 6 m.
        (
            bench(json!({"fuse": "none", "wire": {"mm2": 2.5, "one_way_m": 3}})),
            "group “bench”",
            (15.0, "ISO 8820-3", 1652.0, Some(4.0)),
        ),
        (json!({"main_feed": {"fuse": "none"}}), "main feed", (15.0, "ISO 8820-3", 2121.0, None)),
        // 20 A of the controller, 1.25 times.
        (
            json!({"controllers": {"a": {"mppt": {"lead": {"fuse": "none"}}}}}),
            "controller “a”",
            (25.0, "ISO 8820-3", 2121.0, None),
        ),
        // 40 A of the supply, 1.25 times: beyond blade fuses.
        (
            json!({"supply": {"limit_a": 40, "lead": {"fuse": "none"}}}),
            "supply",
            (50.0, "IEC 60269 or NEC 240.6(A)", 2121.0, None),
        ),
    ];
    for (patch, item, (rated_a, series, interrupt_a, mm2)) in cases {
        let (it, area_mm2, sentence) = proposed(&patch, item);
        let it = it.unwrap();
        let ours = (it.rated_a, it.series, it.interrupt_a, area_mm2);
        assert_eq!(ours, (rated_a, series, interrupt_a, mm2), "{item}: {sentence}");
        assert_eq!((it.rated_v, it.within_m), (15.0, 0.17), "{sentence}");
        for words in [
            "For a competent person to check",
            "Not examined: holder, terminals, heat in the box",
            "Local code and licensed practice come first",
            "A larger fuse is no cure",
        ] {
            assert!(sentence.contains(words), "no `{words}`: {sentence}");
        }
        let manual = sentence.contains("manual decides");
        assert_eq!(manual, ["main feed", "group “bench”"].contains(&item), "{sentence}");
    }
}

#[test]
fn where_no_fuse_fits_the_wire_comes_first_and_makers_are_obeyed() {
    let thin = json!({"outlet_groups": {"bench": {"fuse": {"rated_a": 20},
        "wire": {"mm2": null, "awg": 18, "one_way_m": 1, "insulation_c": 75}}}});
    let (_, _, sentence) = proposed(&thin, "group “bench”");
    let first =
        "No fuse both carries 12 A and protects this wire, which bears 10 A: 1.5 mm2 first. ";
    assert!(sentence.starts_with(first), "{sentence}");
    let small = json!({"outlet_groups": {"bench": {"fuse": {"rated_a": 80}}},
        "loads": {"set": {"max_fuse_a": 10}}});
    let found = findings(&stated(&small));
    let it = one(&found, Subject::FuseProposal, "group “bench”", "no fuse fits");
    assert!(it.sentence.contains("makers ask for, 10 A") && it.proposal.is_none(), "{it:?}");
    let enough = json!({"outlet_groups": {"bench": {"fuse": {"rated_a": 80}}},
        "loads": {"set": {"max_fuse_a": 15}}});
    let (it, _, sentence) = proposed(&enough, "group “bench”");
    assert!(it.unwrap().rated_a == 15.0 && !sentence.contains("manual"), "{sentence}");
}

/// Nothing is proposed where a number is missing: it is named.
#[test]
fn a_number_that_nobody_stated_is_named_in_place_of_a_proposal() {
    let none = json!({"outlet_groups": {"bench": {"fuse": "none", "wire": {"mm2": 2.5}}}});
    let cases = [
        (json!({"outlet_groups": {"bench": {"wire": {"bundled": null}}}}), "`bundled`"),
        (
            json!({"outlet_groups": {"bench": {"wire": {"surroundings_c": null}}}}),
            "`surroundings_c`",
        ),
        (json!({"outlet_groups": {"bench": {"wire": {"insulation_c": null}}}}), "`insulation_c`"),
        (json!({"outlet_groups": {"bench": {"wire": null}}}), "`wire`"),
        (
            json!({"battery": {"lithium_iron_phosphate": {"short_circuit_a": null}}}),
            "`short_circuit_a`",
        ),
        (json!({"loads": {"set": {"basis": {"draw": "guess"}}}}), "`draw` of load “set” (a guess)"),
    ];
    for (patch, words) in cases {
        let mut value = stated(&none);
        merge(&mut value, &patch);
        let found = findings(&value);
        let it = one(&found, Subject::FuseProposal, "group “bench”", "not stated");
        assert!(it.sentence.contains(words) && it.proposal.is_none(), "{it:?}");
        assert!(it.value.is_none(), "{it:?}");
    }
}

/// Panels and packs whose every number is stated, and a patch.
pub fn sources(patch: &Value) -> Value {
    let mut value = stated(&json!({
        "check_limits": {"coldest_air_c": -20},
        "arrays": {"a": {"datasheet": {"series_fuse_a": 15},
            "lead": {"wire": {"bundled": 2, "surroundings_c": 50}}}},
        "battery": {"lithium_iron_phosphate": {"capacity_ah": 50, "strings": 2,
            "short_circuit_a": 1000,
            "pack_lead": {"wire": {"mm2": 16, "one_way_m": 0.5, "insulation_c": 90, "bundled": 2,
                "surroundings_c": 30}}}}
    }));
    merge(&mut value, patch);
    value
}

/// Panels and packs by hand. Isc 5.8 A: 1.5625 x 5.8 = 9.06 A, a fuse of 10 A, below the label's 15 A
/// (NEC 690.8, 690.9). Voc at -20 deg C: 22.4 x (1 + 0.0032 x 45) = 25.63 V (NEC 690.7). Two packs:
/// 1.25 x (20 A of the controller + 20 A of the charger) / 2 = 25 A (NEC 215.3).
#[test]
fn panels_and_packs_by_hand() {
    let of = |patch: &Value, item: &str| {
        let found = findings(&sources(patch));
        let it = one(&found, Subject::FuseProposal, item, "");
        (it.what.clone(), it.proposal.clone(), it.sentence.clone())
    };
    let array = |it: Value| json!({"arrays": {"a": it}});
    // A fuse that is too small: 10 A in its place.
    let small = array(json!({"lead": {"fuse": {"rated_a": 5}}}));
    let (_, it, sentence) = of(&small, "array “a”");
    let fuse = it.unwrap().fuse.unwrap();
    assert_eq!((fuse.rated_a, fuse.rated_v, fuse.interrupt_a), (10.0, 26.0, 10.0), "{sentence}");
    // Two strings of it push 18.1 A, more than the label's 15 A: no fuse fits, and none is needed.
    let two = array(json!({"count": 2, "lead": {"fuse": {"rated_a": 5}}}));
    let (what, it, sentence) = of(&two, "array “a”");
    assert!(what == "no fuse fits" && it.is_none(), "{sentence}");
    assert!(
        sentence.contains("18.1 A") && sentence.contains("these panels need none"),
        "{sentence}"
    );
    // 18 AWG at 60 deg C in air of 50: 10 x sqrt(10 / 30) = 5.8 A. 16 AWG: 8.7 A; 14 AWG: 11.5 A, 2.5 mm2.
    let thin = array(json!({"lead": {"wire": {"mm2": 0.82, "insulation_c": 60, "one_way_m": 1}}}));
    let (what, it, sentence) = of(&thin, "array “a”");
    let it = it.unwrap();
    assert!(what == "proposed wire" && it.fuse.is_none() && it.mm2 == Some(2.5), "{sentence}");
    assert!(sentence.contains("2.5 mm2 first"), "{sentence}");
    // Four strings, each pushed into by three.
    let four = array(json!({"count": 4}));
    let (_, it, sentence) = of(&four, "strings of array “a”");
    let fuse = it.unwrap().fuse.unwrap();
    assert_eq!(
        (fuse.rated_a, fuse.series, fuse.interrupt_a),
        (10.0, "ISO 8820-3", 28.0),
        "{sentence}"
    );
    let (_, it, sentence) = of(&json!({}), "packs");
    let fuse = it.unwrap().fuse.unwrap();
    // 14.2 V into two packs of 14.2 mohm or a little less.
    assert_eq!((fuse.rated_a, fuse.rated_v), (25.0, 15.0), "{sentence}");
    assert!(sentence.contains("At each pack") && sentence.contains("A larger fuse is no cure"));
    // Each number that is missing is named, and nothing is proposed.
    let lithium = |it: Value| json!({"battery": {"lithium_iron_phosphate": it}});
    let cases = [
        (lithium(json!({"pack_lead": null})), "packs", "`pack_lead`"),
        (lithium(json!({"short_circuit_a": null})), "packs", "`short_circuit_a`"),
        (
            json!({"controllers": {"a": {"mppt": {"basis": {"output_limit_a": "guess"}}}}}),
            "packs",
            "`output_limit_a` is a guess",
        ),
        (
            array(json!({"count": 4, "datasheet": {"series_fuse_a": null}})),
            "strings of array “a”",
            "`series_fuse_a`",
        ),
        (
            json!({"check_limits": {"coldest_air_c": null}, "arrays": {"a": {"lead": {"fuse": {"rated_a": 5}}}}}),
            "array “a”",
            "`coldest_air_c`",
        ),
        (
            array(json!({"basis": {"datasheet": "guess"}, "lead": {"fuse": {"rated_a": 5}}})),
            "array “a”",
            "`datasheet` is a guess",
        ),
        (
            array(json!({"lead": {"fuse": {"rated_a": 5}, "wire": {"bundled": null}}})),
            "array “a”",
            "`bundled`",
        ),
    ];
    for (patch, item, words) in cases {
        let (what, it, sentence) = of(&patch, item);
        assert!(what == "not stated" && it.is_none() && sentence.contains(words), "{sentence}");
    }
}
