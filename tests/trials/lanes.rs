//! A trial is the same alone, in company, on any number of threads, and in replay.

use longwatch::simulate::single;
use longwatch::simulate::summary::summarise;
use longwatch::simulate::trials::{outcome_of, replay};
use serde_json::{Value, json};

use super::common::{all, prepared, shipped};
use super::support::merge;

/// Stations with everything that trials draw.
fn stations() -> Vec<(&'static str, Value)> {
    let hall = shipped("hall-72h");
    let with = |patch: Value| {
        let mut value = hall.clone();
        merge(&mut value, &patch);
        value
    };
    let exponential = |mean_h: f64| json!({"exponential": {"mean_h": mean_h}});
    vec![
        ("hall", hall.clone()),
        (
            "random grid, storms, snow",
            with(json!({
                "grid": {"outage": null, "random": {"up": exponential(60.0),
                    "down": {"weibull": {"shape": 0.6, "mean_h": 14.0}}}},
                "storm": {"coupled": {"lasts_days": 1.5, "clearness_multiplier": {"uniform": [0.1, 0.6]},
                    "snow_chance": 0.7}},
                "snow": {"cleared_after_h": 5}
            })),
        ),
        (
            "warned, uncertain",
            with(json!({
                "strategy": "when warned",
                "warning": {"chance": 0.6, "lead_time_h": 30, "shortest_lead_time_h": 4, "false_alarms_per_month": 3},
                "uncertain": {"load_multiplier": {"uniform": [0.7, 1.3]},
                    "capacity_multiplier": {"uniform": [0.6, 1.0]}, "array_multiplier": {"uniform": [0.5, 1.1]}}
            })),
        ),
        (
            "any hour of a winter",
            with(json!({"grid": {"outage": null, "outage_at_random":
                {"from": "2026-12-01", "to": "2027-01-05", "hours": 60}}})),
        ),
        ("half an hour off", with(json!({"site": {"clock": {"fixed_offset": "-03:30"}}}))),
        ("half hours", with(json!({"span": {"step_min": 30}, "strategy": "solar only"}))),
        ("switching controllers, engine", shipped("cold-node")),
        ("field weekend", shipped("field-weekend")),
        ("harbour", shipped("harbour-south")),
    ]
}

#[test]
fn a_trial_is_the_same_alone_and_in_company() {
    let mut failed = 0;
    for (name, station) in stations() {
        let prepared = prepared(&station, 11);
        let together = all(&prepared, 0..40, 1);
        for trial in [0, 1, 7, 8, 13, 39] {
            let alone = outcome_of(&prepared, trial);
            assert_eq!(format!("{alone:?}"), format!("{:?}", together[trial as usize]), "{name}");
        }
        failed += together.iter().filter(|it| it.cause.is_some()).count();
        let first = &together[0];
        assert!(together.iter().any(|it| it.charge_share != first.charge_share), "{name} draws");
    }
    assert!(failed > 10, "{failed}: trials that fail are compared too");
}

/// Charges to the bit; sums of a ledger are added up in another order: 1e-9 of the load.
#[test]
fn replay_goes_through_the_same_charges() {
    for (name, station) in stations() {
        let prepared = prepared(&station, 5);
        let together = all(&prepared, 0..12, 1);
        for trial in [0, 3, 11] {
            let plan = replay(&prepared, trial);
            let ledger = single::run(&plan);
            let summary = summarise(&plan, &ledger);
            let outcome = &together[trial as usize];
            let charges: Vec<f64> = ledger.rows.iter().map(|row| row.charge_end_share).collect();
            assert_eq!(charges, outcome.charge_share, "{name} {trial}");
            assert_eq!(ledger.rows[0].charge_start_share, outcome.start_charge_share);
            let close = |what: &str, ours: f64, theirs: f64| {
                let within = 1e-9 * (outcome.load_wh + 1.0);
                assert!((ours - theirs).abs() < within, "{name} {trial} {what}: {ours} {theirs}");
            };
            close("load", outcome.load_wh, summary.load_wh);
            close("served", outcome.served_wh, summary.served_wh);
            close("unserved", outcome.unserved_wh, summary.unserved_wh);
            close("shed", outcome.shed_wh, summary.shed_wh);
            close("plug", outcome.mains_plug_wh, summary.mains_plug_wh);
            close("fuel", outcome.fuel_l, summary.fuel_l);
            close("dark", outcome.no_power_h, summary.no_power_h);
            let silent = station["tiers"].as_array().unwrap().iter().zip(&outcome.tier_h);
            let silent = silent.filter(|(tier, _)| tier["on_air"] == json!(false));
            close("silent", silent.map(|(_, hours)| hours).sum(), summary.off_air_tier_h);
            close("lowest", outcome.lowest_charge_share, summary.lowest_charge_share);
            let origin = &summary.origin_wh;
            let theirs =
                [origin.sun, origin.mains, origin.generator, origin.vehicle, origin.stored_before];
            for (ours, theirs) in outcome.origin_wh.iter().zip(theirs) {
                close("origin", *ours, theirs);
            }
            for (ours, theirs) in outcome.tier_h.iter().zip(summary.tier_h.values()) {
                close("tier", *ours, *theirs);
            }
            let off = summary.first_no_power.or(summary.first_off_air_tier);
            assert_eq!(outcome.first_off_air_h.is_some(), off.is_some(), "{name}");
        }
    }
}

#[test]
fn threads_and_ranges_change_nothing() {
    for (name, station) in stations().into_iter().skip(1).take(3) {
        let prepared = prepared(&station, 3);
        let one = all(&prepared, 0..300, 1);
        assert_eq!(one.len(), 300);
        for threads in [2, 7] {
            let other = all(&prepared, 0..300, threads);
            assert!(
                one.iter().zip(&other).all(|(a, b)| format!("{a:?}") == format!("{b:?}")),
                "{name}"
            );
        }
        let mut parts = all(&prepared, 0..133, 2);
        parts.extend(all(&prepared, 133..300, 2));
        assert!(
            one.iter().zip(&parts).all(|(a, b)| format!("{a:?}") == format!("{b:?}")),
            "{name}"
        );
    }
}

/// A start that is moved by two days meets the same sky on the same dates.
#[test]
fn dates_keep_their_sky() {
    let mut early = shipped("hall-72h");
    merge(&mut early, &json!({"start": {"warmup_days": 3}}));
    let mut late = early.clone();
    late["span"]["start"] = json!("2027-01-19T18:00");
    for trial in 0..20 {
        let one = replay(&prepared(&early, 9), trial);
        let other = replay(&prepared(&late, 9), trial);
        let light = |plan: &longwatch::plan::Plan, from: usize| {
            plan.steps[from..from + 100].iter().map(|it| it.ghi_w_m2.unwrap()).collect::<Vec<_>>()
        };
        for (a, b) in light(&one, 24).iter().zip(light(&other, 0)) {
            assert!((a - b).abs() < 1e-4, "{a} {b}");
        }
    }
}
