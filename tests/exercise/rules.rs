//! What follows from stated rules, worked by hand on the club of lamps: packs of 128 Wh, lamps of 16 and
//! 8 W, a charger of 5 A at 12.8 V, 64 W.

use longwatch::scenario::club::Queue;
use longwatch::simulate::trials::Watch;
use longwatch::simulate::trials::club::{Place, club_outcome, run_club};
use serde_json::json;

use super::clubs::{lamps, prepared, with};

/// Station a draws an eighth of a pack an hour, b a sixteenth; a spare is sent for below 0.45. So a swaps at
/// the look of 05:00 (3/8), for the spare. Its old pack stands until 06:00, takes its 80 Wh at 64 W by
/// 07:15 and makes room at 08:00. b swaps at 09:00 (7/16), for that pack. a is low again at 10:00 (3/8), but
/// the pack that b gave back has only 7/16; an hour on the charger later it has 15/16, and a takes it.
#[test]
fn swaps_come_when_the_arithmetic_says() {
    let (_, plan) = prepared(&lamps(), 1);
    let (outcome, record) = club_outcome(&plan, 0);
    let told: Vec<(usize, usize, usize, usize)> =
        outcome.swaps.iter().map(|it| (it.step, it.station, it.off.0, it.on.0)).collect();
    assert_eq!(told, [(5, 0, 0, 2), (9, 1, 1, 0), (11, 0, 2, 1)]);
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
    for (swap, off, on) in [(0, 0.375, 1.0), (1, 0.4375, 1.0), (2, 0.25, 0.9375)] {
        near(outcome.swaps[swap].off.1, off);
        near(outcome.swaps[swap].on.1, on);
    }
    let charge = |step: usize, pack: usize| record.steps[step].packs[pack].1;
    assert_eq!(record.steps[5].packs[0].0, Some(Place::Store { since: 5 }));
    assert_eq!(record.steps[6].packs[0].0, Some(Place::Point));
    near(charge(6, 0), 0.375 + 0.5);
    near(charge(7, 0), 1.0);
    // 80 Wh for pack one, and one hour of pack two.
    assert!((outcome.point_wh - (80.0 + 64.0)).abs() < 1e-6, "{}", outcome.point_wh);
    assert!((outcome.point_plug_wh - outcome.point_wh).abs() < 1e-6);
    // Served: 12 h of 16 W and of 8 W, all of it.
    assert!((outcome.stations[0].served_wh - 192.0).abs() < 1e-6);
    assert!((outcome.stations[1].served_wh - 96.0).abs() < 1e-6);
    assert!(outcome.first_down_h.is_none() && outcome.first_out.is_none());
    assert_eq!(outcome.waits, 1);
}

/// The energy of the mains that went into pack one is served by station b as energy of the mains.
#[test]
fn the_origin_of_energy_goes_along_with_the_pack() {
    let (_, plan) = prepared(&lamps(), 1);
    let (outcome, _) = club_outcome(&plan, 0);
    let [_, mains, _, _, before] = outcome.stations[1].origin_wh;
    // Three hours of 8 W from pack one, of which 80 of 128 Wh came from the mains; nine hours before that
    // from what was stored.
    assert!((mains - 24.0 * 80.0 / 128.0).abs() < 1e-6, "{mains}");
    assert!((before - (72.0 + 24.0 * 48.0 / 128.0)).abs() < 1e-6, "{before}");
}

/// Two handovers of three minutes leave 2 x 16 W x 3 min = 1.6 Wh unserved, and are no failure unless the
/// rule says that they are.
#[test]
fn a_handover_is_dark_but_no_failure_unless_said() {
    let dark = |counts: bool| json!({"stations": {"a": {"swap": {"handover": {"off_min": 3}, "counts_as_off_air": counts}}}});
    let (_, plan) = prepared(&with(lamps(), &dark(false)), 1);
    let (outcome, _) = club_outcome(&plan, 0);
    assert!((outcome.handover_h[0] - 0.1).abs() < 1e-9, "{}", outcome.handover_h[0]);
    assert!((outcome.stations[0].unserved_wh - 1.6).abs() < 1e-6);
    assert_eq!((outcome.stations[0].first_off_air_h, outcome.stations[0].no_power_h), (None, 0.0));
    assert!(outcome.first_down_h.is_none());
    let (_, plan) = prepared(&with(lamps(), &dark(true)), 1);
    let (outcome, _) = club_outcome(&plan, 0);
    assert_eq!(outcome.stations[0].first_off_air_h, Some(5.0));
    assert!((outcome.stations[0].no_power_h - 0.1).abs() < 1e-9);
    assert_eq!((outcome.first_out, outcome.first_down_h), (Some((0, 5.0)), Some(5.0)));
    assert_eq!(outcome.handover_h[0], 0.0);
}

