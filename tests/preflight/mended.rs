//! One thing made wrong in a sound station at a time: only that is found, with the number that a hand
//! reckons.

use longwatch::decide::preflight::{Severity, Subject};
use serde_json::{Value, json};

use super::common::{faults, findings, one, with};

const ROUNDED: f64 = 2e-3;

fn near(value: f64, want: f64) {
    assert!((value / want - 1.0).abs() < ROUNDED, "{value}, by hand {want}");
}

/// The faults of a patched station: subjects and items.
fn only(patch: &Value) -> Vec<(Subject, String)> {
    let found = faults(&findings(&with(patch)));
    found.into_iter().map(|(subject, _, item)| (subject, item)).collect()
}

#[test]
fn a_drop_is_reckoned_over_both_conductors_at_the_peak() {
    let found = findings(&with(&json!({})));
    // 11 A and 12 W at 12.0 V where the disconnect opens: 12 A. Copper of 40 deg C: 1.7241e-8 x
    // (1 + 0.00393 x 20) x 1.02 = 1.8968e-8 ohm m. Feed 2 m of 16 mm2: 2.3710 mohm; lead 4 m of
    // 10 mm2: 7.5872 mohm; 9.958 mohm x 12 A = 0.11950 V of 12.8 V.
    let it = one(&found, Subject::VoltageDrop, "group “bench”", "drop");
    near(it.value.unwrap(), 0.11950 / 12.8);
    near(one(&found, Subject::VoltageDrop, "main feed", "drop").value.unwrap(), 0.02845 / 12.8);
    // At 12.8 V the lamp takes 0.9375 A: mean 1.9375 + 0.2 x 10 = 3.9375 A; mean square
    // 0.8 x 1.9375^2 + 0.2 x 11.9375^2 = 31.504; 9.958 mohm x 31.504 / (12.8 x 3.9375).
    let it = one(&found, Subject::WireLoss, "group “bench”", "loss");
    near(it.value.unwrap(), 9.958e-3 * 31.504 / (12.8 * 3.9375));
}

#[test]
fn a_thin_lead_drops_too_much_for_a_radio_and_not_for_a_lamp() {
    let thin = json!({"outlet_groups": {"bench": {"wire": {"mm2": 3, "one_way_m": 3}}}});
    let found = findings(&with(&thin));
    // Lead 6 m of 3 mm2: 37.94 mohm; with the feed 40.31 mohm x 12 A = 3.78 %.
    let it = one(&found, Subject::VoltageDrop, "group “bench”", "drop");
    near(it.value.unwrap(), 0.48368 / 12.8);
    assert_eq!(it.severity, Severity::Caution);
    // 3 % are 0.384 V; less 0.02845 V of the feed: 37.94 mohm x 12 A x 3 / 0.35555 = 3.84 mm2.
    assert!(it.mend.as_deref().unwrap().contains("4 mm2"), "{it:?}");
    let lamp = json!({"loads": {"set": {"transmit_share": 0, "draw": {"current": null, "power":
        {"power_w": 132}}, "operator": null, "window_v": null}}, "outlet_groups": {"bench": {"wire":
        {"mm2": 3, "one_way_m": 3}}}});
    let found = findings(&with(&lamp));
    assert_eq!(one(&found, Subject::VoltageDrop, "group “bench”", "drop").limit, Some(0.10));
}

#[test]
fn limits_are_settable() {
    let strict = json!({"check_limits": {"radio_drop_share": 0.005}});
    assert!(only(&strict).contains(&(Subject::VoltageDrop, "group “bench”".to_owned())));
    let lax = json!({"check_limits": {"radio_drop_share": 0.05},
        "outlet_groups": {"bench": {"wire": {"mm2": 3, "one_way_m": 3}}}});
    assert!(!only(&lax).iter().any(|it| it.0 == Subject::VoltageDrop));
    let touchy = json!({"check_limits": {"touch_v": 20}});
    assert_eq!(only(&touchy), [(Subject::TouchVolts, "array “a”".to_owned())]);
}

