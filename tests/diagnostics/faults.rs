//! Each thing that the check of a station refuses, once: one change to the good scenario, one
//! problem, at that path, with that sentence.

use std::path::Path;

use longwatch::plan::check::examine;

use super::GOOD;

/// The good scenario with some of its text replaced.
pub fn changed(changes: &[(&str, &str)]) -> String {
    let mut text = GOOD.to_owned();
    for (from, to) in changes {
        assert_eq!(text.matches(from).count(), 1, "`{from}` must stand once in good.json");
        text = text.replace(from, to);
    }
    text
}

#[track_caller]
fn refused(changes: &[(&str, &str)], path: &str, said: &str) {
    let examined = examine(&changed(changes), "changed.json", Path::new("tests/bad"));
    let found: Vec<(&str, &str)> = examined
        .problems
        .list
        .iter()
        .map(|problem| (problem.path.as_str(), problem.text.as_str()))
        .collect();
    assert_eq!(found, [(path, said)], "{}", examined.problems);
}

#[test]
fn names_that_nothing_bears() {
    refused(
        &[(r#""controller": "tracker""#, r#""controller": "traker""#)],
        "arrays.roof.controller",
        "there is no controller called `traker`",
    );
    refused(
        &[(r#""when": "net""#, r#""when": "nets""#)],
        "tiers[1].loads.\"voice set\".when",
        "there is no window called `nets`",
    );
    refused(
        &[(r#""lamp": {}}}"#, r#""lamps": {}}}"#)],
        "tiers[0].loads.lamps",
        "there is no load called `lamps`",
    );
    refused(
        &[(r#"{"down_below"#, r#"{"tier_without_mains": "net", "down_below"#)],
        "shedding.tier_without_mains",
        "there is no tier called `net`",
    );
    refused(
        &[
            (
                r#"{"supply": "never"}"#,
                r#"{"supply": {"warned": {"hold_h": 24, "otherwise": {"windows": {"in": ["watch", "day"]}}}}}"#,
            ),
            ("  \"grid\"", "  \"warning\": {\"chance\": 1, \"lead_time_h\": 6},\n  \"grid\""),
        ],
        "strategies.\"solar only\".supply.warned.otherwise.windows.in[1]",
        "there is no window called `day`",
    );
    refused(
        &[("  \"grid\"", "  \"attended\": {\"in\": \"daytime\"},\n  \"grid\"")],
        "attended.in",
        "there is no window called `daytime`",
    );
    refused(
        &[(
            r#"{"outage": {"off": "2027-01-18T20:00", "hours": 40}}"#,
            r#"{"pattern": {"off_in": ["rota"]}}"#,
        )],
        "grid.pattern.off_in[0]",
        "there is no window called `rota`",
    );
}

#[test]
fn set_points_against_the_battery() {
    refused(
        &[(r#""absorption_v": 14.3"#, r#""absorption_v": 14.8"#)],
        "controllers.tracker.mppt.set_points.absorption_v",
        "controller `tracker` would charge with 14.8 V, more than the battery takes",
    );
    refused(
        &[(r#""absorption_v": 14.2, "float_v": 13.6, "tail_a": 4.0"#, r#""absorption_v": 9.5"#)],
        "supply.charger.set_points.absorption_v",
        "the charger can never charge the battery with 9.5 V",
    );
    // 3.65 V a cell itself is allowed.
    let text = changed(&[(r#""absorption_v": 14.3"#, r#""absorption_v": 14.6"#)]);
    assert_eq!(examine(&text, "changed.json", Path::new("")).problems.list, []);
}

#[test]
fn set_points_among_themselves() {
    refused(
        &[(r#""absorption_v": 14.3, "float_v": 13.6"#, r#""absorption_v": 14.3, "float_v": 14.4"#)],
        "controllers.tracker.mppt.set_points.float_v",
        "the float voltage is above the bulk voltage",
    );
    refused(
        &[(r#""tail_a": 2.0"#, r#""tail_a": 2.0, "recharge_below_v": 13.7"#)],
        "controllers.tracker.mppt.set_points.recharge_below_v",
        "bulk would begin again at once, on float",
    );
}

#[test]
fn devices_against_what_feeds_them() {
    refused(
        &[(r#""window_v": [11.0, 15.8]"#, r#""window_v": [11.0, 14.25]"#)],
        "controllers.tracker.mppt.set_points.absorption_v",
        "controller `tracker` holds 14.3 V, too much for `voice set`",
    );
    // The supply feeds its groups with its own volts.
    refused(
        &[(r#""rated_v": 13.8"#, r#""rated_v": 16.0"#)],
        "supply.rated_v",
        "the supply holds 16 V, too much for `voice set`",
    );
    refused(
        &[(r#""window_v": [11.0, 15.8]"#, r#""window_v": [22.0, 30.0]"#)],
        "loads.\"voice set\".window_v",
        "`voice set` can never work on this battery",
    );
    refused(
        &[(r#""window_v": [11.0, 15.8]"#, r#""window_v": [15.8, 11.0]"#)],
        "loads.\"voice set\".window_v",
        "a device window goes from the lowest volts to the highest",
    );
}

#[test]
fn the_disconnect() {
    let of = r#""disconnect_v": 11.8, "reconnect_v": 12.9"#;
    refused(
        &[(of, r#""disconnect_v": 12.9, "reconnect_v": 12.9"#)],
        "disconnect.reconnect_v",
        "the disconnect must close at higher volts than it opens at",
    );
    refused(
        &[(of, r#""disconnect_v": 9.9, "reconnect_v": 12.9"#)],
        "disconnect.disconnect_v",
        "the disconnect never opens: the battery is empty before that",
    );
    refused(
        &[(of, r#""disconnect_v": 13.5, "reconnect_v": 14.0"#)],
        "disconnect.disconnect_v",
        "the disconnect would cut the loads off from a full battery",
    );
    refused(
        &[(of, r#""disconnect_v": 11.8, "reconnect_v": 14.4"#)],
        "disconnect.reconnect_v",
        "once open, the disconnect never closes again: no source reaches its volts",
    );
}

#[test]
fn the_battery_by_itself() {
    let of = r#""discharge_limit_a": 100"#;
    let at = "battery.lithium_iron_phosphate";
    let with = |more: &str| format!("{of}, {more}");
    refused(
        &[(of, &with(r#""cell_cutoff_v": 2.9, "cell_reconnect_v": 2.8"#))],
        &format!("{at}.cell_reconnect_v"),
        "the BMS must close at higher volts than it opens at",
    );
    refused(
        &[(of, &with(r#""charge_inhibit": {"below_c": 2, "resume_above_c": 0}"#))],
        &format!("{at}.charge_inhibit.resume_above_c"),
        "charging must start again at a warmer temperature than it stops at",
    );
    refused(
        &[(
            of,
            &with(
                r#""usable_share_at_c": [{"cell_c": 20, "usable_share": 1}, {"cell_c": -20, "usable_share": 0.6}]"#,
            ),
        )],
        &format!("{at}.usable_share_at_c[1].cell_c"),
        "the points of `usable_share_at_c` must go from cold to warm",
    );
}

#[test]
fn time() {
    refused(
        &[(r#""hours": 48"#, r#""hours": 48, "step_min": 25"#)],
        "span.step_min",
        "an hour cannot be cut into steps of 25 min",
    );
    refused(
        &[(r#""start": "2027-01-18T18:00""#, r#""start": "1969-12-31T18:00""#)],
        "span.start",
        "the clock changes of 1969 are not known",
    );
    refused(
        &[("  \"sun\"", "  \"start\": {\"charge_share\": 0.9, \"warmup_days\": 30},\n  \"sun\"")],
        "start.warmup_days",
        "`start` gives both the charge and warm-up days that find it",
    );
    refused(
        &[(r#"{"zone": "America/Halifax"}"#, r#"{"fixed_offset": "-4"}"#)],
        "site.clock.fixed_offset",
        "`-4` is not a known offset from UTC",
    );
    refused(
        &[(r#""to": "20:30""#, r#""to": "20:30", "minutes": [30, 20]"#)],
        "windows.net.minutes",
        "window `net`: `minutes` cannot be [30, 20]",
    );
    refused(
        &[(r#"{"down_below"#, r#"{"decide_at": [], "down_below"#)],
        "shedding.decide_at",
        "nobody ever looks at the charge: `decide_at` is empty",
    );
}

#[test]
fn sun() {
    let climate = &GOOD[GOOD.find("{\n    \"climate\"").expect("there")
        ..GOOD.find(",\n  \"grid\"").expect("there")];
    refused(
        &[(climate, r#"{"profile": {"air_c": 5}}"#)],
        "sun.profile",
        "a profile needs its 24 hours",
    );
    refused(
        &[(climate, r#"{"profile": {"rated_share": [0, 0, 0.5, 0]}}"#)],
        "sun.profile.rated_share",
        "`rated_share` must hold 24 values, one an hour of standard time",
    );
    let share = "[0,0,0,0,0,0,0,0,0,0.1,0.2,0.3,0.3,0.2,0.1,0,0,0,0,0,0,0,0,0]";
    let day = "[0,0,0,0,0,0,0,0,0,100,200,300,300,200,100,0,0,0,0,0,0,0,0,0]";
    let both = format!(r#"{{"profile": {{"in_plane_w_m2": {day}, "rated_share": {share}}}}}"#);
    refused(&[(climate, &both)], "sun.profile.rated_share", "a profile is given one way, not two");
    refused(
        &[("[1.4, 2.3, 3.4", "[1.4, 2.3, 8.4")],
        "sun.climate.ghi_kwh_m2_day[2]",
        "no weather at latitude 45 gives this light in March",
    );
    refused(
        &[("[1.4, 2.3, 3.4", "[1.4, 2.3, 0.34")],
        "sun.climate.ghi_kwh_m2_day[2]",
        "no weather at latitude 45 gives this light in March",
    );
    let skyline = |points: &str| format!("\"elevation_m\": 3, \"horizon\": [{points}]");
    refused(
        &[(
            "\"elevation_m\": 3",
            &skyline(
                r#"{"azimuth_deg": 90, "height_deg": 3}, {"azimuth_deg": 45, "height_deg": 3}"#,
            ),
        )],
        "site.horizon[1].azimuth_deg",
        "the skyline must go round from north by east, point by point",
    );
    refused(
        &[(
            "\"elevation_m\": 3",
            &skyline(
                r#"{"azimuth_deg": 90, "height_deg": 3}, {"azimuth_deg": 90, "height_deg": 4}"#,
            ),
        )],
        "site.horizon[1].azimuth_deg",
        "the skyline has two heights at one azimuth",
    );
}

#[test]
fn loads_and_tiers() {
    let draw = r#"{"current": {"receive_a": 0.8, "transmit_a": 10.5}}"#;
    refused(
        &[(draw, r#"{"current": {"receive_a": 0.8}}"#)],
        "loads.\"voice set\".transmit_share",
        "`voice set` transmits, but its draw does not say with what current",
    );
    refused(
        &[(draw, r#"{"power": {"power_w": 20}}"#)],
        "loads.\"voice set\".transmit_share",
        "`voice set` transmits, but its draw does not say with what current",
    );
    refused(
        &[(r#""lamp": {}}}"#, r#""lamp": {"transmit_share": 0.2}}}"#)],
        "tiers[0].loads.lamp.transmit_share",
        "`lamp` transmits, but its draw does not say with what current",
    );
    refused(
        &[(r#""lamp": {}}}"#, r#""lamp": {"power_share": 0.2}}}"#)],
        "tiers[0].loads.lamp.power_share",
        "the power of `lamp` cannot be turned down",
    );
    refused(
        &[(
            draw,
            r#"{"envelope": {"receive_a": 1, "quiescent_a": 2, "full_a": 1.5, "mode": "carrier"}}"#,
        )],
        "loads.\"voice set\".draw.envelope.full_a",
        "full power takes less current than no power",
    );
    refused(
        &[(r#"{"name": "net only""#, r#"{"name": "all""#)],
        "tiers[1].name",
        "two tiers are called `all`",
    );
    refused(
        &[(r#"[0.3], "up_above_share": [0.5]"#, r#"[0.3], "up_above_share": [0.3]"#)],
        "shedding.up_above_share[0]",
        "tier `all` would come back at a charge at which it is given up",
    );
    refused(
        &[
            (
                r#"{"name": "net only","#,
                r#"{"name": "half", "loads": {"voice set": {}}}, {"name": "net only","#,
            ),
            (r#"[0.3], "up_above_share": [0.5]"#, r#"[0.3, 0.4], "up_above_share": [0.6, 0.5]"#),
        ],
        "shedding.down_below_share[1]",
        "the values of `down_below_share` must fall from tier to tier",
    );
    let tiers = &GOOD[GOOD.find("[\n    {\"name\": \"all\"").expect("there")
        ..GOOD.find(",\n  \"shedding\"").expect("there")];
    refused(&[(tiers, "[]")], "tiers", "the station has no tier");
}

/// Two sets of one operator: their shares count together only while both are on.
#[test]
fn an_operator_keys_one_set_at_a_time() {
    let second = |when: &str| {
        changed(&[
            (r#""transmit_share": 0.15"#, r#""transmit_share": 0.65"#),
            (
                "    \"lamp\": {\"group\"",
                &format!(
                    r#""hf set": {{"group": "desk", "operator": "A", "transmit_share": 0.5, "when": "{when}",
                    "draw": {{"current": {{"receive_a": 1, "transmit_a": 9}}}}}}, "lamp": {{"group""#
                ),
            ),
            (
                r#"{"name": "all", "loads": {"voice set": {}"#,
                r#"{"name": "all", "loads": {"hf set": {}, "voice set": {"when": "net"}"#,
            ),
            (r#""net": {"#, r#""noon": {"from": "12:00", "to": "13:00"}, "net": {"#),
        ])
    };
    let problems = |text: &str| examine(text, "changed.json", Path::new("")).problems;
    assert_eq!(problems(&second("noon")).list, [], "{}", problems(&second("noon")));
    let clash = problems(&second("watch"));
    assert_eq!(clash.list.len(), 1, "{clash}");
    assert_eq!(clash.list[0].text, "operator `A` would have to transmit on two radios at once");
}

#[test]
fn the_supply() {
    refused(
        &[(
            r#"{"supply": "never"}"#,
            r#"{"supply": {"warned": {"hold_h": 24, "otherwise": "never"}}}"#,
        )],
        "strategies.\"solar only\".supply.warned",
        "this strategy waits for warnings, but nobody warns",
    );
    refused(
        &[(
            r#"{"supply": "never"}"#,
            r#"{"supply": {"top_up": {"start_below_share": 0.9, "stop_above_share": 0.5}}}"#,
        )],
        "strategies.\"solar only\".supply.top_up.stop_above_share",
        "a top-up must stop at a higher charge than it starts at",
    );
    let charger = r#""joins": "changeover",
    "charger": {"limit_a": 15, "set_points": {"absorption_v": 14.2, "float_v": 13.6, "tail_a": 4.0}}"#;
    refused(
        &[(charger, r#""joins": "charger_only""#)],
        "supply.joins",
        "this supply does nothing: it only charges, and has no charger",
    );
}

/// An ideal battery takes any set point above its empty volts.
#[test]
fn an_ideal_battery_has_its_own_volts() {
    let cells = &GOOD[GOOD.find("\"lithium_iron_phosphate\"").expect("there")
        ..GOOD.find("\n  },\n  \"supply\"").expect("there")];
    let ideal = |empty: f64, full: f64| {
        format!(r#""ideal": {{"capacity_wh": 1000, "empty_v": {empty}, "full_v": {full}}}"#)
    };
    let text = changed(&[(cells, &ideal(11.0, 13.0))]);
    let problems = examine(&text, "changed.json", Path::new("")).problems;
    assert_eq!(problems.list, [], "{problems}");
    refused(
        &[
            (cells, &ideal(13.0, 11.0)),
            ("  \"disconnect\": {\"disconnect_v\": 11.8, \"reconnect_v\": 12.9},\n", ""),
        ],
        "battery.ideal.full_v",
        "a full battery cannot have fewer volts than an empty one",
    );
}

#[test]
fn cards_that_cannot_be_followed() {
    let thresholds = r#""shedding": {"down_below_share": [0.3], "up_above_share": [0.5]}"#;
    let with = |rows: &str, path: &str, said: &str| {
        let card = format!(r#""shedding": {{{rows}}}"#);
        refused(&[(thresholds, &card)], path, said);
    };
    with(
        r#""down_below_share": [0.3], "card": [{"at_least_share": [0.5]}]"#,
        "shedding.down_below_share",
        "the tier is decided one way, not two",
    );
    with(
        r#""card": [{"at_least_share": [0.5]}, {"at": "sunst", "at_least_share": [0.5]}]"#,
        "shedding.card[1].at",
        "nobody decides at `sunst`",
    );
    with(
        r#""card": [{"at_least_share": [0.5, 0.2]}]"#,
        "shedding.card[0].at_least_share",
        "a row of a card must hold one value fewer than there are tiers",
    );
    with(
        r#""decide_at": ["sunset", "start"], "card": [{"at": "sunset", "at_least_share": [0.5]}, {"at": "start", "from_h": 3, "at_least_share": [0.5]}]"#,
        "shedding.card",
        "no row of the card says what to do at `start`",
    );
}

#[test]
fn what_is_known_now_and_cannot_be() {
    refused(
        &[(
            r#""span": {"start": "2027-01-18T18:00", "hours": 48},"#,
            r#""span": {"start": "2027-01-18T18:00", "hours": 48}, "start": {"charge_between_share": [0.6, 0.5]},"#,
        )],
        "start.charge_between_share[1]",
        "the bounds of the charge are the wrong way round",
    );
    refused(
        &[(
            r#""span": {"start": "2027-01-18T18:00", "hours": 48},"#,
            r#""span": {"start": "2027-01-18T18:00", "hours": 48}, "start": {"charge_share": 0.5, "charge_between_share": [0.4, 0.5]},"#,
        )],
        "start.charge_share",
        "`start` says in two ways what the charge is",
    );
    refused(
        &[(
            r#""air_swing_c": [7, 7, 7, 8, 9, 9, 9, 9, 8, 7, 6, 6]"#,
            r#""air_swing_c": [7, 7, 7, 8, 9, 9, 9, 9, 8, 7, 6, 6], "outlook": {"from": "2027-01-18", "days": [{"sky": "clear"}, {"ghi_kwh_m2_day": 9}]}"#,
        )],
        "sun.climate.outlook.days[1].ghi_kwh_m2_day",
        "no weather gives this light on that day",
    );
}
