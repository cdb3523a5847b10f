use super::{attempt, read};
use crate::scenario::json_path::JsonPath;

const HALL: &str = include_str!("../../../scenarios/hall-72h.json");

fn said(from: &str, to: &str) -> Vec<(String, String)> {
    assert!(HALL.contains(from), "{from}");
    let problems = attempt(&HALL.replacen(from, to, 1), "hall.json").problems;
    problems.into_iter().map(|problem| (problem.path, problem.text)).collect()
}

#[track_caller]
fn refused(from: &str, to: &str, path: &str, text: &str) {
    assert_eq!(said(from, to), [(path.to_owned(), text.to_owned())]);
}

#[test]
fn the_shipped_scenario_is_read() {
    let (scenario, spans) = read(HALL, "hall.json").unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(scenario.arrays["roof"].count, 4);
    let path = JsonPath::keys(&["loads", "hf set", "window_v"]).index(1);
    assert_eq!(&spans.text()[spans.place(&path).expect("a place").value], "15.8");
    assert_eq!(spans.path_of("loads.hf set.window_v[1]"), path);
    assert_eq!(spans.path_of(&path.to_string()), path);
    assert_eq!(spans.path_of("loads.hf set.nothing"), JsonPath::keys(&["loads", "hf set"]));
}

#[test]
fn keys() {
    refused("\"tilt_deg\"", "\"tilt\"", "arrays.roof.tilt", "`tilt` is not a key of `arrays.roof`");
    refused(
        "\"noct_c\": 45",
        "\"colour\": 45",
        "arrays.roof.colour",
        "`colour` is not a key of `arrays.roof`",
    );
    refused("      \"count\": 4,\n", "", "arrays.roof", "`count` is missing in `arrays.roof`");
    refused(
        "\"count\": 4",
        "\"count\": 4, \"count\": 5",
        "arrays.roof.count",
        "`count` stands twice in one object",
    );
    refused("\"roof\": {", "\"\": {", "arrays.\"\"", "a name is empty");
    refused(
        "\"roof\": {",
        "\"ro\\u0007of\": {",
        "arrays.\"ro\\u{7}of\"",
        "a name holds a control character",
    );
    refused(
        "{\"rated_w\": \"datasheet\"",
        "{\"rated\": \"datasheet\"",
        "arrays.roof.basis.rated",
        "`basis` speaks of `rated`, which `arrays.roof` does not have",
    );
}

#[test]
fn types() {
    refused(
        "\"count\": 4",
        "\"count\": \"4\"",
        "arrays.roof.count",
        "`count` must be a whole number",
    );
    refused(
        "\"count\": 4",
        "\"count\": 4.0",
        "arrays.roof.count",
        "`count` must be a whole number",
    );
    refused(
        "\"count\": 4",
        "\"count\": 4.5",
        "arrays.roof.count",
        "`count` must be a whole number",
    );
    refused("\"count\": 4", "\"count\": null", "arrays.roof.count", "`count` is `null`");
    refused(
        "\"controller\": \"roof tracker\"",
        "\"controller\": 1",
        "arrays.roof.controller",
        "`controller` must be text in double quotes",
    );
    refused(
        "\"on_air\": false",
        "\"on_air\": \"no\"",
        "tiers[3].on_air",
        "`on_air` must be true or false",
    );
    refused(
        "[11.7, 15.8]",
        "[11.7]",
        "loads.\"voice set\".window_v",
        "`window_v` must hold 2 values",
    );
    refused(
        "[11.7, 15.8]",
        "[\"11.7\", 15.8]",
        "loads.\"voice set\".window_v[0]",
        "value 1 of `window_v` must be a number",
    );
    refused(
        "[7, 7, 7, 8",
        "[7, \"7\", 7, 8",
        "sun.climate.air_swing_c[1]",
        "the February value of `air_swing_c` must be a number",
    );
    refused(
        "[0.6, 0.6, 0.4, 0.2",
        "[0.6, 0.4, 0.2",
        "site.ground_reflectance_share",
        "`ground_reflectance_share` must hold 12 values",
    );
    refused(
        "[0.6, 0.6, 0.4, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.4]",
        "\"snow\"",
        "site.ground_reflectance_share",
        "`ground_reflectance_share` must be a number or a list of 12 values, `[...]`",
    );
    assert_eq!(said("[0.6, 0.6, 0.4, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.4]", "0.2"), []);
}