#[test]
fn each_fault_alone_is_found_by_its_subject_alone() {
    let bench = |it: Value| json!({"outlet_groups": {"bench": it}});
    let set = |it: Value| json!({"loads": {"set": it}});
    let cells = |it: Value| json!({"battery": {"lithium_iron_phosphate": it}});
    let cases = [
        (bench(json!({"fuse": {"rated_a": 11.5}})), Subject::FuseLoad, "group “bench”"),
        // 10 mm2 counts as 8 AWG: 70 A at 90 deg C.
        (bench(json!({"fuse": {"rated_a": 71}})), Subject::FuseWire, "group “bench”"),
        (bench(json!({"fuse": {"from_source_m": 0.2}})), Subject::FusePlace, "group “bench”"),
        (bench(json!({"fuse": {"interrupt_a": 1000}})), Subject::FuseInterrupt, "group “bench”"),
        (bench(json!({"fuse": {"rated_v": 12}})), Subject::FuseVolts, "group “bench”"),
        (
            bench(json!({"wire": {"bundled": 45, "surroundings_c": 80}})),
            Subject::Ampacity,
            "group “bench”",
        ),
        (bench(json!({"limit_a": 11.9})), Subject::GroupBudget, "group “bench”"),
        (json!({"supply": {"limit_a": 11}}), Subject::SupplyBudget, "supply"),
        (set(json!({"window_v": [13.2, 15.8]})), Subject::WindowLow, "load “set”"),
        (cells(json!({"cell_overvoltage_v": 3.58})), Subject::BoardTrips, "controller “a”"),
        (
            cells(json!({"charge_inhibit": {"below_c": -1, "resume_above_c": 1}})),
            Subject::ColdCharging,
            "battery",
        ),
        (cells(json!({"charge_limit_a": 30})), Subject::ChargeCurrent, "battery"),
        (
            json!({"controllers": {"a": {"mppt": {"input_limit_v": 24}}}}),
            Subject::ColdOpenCircuit,
            "array “a”",
        ),
        (
            json!({"loads": {"lamp": {"draw": {"power": {"power_w": 1, "idle_w": 2}}}}}),
            Subject::ConverterIdle,
            "load “lamp”",
        ),
    ];
    for (patch, subject, item) in cases {
        let found = only(&patch);
        assert!(found.contains(&(subject, item.to_owned())), "{subject:?} of {item}: {found:?}");
        let others: Vec<_> = found.iter().filter(|it| it.0 != subject).collect();
        // A supply too small for the loads has less for charging; a wire that carries less wants a
        // smaller fuse; a set that works on few volts only quits early.
        let follows =
            [Subject::SupplyBudget, Subject::WindowLow, Subject::Ampacity].contains(&subject);
        assert!(others.is_empty() || follows, "{subject:?} of {item}: {found:?}");
    }
}

#[test]
fn numbers_that_a_hand_reckons() {
    let found = findings(&with(&json!({})));
    // 22.4 V x (1 + 0.0032 x 35) at -10 deg C.
    near(one(&found, Subject::ColdOpenCircuit, "array “a”", "open").value.unwrap(), 24.909);
    // 13.3897 V at rest with 95 % (the curve: 4 x 3.3475) over 2000 A: 6.695 mohm; the feed's copper,
    // solid and of -10 deg C: 2 m x 1.7241e-8 x (1 - 0.00393 x 30) / 16 mm2 = 1.9010 mohm. At the
    // charging 14.2 V: 14.2 / 8.596 mohm = 1652 A.
    let rest_v = 4.0 * (3.2772 + (3.3511 - 3.2772) * (0.95 - 0.2972) / (0.9833 - 0.2972));
    let short_a = 14.2 / (rest_v / 2000.0 + 1.9010e-3);
    near(one(&found, Subject::FuseInterrupt, "group “bench”", "breaks").limit.unwrap(), short_a);
    near(
        one(&found, Subject::FuseInterrupt, "main feed", "breaks").limit.unwrap(),
        14.2 / rest_v * 2000.0,
    );
    // Always on: 12.8 V x (1 + 0.2 x 10) x 24 h, and 12 W x 24 h.
    near(one(&found, Subject::AlwaysOn, "load “set”", "day").value.unwrap(), 921.6);
    near(one(&found, Subject::AlwaysOn, "load “lamp”", "day").value.unwrap(), 288.0);
    // The set keyed leaves 30 - 11 - 12/13.8 A, the mean over the states min(20, ...): 0.8 x 20 +
    // 0.2 x 18.1304.
    near(one(&found, Subject::ChargingLeft, "supply", "left").value.unwrap(), 19.626);
}

