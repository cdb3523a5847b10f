//! Proposals of fuses and wires: six leads by hand, what is missing, and ten thousand random leads.

use longwatch::decide::preflight::{Finding, Proposal, Severity, Subject, preflight};
use longwatch::scenario::Scenario;
use longwatch::scenario::loads::{Draw, Fuse, Fused, NoFuse, Wire};
use longwatch::simulate::single;
use longwatch::station::ampacity::allowable_a;
use longwatch::station::fuse::SIZES;
use serde_json::{Value, json};

use super::common::{findings, one, sound};
use super::support::{merge, plan_of};

/// The sound station with every number of its wires stated, and a patch.
fn stated(patch: &Value) -> Value {
    let lies = json!({"wire": {"bundled": 2, "surroundings_c": 30}});
    let mut value = sound();
    merge(
        &mut value,
        &json!({"main_feed": lies, "outlet_groups": {"bench": lies}, "supply": {"lead": lies},
            "controllers": {"a": {"mppt": {"lead": lies}}}}),
    );
    merge(&mut value, patch);
    value
}

fn proposed(patch: &Value, item: &str) -> (Proposal, String) {
    let found = findings(&stated(patch));
    let it = one(&found, Subject::FuseProposal, item, "proposed");
    assert_eq!(it.severity, Severity::Note);
    (it.proposal.clone().unwrap(), it.sentence.clone())
}

/// Six leads by hand. What flows: 11 A while the set transmits, 1 A of 12 W at 12.0 V; 12 A at the peak, mean
/// square 0.8 x 4 + 0.2 x 144 = 32, 1.25 x 5.66 = 7.1 A (NEC 215.3). Ampacity: 33 CFR 183.425 table 5.
/// Short circuits: 14.2 V / 6.695 mohm = 2,121 A at the battery; with the feed's 1.901 mohm 1,652 A.
#[test]
fn six_leads_by_hand() {
    let bench = |it: Value| json!({"outlet_groups": {"bench": it}});
    let cases = [
        // 14 AWG and insulation for 90 deg C: 30 A, less than the feed's fuse of 40 A. 12 A want 15 A.
        (
            bench(json!({"fuse": "none", "wire": {"mm2": 2.5, "one_way_m": 1}})),
            "group “bench”",
            (15.0, "ISO 8820-3", 1652.0, None),
        ),
        // 18 AWG at 75 deg C: 10 A. 15 A need 16 AWG, 1.309 mm2: 1.5 mm2, which drops 2.6 %.
        (
            bench(json!({"fuse": "none",
                "wire": {"mm2": null, "awg": 18, "one_way_m": 1, "insulation_c": 75}})),
            "group “bench”",
            (15.0, "ISO 8820-3", 1652.0, Some(1.5)),
        ),
        // 3 % of 12.8 V less 0.028 V of the feed: 0.3556 V at 12 A, 29.6 mohm: 3.84 mm2 over 6 m.
        (
            bench(json!({"fuse": "none", "wire": {"mm2": 2.5, "one_way_m": 3}})),
            "group “bench”",
            (15.0, "ISO 8820-3", 1652.0, Some(4.0)),
        ),
        (json!({"main_feed": {"fuse": "none"}}), "main feed", (15.0, "ISO 8820-3", 2121.0, None)),
        // 20 A of the controller, 1.25 times.
        (
            json!({"controllers": {"a": {"mppt": {"lead": {"fuse": "none"}}}}}),
            "controller “a”",
            (25.0, "ISO 8820-3", 2121.0, None),
        ),
        // 40 A of the supply, 1.25 times: beyond blade fuses.
        (
            json!({"supply": {"limit_a": 40, "lead": {"fuse": "none"}}}),
            "supply",
            (50.0, "IEC 60269 or NEC 240.6(A)", 2121.0, None),
        ),
    ];
    for (patch, item, (rated_a, series, interrupt_a, mm2)) in cases {
        let (it, sentence) = proposed(&patch, item);
        let ours = (it.rated_a, it.series, it.interrupt_a, it.mm2);
        assert_eq!(ours, (rated_a, series, interrupt_a, mm2), "{item}: {sentence}");
        assert_eq!((it.rated_v, it.within_m), (15.0, 0.17), "{sentence}");
        for words in [
            "For a competent person to check",
            "Not examined: holder, terminals, heat in the box",
            "Local code and licensed practice come first",
            "A larger fuse is no cure",
        ] {
            assert!(sentence.contains(words), "no `{words}`: {sentence}");
        }
        let manual = sentence.contains("manual decides");
        assert_eq!(manual, ["main feed", "group “bench”"].contains(&item), "{sentence}");
    }
}