/// Carried for 90 minutes in steps of an hour: two steps later. The pack that was taken off is as long on
/// its way back.
#[test]
fn a_carried_pack_arrives_later_and_is_nowhere_else() {
    let patch = json!({"stations": {"a": {"swap": {"carry_min": 90}}}});
    let (_, plan) = prepared(&with(lamps(), &patch), 1);
    let (outcome, record) = club_outcome(&plan, 0);
    assert_eq!((outcome.swaps[0].step, outcome.swaps[0].station), (7, 0));
    let place = |step: usize, pack: usize| record.steps[step].packs[pack].0;
    assert_eq!(place(5, 2), Some(Place::Carried { to: Some(0), arrives: 7 }));
    assert_eq!(place(6, 2), place(5, 2));
    assert_eq!(place(7, 2), Some(Place::Station(0)));
    assert_eq!(place(7, 0), Some(Place::Carried { to: None, arrives: 9 }));
    assert_eq!(place(9, 0), Some(Place::Point));
    // Seven hours of an eighth: an eighth is left.
    assert!((outcome.swaps[0].off.1 - 0.125).abs() < 1e-9);
}

/// Off watch a station asks for nothing, and a dark one off watch is not dark.
#[test]
fn off_watch_nothing_is_asked_for() {
    let patch =
        json!({"roster": {"early": ["a"]}, "stations": {"a": {"swap": null}, "b": {"swap": null}}});
    let (_, plan) = prepared(&with(lamps(), &patch), 1);
    let (outcome, _) = club_outcome(&plan, 0);
    // Six hours of 16 W instead of twelve; b is on no line and on watch all the time.
    assert!((outcome.stations[0].load_wh - 96.0).abs() < 1e-6);
    assert!((outcome.stations[0].end_charge_share - 0.25).abs() < 1e-9);
    assert!((outcome.stations[1].load_wh - 96.0).abs() < 1e-6);
}

/// Off watch the loads of a stated tier, or of a lower one.
#[test]
fn off_watch_a_tier_may_be_asked_for() {
    let patch = json!({"roster": {"early": ["a"]}, "stations": {"a": {"swap": null,
        "off_watch": {"tier": "half"},
        "patch": {"loads": {"small": {"group": "all", "draw": {"power": {"power_w": 4}}}},
            "tiers": [{"name": "on", "loads": {"lamp": {}}}, {"name": "half", "loads": {"small": {}}}],
            "shedding": {"down_below_share": [0.01], "up_above_share": [0.9]}}}}});
    let (_, plan) = prepared(&with(lamps(), &patch), 1);
    let (outcome, _) = club_outcome(&plan, 0);
    // Six hours of 16 W and six of 4 W.
    assert!((outcome.stations[0].load_wh - 120.0).abs() < 1e-6, "{}", outcome.stations[0].load_wh);
}

/// Three empty packs wait, brought in the order one, two, three, at a quarter, a half and three eighths.
#[test]
fn the_queue_keeps_its_rule() {
    for (queue, first) in [(Queue::FirstCome, 0), (Queue::LowestFirst, 0), (Queue::FullestFirst, 1)]
    {
        let patch = json!({
            "stations": {"a": {"swap": null, "patch": {"battery": {"ideal": {"capacity_wh": 1280.0,
                "empty_v": 12.8, "full_v": 12.8}}}}, "b": {"swap": null}},
            "packs": {"each": {"one": {"at": null, "charge_share": 0.25}, "two": {"at": null, "charge_share": 0.5},
                "three": {"charge_share": 0.375}, "four": {"at": "b"}}},
            "charging_point": {"queue": queue}
        });
        let (_, plan) = prepared(&with(lamps(), &patch), 1);
        let (_, record) = club_outcome(&plan, 0);
        let on_point =
            |step: usize| record.steps[step].packs.iter().position(|it| it.0 == Some(Place::Point));
        assert_eq!(on_point(0), Some(first), "{queue:?}");
        // 96, 64 and 80 Wh at 64 W: 1.5 h, 1 h and 1.25 h, each to the whole step.
        let order: Vec<usize> = (0..12).filter_map(on_point).collect();
        let counts: Vec<usize> =
            (0..3).map(|pack| order.iter().filter(|it| **it == pack).count()).collect();
        assert_eq!(counts, [2, 1, 2], "{queue:?}: {order:?}");
        let then = if queue == Queue::LowestFirst {
            2
        } else if first == 0 {
            1
        } else {
            2
        };
        assert_eq!(order[counts[first]], then, "{queue:?}: {order:?}");
    }
}

