//! The charge that is left when the loads are switched off, the cause of every hour off the air, and
//! that a passed limit is never fine.

use longwatch::decide::preflight::{Finding, Severity, Subject, preflight};
use longwatch::show::run_table::run_table;
use longwatch::simulate::causes::Cause;
use longwatch::simulate::single;
use longwatch::simulate::summary::{Summary, summarise};
use serde_json::{Value, json};

use super::common::{findings, one, with};
use super::shipped::shipped;
use super::support::{bench_with, merge, plan_of, text};

fn starter() -> Value {
    serde_json::from_str(&text("tests/preflight/agm-starter.json")).unwrap()
}

/// What a run comes to, with its page of text.
fn come_to(value: &Value) -> (Summary, String) {
    let plan = plan_of(value);
    let ledger = single::run(&plan);
    let summary = summarise(&plan, &ledger);
    let text = run_table(&ledger, &summary);
    (summary, text)
}

fn left(found: &[Finding]) -> &Finding {
    found.iter().find(|it| it.subject == Subject::ChargeLeft).unwrap()
}

/// A starter file with AGM cells and the disconnect of lithium cells: more than half is left when it
/// opens, and the simulated hours show it.
#[test]
fn a_disconnect_that_opens_with_half_of_an_agm_battery_left_is_serious() {
    let found = findings(&starter());
    let it = one(&found, Subject::ChargeLeft, "disconnect", "charge left");
    assert_eq!((it.severity, it.limit), (Severity::Serious, Some(0.5)), "{it:#?}");
    for words in ["12.2 V", "“full traffic”", "“voice set” transmits", "no power for 13.6 h"]
    {
        assert!(it.sentence.contains(words), "no `{words}`: {}", it.sentence);
    }
    let (summary, text) = come_to(&starter());
    let [cause] = &summary.off_air[..] else { panic!("{:?}", summary.off_air) };
    assert_eq!(cause.cause, Cause::Disconnect);
    // Steady volts against those of the hour: within a twentieth of the battery.
    let simulated = cause.charge_left_share.unwrap();
    assert!((it.value.unwrap() - simulated).abs() < 0.05, "{simulated} {it:#?}");
    assert!((cause.hours - summary.no_power_h).abs() < 1e-9);
    assert!(text.contains("the disconnect opened at 12.2 V"), "{text}");
    // No device quits before it: that margin is not reckoned, and what is left is.
    let quits = one(&found, Subject::QuitsBelow, "load “voice set”", "quits");
    assert_eq!((quits.limit, quits.margin), (None, None), "{quits:#?}");
}

/// The sound station by hand: 11 A of the set and 12 W at 12.0 V are 12 A.
#[test]
fn the_load_that_opens_the_disconnect_is_named_with_what_it_draws() {
    let found = findings(&with(&json!({})));
    let it = one(&found, Subject::ChargeLeft, "disconnect", "charge left");
    assert_eq!(it.severity, Severity::Fine, "{it:#?}");
    assert!(it.sentence.contains("“set” transmits: 11 A of 12 A."), "{}", it.sentence);
    // Short transmissions end within its delay: 1 A and 12 W, and less is left.
    let short = json!({"loads": {"set": {"transmission_s": 5}}, "disconnect": {"delay_s": 10}});
    let short = findings(&with(&short));
    assert!(left(&short).sentence.contains("A of 2 A."), "{}", left(&short).sentence);
    assert!(left(&short).value <= it.value);
}

#[test]
fn the_higher_the_disconnect_the_more_is_left() {
    let mut before = 0.0;
    for disconnect_v in [11.0, 11.5, 12.0, 12.4, 12.8, 13.0] {
        let found = findings(&with(
            &json!({"disconnect": {"disconnect_v": disconnect_v, "reconnect_v": 13.3}}),
        ));
        let share = left(&found).value.unwrap();
        assert!(share >= before, "{disconnect_v} V leaves {share}, less leaves {before}");
        before = share;
    }
    assert!(before > 0.2, "{before}");
    // A tier that the rule leaves at a higher charge does not count.
    let two = |below: f64| {
        let patch = json!({"disconnect": {"disconnect_v": 12.8, "reconnect_v": 13.3}, "tiers":
            [{"name": "on", "loads": {"set": {}, "lamp": {}}}, {"name": "low", "loads": {"lamp": {}}}],
            "shedding": {"decide_at": ["sunrise"], "down_below_share": [below],
                "up_above_share": [0.95]}});
        left(&findings(&with(&patch))).sentence.clone()
    };
    assert!(two(0.01).contains("tier “on”") && two(0.9).contains("tier “low”"));
}

/// Every finding of shipped stations, their variants, bad ones and changed ones.
#[test]
fn a_negative_margin_is_never_fine() {
    let judge = |name: &str, found: &[Finding]| {
        for it in found.iter().filter(|it| it.severity == Severity::Fine) {
            let (Some(margin), Some(limit)) = (it.margin, it.limit) else { continue };
            assert!(margin >= -1e-9 * limit.abs(), "{name}: {it:#?}");
        }
    };
    for shipped in shipped() {
        for strategy in shipped.strategies() {
            let plan = shipped.plan(&strategy);
            judge(&shipped.name, &preflight(&shipped.scenario, &plan, &single::run(&plan)));
        }
    }
    let bad: Value = serde_json::from_str(&text("tests/preflight/bad.json")).unwrap();
    for (name, value) in [("bad", bad), ("starter", starter()), ("sound", with(&json!({})))] {
        for disconnect_v in [10.0, 11.0, 11.6, 12.0, 12.2, 12.6] {
            let mut value = value.clone();
            merge(
                &mut value,
                &json!({"disconnect": {"disconnect_v": disconnect_v, "reconnect_v": 13.3}}),
            );
            judge(name, &findings(&value));
        }
    }
}

