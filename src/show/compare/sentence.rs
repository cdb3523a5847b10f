//! The first sentence: in how many trials the station stays on the air only one way, in counts, and
//! what that takes from the mains.

use super::super::odds::sentence::{Words, whole};
use super::super::text::clean;
use super::super::words::{listed, trimmed};
use crate::decide::compare::result::OfContender;
use crate::decide::compare::{Comparison, Kind};
use crate::decide::contest::pairs::Pair;

/// The two stations told first, the better one in front.
struct Told<'a> {
    better: &'a OfContender,
    other: &'a OfContender,
    pair: &'a Pair,
    only_better: u64,
    only_other: u64,
}

/// A charge is fuller than another from here on (judgement).
const FULLER_SHARE: f64 = 0.02;

/// The two that people ask for first: that in force, and the strategy that leaves the supply off if
/// it does not (or the best one, if it does); without such a strategy the one that differs most.
fn told(it: &Comparison) -> Option<Told<'_>> {
    let first = it.stations.first()?;
    let others = || it.stations.iter().enumerate().skip(1);
    let strategies = || others().filter(|(_, station)| station.kind == Kind::Strategy);
    let apart = |at: usize| it.pair(0, at).map_or(0, |pair| pair.only_a + pair.only_b);
    let rival = if first.never_on_mains {
        strategies().max_by_key(|(at, station)| (station.lasted, std::cmp::Reverse(*at)))
    } else {
        strategies().find(|(_, station)| station.never_on_mains)
    };
    let rival =
        rival.or_else(|| others().max_by_key(|(at, _)| (apart(*at), std::cmp::Reverse(*at))));
    let (at, second) = rival?;
    let pair = it.pair(0, at)?;
    Some(if pair.only_a >= pair.only_b {
        let (only_better, only_other) = (pair.only_a, pair.only_b);
        Told { better: first, other: second, pair, only_better, only_other }
    } else {
        let (only_better, only_other) = (pair.only_b, pair.only_a);
        Told { better: second, other: first, pair, only_better, only_other }
    })
}

fn named(station: &OfContender) -> String {
    format!("\"{}\"", clean(&station.name))
}

/// `Of 10,000 simulated outages, 412 are survived only with "charger on", none only with "solar only"`:
/// what the trials say of two, without a full stop.
fn carried(it: &Comparison, told: &Told) -> String {
    let counted = Words::of(it.occasion).counted(it.trials);
    let (better, other) = (named(told.better), named(told.other));
    match (told.only_better, told.only_other) {
        (0, 0) => format!("{better} and {other} survive the same of {counted}"),
        (more, less) => {
            let is = if more == 1 { "is" } else { "are" };
            let less = if less == 0 { "none".to_owned() } else { whole(less) };
            format!(
                "Of {counted}, {} {is} survived only with {better}, {less} only with {other}",
                whole(more)
            )
        }
    }
}

/// What the better one takes from the mains beside the other in a month of normal operation.
fn taken(it: &Comparison, told: &Told) -> Option<String> {
    let (better, other) = (told.better.normal_month?, told.other.normal_month?);
    let more_kwh = better.mains_kwh - other.mains_kwh;
    if more_kwh.abs() < 0.05 {
        return None;
    }
    let size = more_kwh.abs();
    let kwh = trimmed(size, usize::from(size < 99.5));
    let cost = match (better.mains_cost, other.mains_cost, &it.currency) {
        (Some(one), Some(two), Some(currency)) => {
            format!(" ({:.2} {})", (one - two).abs(), clean(currency))
        }
        _ => String::new(),
    };
    let better_name = named(told.better);
    let than = if more_kwh > 0.0 { "more" } else { "less" };
    Some(format!(
        "{better_name} takes {kwh} kWh{cost} {than} from the mains in a month without an outage"
    ))
}

