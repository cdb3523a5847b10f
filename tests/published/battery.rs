//! Battery, parallel sources, wires and duty against figures from outside the project.

use crate::support::{bench_with, plan_of, reached, run, table, text};
use longwatch::plan::Plan;
use longwatch::scenario::battery::LithiumIronPhosphate;
use longwatch::scenario::loads::{Mode, Wire};
use longwatch::simulate::single;
use longwatch::station::battery::lithium;
use longwatch::station::draw::envelope_moments;
use longwatch::station::wire;
use serde_json::{Value, json};

const PACK: &str =
    "PyBaMM 26.10 (BSD-3), porous-electrode model, parameter set Prada2013: 4s 45 Ah pack";
const CURVE: &str = "Sunil et al., IEEE Trans. Instrum. Meas. 2025: C/32 mean curve";
const EXAMPLES: &str = "tests/reference/battery/worked_examples.json";

fn example(id: &str) -> Value {
    let all: Vec<Value> = serde_json::from_str(&text(EXAMPLES)).unwrap();
    all.into_iter().find(|it| it["id"] == id).unwrap_or_else(|| panic!("no example {id}"))
}

/// Charging from empty to a tail current of 0.9 A: time, ampere-hours and watt-hours.
///
/// Tolerances of the source: another chemistry set stands behind it, hence 2 % of time, 2.5 % of
/// energy, 0.5 % of charge. The cell model alone is compared: no gap, no leads.
#[test]
fn pack_charge_follows_the_porous_electrode_model() {
    let (heads, rows) = table("tests/reference/battery/lfp_pack45Ah_charge_prada2013.csv");
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let (mut time, mut charge, mut energy) = (0.0_f64, 0.0_f64, 0.0_f64);
    let mut cases = 0;
    for row in rows.iter().filter(|row| row[0] == "prada") {
        let number = |name: &str| row[column(name)].parse::<f64>().unwrap();
        let mut plan = plan_of(&bench_with(&json!({
            "span": {"hours": 30, "step_min": 1}, "start": {"charge_share": 0.0},
            "arrays": {"a": {"rated_w": 1e4}},
            "controllers": {"a": {"mppt": {"output_limit_a": number("I_A"), "set_points":
                {"absorption_v": number("V_limit_pack"), "float_v": 10.0, "tail_a": 0.9}}}},
            "battery": {"ideal": null, "lithium_iron_phosphate": {"cells_in_series": 4,
                "capacity_ah": 45.0, "pack_resistance_ohm": 0.0, "charge_limit_a": 100,
                "discharge_limit_a": 100, "self_discharge_share_month": 0.0}},
            "loads": {"lamp": {"draw": {"power": {"power_w": 0}}}}
        })));
        plan.battery.half_gap_v = 0.0;
        let book = single::run(&plan);
        let charging = book.rows.iter().take_while(|row| row.charged_ah > 0.0);
        let (mut hours, mut ah, mut wh) = (0.0, 0.0, 0.0);
        for row in charging {
            hours += row.hours;
            ah += row.charged_ah;
            wh += row.sources[0].used_wh;
        }
        time = time.max((hours / number("t_total_h") - 1.0).abs());
        charge = charge.max((ah / number("Ah") - 1.0).abs());
        energy = energy.max((wh / number("Wh") - 1.0).abs());
        cases += 1;
    }
    assert!(cases >= 12, "only {cases} cases read");
    reached("battery", PACK, "time to a tail of 0.9 A", cases, time, 0.02, "of it");
    reached("battery", PACK, "charge taken", cases, charge, 0.005, "of it");
    reached("battery", PACK, "energy taken", cases, energy, 0.025, "of it");
}