/// All hours off the air have a cause, and no hour has two.
#[test]
fn causes_add_up_to_the_hours_off_the_air() {
    for shipped in shipped() {
        for strategy in shipped.strategies() {
            let plan = shipped.plan_with(|scenario| {
                strategy.clone_into(&mut scenario.strategy);
                // Nearly empty, so that some are off the air.
                scenario.start.charge_share = Some(0.1);
                scenario.start.warmup_days = None;
            });
            let ledger = single::run(&plan);
            let summary = summarise(&plan, &ledger);
            let found: f64 = summary.off_air.iter().map(|it| it.hours).sum();
            let on_air =
                |row: &longwatch::simulate::ledger::Row| ledger.heads.tiers_on_air[row.tier];
            let off: f64 = ledger
                .rows
                .iter()
                .map(|row| if on_air(row) { row.no_power_h } else { row.hours })
                .sum();
            assert!((found - off).abs() < 1e-6, "{}, {strategy}: {found} of {off}", shipped.name);
        }
    }
}

/// A lamp on a battery of 10 Ah, in the night before the sun comes at 12:00.
fn night(patch: &Value) -> Summary {
    let plane: Vec<f64> = (0..24).map(|hour| if hour < 12 { 0.0 } else { 900.0 }).collect();
    let mut value = bench_with(&json!({
        "start": {"charge_share": 0.5},
        "sun": {"profile": {"rated_share": null, "in_plane_w_m2": plane, "air_c": 15.0}},
        "loads": {"lamp": {"draw": {"power": {"power_w": 20}}, "essential": true}},
        "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4,
            "capacity_ah": 10, "charge_limit_a": 5, "discharge_limit_a": 20}}
    }));
    merge(&mut value, patch);
    come_to(&value).0
}

fn first_cause(patch: &Value) -> (Cause, String, f64) {
    let summary = night(patch);
    let it = summary.off_air.first().unwrap_or_else(|| panic!("on the air: {patch}"));
    (it.cause, it.name.clone(), it.charge_left_share.unwrap_or(f64::NAN))
}

#[test]
fn each_cause_has_its_name() {
    let lithium = |patch: Value| json!({"battery": {"lithium_iron_phosphate": patch}});
    let (cause, _, share) =
        first_cause(&json!({"disconnect": {"disconnect_v": 13.0, "reconnect_v": 13.4}}));
    assert!(cause == Cause::Disconnect && share > 0.2, "{cause:?} {share}");
    let (cause, _, share) = first_cause(&json!({}));
    assert!(cause == Cause::BmsVolts && share < 0.05, "{cause:?} {share}");
    assert_eq!(first_cause(&lithium(json!({"discharge_limit_a": 1.0}))).0, Cause::BmsCurrent);
    let by_hand = lithium(json!({"cutoff_reset": "by_hand"}));
    assert_eq!(first_cause(&by_hand).0, Cause::BmsWaits);
    let ideal = json!({"battery": {"lithium_iron_phosphate": null,
        "ideal": {"capacity_wh": 128.0, "empty_v": 12.8, "full_v": 12.8}}});
    assert_eq!(first_cause(&ideal).0, Cause::Empty);
    let window = json!({"loads": {"lamp": {"window_v": [13.0, 15.0]}}});
    let (cause, name, _) = first_cause(&window);
    assert_eq!((cause, name.as_str()), (Cause::DeviceWindow, "lamp"));
    let tiers = json!({"tiers": [{"name": "on", "loads": {"lamp": {}}},
        {"name": "rest", "on_air": false, "loads": {}}],
        "shedding": {"decide_at": ["03:00"], "down_below_share": [0.4], "up_above_share": [0.9]}});
    let (cause, name, _) = first_cause(&tiers);
    assert_eq!((cause, name.as_str()), (Cause::Tier, "rest"));
}

/// Cells of lead-acid at 30 below: the cold locks most of their charge, and the sun is not to blame.
#[test]
fn cold_is_a_cause_of_its_own() {
    let acid = json!({"sun": {"profile": {"air_c": -30.0}}, "start": {"charge_share": 1.0},
        "battery": {"lithium_iron_phosphate": null, "lead_acid": {"kind": "agm",
            "cells_in_series": 6, "capacities": [{"discharge_h": 20, "capacity_ah": 10},
            {"discharge_h": 1, "capacity_ah": 6.2}], "resistance_ohm": 0.01,
            "rated_absorption_v": 14.4, "temperature": {"fixed_c": -30.0}}}});
    let summary = night(&acid);
    assert!(summary.off_air.iter().any(|it| it.cause == Cause::Cold), "{:?}", summary.off_air);
    // Lithium below freezing: the sun shines on the shipped node and must not charge.
    let plan = crate::support::shipped::named("cold-node").plan_with(|_| ());
    let summary = summarise(&plan, &single::run(&plan));
    let cold_h: f64 = summary.off_air.iter().map(|it| it.cold_h).sum();
    assert!(cold_h > 0.0 && cold_h <= summary.no_power_h + 1e-9, "{cold_h}");
}
