//! Every number that a schema knows, and what the end of its key says about its unit.

use serde_json::Value;

/// What the end of a key says about its unit, with the units it may stand for. The longest ending
/// counts. A key that is a bare ending (`w`, `hours`) counts too.
pub const KEY_UNITS: &[(&str, &[&str])] = &[
    ("_kwh_m2_day", &["kWh/m2"]),
    ("_per_kwh", &["1/kWh"]),
    ("_share_month", &["share/month"]),
    ("_w_m2", &["W/m2"]),
    ("_v_per_k_cell", &["V/K"]),
    ("_v_per_k", &["V/K"]),
    ("_share_per_300_m", &["share"]),
    ("_share_per_h", &["share/h"]),
    ("_per_h", &["1/h"]),
    ("_per_c", &["share/K"]),
    ("_share", &["share"]),
    ("_days", &["day"]),
    ("_deg", &["deg"]),
    ("_ohm", &["ohm"]),
    ("_min", &["min"]),
    ("_kg", &["kg"]),
    ("_ah", &["Ah"]),
    ("_wh", &["Wh"]),
    ("_l_h", &["l/h"]),
    ("_l", &["l"]),
    ("_a", &["A"]),
    ("_c", &["deg C", "K"]),
    ("_h", &["h"]),
    ("_m", &["m"]),
    ("_s", &["s"]),
    ("_v", &["V"]),
    ("_w", &["W"]),
    ("w", &["W"]),
    ("mm2", &["mm2"]),
    ("_cm2", &["cm2"]),
    ("bundled", &["1"]),
    ("awg", &["AWG"]),
    ("hours", &["h"]),
    ("minutes", &["min"]),
    ("year", &["year"]),
    ("_chance", &["share"]),
    ("chance", &["share"]),
    ("_per_month", &["1/month"]),
    ("_correlation", &["1"]),
    ("persistence", &["1"]),
    ("shape", &["1"]),
    ("_sd", &["1"]),
    ("fixed", &["1"]),
    ("uniform", &["1"]),
    ("format", &["1"]),
    ("count", &["1"]),
    ("counts", &["1"]),
    ("price", &["money"]),
    ("rows_up_slope", &["1"]),
    ("strings", &["1"]),
    ("connectors", &["1"]),
    ("in_series", &["1"]),
    ("cells_in_series", &["1"]),
];

/// A number of the schema: where it stands in the schema and in a scenario.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NumberField {
    /// JSON pointer into the schema.
    pub pointer: String,
    /// Place in a scenario, written as [`super::Limit::path`].
    pub path: String,
}

/// Every number that the schema knows, each place of use once.
#[must_use]
pub fn number_fields(schema: &Value) -> Vec<NumberField> {
    let mut walk = Walk {
        schema,
        pointer: String::new(),
        path: String::new(),
        inside: Vec::new(),
        found: Vec::new(),
    };
    walk.node(schema);
    walk.found
}

/// Where the walk through a schema stands. The node goes along with its pointer, so that none has
/// to be looked up from the top.
struct Walk<'a> {
    schema: &'a Value,
    pointer: String,
    path: String,
    /// References that the walk is inside of: a type may hold itself.
    inside: Vec<&'a str>,
    found: Vec<NumberField>,
}

impl<'a> Walk<'a> {
    fn node(&mut self, node: &'a Value) {
        if let Some(target) = node.get("$ref").and_then(Value::as_str) {
            let target = target.trim_start_matches('#');
            if let Some(there) = self.schema.pointer(target)
                && !self.inside.contains(&target)
            {
                self.inside.push(target);
                let from = std::mem::replace(&mut self.pointer, target.to_owned());
                self.node(there);
                self.pointer = from;
                self.inside.pop();
            }
        }
        if matches!(node.get("type").and_then(Value::as_str), Some("number" | "integer")) {
            let (pointer, path) = (self.pointer.clone(), self.path.clone());
            self.found.push(NumberField { pointer, path });
        }
        let keys = node.get("properties").and_then(Value::as_object);
        for (name, inner) in keys.into_iter().flatten() {
            let dot = if self.path.is_empty() { "" } else { "." };
            self.below(&["/properties/", name], &[dot, name], inner);
        }
        if let Some(inner) = node.get("additionalProperties").filter(|inner| inner.is_object()) {
            self.below(&["/additionalProperties"], &[".*"], inner);
        }
        if let Some(inner) = node.get("items") {
            self.below(&["/items"], &["[]"], inner);
        }
        for branch in ["oneOf", "anyOf"] {
            let branches = node.get(branch).and_then(Value::as_array);
            for (index, inner) in branches.into_iter().flatten().enumerate() {
                self.below(&["/", branch, "/", &index.to_string()], &[], inner);
            }
        }
    }

    /// Goes on to a node below, whose pointer and path are longer by some words.
    fn below(&mut self, pointer: &[&str], path: &[&str], inner: &'a Value) {
        let (pointer_end, path_end) = (self.pointer.len(), self.path.len());
        self.pointer.extend(pointer.iter().copied());
        self.path.extend(path.iter().copied());
        self.node(inner);
        self.pointer.truncate(pointer_end);
        self.path.truncate(path_end);
    }
}
