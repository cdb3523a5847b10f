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
        {"w": 132}}, "operator": null, "window_v": null}}, "outlet_groups": {"bench": {"wire":
        {"mm2": 3, "one_way_m": 3}}}});
    let found = findings(&with(&lamp));
    assert_eq!(one(&found, Subject::VoltageDrop, "group “bench”", "drop").limit, Some(0.10));
}

#[test]
fn limits_are_settable() {
    let strict = json!({"preflight": {"radio_drop_share": 0.005}});
    assert!(only(&strict).contains(&(Subject::VoltageDrop, "group “bench”".to_owned())));
    let lax = json!({"preflight": {"radio_drop_share": 0.05},
        "outlet_groups": {"bench": {"wire": {"mm2": 3, "one_way_m": 3}}}});
    assert!(!only(&lax).iter().any(|it| it.0 == Subject::VoltageDrop));
    let touchy = json!({"preflight": {"touch_v": 20}});
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
            cells(json!({"charge_inhibit": {"below_c": -1, "again_above_c": 1}})),
            Subject::ColdCharging,
            "battery",
        ),
        (cells(json!({"charge_limit_a": 30})), Subject::ChargeCurrent, "battery"),
        (
            json!({"controllers": {"a": {"tracking": {"input_limit_v": 24}}}}),
            Subject::ColdOpenCircuit,
            "array “a”",
        ),
        (
            json!({"loads": {"lamp": {"draw": {"power": {"w": 1, "idle_w": 2}}}}}),
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
    // 13.3897 V at rest with 95 % (the curve: 4 x 3.3475) over 2000 A: 6.695 mohm; with the feed's
    // 2.371 mohm: 13.390 / 9.066 mohm = 1477 A.
    let rest_v = 4.0 * (3.2772 + (3.3511 - 3.2772) * (0.95 - 0.2972) / (0.9833 - 0.2972));
    let short_a = rest_v / (rest_v / 2000.0 + 2.3710e-3);
    near(one(&found, Subject::FuseInterrupt, "group “bench”", "breaks").limit.unwrap(), short_a);
    near(one(&found, Subject::FuseInterrupt, "main feed", "breaks").limit.unwrap(), 2000.0);
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
    let open_v = |share: f64| {
        let pair = curve.windows(2).find(|pair| share <= pair[1].0).unwrap();
        let along = (share - pair[0].0) / (pair[1].0 - pair[0].0);
        4.0 * (pair[0].1 + along * (pair[1].1 - pair[0].1))
    };
    let at_device = |share: f64| {
        let (mut mean_v, mut device_v) = (12.8, 12.3);
        for _ in 0..60 {
            let mean_a = 3.0 + 12.0 / mean_v;
            mean_v = open_v(share - mean_a * 0.10 / 100.0) - mean_a * 0.0176 - 0.04;
            let total_a = 11.0 + 12.0 / device_v;
            device_v = mean_v - 0.0176 * (total_a - mean_a) - 9.958e-3 * total_a;
        }
        device_v
    };
    let off = at_device(share) - 12.3;
    assert!(off.abs() < 0.01, "{share}: {off} V");
}