/// At the charge found a set just works; a hair below it quits. By the curve and the resistances.
#[test]
fn a_set_quits_where_curve_and_resistance_say() {
    let patch = json!({"loads": {"set": {"window_v": [12.3, 15.8]}}, "disconnect": null});
    let found = findings(&with(&patch));
    let share = one(&found, Subject::QuitsBelow, "load “set”", "quits").value.unwrap();
    // Resistance: 4 x 0.19/100 + 0.010 = 17.6 mohm, gap 0.04 V, lag 0.10 h.
    let curve =
        [(0.0267, 2.9299), (0.0534, 3.0872), (0.0885, 3.1942), (0.2972, 3.2772), (0.9833, 3.3511)];
    let disconnect_v = |share: f64| {
        let pair = curve.windows(2).find(|pair| share <= pair[1].0).unwrap();
        let along = (share - pair[0].0) / (pair[1].0 - pair[0].0);
        4.0 * (pair[0].1 + along * (pair[1].1 - pair[0].1))
    };
    let at_device = |share: f64| {
        let (mut mean_v, mut device_v) = (12.8, 12.3);
        for _ in 0..60 {
            let mean_a = 3.0 + 12.0 / mean_v;
            mean_v = disconnect_v(share - mean_a * 0.10 / 100.0) - mean_a * 0.0176 - 0.04;
            let total_a = 11.0 + 12.0 / device_v;
            device_v = mean_v - 0.0176 * (total_a - mean_a) - 9.958e-3 * total_a;
        }
        device_v
    };
    let off = at_device(share) - 12.3;
    assert!(off.abs() < 0.01, "{share}: {off} V");
}

/// Wire and fuse of an array by hand: 6 mm2 count as 10 AWG, 55 A at 90 deg C and 30 deg C; the panel
/// pushes 1.25 x 1.25 x 5.8 = 9.06 A.
#[test]
fn the_fuse_of_an_array_is_held_against_wire_current_fault_and_place() {
    let fuse = |it: Value| {
        let sound = json!({"rated_a": 15, "interrupt_a": 1000, "rated_v": 58, "from_source_m": 2});
        let mut fuse = sound;
        super::support::merge(&mut fuse, &it);
        json!({"arrays": {"a": {"lead": {"fuse": fuse}}}})
    };
    let array = "array “a”".to_owned();
    assert_eq!(only(&fuse(json!({}))), []);
    let found = findings(&with(&fuse(json!({}))));
    let load = one(&found, Subject::FuseLoad, &array, "load");
    near(load.limit.unwrap(), 1.25 * 1.25 * 5.8);
    // It breaks what the panels push, and its own 15 A at the least.
    near(one(&found, Subject::FuseInterrupt, &array, "breaks").limit.unwrap(), 15.0);
    // The wire bears what the panels push, so the place matters to none.
    assert_eq!(one(&found, Subject::FusePlace, &array, "source").limit, None);
    assert_eq!(one(&found, Subject::FuseWire, &array, "wire").limit, Some(55.0));
    for (patch, subject, severity) in [
        (json!({"rated_a": 60}), Subject::FuseWire, Severity::Caution),
        // More than 150 % of the ampacity.
        (json!({"rated_a": 83}), Subject::FuseWire, Severity::Serious),
        (json!({"rated_a": 7.5}), Subject::FuseLoad, Severity::Caution),
        (json!({"interrupt_a": 9}), Subject::FuseInterrupt, Severity::Serious),
        (json!({"rated_v": 20}), Subject::FuseVolts, Severity::Serious),
    ] {
        let found = faults(&findings(&with(&fuse(patch))));
        assert_eq!(found, [(subject, severity, array.clone())]);
    }
}

