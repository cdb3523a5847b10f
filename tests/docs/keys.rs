//! Every key of a scenario, from its schema.

use std::collections::HashMap;

use longwatch::scenario::limits::{CLUB_LIMITS, LIMITS, Limit, limit_among, number_fields};
use longwatch::scenario::schema::{club_schema, schema};
use serde_json::Value;

use super::made::markdown;

/// The table of keys: path, unit and range, what is meant.
pub fn table() -> String {
    table_of(schema(), LIMITS, 120)
}

/// The same of a club.
pub fn club_table() -> String {
    table_of(club_schema(), CLUB_LIMITS, 40)
}

fn table_of(schema: &'static Value, limits: &'static [Limit], least: usize) -> String {
    let mut walk = Walk { schema, limits, rows: Vec::new(), shown: HashMap::new() };
    walk.object(schema, "");
    assert!(walk.rows.len() > least, "only {} keys", walk.rows.len());
    markdown(&["key", "unit and range", "meaning"], &walk.rows)
}

struct Walk {
    schema: &'static Value,
    limits: &'static [Limit],
    rows: Vec<Vec<String>>,
    /// Types that stand in the table already, with the path under which they do.
    shown: HashMap<String, String>,
}

impl Walk {
    /// Rows of the properties of an object.
    fn object(&mut self, node: &Value, path: &str) {
        let required: Vec<&str> = node["required"]
            .as_array()
            .map(|all| all.iter().filter_map(Value::as_str).collect())
            .unwrap_or_default();
        let Some(properties) = node["properties"].as_object() else { return };
        for (key, property) in properties {
            if matches!(key.as_str(), "notes" | "basis") {
                continue;
            }
            let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
            self.property(property, &path, required.contains(&key.as_str()));
        }
    }

    fn property(&mut self, property: &Value, path: &str, required: bool) {
        let node = self.target(property);
        let text = |of: &Value| of["description"].as_str().unwrap_or_default().to_owned();
        let said = if text(property).is_empty() { text(node) } else { text(property) };
        let mut facts = self.facts(property, node, path);
        if !required && !facts.contains("if left out") {
            facts = format!("{facts}{}may be left out", if facts.is_empty() { "" } else { "; " });
        }
        let type_name = property["$ref"].as_str().or(property["anyOf"][0]["$ref"].as_str());
        if let Some(earlier) = type_name.and_then(|name| self.shown.get(name)) {
            let as_there = format!("{said} As `{earlier}`.");
            self.rows.push(vec![format!("`{path}`"), facts, as_there]);
            return;
        }
        self.rows.push(vec![format!("`{path}`"), facts, said]);
        if let Some(name) = type_name {
            self.shown.insert(name.to_owned(), path.to_owned());
        }
        self.inside(node, path);
    }

    /// What stands below a node.
    fn inside(&mut self, node: &Value, path: &str) {
        if node["properties"].is_object() {
            self.object(node, path);
        }
        for (below, mark) in [("additionalProperties", ".*"), ("items", "[]")] {
            if node[below].is_object() {
                let inner = self.target(&node[below]);
                if let Some(name) = node[below]["$ref"].as_str() {
                    if self.shown.contains_key(name) {
                        continue;
                    }
                    self.shown.insert(name.to_owned(), format!("{path}{mark}"));
                }
                self.inside(inner, &format!("{path}{mark}"));
            }
        }
        // One of several forms: an object with keys, or a word.
        for branch in node["anyOf"].as_array().into_iter().flatten() {
            let inner = self.target(branch);
            self.inside(inner, path);
        }
        for branch in node["oneOf"].as_array().into_iter().flatten() {
            let said = branch["description"].as_str().unwrap_or_default();
            if let Some(word) = branch["const"].as_str() {
                self.rows.push(vec![
                    format!("`{path}: \"{word}\"`"),
                    String::new(),
                    said.to_owned(),
                ]);
            }
            for (key, property) in branch["properties"].as_object().into_iter().flatten() {
                let path = format!("{path}.{key}");
                let inner = self.target(property);
                self.rows.push(vec![
                    format!("`{path}`"),
                    self.facts(property, inner, &path),
                    said.to_owned(),
                ]);
                match property["$ref"].as_str() {
                    Some(name) if self.shown.contains_key(name) => {}
                    Some(name) => {
                        self.shown.insert(name.to_owned(), path.clone());
                        self.inside(inner, &path);
                    }
                    None => self.inside(inner, &path),
                }
            }
        }
    }
}

impl Walk {
    /// The node that a reference means; the only branch that is no `null`.
    fn target<'n>(&self, node: &'n Value) -> &'n Value
    where
        'static: 'n,
    {
        let node = match node["anyOf"].as_array().map(Vec::as_slice) {
            Some([only]) => only,
            _ => node,
        };
        match node["$ref"].as_str() {
            Some(name) => self.schema.pointer(name.trim_start_matches('#')).unwrap_or(node),
            None => node,
        }
    }

    /// Unit, range, default.
    fn facts(&self, property: &Value, node: &Value, path: &str) -> String {
        let places = [path.to_owned(), format!("{path}[]"), format!("{path}.*")];
        let limit = places.iter().find_map(|path| limit_among(self.limits, path));
        longwatch::guide::keys::facts(limit, property, node)
    }
}

/// The table has a row for every number of the schema.
#[test]
fn every_number_of_the_schema_has_a_row() {
    has_a_row(schema(), &table());
    has_a_row(club_schema(), &club_table());
}

fn has_a_row(schema: &'static Value, table: &str) {
    let mut missing = 0;
    for field in number_fields(schema) {
        let path = field.path.trim_end_matches("[]").trim_end_matches(".*").to_owned();
        let last = path.rsplit('.').next().unwrap_or_default();
        // A type used twice is shown once.
        let there = table.contains(&format!("`{path}`")) || table.contains(&format!(".{last}`"));
        missing += usize::from(!there);
        assert!(there, "no row for `{path}`");
    }
    assert_eq!(missing, 0);
}