#[test]
fn choices() {
    refused(
        "\"joins\": \"changeover\"",
        "\"joins\": \"parallel\"",
        "supply.joins",
        "`parallel` is not a choice for `joins`",
    );
    refused(
        "\"joins\": \"changeover\"",
        "\"joins\": 1",
        "supply.joins",
        "`joins` must be one of a few choices",
    );
    refused(
        "{\"supply\": \"never\"}",
        "{\"supply\": \"windows\"}",
        "strategies.\"solar only\".supply",
        "`windows` needs to be told more",
    );
    refused(
        "{\"supply\": \"never\"}",
        "{\"supply\": {\"never\": {}}}",
        "strategies.\"solar only\".supply",
        "`never` stands alone, without braces",
    );
    refused(
        "{\"supply\": \"never\"}",
        "{\"supply\": {}}",
        "strategies.\"solar only\".supply",
        "`supply` is empty",
    );
    refused(
        "\"mode\": \"voice_unprocessed\"",
        "\"mode\": \"speech\"",
        "loads.\"hf set\".draw.envelope.mode",
        "`speech` is not a choice for `mode`",
    );
    refused(
        "[\"mon\", \"wed\", \"fri\"]",
        "[\"mon\", \"Wed\", \"fri\"]",
        "windows.\"evening net\".days[1]",
        "`Wed` is not a choice for value 2 of `days`",
    );
    refused(
        "{\"fixed_offset\": \"-03:00\"}",
        "{\"fixed_offset\": \"-03:00\", \"zone\": \"UTC\"}",
        "site.clock.zone",
        "`clock` takes one choice only",
    );
    refused(
        "{\"power\": {\"power_w\": 9}}",
        "{\"power_w\": 9, \"idle_w\": 1}",
        "loads.lamps.draw",
        "`draw` lacks the word that says which kind it is",
    );
}

#[test]
fn ranges() {
    let out = |key: &str| format!("`{key}` is out of range");
    refused(
        "\"latitude_deg\": 45.0",
        "\"latitude_deg\": 90.1",
        "site.latitude_deg",
        &out("latitude_deg"),
    );
    refused(
        "\"azimuth_deg\": 180,\n",
        "\"azimuth_deg\": 360,\n",
        "arrays.roof.azimuth_deg",
        &out("azimuth_deg"),
    );
    refused(
        "\"lag_h\": 12",
        "\"lag_h\": 0",
        "battery.lithium_iron_phosphate.temperature.follows_air.lag_h",
        &out("lag_h"),
    );
    refused(
        "\"soiling\": 0.02",
        "\"soiling\": 2",
        "arrays.roof.loss_share.soiling",
        &out("soiling"),
    );
    refused("\"hours\": 72, \"step", "\"hours\": 1e99, \"step", "span.hours", &out("hours"));
    refused(
        "\"elevation_m\": 12",
        "\"elevation_m\": 1e999",
        "site.elevation_m",
        &out("elevation_m"),
    );
    refused("\"awg\": 4", "\"awg\": -4", "main_feed.wire.awg", &out("awg"));
    refused(
        "\"otherwise\": \"never\"",
        "\"otherwise\": {\"top_up\": {\"start_below_share\": 50, \"stop_above_share\": 0.9}}",
        "strategies.\"when warned\".supply.warned.otherwise.top_up.start_below_share",
        &out("start_below_share"),
    );
    assert_eq!(said("\"latitude_deg\": 45.0", "\"latitude_deg\": 90"), []);
}

#[test]
fn texts() {
    let date = |text: &str| {
        let to = format!("\"start\": \"{text}\"");
        said("\"start\": \"2027-01-18T18:00\"", &to)
            .into_iter()
            .map(|(path, _)| path)
            .collect::<Vec<_>>()
    };
    assert_eq!(date("2027-01-18T18:00"), Vec::<String>::new());
    for wrong in
        ["2027-01-18 18:00", "18.01.2027", "2027-02-29T18:00", "2027-01-18T18:00Z", "soon", ""]
    {
        assert_eq!(date(wrong), ["span.start"], "{wrong}");
    }
    refused(
        "{\"measured\": \"2026-09-12\"}",
        "{\"measured\": \"12 September\"}",
        "battery.lithium_iron_phosphate.basis.age_capacity_share.measured",
        "`measured` is not a date as it must be written",
    );
    refused(
        "\"title\": \"Gannet",
        "\"title\": \"\\u001b[31mGannet",
        "title",
        "`title` holds a control character",
    );
    assert_eq!(said("\"notes\": \"Invented", "\"notes\": \"Two\\nlines. Invented"), []);
}
