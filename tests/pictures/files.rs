//! `ledger.csv` and `summary.json`: they hold what the book holds.

use std::collections::HashSet;

use longwatch::show::columns::{columns, header_words};
use longwatch::show::export::{ledger_csv, summary_json};

use super::invented::Station;

fn table(bytes: &[u8]) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::Reader::from_reader(bytes);
    let heads = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows = reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect();
    (heads, rows)
}

#[test]
fn the_ledger_file_holds_the_book() {
    let (ledger, summary) = Station::ten_days().walk();
    let (heads, rows) = table(&ledger_csv(&ledger).unwrap());
    assert_eq!(rows.len(), 960);
    let place = |name: &str| {
        heads.iter().position(|h| h == name).unwrap_or_else(|| panic!("{name} in {heads:?}"))
    };
    let sum_wh = |name: &str| -> f64 {
        let column = place(name);
        rows.iter().map(|row| row[column].parse::<f64>().unwrap() * 0.25).sum()
    };
    // Written to a microwatt: 960 steps of a quarter hour err by at most 0.12 mWh.
    let near = |a: f64, b: f64| assert!((a - b).abs() < 2e-4, "{a} against {b}");
    near(sum_wh("served_w"), summary.served_wh);
    near(sum_wh("desk_served_w") + sum_wh("house_served_w"), summary.served_wh);
    near(sum_wh("shed_w"), summary.shed_wh);
    near(sum_wh("stored_change_w"), summary.stored_change_wh);
    let sun: f64 =
        ["roof_east", "roof_west", "shed", "lawn", "wall_with_a_rather_long_name", "van"]
            .iter()
            .map(|word| sum_wh(&format!("{word}_used_w")))
            .sum();
    near(sun, summary.solar_used_wh);
    assert_eq!(rows[0][place("start_utc")], "2027-03-11T12:00:00Z");
    assert_eq!(rows[0][place("start_local")], "2027-03-11T09:00:00-03:00");
    // Summer time from day 73: the offset changes, the instants go on.
    assert_eq!(rows[959][place("start_local")], "2027-03-21T09:45:00-02:00");
    assert_eq!(rows[0][place("tier")], "full traffic");
    let charge: f64 = rows[959][place("charge_share")].parse().unwrap();
    assert!((charge - summary.end_charge_share).abs() <= 1e-9);
}

#[test]
fn every_head_is_one_word_with_its_unit_and_explained_once() {
    let (mut ledger, _) = Station::january().walk();
    for (source, name) in ledger.heads.sources.iter_mut().zip(["Roof Süd!", "roof s d", "mains"]) {
        source.name = name.to_owned();
    }
    ledger.heads.groups = vec!["海".to_owned(), "group".to_owned()];
    let (heads, rows) = table(&ledger_csv(&ledger).unwrap());
    assert_eq!(heads.iter().collect::<HashSet<_>>().len(), heads.len());
    assert!(heads.iter().all(|head| {
        head.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
    }));
    assert!(
        heads.contains(&"roof_s_d_used_w".to_owned())
            && heads.contains(&"roof_s_d_2_used_w".to_owned())
    );
    assert!(
        heads.contains(&"group_load_w".to_owned()) && heads.contains(&"group_2_load_w".to_owned())
    );
    assert!(rows.iter().all(|row| row.len() == heads.len()));

    let explained = columns();
    let per_source = explained.iter().filter(|(name, ..)| name.starts_with("<source>")).count();
    let per_group = explained.iter().filter(|(name, ..)| name.starts_with("<group>")).count();
    assert_eq!(heads.len(), explained.len() + per_source * 2 + per_group);
    for (name, unit, meaning) in explained {
        assert!(!meaning.is_empty());
        let ending = match unit {
            "W" => "_w",
            "Wh" => "_wh",
            "V" => "_v",
            "A" => "_a",
            "Ah" => "_ah",
            "h" => "_h",
            "deg C" => "_c",
            "0..1" => "_share",
            "W/m2" => "_w_m2",
            _ => "",
        };
        assert!(name.ends_with(ending), "{name} is in {unit}");
    }
}

#[test]
fn header_words_are_safe_and_differ() {
    assert_eq!(
        header_words(&["A b", "a-b", "", "é"], "source"),
        ["a_b", "a_b_2", "source", "source_2"]
    );
    assert_eq!(header_words(&["a_2", "a", "a"], "source"), ["a_2", "a", "a_3"]);
}

#[test]
fn cells_that_are_not_numbers_are_empty() {
    let (mut ledger, _) = Station::january().walk();
    ledger.rows[3].mean_v = f64::NAN;
    ledger.rows[3].hours = 0.0;
    ledger.rows[3].residual_wh = f64::INFINITY;
    ledger.rows[4].ghi_w_m2 = None;
    ledger.heads.tiers.clear();
    let bytes = ledger_csv(&ledger).unwrap();
    let text = String::from_utf8(bytes).unwrap();
    assert!(!text.contains("NaN") && !text.contains("inf"));
    assert_eq!(text.lines().count(), 73);
}

#[test]
fn the_summary_file_is_json_that_people_can_read() {
    let (_, summary) = Station::january().walk();
    let text = summary_json(&summary).unwrap();
    assert!(text.ends_with("}\n") && text.contains("\n  \"served_wh\": "));
    let read: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(read["served_wh"].as_f64(), Some(summary.served_wh));
    assert_eq!(read["hours_to_full_after"], serde_json::Value::Null);
}