/// The station of the review: 60 A that break 10 A on a wire for 44.9 A (55 A in air of 50 deg C).
#[test]
fn without_a_datasheet_the_array_is_judged_by_its_watts() {
    let patch = json!({"arrays": {"a": {"datasheet": null, "count": 1, "rated_w": 200,
        "lead": {"wire": {"surroundings_c": 50},
            "fuse": {"rated_a": 60, "interrupt_a": 10, "from_source_m": 0.1}}}}});
    let found = findings(&with(&patch));
    let array = "array “a”";
    near(
        one(&found, Subject::FuseWire, array, "wire").limit.unwrap(),
        55.0 * (4.0_f64 / 6.0).sqrt(),
    );
    // Its volts are not known, so nothing says that they are below 50.
    assert_eq!(one(&found, Subject::FuseWire, array, "wire").severity, Severity::Serious);
    // 200 W / 12.8 V x 1.5625 = 24.41 A; the fuse has 60 A.
    let breaks = one(&found, Subject::FuseInterrupt, array, "breaks");
    near(breaks.limit.unwrap(), 60.0);
    assert!(breaks.sentence.contains("24.4 A"), "{breaks:?}");
    assert_eq!(breaks.severity, Severity::Serious);
    assert!(breaks.sentence.contains("an estimate"), "{breaks:?}");
    near(one(&found, Subject::Ampacity, array, "carries").value.unwrap(), 24.414);
    let said =
        |words: &str| found.iter().any(|it| it.value.is_none() && it.sentence.contains(words));
    assert!(said("`rated_v`") && said("open-circuit volts of the panels"), "{found:#?}");
}

#[test]
fn three_strings_side_by_side_want_a_fuse_each() {
    let count = |count: u32, more: Value| {
        let mut patch = json!({"arrays": {"a": {"count": count}}});
        super::support::merge(&mut patch, &more);
        only(&patch).into_iter().filter(|it| it.0 == Subject::StringFuse).count()
    };
    assert_eq!(count(2, json!({})), 0);
    assert_eq!(count(3, json!({})), 1);
    assert_eq!(count(4, json!({"arrays": {"a": {"datasheet": {"in_series": 2}}}})), 0);
    let fused = |rated_a: f64| {
        json!({"arrays": {"a": {"string_fuse":
            {"rated_a": rated_a, "interrupt_a": 1000, "rated_v": 58}}}})
    };
    assert_eq!(count(3, fused(10.0)), 0);
    // 2.4 x 5.8 = 13.92 A: a fuse of 15 A opens too late for a string of 5.8 A.
    assert_eq!(count(3, fused(15.0)), 1);
    let found = findings(&with(&json!({"arrays": {"a": {"count": 3}}})));
    // Without the label nobody knows how large it may be: no size is named.
    let it = one(&found, Subject::FuseProposal, "strings of array “a”", "not stated");
    assert!(it.sentence.contains("`series_fuse_a`") && it.proposal.is_none(), "{it:?}");
    // With the panels' label: 2 x 5.8 A into a string that allows 15 A, 3 x 5.8 A into the same, and
    // fuses up to what it says.
    let labelled = |more: Value| {
        let mut patch = json!({"arrays": {"a": {"datasheet": {"series_fuse_a": 15.0}}}});
        super::support::merge(&mut patch, &more);
        patch
    };
    assert_eq!(count(3, labelled(json!({}))), 0);
    assert_eq!(count(4, labelled(json!({}))), 1);
    let mut patch = labelled(json!({}));
    patch["arrays"]["a"]["count"] = json!(4);
    patch["check_limits"] = json!({"coldest_air_c": -20});
    let found = findings(&with(&patch));
    // 1.5625 x 5.8 = 9.06 A.
    let it = one(&found, Subject::FuseProposal, "strings of array “a”", "proposed");
    assert!(it.sentence.contains("A fuse of 10 A (ISO 8820-3)"), "{it:?}");
    assert_eq!(count(4, labelled(fused(15.0))), 0);
    assert_eq!(count(4, labelled(fused(20.0))), 1);
    // Nobody says how many of them stand in series.
    let found = findings(&with(&json!({"arrays": {"a": {"count": 3, "datasheet": null}}})));
    let it = found.iter().find(|it| it.subject == Subject::StringFuse).unwrap();
    assert_eq!((it.severity, it.value), (Severity::Note, None));
}

