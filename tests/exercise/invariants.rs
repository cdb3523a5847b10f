//! What holds in every trial of every club.

use longwatch::simulate::trials::club::{Place, club_outcome, replay_club, run_club};
use longwatch::simulate::trials::{
    Gather, Options, Outcome, Watch, outcome_of, prepare, run_trials,
};
use serde_json::{Value, json};

use super::clubs::{folder, lamps, prepared, weekend, with};

/// A club of one station from a file.
fn club_of_one(file: &str, scenario: &Value) -> Value {
    let mut common = serde_json::Map::new();
    for key in ["site", "span", "sun", "grid"] {
        common.insert(key.to_owned(), scenario[key].clone());
    }
    json!({"format": 2, "title": "one", "common": common,
        "stations": {"it": {"from": {"file": file}}}})
}

fn shipped(name: &str) -> Value {
    let text = std::fs::read_to_string(folder().join(format!("{name}.json"))).unwrap();
    serde_json::from_str(&text).unwrap()
}

#[derive(Default)]
struct All(Vec<Outcome>);

impl Gather for All {
    fn trial(&mut self, outcome: &Outcome) {
        self.0.push(outcome.clone());
    }

    fn join(&mut self, later: Self) {
        self.0.extend(later.0);
    }
}

/// One station, no swaps: the club comes to what `odds` comes to, to the bit. Stations with settling days,
/// outages drawn and forced, warnings, storms, a generator, a vehicle, lead-acid, and the cold.
#[test]
fn one_station_without_swaps_is_the_same_to_the_bit_as_trials_of_it() {
    for name in ["hall-72h", "field-weekend", "cold-node", "harbour-south"] {
        let scenario = shipped(name);
        let club = club_of_one(&format!("{name}.json"), &scenario);
        let (_, plan) = prepared(&club, 7);
        let own = serde_json::from_value(scenario).unwrap();
        let options = Options { seed: 7, ..Options::default() };
        let alone = prepare(&own, &folder(), Vec::new(), options).unwrap();
        // Side by side in lanes, as `odds` runs them.
        let (many, _) = run_trials(&alone, 0..40, 2, All::default, &Watch::default()).unwrap();
        for (trial, together) in (0..).zip(&many.0) {
            let (outcome, _) = club_outcome(&plan, trial);
            assert_eq!(outcome.stations[0], *together, "{name}, trial {trial}");
            assert_eq!(outcome.stations[0], outcome_of(&alone, trial), "{name}, trial {trial}");
            assert!(outcome.came[0] && outcome.swaps.is_empty());
            assert_eq!(outcome.first_down_h.is_none(), together.first_off_air_h.is_none());
        }
    }
}

/// A pack that nobody swaps is a battery like any other.
#[test]
fn one_station_on_a_pack_is_the_same_as_on_a_battery_of_its_own() {
    let scenario = shipped("hall-72h");
    let mut club = club_of_one("hall-72h.json", &scenario);
    club["packs"] =
        json!({"battery": scenario["battery"], "each": {"p": {"at": "it", "charge_share": 0.8}}});
    // A pack is one string; its charge is the start.
    let battery = json!({"lithium_iron_phosphate": {"cells_in_series": 4, "capacity_ah": 100,
        "charge_limit_a": 50, "discharge_limit_a": 100}});
    club["packs"]["battery"] = battery.clone();
    club["stations"]["it"]["patch"] = json!({"battery": null, "start": null});
    let (good, plan) = prepared(&club, 3);
    let own = &good.stations[0].scenario;
    assert_eq!(own.start.charge_share, Some(0.8));
    let options = Options { seed: 3, ..Options::default() };
    let alone = prepare(own, &folder(), Vec::new(), options).unwrap();
    for trial in 0..20 {
        let (outcome, _) = club_outcome(&plan, trial);
        assert_eq!(outcome.stations[0], outcome_of(&alone, trial), "trial {trial}");
    }
}

#[test]
fn outcomes_do_not_depend_on_the_number_of_threads() {
    let (_, plan) = prepared(&weekend(), 5);
    let run = |threads| {
        let mut all = Vec::new();
        let watch = Watch::default();
        run_club(&plan, 0..30, threads, &watch, |outcome| all.push(outcome.clone())).unwrap();
        all
    };
    let one = run(1);
    assert_eq!(one.len(), 30);
    assert!(one == run(2) && one == run(7));
    // And any trial by itself is what it was in company.
    assert!(one[11] == club_outcome(&plan, 11).0);
}

/// Clubs in which much happens.
fn busy() -> Vec<Value> {
    let patch = json!({"stations": {
        "camp": {"swap": {"below_share": 0.55, "spare_above_share": 0.6, "carry_min": 10}},
        "lighthouse": {"swap": {"below_share": 0.7, "spare_above_share": 0.75}}}});
    let acid = json!({"packs": {"battery": {"lithium_iron_phosphate": null, "lead_acid": {
        "kind": "agm", "cells_in_series": 6,
        "capacities": [{"discharge_h": 20, "capacity_ah": 55}, {"discharge_h": 5, "capacity_ah": 46},
            {"discharge_h": 1, "capacity_ah": 33}],
        "resistance_ohm": 0.012, "rated_absorption_v": 14.4}}},
        "common": {"disconnect": {"disconnect_v": 11.5, "reconnect_v": 12.5}}});
    vec![weekend(), with(weekend(), &patch), with(weekend(), &acid), lamps()]
}