#[test]
fn where_no_fuse_fits_the_wire_comes_first_and_makers_are_obeyed() {
    let thin = json!({"outlet_groups": {"bench": {"fuse": {"rated_a": 20},
        "wire": {"mm2": null, "awg": 18, "one_way_m": 1, "insulation_c": 75}}}});
    let (_, sentence) = proposed(&thin, "group “bench”");
    let first =
        "No fuse both carries 12 A and protects this wire, which bears 10 A: 1.5 mm2 first. ";
    assert!(sentence.starts_with(first), "{sentence}");
    let small = json!({"outlet_groups": {"bench": {"fuse": {"rated_a": 80}}},
        "loads": {"set": {"max_fuse_a": 10}}});
    let found = findings(&stated(&small));
    let it = one(&found, Subject::FuseProposal, "group “bench”", "no fuse fits");
    assert!(it.sentence.contains("makers ask for, 10 A") && it.proposal.is_none(), "{it:?}");
    let enough = json!({"outlet_groups": {"bench": {"fuse": {"rated_a": 80}}},
        "loads": {"set": {"max_fuse_a": 15}}});
    let (it, sentence) = proposed(&enough, "group “bench”");
    assert!(it.rated_a == 15.0 && !sentence.contains("manual"), "{sentence}");
}

/// Nothing is proposed where a number is missing: it is named.
#[test]
fn a_number_that_nobody_stated_is_named_in_place_of_a_proposal() {
    let none = json!({"outlet_groups": {"bench": {"fuse": "none", "wire": {"mm2": 2.5}}}});
    let cases = [
        (json!({"outlet_groups": {"bench": {"wire": {"bundled": null}}}}), "`bundled`"),
        (
            json!({"outlet_groups": {"bench": {"wire": {"surroundings_c": null}}}}),
            "`surroundings_c`",
        ),
        (json!({"outlet_groups": {"bench": {"wire": {"insulation_c": null}}}}), "`insulation_c`"),
        (json!({"outlet_groups": {"bench": {"wire": null}}}), "`wire`"),
        (
            json!({"battery": {"lithium_iron_phosphate": {"short_circuit_a": null}}}),
            "`short_circuit_a`",
        ),
        (json!({"loads": {"set": {"basis": {"draw": "guess"}}}}), "`draw` of load “set” (a guess)"),
    ];
    for (patch, words) in cases {
        let mut value = stated(&none);
        merge(&mut value, &patch);
        let found = findings(&value);
        let it = one(&found, Subject::FuseProposal, "group “bench”", "not stated");
        assert!(it.sentence.contains(words) && it.proposal.is_none(), "{it:?}");
        assert!(it.value.is_none(), "{it:?}");
    }
}

/// Random numbers for leads: a linear congruential generator (Knuth's constants, from memory).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[((self.next() * all.len() as f64) as usize).min(all.len() - 1)]
    }
}

fn wire_of<'a>(scenario: &'a mut Scenario, item: &str) -> (&'a mut Wire, &'a mut Option<Fused>) {
    match item {
        "main feed" => {
            let feed = scenario.main_feed.as_mut().unwrap();
            (feed.wire.as_mut().unwrap(), &mut feed.fuse)
        }
        "supply" => {
            let lead = scenario.supply.as_mut().unwrap().lead.as_mut().unwrap();
            (lead.wire.as_mut().unwrap(), &mut lead.fuse)
        }
        _ => {
            let group = scenario.outlet_groups.get_mut("bench").unwrap();
            (group.wire.as_mut().unwrap(), &mut group.fuse)
        }
    }
}

/// What is found against fuse and wire of an item.
fn against<'a>(found: &'a [Finding], item: &str) -> Vec<&'a Finding> {
    let subjects = [
        Subject::Fused,
        Subject::FuseWire,
        Subject::FuseLoad,
        Subject::FusePlace,
        Subject::FuseInterrupt,
        Subject::FuseVolts,
        Subject::Ampacity,
        Subject::VoltageDrop,
        Subject::WireLoss,
    ];
    let of = |it: &&Finding| it.item == item && subjects.contains(&it.subject);
    found.iter().filter(of).filter(|it| it.severity <= Severity::Caution).collect()
}

