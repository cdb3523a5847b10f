//! Ten thousand random leads of every kind: what is proposed protects them, and "no fuse fits" is so.

use longwatch::decide::preflight::{Finding, Severity, Subject, preflight};
use longwatch::scenario::Scenario;
use longwatch::scenario::battery::Battery;
use longwatch::scenario::loads::{Draw, Fuse, Fused, Lead, NoFuse, Wire};
use longwatch::scenario::sources::Controller;
use longwatch::simulate::single;
use longwatch::station::ampacity::allowable_a;
use longwatch::station::fuse::SIZES;
use longwatch::station::wire::METRIC_MM2;
use serde_json::json;

use super::proposals::sources;
use super::support::plan_of;

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

/// The kinds of leads, by the item of what is proposed and the item whose check it silences.
const KINDS: [(&str, &str); 8] = [
    ("group “bench”", "group “bench”"),
    ("main feed", "main feed"),
    ("supply", "supply"),
    ("vehicle", "vehicle"),
    ("controller “a”", "controller “a”"),
    ("array “a”", "array “a”"),
    ("strings of array “a”", "array “a”"),
    ("packs", "packs"),
];

fn of_lead(lead: &mut Option<Lead>) -> (Option<&mut Wire>, &mut Option<Fused>) {
    let lead = lead.as_mut().unwrap();
    (lead.wire.as_mut(), &mut lead.fuse)
}

/// Wire and fuse of an item.
fn wire_of<'a>(
    scenario: &'a mut Scenario,
    item: &str,
) -> (Option<&'a mut Wire>, &'a mut Option<Fused>) {
    match item {
        "main feed" => {
            let feed = scenario.main_feed.as_mut().unwrap();
            (feed.wire.as_mut(), &mut feed.fuse)
        }
        "supply" => of_lead(&mut scenario.supply.as_mut().unwrap().lead),
        "vehicle" => of_lead(&mut scenario.vehicle.as_mut().unwrap().lead),
        "controller “a”" => match scenario.controllers.get_mut("a").unwrap() {
            Controller::Mppt(it) => of_lead(&mut it.lead),
            Controller::Pwm(it) => of_lead(&mut it.lead),
        },
        "array “a”" => of_lead(&mut scenario.arrays.get_mut("a").unwrap().lead),
        "strings of array “a”" => {
            (None, &mut scenario.arrays.get_mut("a").unwrap().string_fuse)
        }
        "packs" => match &mut scenario.battery {
            Battery::LithiumIronPhosphate(it) => {
                (it.pack_lead.as_mut().map(|it| &mut it.wire), &mut it.pack_fuse)
            }
            _ => unreachable!(),
        },
        _ => {
            let group = scenario.outlet_groups.get_mut("bench").unwrap();
            (group.wire.as_mut(), &mut group.fuse)
        }
    }
}

/// What is found against fuse and wire of an item: for strings what stands at the array, else at its lead.
fn against<'a>(found: &'a [Finding], (kind, item): (&str, &str)) -> Vec<&'a Finding> {
    let subjects = [
        Subject::Fused,
        Subject::FuseWire,
        Subject::FuseLoad,
        Subject::FusePlace,
        Subject::FuseInterrupt,
        Subject::FuseVolts,
        Subject::StringFuse,
        Subject::Ampacity,
        Subject::VoltageDrop,
    ];
    let at = |it: &Finding| match kind {
        "array “a”" => it.path == "arrays.a.lead",
        "strings of array “a”" => it.path == "arrays.a",
        _ => true,
    };
    let of = |it: &&Finding| it.item == item && at(it) && subjects.contains(&it.subject);
    found.iter().filter(of).filter(|it| it.severity <= Severity::Caution).collect()
}

/// Amperes and limits of one random station, drawn and reckoned by hand.
struct Drawn {
    least_a: f64,
    most_a: f64,
}