/// A member who comes half of the time: the station is there as often, within 4.5 standard errors of
/// 2,000 trials, and without it the club is down from the beginning. Its pack is not there either.
#[test]
fn members_who_do_not_come_are_missing_with_all_that_is_theirs() {
    let patch = json!({
        "members": {"m": {"comes_chance": 0.5}, "n": {"comes_chance": 0.75}},
        "stations": {"a": {"owner": "m"}, "b": {"swap": null}},
        "packs": {"each": {"one": {"owner": "m"}, "two": {"owner": "n"}, "three": null}},
        "charging_point": null
    });
    let (_, plan) = prepared(&with(lamps(), &patch), 9);
    let mut counts = [0_u32; 4];
    run_club(&plan, 0..2000, 0, &Watch::default(), |it| {
        let [m, n] = [it.members[0], it.members[1]];
        counts[0] += u32::from(m);
        counts[1] += u32::from(n);
        assert_eq!(it.came[0], m);
        // Station b has no pack without n: pack one goes with m, who needs it.
        assert_eq!(it.came[1], n, "{:?}", it.members);
        counts[2] += u32::from(it.first_down_h.is_none());
        if !(m && n) {
            assert_eq!(it.first_down_h, Some(0.0));
            assert!((it.down_h - 12.0).abs() < 1e-9);
        }
        counts[3] += u32::from(m && n);
    })
    .unwrap();
    for (count, chance) in [(counts[0], 0.5_f64), (counts[1], 0.75)] {
        let error = (chance * (1.0 - chance) / 2000.0).sqrt();
        let share = f64::from(count) / 2000.0;
        assert!((share - chance).abs() < 4.5 * error, "{share} of {chance}");
    }
    assert!(counts[2] <= counts[3]);
}

/// A station whose own pack does not come begins with the fullest spare.
#[test]
fn a_spare_stands_in_for_a_pack_that_did_not_come() {
    let patch = json!({
        "members": {"m": {"comes_chance": 0.0}},
        "packs": {"each": {"one": {"owner": "m"}, "three": {"charge_share": 0.9}}}
    });
    let (_, plan) = prepared(&with(lamps(), &patch), 1);
    let (outcome, record) = club_outcome(&plan, 0);
    assert!(outcome.came[0]);
    assert_eq!(record.steps[0].packs[2].0, Some(Place::Station(0)));
    assert!((outcome.stations[0].start_charge_share - 0.9).abs() < 1e-12);
}

/// At least one of two: up while b is; all: down as soon as a is dark.
#[test]
fn the_club_is_up_while_enough_stations_are() {
    let alone = json!({"charging_point": null, "packs": {"each": {"three": null}},
        "stations": {"a": {"swap": null}, "b": {"swap": null}}});
    let club = with(lamps(), &alone);
    let (_, plan) = prepared(&club, 1);
    let (outcome, _) = club_outcome(&plan, 0);
    // 128 Wh at 16 W: eight hours.
    let (station, first_h) = outcome.first_out.expect("a runs out");
    assert!(station == 0 && (first_h - 8.0).abs() < 1e-6, "{first_h}");
    assert_eq!(outcome.first_down_h, Some(8.0));
    assert!((outcome.down_h - 4.0).abs() < 1e-9);
    let (_, plan) = prepared(&with(club, &json!({"counts_as_up": {"at_least": 1}})), 1);
    let (outcome, _) = club_outcome(&plan, 0);
    assert_eq!((outcome.first_down_h, outcome.down_h), (None, 0.0));
}

/// The generator of the charging point runs in its hours only, for a pack that asks for it, and burns by
/// its line: 0.2 l/h for its 1 kW and 0.4 l for each kWh of 64 W and nothing besides.
#[test]
fn the_generator_keeps_quiet_hours_and_burns_by_its_line() {
    let patch = json!({
        "common": {"grid": "none", "windows": {"generator": {"from": "06:00", "to": "11:00"}}},
        "charging_point": {"from": {"inline": {"generator": {"rated_w": 1000, "fuel_l": 3,
            "fuel_line": {"per_rated_kw_l_h": 0.2, "per_kwh_l": 0.4},
            "rule": {"start_below_share": 0.95, "stop_above_share": 0.99}, "allowed": "generator"}}}}
    });
    let (_, plan) = prepared(&with(lamps(), &patch), 1);
    let (outcome, record) = club_outcome(&plan, 0);
    for (step, at) in record.steps.iter().enumerate() {
        assert!(
            at.generator_h == 0.0 || (6..11).contains(&step),
            "step {step}: {}",
            at.generator_h
        );
    }
    assert!(outcome.generator_h > 1.0, "{}", outcome.generator_h);
    let burnt = 0.2 * outcome.generator_h + 0.4 * outcome.point_wh / 1000.0;
    assert!((outcome.engine_fuel_l - burnt).abs() < 1e-6, "{} {burnt}", outcome.engine_fuel_l);
    // Its owner stays away: it does not run.
    let away = with(
        with(lamps(), &patch),
        &json!({"members": {"m": {"comes_chance": 0.0}}, "charging_point": {"generator_owner": "m"}}),
    );
    let (_, plan) = prepared(&away, 1);
    assert_eq!(club_outcome(&plan, 0).0.generator_h, 0.0);
}
