//! A deliberately bad station, `tests/preflight/bad.json`: every fault is found, each by its subject.

use longwatch::decide::preflight::{Counts, Severity, Subject};
use serde_json::Value;

use super::common::{findings, one};
use super::support::text;

/// What was done to it, and what must be said: subject, item, words of what was measured, severity.
const FAULTS: [(Subject, &str, &str, Severity); 36] = [
    (Subject::VoltageDrop, "group “desk”", "drop", Severity::Serious),
    (Subject::VoltageDrop, "main feed", "drop", Severity::Serious),
    (Subject::VoltageDrop, "controller “tracker”", "drop", Severity::Caution),
    (Subject::WireLoss, "group “desk”", "loss", Severity::Caution),
    (Subject::Ampacity, "group “desk”", "bundled", Severity::Serious),
    (Subject::Ampacity, "array “roof”", "wire", Severity::Serious),
    (Subject::FuseWire, "group “desk”", "wire", Severity::Serious),
    (Subject::FuseWire, "array “roof”", "wire", Severity::Serious),
    (Subject::FuseLoad, "array “roof”", "load", Severity::Caution),
    (Subject::FusePlace, "array “roof”", "source", Severity::Serious),
    (Subject::FuseInterrupt, "array “roof”", "breaks", Severity::Serious),
    (Subject::StringFuse, "array “roof”", "unfused", Severity::Caution),
    (Subject::FuseLoad, "main feed", "load", Severity::Serious),
    (Subject::FusePlace, "main feed", "source", Severity::Serious),
    (Subject::FusePlace, "group “desk”", "source", Severity::Caution),
    (Subject::FuseInterrupt, "main feed", "breaks", Severity::Serious),
    (Subject::FuseVolts, "main feed", "volts", Severity::Serious),
    (Subject::FuseVolts, "array “roof”", "volts", Severity::Serious),
    (Subject::GroupBudget, "group “desk”", "every", Severity::Serious),
    (Subject::GroupBudget, "group “desk”", "one", Severity::Serious),
    (Subject::MainBudget, "all loads", "every", Severity::Serious),
    (Subject::SupplyBudget, "supply", "transmitting", Severity::Caution),
    (Subject::ChargingLeft, "supply", "left", Severity::Caution),
    (Subject::WindowLow, "load “voice set”", "lowest", Severity::Serious),
    (Subject::QuitsBelow, "load “voice set”", "quits", Severity::Caution),
    (Subject::WindowHigh, "load “voice set”", "highest", Severity::Serious),
    (Subject::ChargeCurrent, "battery", "charging", Severity::Serious),
    (Subject::BoardTrips, "controller “tracker”", "below", Severity::Caution),
    (Subject::BoardTrips, "charger", "below", Severity::Serious),
    (Subject::BoardTrips, "disconnect", "above", Severity::Caution),
    (Subject::ColdCharging, "battery", "stops at", Severity::Serious),
    (Subject::ColdOpenCircuit, "array “roof”", "open", Severity::Serious),
    (Subject::TouchVolts, "array “roof”", "touch", Severity::Caution),
    (Subject::ConverterCurrent, "load “inverter”", "watts", Severity::Caution),
    (Subject::ConverterIdle, "load “inverter”", "idle", Severity::Caution),
    (Subject::ReducedPower, "load “hf set”", "less power", Severity::Note),
];

fn bad() -> Value {
    serde_json::from_str(&text("tests/preflight/bad.json")).unwrap()
}

#[test]
fn every_fault_of_the_bad_station_is_found() {
    let found = findings(&bad());
    for (subject, item, what, severity) in FAULTS {
        let finding = one(&found, subject, item, what);
        assert_eq!(finding.severity, severity, "{finding:#?}");
        if severity <= Severity::Caution {
            assert!(finding.mend.is_some(), "{finding:#?}");
            let (value, limit) = (finding.value.unwrap(), finding.limit.unwrap());
            // Charging stops at a temperature below its bound: the bound is what is missed.
            assert!(finding.margin.unwrap() < 0.0, "{value} {limit}: {finding:#?}");
        }
    }
    assert!(Counts::of(&found).serious >= 20);
}

/// Its vented twin: no air, absorption too high, floats too high, charged too fast.
#[test]
fn the_faults_of_lead_acid_are_found_too() {
    let mut value = bad();
    super::support::merge(
        &mut value,
        &serde_json::json!({"battery": {"lithium_iron_phosphate": null, "lead_acid": {
            "kind": "flooded", "cells_in_series": 6, "capacities": [
                {"discharge_h": 20, "capacity_ah": 100}, {"discharge_h": 1, "capacity_ah": 60}],
            "resistance_ohm": 0.006, "rated_absorption_v": 14.1, "charge_limit_a": 25,
            "vent_opening_cm2": 5}}}),
    );
    let found = findings(&value);
    for (subject, item, what, severity) in [
        (Subject::Ventilation, "battery", "vent", Severity::Serious),
        (Subject::ChargeCurrent, "battery", "charging", Severity::Serious),
        (Subject::SetPoints, "charger", "for good", Severity::Caution),
        (Subject::SetPoints, "controller “tracker”", "bulk", Severity::Serious),
        (Subject::SetPoints, "controller “tracker”", "float", Severity::Caution),
    ] {
        assert_eq!(one(&found, subject, item, what).severity, severity);
    }
}