/// The ten breakpoints against the 29 points of the same curve. The file itself says how far the
/// short form is off: 8 mV a cell between 10 and 98 %, 27 mV at 1 %.
#[test]
fn open_circuit_curve_follows_its_long_form() {
    let cells: LithiumIronPhosphate = serde_json::from_value(json!({"cells_in_series": 1,
        "capacity_ah": 1.0, "charge_limit_a": 1, "discharge_limit_a": 1}))
    .unwrap();
    let bank = lithium::bank(&cells);
    let (_, rows) = table("tests/reference/battery/lfp_ocv.csv");
    let (mut plateau, mut ends, mut on_plateau) = (0.0_f64, 0.0_f64, 0);
    for row in &rows {
        let (share, volts): (f64, f64) = (row[0].parse().unwrap(), row[1].parse().unwrap());
        let off = (bank.rest_v(share) - volts).abs();
        if (0.1..=0.98).contains(&share) {
            plateau = plateau.max(off);
            on_plateau += 1;
        } else {
            ends = ends.max(off);
        }
    }
    reached("battery", CURVE, "volts a cell, 10 to 98 %", on_plateau, plateau, 0.0082, "V");
    reached("battery", CURVE, "volts a cell, ends", rows.len() - on_plateau, ends, 0.0275, "V");
    let (_, nodes) = table("tests/reference/battery/lfp_ocv_breakpoints.csv");
    let off = nodes.iter().zip(lithium::CELL_CURVE).fold(0.0_f64, |worst, (row, node)| {
        let (share, volts): (f64, f64) = (row[0].parse().unwrap(), row[1].parse().unwrap());
        worst.max((share - node.0).abs()).max((volts - node.1).abs())
    });
    assert_eq!(nodes.len(), lithium::CELL_CURVE.len());
    reached("battery", CURVE, "ten breakpoints", nodes.len(), off, 0.0, "V or share");
}

/// A bench with two sources of stated limits and set points on a battery of level volts.
fn two_sources(battery_v: f64, ohm: f64, sources: [(f64, f64); 2], load_a: f64) -> Plan {
    let controller = |(limit_a, absorption_v): (f64, f64)| {
        json!({"mppt": {"efficiency_share": 1.0, "output_limit_a": limit_a,
            "set_points": {"absorption_v": absorption_v}}})
    };
    let array = |name: &str| json!({"rated_w": 1e5, "count": 1, "tilt_deg": 0, "azimuth_deg": 180, "controller": name});
    let mut plan = plan_of(&bench_with(&json!({
        "span": {"hours": 1}, "start": {"charge_share": 0.5},
        "arrays": {"a": array("a"), "b": array("b")},
        "controllers": {"a": controller(sources[0]), "b": controller(sources[1])},
        "battery": {"ideal": {"capacity_wh": 1e7, "empty_v": battery_v, "full_v": battery_v}},
        "loads": {"lamp": {"draw": {"power": null, "current": {"receive_a": load_a}}}}
    })));
    plan.battery.resistance_ohm = ohm;
    plan
}

/// Amperes of both sources, of the battery, and the volts.
fn currents(plan: &Plan) -> [f64; 4] {
    let row = &single::run(plan).rows[0];
    let volts = row.mean_v;
    [
        row.sources[0].used_wh / volts,
        row.sources[1].used_wh / volts,
        row.charged_ah - row.discharged_ah,
        volts,
    ]
}

/// Exact arithmetic on both sides: 1e-6 covers the huge battery that stands for a constant one.
#[test]
fn two_chargers_share_a_battery_by_their_set_points() {
    let source = "arithmetic of two current-limited sources, tests/reference/battery";
    let want = &example("two_chargers_one_battery")["expected"];
    let sources = [(4.0, 13.6), (6.0, 13.5)];
    let mut worst = 0.0_f64;
    let mut compare = |battery_v: f64, load_a: f64, want: [&Value; 3], battery: Option<&Value>| {
        let [a, b, into, volts] = currents(&two_sources(battery_v, 0.02, sources, load_a));
        for (ours, theirs) in [(a, want[0]), (b, want[1]), (volts, want[2])] {
            worst = worst.max((ours - theirs.as_f64().unwrap()).abs());
        }
        if let Some(theirs) = battery {
            worst = worst.max((into - theirs.as_f64().unwrap()).abs());
        }
    };
    let total = Some(&want["I_total"]);
    compare(13.4, 0.0, [&want["I_A"], &want["I_B"], &want["bus_V"]], total);
    let later = &want["then_E13p43"];
    compare(13.43, 0.0, [&later["I_A"], &later["I_B"], &later["V"]], None);
    let later = &want["then_E13p53"];
    compare(13.53, 0.0, [&later["I_A"], &later["I_B"], &later["V"]], None);
    let loaded = &example("two_chargers_with_load")["expected"];
    compare(13.4, 2.0, [&loaded["I_A"], &loaded["I_B"], &loaded["bus_V"]], Some(&loaded["I_batt"]));
    reached("bus", source, "amperes and volts, four cases", 4, worst, 1e-6, "A or V");
}

