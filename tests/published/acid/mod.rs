//! Lead-acid and what charges it: one file a kind of source.

mod fits;
mod kinetics;
mod sources;
mod switching;
mod tables;

use std::collections::HashMap;

use longwatch::plan::{Plan, Slice};
use longwatch::scenario::battery::LeadAcid;
use longwatch::simulate::phase::{Book, Phase};
use longwatch::station::battery::OneWell;
use longwatch::station::battery::acid;
use serde_json::{Value, json};

use crate::support::{merge, table, text};

/// A row of a reference table by column.
pub type Row = HashMap<String, String>;

/// Rows of a reference table by column.
pub fn rows(path: &str) -> Vec<Row> {
    let (heads, rows) = table(path);
    rows.into_iter().map(|row| heads.iter().cloned().zip(row).collect()).collect()
}

/// A number of a row.
pub fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column}: {:?}", row[column]))
}

/// A worked example of the battery file.
pub fn example(id: &str) -> Value {
    let all: Vec<Value> =
        serde_json::from_str(&text("tests/reference/battery/worked_examples.json")).unwrap();
    all.into_iter().find(|it| it["id"] == id).unwrap_or_else(|| panic!("no example {id}"))
}

/// A number within a JSON value.
pub fn float(value: &Value, path: &str) -> f64 {
    value.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} in {value}"))
}

/// A 12 V lead-acid block of 100 Ah with a patch.
pub fn block(patch: &Value) -> LeadAcid {
    let mut value = json!({"kind": "flooded", "cells_in_series": 6, "resistance_ohm": 0.006,
        "rated_absorption_v": 14.4, "capacities": [{"discharge_h": 20.0, "capacity_ah": 100.0},
            {"discharge_h": 1.0, "capacity_ah": 58.0}]});
    merge(&mut value, patch);
    serde_json::from_value(value).unwrap()
}

/// Its bank.
pub fn bank(patch: &Value) -> OneWell {
    acid::bank(&block(patch)).unwrap()
}

/// A book that takes nothing down.
pub struct NoBook;

impl Book<f64> for NoBook {
    fn phase(&mut self, _: &Plan, _: &Slice, _: &Phase<f64>) {}
    fn gave_up(&mut self, _: &Plan, slice: &Slice) {
        panic!("step {} was given up", slice.step);
    }
}