/// What flows into a short circuit when nobody says: 3 mohm of the worked values for 12.8 V and 100 Ah.
#[test]
fn an_unstated_short_circuit_is_estimated_on_the_safe_side() {
    let cells = |it: Value| json!({"battery": {"lithium_iron_phosphate": it}});
    let unstated = cells(json!({"short_circuit_a": null}));
    let found = findings(&with(&unstated));
    // The highest charging volts.
    let charging_v = 14.2;
    let main = one(&found, Subject::FuseInterrupt, "main feed", "breaks");
    near(main.limit.unwrap(), charging_v / 0.003);
    assert_eq!(main.severity, Severity::Fine);
    assert!(main.sentence.contains("estimate") && main.sentence.contains("not stated"));
    let told = one(&found, Subject::FuseInterrupt, "battery", "usual");
    assert_eq!(told.severity, Severity::Note);
    assert!(told.sentence.contains("2,800 to 4,700 A"), "{}", told.sentence);
    // Two strings give twice as much, a small battery less.
    let twice = cells(json!({"short_circuit_a": null, "strings": 2}));
    let found = findings(&with(&twice));
    near(
        one(&found, Subject::FuseInterrupt, "main feed", "breaks").limit.unwrap(),
        charging_v / 0.0015,
    );
    // Between the weak battery's 2,840 A and the strong one's 4,733 A a fuse is doubtful; below both
    // it is too weak. The main feed has nothing before it.
    for (interrupt_a, severity) in [(1000, Severity::Serious), (3000, Severity::Caution)] {
        let mut patch = unstated.clone();
        patch["main_feed"] = json!({"fuse": {"interrupt_a": interrupt_a}});
        let found = findings(&with(&patch));
        let it = one(&found, Subject::FuseInterrupt, "main feed", "breaks");
        assert_eq!(it.severity, severity);
        assert!(it.mend.as_deref().unwrap().contains("`short_circuit_a`"), "{it:?}");
    }
}

/// The mend names what loses most: the feed, the lead, or their connectors.
#[test]
fn a_drop_is_mended_where_most_of_it_is_lost() {
    let mend = |patch: Value, item: &str| {
        let found = findings(&with(&patch));
        one(&found, Subject::VoltageDrop, item, "drop").mend.clone().unwrap()
    };
    let feed = json!({"main_feed": {"wire": {"mm2": 2, "one_way_m": 2}}});
    assert!(mend(feed, "group “bench”").contains("main feed in place of 2 mm2"));
    let lead = json!({"outlet_groups": {"bench": {"wire": {"mm2": 2, "one_way_m": 4}}}});
    assert!(mend(lead, "group “bench”").contains("lead in place of 2 mm2"));
    let plugs = json!({"outlet_groups": {"bench": {"wire": {"connectors": 40}}}});
    assert!(mend(plugs, "group “bench”").starts_with("Fewer or better connectors in the lead"));
    // Of the bad desk's drop the feed has a third: its own lead comes first.
    let bad: Value =
        serde_json::from_str(&super::support::text("tests/preflight/bad.json")).unwrap();
    let found = findings(&bad);
    let it = one(&found, Subject::VoltageDrop, "group “desk”", "drop").mend.clone().unwrap();
    assert!(it.starts_with("A thicker or shorter lead first") && it.contains("main feed"), "{it}");
}