/// The lower of two supplies goes to constant volts, the higher one to constant current.
#[test]
fn two_supplies_share_a_load_as_the_handbook_says() {
    let want = &example("two_cvcc_supplies")["expected"];
    let plan = two_sources(30.0, 0.02, [(10.0, 30.1), (10.0, 30.0)], 15.0);
    let [high, low, _, volts] = currents(&plan);
    let off = |ours: f64, key: &str| (ours - want[key].as_f64().unwrap()).abs();
    let worst = off(high, "I_high").max(off(low, "I_low")).max(off(volts, "bus_V"));
    let source = "DC Power Supply Handbook, AN-90B, p. 95";
    reached("bus", source, "amperes and volts", 1, worst, 1e-6, "A or V");
}

/// In the steep end of a curve the tail charge is tau (I0 - Iend) in tau ln(I0 / Iend).
///
/// The curve is one straight line of 100 V a unit, so that its slope belongs to both sides alike.
#[test]
fn taper_is_the_closed_form() {
    let it = example("cccv_exponential_taper");
    let (tau_h, first_a, last_a) = (
        it["inputs"]["tau_h"].as_f64().unwrap(),
        it["inputs"]["I0"].as_f64().unwrap(),
        it["inputs"]["Iend"].as_f64().unwrap(),
    );
    let mut plan = plan_of(&bench_with(&json!({
        "span": {"hours": 1, "step_min": 1}, "start": {"charge_share": 0.1},
        "arrays": {"a": {"rated_w": 1e5}},
        "controllers": {"a": {"mppt": {"output_limit_a": first_a,
            "set_points": {"absorption_v": 60.0, "float_v": 1.0, "tail_a": last_a}}}},
        "battery": {"ideal": {"capacity_wh": 5000.0, "empty_v": 0.0, "full_v": 100.0}},
        "loads": {"lamp": {"draw": {"power": {"power_w": 0}}}}
    })));
    // R Q / m = tau: the resistance that gives the stated time constant. Start at the set point.
    plan.battery.resistance_ohm = tau_h * 100.0 / plan.battery.capacity_ah;
    plan.start_charge_share = (60.0 - first_a * plan.battery.resistance_ohm) / 100.0;
    let book = single::run(&plan);
    let charged_ah: f64 = book.rows.iter().map(|row| row.charged_ah).sum();
    let want_ah = it["expected"]["Q_cv_Ah"].as_f64().unwrap();
    let source = "closed form of a taper, tests/reference/battery";
    // The expected value is printed with four decimals.
    reached("battery", source, "charge of a taper", 1, (charged_ah - want_ah).abs(), 5e-5, "Ah");
    let want_h = it["expected"]["t_cv_h"].as_f64().unwrap();
    let last = book.rows.iter().take_while(|row| row.charged_ah > 0.0).count();
    assert!((last as f64 / 60.0 - want_h).abs() <= 1.0 / 60.0, "{last} min, {want_h} h");
}

#[test]
fn pack_arithmetic_holds() {
    let it = example("pack_energy");
    let number = |group: &str, key: &str| it[group][key].as_f64().unwrap();
    let cells: LithiumIronPhosphate = serde_json::from_value(json!({
        "cells_in_series": number("inputs", "series"), "strings": number("inputs", "parallel"),
        "capacity_ah": number("inputs", "cell_Ah"), "charge_limit_a": 1, "discharge_limit_a": 1}))
    .unwrap_or_else(|_| {
        serde_json::from_value(json!({"cells_in_series": 4, "strings": 3, "capacity_ah": 15.0,
            "charge_limit_a": 1, "discharge_limit_a": 1}))
        .unwrap()
    });
    let bank = lithium::bank(&cells);
    let worst = (bank.nominal_v - number("expected", "V"))
        .abs()
        .max((bank.capacity_ah - number("expected", "Ah")).abs())
        .max((bank.nominal_v * bank.capacity_ah - number("expected", "Wh")).abs());
    reached("battery", "arithmetic", "volts, Ah and Wh of 4s3p", 1, worst, 1e-9, "V, Ah or Wh");
}