/// Ten thousand random leads: no proposal is above the ampacity of its wire, none below what flows, no
/// smaller size carries that, and what is put into the file silences the check of that lead.
#[test]
fn random_leads_get_fuses_that_protect_them() {
    let value = stated(&json!({}));
    let plan = plan_of(&value);
    let ledger = single::run(&plan);
    let base: Scenario = serde_json::from_value(value).unwrap();
    let mut random = Random(13);
    let (mut proposals, mut thicker, mut unfit) = (0, 0, 0);
    for at in 0..10_000 {
        let item = ["group “bench”", "main feed", "supply"][at % 3];
        let mut scenario = base.clone();
        let transmit_a = random.between(1.0, 60.0);
        let watts = random.between(0.0, 120.0);
        let share = random.next();
        let most_a = random.one_of(&[None, None, Some(10.0), Some(40.0)]);
        let set = scenario.loads.get_mut("set").unwrap();
        set.draw = Draw::Current { receive_a: 0.5, transmit_a: Some(transmit_a) };
        set.transmit_share = share;
        set.max_fuse_a = most_a;
        scenario.loads.get_mut("lamp").unwrap().draw =
            Draw::Power { power_w: watts, converter_efficiency_share: 1.0, idle_w: 0.0 };
        scenario.supply.as_mut().unwrap().limit_a = random.between(5.0, 120.0);
        let limit_a = scenario.supply.as_ref().unwrap().limit_a;
        let (wire, fuse) = wire_of(&mut scenario, item);
        wire.mm2 = Some(random.one_of(&[0.75, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 35.0, 70.0]));
        wire.one_way_m = random.between(0.1, 6.0);
        wire.connectors = random.one_of(&[0, 2, 4]);
        wire.insulation_c = Some(random.one_of(&[60.0, 75.0, 90.0, 105.0]));
        wire.bundled = Some(random.one_of(&[2, 4, 6, 8, 12]));
        wire.surroundings_c = Some(random.between(-10.0, 59.0));
        *fuse = match random.one_of(&[0, 1, 2]) {
            0 => None,
            1 => Some(Fused::Nothing(NoFuse::None)),
            _ => Some(Fused::Fuse(Fuse {
                rated_a: random.one_of(&SIZES).rated_a,
                interrupt_a: Some(1000.0),
                rated_v: Some(32.0),
                from_source_m: Some(0.3),
                sheathed: false,
            })),
        };
        let found = preflight(&scenario, &plan, &ledger);
        let of = |it: &&Finding| it.subject == Subject::FuseProposal && it.item == item;
        let Some(finding) = found.iter().find(of) else {
            assert!(against(&found, item).iter().all(|it| it.subject == Subject::WireLoss));
            continue;
        };
        let Some(it) = finding.proposal.clone() else {
            assert_eq!(finding.what, "no fuse fits", "{finding:?}");
            unfit += 1;
            continue;
        };
        proposals += 1;
        thicker += usize::from(it.mm2.is_some());
        let (wire, fuse) = wire_of(&mut scenario, item);
        wire.mm2 = it.mm2.or(wire.mm2);
        let bears_a = allowable_a(wire, wire.insulation_c.unwrap()).unwrap();
        assert!(it.rated_a <= bears_a * (1.0 + 1e-9), "{bears_a}: {finding:?}");
        *fuse = Some(Fused::Fuse(Fuse {
            rated_a: it.rated_a,
            interrupt_a: Some(it.interrupt_a),
            rated_v: Some(it.rated_v),
            from_source_m: Some(it.within_m),
            sheathed: false,
        }));
        // Of the loads by hand: all at 12.0 V, where the disconnect opens.
        let lamp_a = watts / 12.0;
        let square = |tx: f64| (tx + lamp_a) * (tx + lamp_a);
        let rms_a = (share * square(transmit_a) + (1.0 - share) * square(0.5)).sqrt();
        let least_a = match item {
            "supply" => 1.25 * limit_a,
            _ => (1.25 * rms_a).max(transmit_a.max(0.5) + lamp_a),
        };
        let tolerance = 1.0 + 1e-6;
        assert!(it.rated_a * tolerance >= least_a, "{least_a}: {finding:?}");
        let smaller = SIZES.iter().map(|size| size.rated_a).filter(|size| *size < it.rated_a);
        assert!(smaller.clone().all(|size| size < least_a * tolerance), "{least_a}: {finding:?}");
        if let (Some(most_a), true) = (most_a, item == "group “bench”") {
            assert!(it.rated_a <= most_a, "{finding:?}");
        }
        let found = preflight(&scenario, &plan, &ledger);
        assert!(against(&found, item).is_empty(), "{it:?}: {:#?}", against(&found, item));
    }
    assert!(proposals > 3_000 && thicker > 1_000 && unfit > 100, "{proposals} {thicker} {unfit}");
}
