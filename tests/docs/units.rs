//! The table of quantities in DEVELOPERS.md knows every unit that a key or a column ends with.

use std::collections::BTreeSet;

use longwatch::scenario::limits::{KEY_UNITS, limit_at, number_fields};
use longwatch::scenario::schema::schema;
use longwatch::show::columns;

use super::made::text;

/// The first column of the table of quantities.
fn suffixes() -> BTreeSet<String> {
    let document = text("DEVELOPERS.md");
    let section = document.split("## Quantities").nth(1).expect("a section Quantities");
    let section = section.split("\n## ").next().unwrap_or_default();
    let rows = section.lines().filter(|line| line.starts_with("| `"));
    let found: BTreeSet<String> = rows
        .flat_map(|line| {
            let first = line.split('|').nth(1).unwrap_or_default();
            first.split('`').skip(1).step_by(2).map(str::to_owned).collect::<Vec<_>>()
        })
        .collect();
    assert!(found.len() > 15, "{found:?}");
    found
}

/// The longest known ending of a key.
fn ending<'k>(key: &str, known: impl Iterator<Item = &'k str>) -> Option<&'k str> {
    known
        .filter(|end| key == *end || (end.starts_with('_') && key.ends_with(end)))
        .max_by_key(|end| end.len())
}

#[test]
fn every_unit_of_the_schema_stands_in_the_table_of_quantities() {
    let table = suffixes();
    let mut units = 0;
    for field in number_fields(schema()) {
        let key = field.path.trim_end_matches("[]").trim_end_matches(".*");
        let key = key.rsplit('.').next().unwrap_or_default();
        // Counts carry no unit; their name says all. That every number has a limit, and the limit
        // the unit of its key, is held where the limits are.
        let Some(limit) = limit_at(&field.path).filter(|limit| limit.unit != "1") else { continue };
        let end = ending(key, table.iter().map(String::as_str));
        assert!(end.is_some(), "`{key}` ({}) ends with no unit of the table", limit.unit);
        units += 1;
    }
    assert!(units > 60, "only {units} numbers with a unit");
    for (end, units) in KEY_UNITS {
        assert!(*units == ["1"] || table.contains(*end), "`{end}` is not in the table");
    }
}

#[test]
fn every_unit_of_the_ledger_stands_in_the_table_of_quantities() {
    let table = suffixes();
    for (name, unit, _) in columns::columns() {
        if unit.is_empty() || unit == "0 or 1" {
            continue;
        }
        let end = ending(name, table.iter().map(String::as_str));
        assert!(end.is_some(), "the column `{name}` ({unit}) ends with no unit of the table");
    }
}