/// Runtime of a keyed load from an ideal battery, and its loss in a resistance.
#[test]
fn duty_cycle_sets_runtime_and_loss() {
    let it = example("duty_cycle_runtime");
    let (inputs, expected) = (&it["inputs"], &it["expected"]);
    let number = |of: &Value, key: &str| of[key].as_f64().unwrap();
    let usable_wh = number(inputs, "Wh") * number(inputs, "usable");
    let (receive_w, transmit_w) = (number(inputs, "P_rx"), number(inputs, "P_tx"));
    let book = run(&bench_with(&json!({
        "span": {"hours": 60, "step_min": 1},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "battery": {"ideal": {"capacity_wh": usable_wh, "empty_v": 10.0, "full_v": 10.0,
            "discharge_efficiency_share": number(inputs, "eta")}},
        "loads": {"lamp": {"transmit_share": number(inputs, "d"), "draw": {"power": null,
            "current": {"receive_a": receive_w / 10.0, "transmit_a": transmit_w / 10.0}}}}
    })));
    let served_wh: f64 = book.rows.iter().map(|row| row.groups[0].served_wh).sum();
    let hours = served_wh / number(expected, "P_avg");
    let off = (hours - number(expected, "h")).abs();
    // The expected value is printed with five decimals.
    reached("loads", "arithmetic", "runtime of a 10 % duty", 1, off, 5e-6, "h");

    let it = example("duty_cycle_rms");
    let (inputs, expected) = (&it["inputs"], &it["expected"]);
    let mut plan = plan_of(&bench_with(&json!({
        "span": {"hours": 1},
        "sun": {"profile": {"rated_share": vec![0.0; 24]}},
        "loads": {"lamp": {"transmit_share": number(inputs, "d"), "draw": {"power": null,
            "current": {"receive_a": number(inputs, "I_rx"), "transmit_a": number(inputs, "I_tx")}}}}
    })));
    plan.battery.resistance_ohm = number(inputs, "R");
    let lost_wh = single::run(&plan).rows[0].losses.battery_resistance_wh;
    let off = (lost_wh - number(expected, "loss_true_W")).abs();
    reached("loads", "arithmetic", "loss of a 10 % duty", 1, off, 5e-6, "W");
}

/// Wire gauge, copper and a worked drop. Values of the formula are printed with five digits; NEC
/// stranded conductors lie 1.8 to 2.5 % above ideal copper, of which we take 2 %.
#[test]
fn wires_follow_the_gauge_and_the_copper_standard() {
    let it: Value =
        serde_json::from_str(&text("tests/reference/distribution/check_values.json")).unwrap();
    let mut worst = 0.0_f64;
    for (gauge, number) in [("36", 36), ("18", 18), ("12", 12), ("10", 10), ("4", 4), ("4/0", -3)] {
        let want = it["awg_diameter"]["checks"][gauge].as_f64().unwrap();
        worst = worst.max((wire::awg_diameter_mm(number) / want - 1.0).abs());
    }
    let source = "ASTM B258 gauge formula; textbook diameters";
    reached("wires", source, "diameter", 6, worst, 1e-4, "of it");

    let ohm_per_kft = wire::copper_ohm_per_m(wire::awg_area_mm2(10), 20.0) * 304.8;
    let want = it["resistance"]["R20_10AWG_ohm_per_kft"].as_f64().unwrap();
    let source = "IACS copper, NFPA 70 chapter 9 table 8 (secondary pages)";
    let off = (ohm_per_kft / want - 1.0).abs();
    reached("wires", source, "10 AWG at 20 deg C", 1, off, 1e-4, "of it");
    let warm = wire::copper_ohm_per_m(1.0, 75.0) / wire::copper_ohm_per_m(1.0, 20.0);
    let off = (warm - it["resistance"]["R75_factor"].as_f64().unwrap()).abs();
    reached("wires", source, "75 deg C over 20", 1, off, 1e-5, "");

    let (heads, rows) = table("tests/reference/distribution/awg_copper.csv");
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let (mut worst, mut cases) = (0.0_f64, 0);
    for row in &rows {
        let Ok(printed) = row[column("NEC_T8_75C_ohm_per_km")].parse::<f64>() else { continue };
        let gauge: i32 = row[column("n")].parse().unwrap();
        let lead: Wire =
            serde_json::from_value(json!({"awg": gauge, "one_way_m": 500.0, "conductor_c": 75.0}))
                .unwrap();
        worst = worst.max((wire::loop_ohm(&lead) / printed - 1.0).abs());
        cases += 1;
    }
    assert!(cases > 5);
    reached("wires", source, "stranded at 75 deg C", cases, worst, 0.006, "of it");

    let drop = |current_a: f64, metres: f64, gauge: i32, copper_c: f64| {
        2.0 * metres * wire::copper_ohm_per_m(wire::awg_area_mm2(gauge), copper_c) * current_a
    };
    let worst = [
        (drop(22.0, 3.0, 10, 20.0), "22A_3m_10AWG_20C"),
        (drop(11.0, 5.0, 12, 20.0), "11A_5m_12AWG_20C"),
        (drop(22.0, 3.0, 6, 50.0), "22A_3m_6AWG_50C"),
    ]
    .into_iter()
    .map(|(ours, key)| (ours - it["voltage_drop"][key].as_f64().unwrap()).abs())
    .fold(0.0, f64::max);
    reached("wires", "dV = 2 L R' I, worked", "drop", 3, worst, 1e-4, "V");
}