/// The finding in counts: the two that matter most, and which survives most of all.
#[must_use]
pub fn first_sentence(it: &Comparison) -> String {
    let Some(told) = told(it) else {
        return format!("No two stations of {} to compare.", clean(&it.title));
    };
    let mut said = carried(it, &told);
    if let Some(taken) = taken(it, &told) {
        said = format!("{said}; {taken}");
    }
    said.push('.');
    if !told.pair.enough_trials && told.only_better + told.only_other > 0 {
        said.push_str(" These trials are too few to call it better.");
    }
    let most = it.stations.iter().map(|station| station.lasted).max().unwrap_or(0);
    if most > told.better.lasted {
        let best = it.stations.iter().filter(|station| station.lasted == most);
        let best: Vec<String> = best
            .map(|station| match station.kind {
                Kind::Strategy => named(station),
                Kind::Variant => format!("the variant {}", named(station)),
            })
            .collect();
        let each = if best.len() > 1 { " each" } else { "" };
        said = format!("{said} Most are survived with {}: {}{each}.", listed(&best), whole(most));
    }
    said
}

/// The title of the picture of pairs: the two that differ most.
#[must_use]
pub fn pairs_title(it: &Comparison) -> String {
    let parted = |pair: &Pair| pair.only_a + pair.only_b;
    let most = super::told_pairs(it).into_iter().rev().max_by_key(|pair| parted(pair));
    let Some(pair) = most.filter(|pair| parted(pair) > 0) else {
        return "No two of these differ in any of them".to_owned();
    };
    let many = Words::of(it.occasion).many;
    let quoted = |name: &str| format!("\"{}\"", clean(name));
    format!(
        "{} and {} differ most: {} {many} are survived with only one of the two",
        quoted(&pair.a),
        quoted(&pair.b),
        whole(parted(pair))
    )
}

/// The title of a picture: the first clause.
#[must_use]
pub fn title(it: &Comparison) -> String {
    told(it).map_or_else(|| first_sentence(it), |told| carried(it, &told))
}

/// Where a fuller battery fails and an emptier one does not, the rules that read the charge are the
/// reason: they keep a greater load on for longer. Said plainly, with the hours.
#[must_use]
pub fn rules_note(it: &Comparison) -> Option<String> {
    let first = it.stations.first()?;
    let top = |station: &OfContender| station.in_span.tier_h.first().map_or(0.0, |(_, h)| *h);
    let (at, other) = it.stations.iter().enumerate().skip(1).find(|(at, other)| {
        let Some(pair) = it.pair(0, *at) else { return false };
        let (fuller, only_emptier) = fuller_of(first, other, pair);
        only_emptier > 0 && fuller.is_some()
    })?;
    let pair = it.pair(0, at)?;
    let (fuller, only_emptier) = fuller_of(first, other, pair);
    let fuller = fuller?;
    let emptier = if fuller.name == first.name { other } else { first };
    let tier = fuller.in_span.tier_h.first().map(|(name, _)| clean(name))?;
    Some(format!(
        "{} begins with more charge than {}, and yet {} are survived only with the other. With a full battery the rules keep \"{tier}\" on for {} h, with the other for {} h, and this charge is missing later. Shed earlier in an outage, or set the rules by the hours that are left.",
        named(fuller),
        named(emptier),
        whole(only_emptier),
        trimmed(top(fuller), 1),
        trimmed(top(emptier), 1),
    ))
}

/// The one of two that begins fuller and stays longer in the top tier, and the trials that only the
/// other survives.
fn fuller_of<'a>(
    a: &'a OfContender,
    b: &'a OfContender,
    pair: &Pair,
) -> (Option<&'a OfContender>, u64) {
    let charge = |it: &OfContender| it.start_charge_share.mean;
    let top = |it: &OfContender| it.in_span.tier_h.first().map_or(0.0, |(_, h)| *h);
    let fuller = |one: &OfContender, two: &OfContender| {
        charge(one) > charge(two) + FULLER_SHARE && top(one) > top(two)
    };
    if a.in_span.tier_h.len() < 2 {
        (None, 0)
    } else if fuller(a, b) {
        (Some(a), pair.only_b)
    } else if fuller(b, a) {
        (Some(b), pair.only_a)
    } else {
        (None, 0)
    }
}