fn draw(random: &mut Random, scenario: &mut Scenario, kind: &str) -> Drawn {
    let transmit_a = random.between(1.0, 60.0);
    let watts = random.between(0.0, 120.0);
    let share = random.next();
    let maker_a = random.one_of(&[None, None, Some(10.0), Some(40.0)]);
    let set = scenario.loads.get_mut("set").unwrap();
    set.draw = Draw::Current { receive_a: 0.5, transmit_a: Some(transmit_a) };
    set.transmit_share = share;
    set.max_fuse_a = maker_a;
    scenario.loads.get_mut("lamp").unwrap().draw =
        Draw::Power { power_w: watts, converter_efficiency_share: 1.0, idle_w: 0.0 };
    let supply = scenario.supply.as_mut().unwrap();
    supply.limit_a = random.between(5.0, 120.0);
    let supply_a = supply.limit_a;
    let charger_a = supply.charger.as_ref().unwrap().limit_a;
    let vehicle = scenario.vehicle.as_mut().unwrap();
    vehicle.limit_a = random.between(5.0, 80.0);
    let vehicle_a = vehicle.limit_a;
    let controller_a = random.between(5.0, 100.0);
    if let Controller::Mppt(it) = scenario.controllers.get_mut("a").unwrap() {
        it.output_limit_a = controller_a;
    }
    let array = scenario.arrays.get_mut("a").unwrap();
    array.count = if kind.starts_with("strings") {
        random.one_of(&[3, 4, 6])
    } else {
        random.one_of(&[1, 2, 3, 4])
    };
    let strings = f64::from(array.count);
    let isc_a = random.between(1.0, 18.0);
    let label_a = isc_a * random.between(1.1, 3.0);
    let sheet = array.datasheet.as_mut().unwrap();
    (sheet.isc_a, sheet.imp_a, sheet.series_fuse_a) = (isc_a, 0.93 * isc_a, Some(label_a));
    let own = !kind.starts_with("strings") && random.next() < 0.4;
    array.string_fuse = own.then(|| fuse(20.0, 1000.0, 100.0, 0.1));
    let packs = random.one_of(&[2, 3, 4]);
    if let Battery::LithiumIronPhosphate(it) = &mut scenario.battery {
        it.strings = packs;
    }
    // Loads by hand: all at 12.0 V, where the disconnect opens.
    let lamp_a = watts / 12.0;
    let square = |tx: f64| (tx + lamp_a) * (tx + lamp_a);
    let rms_a = (share * square(transmit_a) + (1.0 - share) * square(0.5)).sqrt();
    let peak_a = transmit_a.max(0.5) + lamp_a;
    let endless = f64::INFINITY;
    let (least_a, most_a) = match kind {
        "supply" => (1.25 * supply_a, endless),
        "vehicle" => (1.25 * vehicle_a, endless),
        "controller “a”" => (1.25 * controller_a, endless),
        "array “a”" => (1.25 * 1.25 * isc_a * strings, if own { endless } else { label_a }),
        "strings of array “a”" => (1.25 * 1.25 * isc_a, label_a),
        "packs" => {
            let charging_a = charger_a + vehicle_a + controller_a;
            ((1.25 * rms_a.max(charging_a)).max(peak_a) / f64::from(packs), endless)
        }
        _ => ((1.25 * rms_a).max(peak_a), maker_a.unwrap_or(endless)),
    };
    Drawn { least_a, most_a }
}

fn fuse(rated_a: f64, interrupt_a: f64, rated_v: f64, from_source_m: f64) -> Fused {
    Fused::Fuse(Fuse {
        rated_a,
        interrupt_a: Some(interrupt_a),
        rated_v: Some(rated_v),
        from_source_m: Some(from_source_m),
        sheathed: false,
    })
}