/// A receiver quits too: while the sets beside it key.
#[test]
fn a_receiver_with_a_window_quits_as_well() {
    let patch = json!({"disconnect": null, "loads": {"ears": {"group": "bench",
        "window_v": [12.6, 15.8], "draw": {"current": {"receive_a": 0.7}}}},
        "tiers": [{"name": "on", "loads": {"set": {}, "lamp": {}, "ears": {}}}]});
    let found = findings(&with(&patch));
    let ears = one(&found, Subject::QuitsBelow, "load “ears”", "quits").value.unwrap();
    let set = one(&found, Subject::QuitsBelow, "load “set”", "quits").value.unwrap();
    // It works on no fewer than 12.6 V, the set on 11.5 V.
    assert!(ears > set && ears < 1.0, "{ears} {set}");
    assert!(!found.iter().any(|it| it.subject == Subject::QuitsBelow && it.item.contains("lamp")));
}

/// Warning and finding say the same volts of the cold: one function.
#[test]
fn cold_set_points_are_told_once_and_the_same() {
    let bad: Value =
        serde_json::from_str(&super::support::text("tests/preflight/bad.json")).unwrap();
    let found = findings(&bad);
    // Air of January and February: -5 - 7/2 = -8.5; 14.4 + 0.03 x 33.5 = 15.405 V.
    let high = one(&found, Subject::WindowHigh, "load “voice set”", "highest");
    near(high.value.unwrap(), 15.405);
    assert!(high.sentence.contains("-8.5 deg C"), "{}", high.sentence);
    let written = super::support::text("tests/preflight/bad.json");
    let warned =
        longwatch::plan::check::examine(&written, "bad.json", std::path::Path::new("")).warnings;
    assert!(warned.iter().any(|it| it.text.contains("15.41 V") && it.text.contains("-8.5")));
}

/// Sizes of fuses, and numbers as people write them.
#[test]
fn mends_name_fuses_that_are_sold() {
    use longwatch::station::fuse::at_least_a;
    assert_eq!((at_least_a(9.06), at_least_a(41.0), at_least_a(9000.0)), (10.0, 45.0, 9000.0));
    let thin = json!({"outlet_groups": {"bench": {"wire": {"awg": 18, "insulation_c": 60},
        "fuse": {"rated_a": 12}}}});
    let found = findings(&with(&thin));
    let it = one(&found, Subject::FuseWire, "group “bench”", "wire");
    assert!(it.mend.as_deref().unwrap().starts_with("A smaller fuse, or a thicker wire"), "{it:?}");
    let it = one(&found, Subject::FuseInterrupt, "main feed", "breaks");
    assert!(it.sentence.contains("10,000 A") && !it.sentence.contains("10000"), "{it:?}");
    let small = json!({"loads": {"lamp": {"draw": {"power": {"power_w": 0.02}}}}});
    let found = findings(&with(&small));
    let it = one(&found, Subject::AlwaysOn, "load “lamp”", "day");
    assert!(it.sentence.contains(" 0.5 Wh"), "{}", it.sentence);
    assert_eq!(longwatch::show::preflight::amount(0.004, "A"), "0.004 A");
    assert_eq!(longwatch::show::preflight::amount(0.3, "Wh"), "0.3 Wh");
    assert_eq!(longwatch::show::preflight::amount(0.0, "A"), "0 A");
}