/// Books of every station and of the charging point close in every step, with swaps, and what comes out of
/// one place goes into the next: the energy in packs and stations is neither made nor lost.
#[test]
fn energy_is_conserved_across_packs_and_stations() {
    let mut swaps = 0;
    for (which, club) in busy().iter().enumerate() {
        let (_, plan) = prepared(club, 11);
        for trial in 0..6 {
            let (outcome, record, stations) = replay_club(&plan, trial);
            swaps += outcome.swaps.len();
            let mut served_wh = 0.0;
            for station in &stations {
                let at = plan.stations.iter().position(|it| it.name == station.name);
                for (row, step) in station.rows.iter().zip(&station.steps) {
                    let through: f64 = row.sources.iter().map(|it| it.used_wh).sum::<f64>()
                        + row.groups.iter().map(|it| it.served_wh).sum::<f64>();
                    assert!(
                        row.residual_wh.abs() <= 1e-9 * (through + row.stored_start_wh + 1.0),
                        "club {which}, trial {trial}, {}, step {step}: {}",
                        station.name,
                        row.residual_wh
                    );
                    // The same charges as in the trial, to the bit.
                    let pack = record.steps[*step].packs.iter().find(|(place, _)| match at {
                        Some(at) => *place == Some(Place::Station(at)),
                        None => *place == Some(Place::Point),
                    });
                    match (pack, at) {
                        (Some((_, charge)), _) => {
                            assert_eq!(row.charge_end_share.to_bits(), charge.to_bits());
                        }
                        (None, Some(at)) => {
                            let charge = record.steps[*step].stations[at];
                            assert_eq!(row.charge_end_share.to_bits(), charge.to_bits());
                        }
                        (None, None) => panic!("nothing was on the charging point"),
                    }
                }
                if let Some(at) = at {
                    served_wh += outcome.stations[at].served_wh;
                    let served: f64 = station
                        .rows
                        .iter()
                        .flat_map(|row| &row.groups)
                        .map(|it| it.served_wh)
                        .sum();
                    assert!(
                        (served - outcome.stations[at].served_wh).abs() < 1e-6 * (1.0 + served)
                    );
                }
            }
            // What was served came from the sources and from what was stored before.
            let origin: f64 = outcome.stations.iter().flat_map(|it| it.origin_wh).sum();
            assert!((origin - served_wh).abs() < 1e-6 * (1.0 + served_wh), "{origin} {served_wh}");
        }
    }
    assert!(swaps > 40, "only {swaps} swaps: the clubs are not busy");
}

/// Every pack is in one place, no place holds two, and its charge goes with it.
#[test]
fn a_pack_is_in_one_place_at_a_time() {
    let mut moves = 0;
    for club in busy() {
        let (_, plan) = prepared(&club, 2);
        for trial in 0..8 {
            let (outcome, record) = club_outcome(&plan, trial);
            let mut before: Vec<f64> = plan.packs.iter().map(|it| it.charge_share).collect();
            let mut was: Vec<Option<Place>> = vec![None; before.len()];
            for step in &record.steps {
                let here =
                    |place: Place| step.packs.iter().filter(|it| it.0 == Some(place)).count();
                for at in 0..plan.stations.len() {
                    let taken = here(Place::Station(at));
                    let takes = plan.stations[at].takes_packs && outcome.came[at];
                    assert_eq!(taken, usize::from(takes), "station {at}");
                }
                assert!(here(Place::Point) <= 1);
                for (pack, (place, charge)) in step.packs.iter().enumerate() {
                    let Some(place) = place else { continue };
                    moves += usize::from(was[pack].is_some_and(|it| it != *place));
                    was[pack] = Some(*place);
                    assert!((0.0..=1.0).contains(charge), "{charge}");
                    // Standing and carried it only leaks: 3 % a month at 20 deg C, in half an hour less
                    // than a ten-thousandth even when hot.
                    if matches!(place, Place::Store { .. } | Place::Carried { .. }) {
                        let leaked = before[pack] - charge;
                        assert!((-1e-12..1e-4).contains(&leaked), "{leaked}");
                    }
                    // Nowhere does it jump: a step moves at most what currents can.
                    assert!((charge - before[pack]).abs() < 0.6);
                    before[pack] = *charge;
                }
            }
        }
    }
    assert!(moves > 100, "only {moves} moves");
}

/// A swap hands over exactly the charges that the packs have.
#[test]
fn the_charge_that_leaves_a_place_arrives_in_the_next() {
    let (_, plan) = prepared(&lamps(), 1);
    let (outcome, record) = club_outcome(&plan, 0);
    assert!(!outcome.swaps.is_empty());
    for swap in &outcome.swaps {
        let before = |pack: usize| match swap.step.checked_sub(1) {
            Some(step) => record.steps[step].packs[pack].1,
            None => plan.packs[pack].charge_share,
        };
        assert_eq!(swap.off.1.to_bits(), before(swap.off.0).to_bits());
        assert_eq!(swap.on.1.to_bits(), before(swap.on.0).to_bits());
    }
}

/// The shipped club is without a problem, and has what it is said to have.
#[test]
fn the_shipped_club_is_as_it_says() {
    let (good, plan) = prepared(&weekend(), 1);
    assert_eq!((plan.stations.len(), plan.packs.len(), plan.span()), (4, 6, (54, 0.5)));
    let point = good.point.unwrap().scenario;
    assert!(point.generator.is_some_and(|it| it.allowed.is_some()));
}
