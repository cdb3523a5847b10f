//! The line that is read out on the air: at most 160 characters, whatever the names and the numbers.

use chrono::{DateTime, Duration};
use longwatch::decide::now::{EngineAdvice, Keying, Lasts, Now, TierFromNow};
use longwatch::decide::odds::Occasion;
use longwatch::show::now::{LONGEST_LINE, first_sentence, line, now_text};
use longwatch::station::battery::register::Holds;
use proptest::prelude::*;

fn lasts() -> impl Strategy<Value = Lasts> {
    let hours = || proptest::option::of(0.0_f64..900.0);
    (hours(), hours(), any::<bool>()).prop_map(|(hours, half_hours, until)| Lasts {
        hours,
        half_hours,
        until,
    })
}

fn tier() -> impl Strategy<Value = TierFromNow> {
    let keying =
        (proptest::option::of(0_u32..=60), 0.0_f64..60.0).prop_map(|(minutes, planned)| Keying {
            minutes,
            most_minutes: 60,
            planned_minutes: planned,
            by_set_minutes: [("set".to_owned(), planned)].into_iter().collect(),
        });
    (
        "\\PC{0,60}",
        any::<(bool, bool)>(),
        lasts(),
        proptest::option::of(lasts()),
        proptest::option::of(keying),
    )
        .prop_map(|(name, (on_air, has_loads), told, darkest, keying)| TierFromNow {
            name,
            on_air,
            has_loads,
            told,
            darkest,
            keying,
        })
}

fn engine() -> impl Strategy<Value = Option<EngineAdvice>> {
    ("\\PC{0,40}", 1_u32..48, 0.0_f64..30.0, 0_u8..6).prop_map(|(tier, hours, from_h, kind)| {
        let from_h = if from_h < 10.0 { 0.0 } else { from_h };
        match kind {
            0 => None,
            1 => Some(EngineAdvice::NotNeeded { tier }),
            2 => Some(EngineAdvice::Start { tier, hours, from_h }),
            3 => Some(EngineAdvice::NotEnough { tier, lasts_h: Some(from_h), from_h }),
            4 => Some(EngineAdvice::NotAllowed),
            _ => Some(EngineAdvice::ChargeUnknown),
        }
    })
}

fn known() -> impl Strategy<Value = Now> {
    (
        "\\PC{0,200}",
        proptest::collection::vec(tier(), 1..9),
        engine(),
        proptest::option::of((0.0_f64..=1.0, 0.0_f64..=1.0)),
        1_i64..5000,
        prop::sample::select(vec![0.5, 0.9, 0.95, 0.999, 0.777]),
    )
        .prop_map(|(title, tiers, engine, charge, until_h, target_chance)| {
            let at = DateTime::parse_from_rfc3339("2027-01-19T14:00:00-03:00").unwrap();
            Now {
                title,
                version: "0",
                strategy: "s".into(),
                at,
                until: at + Duration::hours(until_h),
                until_h: until_h as f64,
                look_ahead_h: until_h.max(168) as f64,
                charge_share: charge.map(|(one, other)| [one.min(other), one.max(other)]),
                capacity_ah: 100.0,
                holds: Holds { rated_ah: 200.0, counts_ah: 190.0, counts_h: None },
                occasion: Occasion::Outage,
                mains_back_h: None,
                target_chance,
                seed: 1,
                trials: 1000,
                outlook_told: false,
                darkest_day_share: Some(0.05),
                tiers,
                engine,
                sentence: String::new(),
                line: String::new(),
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn the_line_is_short_enough_to_read_out(mut now in known()) {
        let said = line(&now);
        prop_assert!(said.chars().count() <= LONGEST_LINE, "{} {said}", said.chars().count());
        prop_assert!(!said.contains('\n') && said.contains("14:00"), "{said}");
        now.line = said;
        now.sentence = first_sentence(&now);
        let text = now_text(&now);
        prop_assert!(text.contains("To read out"), "{text}");
    }
}

/// What a listener needs stands in it while there is room.
#[test]
fn a_plain_line_says_charge_tiers_keying_and_odds() {
    let lasts =
        |hours: f64| Lasts { hours: Some(hours), half_hours: Some(hours), until: hours > 50.0 };
    let tier = |name: &str, hours: f64| TierFromNow {
        name: name.into(),
        on_air: true,
        has_loads: true,
        told: lasts(hours),
        darkest: None,
        keying: Some(Keying {
            minutes: (hours > 50.0).then_some(4),
            most_minutes: 60,
            planned_minutes: 3.0,
            by_set_minutes: [("set".to_owned(), 4.0)].into_iter().collect(),
        }),
    };
    let at = DateTime::parse_from_rfc3339("2027-01-19T14:00:00-03:00").unwrap();
    let now = Now {
        title: "Hut, winter".into(),
        version: "0",
        strategy: "s".into(),
        at,
        until: at + Duration::hours(54),
        until_h: 54.0,
        look_ahead_h: 168.0,
        charge_share: Some([0.5, 0.6]),
        capacity_ah: 100.0,
        holds: Holds { rated_ah: 200.0, counts_ah: 190.0, counts_h: None },
        occasion: Occasion::Outage,
        mains_back_h: None,
        target_chance: 0.95,
        seed: 1,
        trials: 1000,
        outlook_told: true,
        darkest_day_share: None,
        tiers: vec![tier("all", 9.97), tier("nets", 60.9)],
        engine: Some(EngineAdvice::Start { tier: "all".into(), hours: 3, from_h: 0.0 }),
        sentence: String::new(),
        line: String::new(),
    };
    assert_eq!(
        line(&now),
        "Tue 14:00, battery 50 to 60 %, without generator: all 9.9 h, nets 60 h. Generator on now for 3 h: \
         all until Thu 20:00. 95 of 100."
    );
}