/// No proposal is above the ampacity of its wire, none below what flows, none above what maker and label
/// allow; no smaller size carries the load; what is put into the file silences the check of that lead.
/// Where no fuse fits, no standard size lies between what flows and what maker and label allow, or no
/// copper of the tables bears it or keeps the drop.
#[test]
fn random_leads_get_fuses_that_protect_them() {
    let lead = json!({"wire": {"mm2": 16, "one_way_m": 1, "insulation_c": 90, "bundled": 2,
        "surroundings_c": 30}});
    let value = sources(&json!({"windows": {"car": {"from": "00:00", "to": "06:00"}},
        "vehicle": {"limit_a": 30, "set_points": {"absorption_v": 14.1}, "connected": "car",
            "lead": lead}}));
    let plan = plan_of(&value);
    let ledger = single::run(&plan);
    let base: Scenario = serde_json::from_value(value).unwrap();
    let mut random = Random(13);
    let mut counts = [[0_usize; 4]; KINDS.len()];
    for at in 0..10_000 {
        let (kind, item) = KINDS[at % KINDS.len()];
        let counted = &mut counts[at % KINDS.len()];
        let mut scenario = base.clone();
        let Drawn { least_a, most_a } = draw(&mut random, &mut scenario, kind);
        let (wire, fused) = wire_of(&mut scenario, kind);
        if let Some(wire) = wire {
            wire.mm2 = Some(random.one_of(&[0.75, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 35.0, 70.0]));
            wire.one_way_m = random.between(0.1, 6.0);
            wire.connectors = random.one_of(&[0, 2, 4]);
            wire.insulation_c = Some(random.one_of(&[60.0, 75.0, 90.0, 105.0]));
            wire.bundled = Some(random.one_of(&[2, 4, 6, 8, 12]));
            wire.surroundings_c = Some(random.between(-10.0, 59.0));
        }
        *fused = match random.one_of(&[0, 1, 2]) {
            0 => None,
            1 => Some(Fused::Nothing(NoFuse::None)),
            _ => Some(fuse(random.one_of(&SIZES).rated_a, 1000.0, 32.0, 0.3)),
        };
        let found = preflight(&scenario, &plan, &ledger);
        let of = |it: &&Finding| it.subject == Subject::FuseProposal && it.item == kind;
        let Some(finding) = found.iter().find(of) else {
            assert!(against(&found, (kind, item)).is_empty(), "{kind}: {found:#?}");
            continue;
        };
        let tolerance = 1.0 + 1e-6;
        let sizes = || SIZES.iter().map(|size| size.rated_a);
        let Some(it) = finding.proposal.clone() else {
            assert_eq!(finding.what, "no fuse fits", "{finding:?}");
            let within = |size: &f64| *size * tolerance >= least_a && *size <= most_a * tolerance;
            if let Some(size) = sizes().find(within) {
                // A size there is: no copper of the tables will do for it then.
                let words = ["no wire", "behind it"];
                assert!(words.iter().any(|it| finding.sentence.contains(it)), "{finding:?}");
                for area_mm2 in METRIC_MM2 {
                    let mut other = scenario.clone();
                    let (wire, fused) = wire_of(&mut other, kind);
                    let mut known = true;
                    if let Some(wire) = wire {
                        wire.mm2 = Some(area_mm2);
                        known = allowable_a(wire, wire.insulation_c.unwrap()).is_some();
                    }
                    if !known {
                        continue; // Thinner than the table of ampacity goes: nothing is proposed.
                    }
                    *fused = Some(fuse(size, 1e6, 1e4, 0.1));
                    let found = preflight(&other, &plan, &ledger);
                    assert!(!against(&found, (kind, item)).is_empty(), "{area_mm2}: {finding:?}");
                }
            }
            counted[2] += 1;
            continue;
        };
        counted[0] += 1;
        counted[1] += usize::from(it.mm2.is_some());
        counted[3] += usize::from(it.fuse.is_none());
        let (wire, fused) = wire_of(&mut scenario, kind);
        let rated_a = it.fuse.as_ref().map_or(least_a, |it| it.rated_a);
        if let Some(wire) = wire {
            wire.mm2 = it.mm2.or(wire.mm2);
            let bears_a = allowable_a(wire, wire.insulation_c.unwrap()).unwrap();
            assert!(rated_a <= bears_a * tolerance, "{bears_a}: {finding:?}");
        }
        if let Some(it) = it.fuse {
            *fused = Some(fuse(it.rated_a, it.interrupt_a, it.rated_v, it.within_m));
            assert!(it.rated_a * tolerance >= least_a, "{least_a}: {finding:?}");
            assert!(it.rated_a <= most_a || kind == "main feed", "{most_a}: {finding:?}");
            let smaller = sizes().filter(|size| *size < it.rated_a);
            let unfit = smaller.clone().all(|size| size < least_a * tolerance);
            assert!(unfit, "{least_a}: {finding:?}");
        } else {
            assert_eq!(kind, "array “a”", "only panels need none: {finding:?}");
        }
        let found = preflight(&scenario, &plan, &ledger);
        let left = against(&found, (kind, item));
        assert!(left.is_empty(), "{it:?}: {left:#?}", it = finding.proposal);
    }
    let total = |column: usize| counts.iter().map(|it| it[column]).sum::<usize>();
    assert!(counts.iter().all(|it| it[0] > 100), "{counts:?}");
    assert!(total(0) > 4_000 && total(1) > 1_000 && total(2) > 100 && total(3) > 50, "{counts:?}");
}