/// Upper root of a converter's current, none beyond the limit.
#[test]
fn converter_on_a_resistance_takes_the_upper_root() {
    let it: Value =
        serde_json::from_str(&text("tests/reference/distribution/check_values.json")).unwrap();
    let it = &it["constant_power_load"];
    let mut worst = 0.0_f64;
    for (watts, ohm, key) in
        [(66.667, 0.1, "12V_66.667W_0.1ohm"), (100.0, 0.25, "12V_100W_0.25ohm")]
    {
        let mut plan = plan_of(&bench_with(&json!({
            "span": {"hours": 1}, "sun": {"profile": {"rated_share": vec![0.0; 24]}},
            "battery": {"ideal": {"capacity_wh": 1e9, "empty_v": 12.0, "full_v": 12.0}},
            "loads": {"lamp": {"draw": {"power": {"power_w": watts}}}}
        })));
        plan.battery.resistance_ohm = ohm;
        let row = &single::run(&plan).rows[0];
        worst = worst.max((row.mean_v - it[key]["V"].as_f64().unwrap()).abs());
        worst = worst.max((row.discharged_ah - it[key]["I"].as_f64().unwrap()).abs());
    }
    let source = "V = (Vs + sqrt(Vs^2 - 4 P R)) / 2, worked";
    // Printed with four or five digits.
    reached("bus", source, "volts and amperes", 2, worst, 1e-4, "V or A");
}

/// RF duty and current factor. The current factors of speech are printed with two digits.
#[test]
fn transmitter_duty_follows_the_published_table() {
    let (heads, rows) = table("tests/reference/distribution/duty_factors.csv");
    let column = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let mut worst = 0.0_f64;
    for (mode, label) in [
        (Mode::VoiceUnprocessed, "SSB voice conversational, no processing"),
        (Mode::VoiceProcessed, "SSB voice conversational, heavy processing"),
        (Mode::Morse, "CW continuous text (word PARIS, 22 of 50 units key-down)"),
        (Mode::Carrier, "FM voice"),
    ] {
        let row = rows.iter().find(|row| row[0] == label).unwrap();
        let number = |name: &str| row[column(name)].parse::<f64>().unwrap();
        let (mean, mean_square) = envelope_moments(mode);
        worst = worst.max((mean_square - number("rf_avg_to_pep")).abs());
        worst = worst.max((mean - number("dc_current_factor_suggested")).abs());
    }
    let source = "FCC OET 65 Supplement B (1997), table 2 (via a quoting document)";
    reached("loads", source, "mean and mean square of the envelope", 4, worst, 0.005, "");

    let it: Value =
        serde_json::from_str(&text("tests/reference/distribution/check_values.json")).unwrap();
    let it = &it["linear_amp_current"];
    let envelope = |share: f64, transmit: f64| {
        run(&bench_with(&json!({
            "span": {"hours": 1}, "sun": {"profile": {"rated_share": vec![0.0; 24]}},
            "loads": {"lamp": {"transmit_share": transmit, "draw": {"power": null, "envelope":
                {"receive_a": 0.0, "quiescent_a": 2.0, "full_a": 21.0, "power_share": share,
                 "mode": "carrier"}}}}
        })))
        .rows[0]
            .discharged_ah
    };
    let off = (envelope(0.05, 1.0) - it["Iq2_Imax21_P5of100"].as_f64().unwrap()).abs();
    let source = "I = Iq + (Imax - Iq) sqrt(P / Pmax), worked";
    reached("loads", source, "current at 5 % of full power", 1, off, 5e-5, "A");
}
