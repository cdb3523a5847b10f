//! What comparing comes to: the keys of `compare.json`.
//!
//! Two kinds of figures are told apart: those *in the span* (the hours simulated, with their
//! outages), and those of *a month of normal operation* (see `contest::month`). Trust: exact for the
//! counts; the intervals are checked against published values.

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::contenders::{Contender, Kind};
use crate::chance::merge::Ranked;
use crate::decide::contest::Played;
use crate::decide::contest::month::{DAYS, Month};
use crate::decide::contest::pairs::Pair;
use crate::decide::odds::answers::{CHARGE_UNITS, Causes};
use crate::decide::odds::quantiles::Quantiles;
use crate::decide::odds::result::Within;
use crate::decide::odds::subject::{Occasion, Shape};
use crate::scenario::battery::{Battery, CutoffReset};
use crate::scenario::prices::Prices;
use crate::scenario::schedule::{Attended, EngineUse, Reconnects, SupplyRule};
use crate::scenario::{Named, Scenario};
use crate::warning::{Kind as WarningKind, Warning};

/// What all contenders share.
#[derive(Debug, Clone)]
pub struct Facts {
    pub(super) title: String,
    pub(super) occasion: Occasion,
    pub(super) seed: u64,
    pub(super) trials: u64,
    pub(super) months: u64,
    pub(super) shape: Shape,
    pub(super) start: Option<DateTime<FixedOffset>>,
    pub(super) same_start: bool,
    pub(super) nights_h: Vec<(f64, f64)>,
    pub(super) warmup_days: u32,
    pub(super) prices: Option<Prices>,
}

/// What comparing comes to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Title of the scenario.
    pub title: String,
    /// Version of the program.
    pub version: String,
    /// The finding in counts.
    pub sentence: String,
    /// What one trial is, as in `odds.json`.
    pub occasion: Occasion,
    /// Random seed.
    pub seed: u64,
    /// Trials, the same for all.
    pub trials: u64,
    /// Trials left out because a station held a value that is no number; a fault to report.
    pub trials_left_out: usize,
    /// Elapsed hours of the span.
    pub hours: f64,
    /// Local time at which the span starts; null where each trial has its own.
    pub start: Option<DateTime<FixedOffset>>,
    /// Days of normal operation before the span, each contender under its own strategy.
    pub warmup_days: u32,
    /// Days of the month of normal operation, and how many of them were played.
    pub month_days: u32,
    /// Months that were played for it.
    pub months: u64,
    /// What costs are given in; null without prices.
    pub currency: Option<String>,
    /// Price of a kilowatt-hour from the mains; null without prices.
    pub mains_per_kwh: Option<f64>,
    /// Those compared, that in force first, strategies before variants.
    pub stations: Vec<OfContender>,
    /// All pairs of them.
    pub pairs: Vec<Pair>,
    /// Hours at which `on_air` of each is counted.
    pub on_air_at_h: Vec<f64>,
    /// Nights, elapsed hours.
    #[serde(skip)]
    pub nights_h: Vec<(f64, f64)>,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// What one contender comes to. Hours, energies and litres are means of a trial.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OfContender {
    /// Name of the strategy or variant.
    pub name: String,
    /// Which of the two it is.
    pub kind: Kind,
    /// Strategy in force.
    pub strategy: String,
    /// Whether its supply is never switched on.
    pub never_on_mains: bool,
    /// Trials that were off the air at some time.
    pub failures: u64,
    /// Trials that were not.
    pub lasted: u64,
    /// Share of the trials on the air for all hours.
    pub on_air_share: f64,
    /// Wilson interval, 95 %: low and high end.
    pub on_air_wilson_95: [f64; 2],
    /// Clopper-Pearson bound, one-sided, 95 %.
    pub on_air_lower_95_one_sided: f64,
    /// Why trials failed.
    pub causes: Causes,
    /// Charge when the span began: when the mains fails, where an outage is forced.
    pub start_charge_share: ChargeSpread,
    /// Lowest charge in the span.
    pub lowest_charge_share: ChargeSpread,
    /// In the span.
    pub in_span: InSpan,
    /// In a month of normal operation; null where the scenario does not say what that is.
    pub normal_month: Option<Month>,
    /// Hours of that month in which the supply is on because somebody switched it on, and must be there
    /// to switch it off again: top-ups by hand; 0 under another rule; null without such a month, and
    /// where warnings, an engine or a vehicle may be why something is live.
    pub normal_month_by_hand_h: Option<f64>,
    /// Trials still on the air at the hours of `on_air_at_h`.
    pub on_air: Vec<u64>,
}

/// How a charge is spread over the trials.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ChargeSpread {
    /// Mean.
    pub mean: f64,
    /// Half of the trials have this or less.
    pub p50: f64,
    /// 1 of 20 has this or less.
    pub p05: f64,
}

/// Means of the span.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InSpan {
    /// Energy at the mains plug, kWh.
    pub mains_kwh: f64,
    /// What it costs; absent without a price.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mains_cost: Option<f64>,
    /// Fuel, litres.
    pub fuel_l: f64,
    /// Hours in which supply, engine or vehicle was live: noise for radios or ears.
    pub noise_h: f64,
    /// Hours of storms in which the supply was switched on, with or without mains.
    pub plugged_in_storm_h: f64,
    /// Hours of the watches in which somebody is there, where something needs somebody; else 0.
    pub attended_h: f64,
    /// What needs somebody.
    pub hands: Vec<&'static str>,
    /// Hours in each tier.
    pub tier_h: Named<f64>,
    /// Hours with an essential load unserved.
    pub no_power_h: f64,
    /// Those, and hours in tiers in which the station does not count as on the air.
    pub off_air_h: f64,
    /// Demand not delivered, Wh.
    pub unserved_wh: f64,
}

impl ChargeSpread {
    #[allow(clippy::cast_precision_loss)]
    fn of(ranked: &Ranked) -> Self {
        let trials = ranked.count();
        let sum: i128 = ranked.places().map(|it| i128::from(it.value) * i128::from(it.count)).sum();
        let of = Quantiles::of(ranked, trials, CHARGE_UNITS);
        Self {
            mean: sum as f64 / CHARGE_UNITS / trials.max(1) as f64,
            p50: of.p50.unwrap_or(0.0),
            p05: of.p05.unwrap_or(0.0),
        }
    }
}

impl OfContender {
    pub(super) fn of(
        contender: &Contender,
        played: &Played,
        month: Option<Month>,
        facts: &Facts,
    ) -> Self {
        let (scenario, counts) = (&contender.scenario, &played.counts);
        let whole = Within::of(facts.shape.hours(), counts.tally);
        let hands = hands(scenario);
        let tiers = played.plan.heads.tiers.iter().cloned();
        let mains_kwh = counts.mains_plug_wh.mean() / 1000.0;
        let span = played.plan.settling_steps;
        let attended = played.plan.slices.iter().filter(|it| it.step >= span && it.attended);
        let attended_h: f64 = attended.map(|it| it.hours).sum();
        Self {
            name: contender.name.clone(),
            kind: contender.kind,
            strategy: scenario.strategy.clone(),
            never_on_mains: scenario
                .strategies
                .get(&scenario.strategy)
                .is_some_and(|it| it.supply == SupplyRule::Never),
            failures: whole.failures,
            lasted: counts.tally.successes(),
            on_air_share: whole.on_air_share,
            on_air_wilson_95: whole.on_air_wilson_95,
            on_air_lower_95_one_sided: whole.on_air_lower_95_one_sided,
            causes: counts.causes,
            start_charge_share: ChargeSpread::of(&counts.start),
            lowest_charge_share: ChargeSpread::of(&counts.lowest),
            in_span: InSpan {
                mains_kwh,
                mains_cost: scenario.prices.as_ref().map(|it| it.mains_per_kwh * mains_kwh),
                fuel_l: counts.fuel_l.mean(),
                noise_h: counts.noise_h.mean(),
                plugged_in_storm_h: counts.plugged_in_storm_h.mean(),
                attended_h: if hands.is_empty() { 0.0 } else { attended_h },
                hands: hands.clone(),
                tier_h: tiers.zip(counts.tier_h.iter().map(|it| it.mean())).collect(),
                no_power_h: counts.no_power_h.mean(),
                off_air_h: counts.off_air_h(&played.plan.heads.tiers_on_air),
                unserved_wh: counts.unserved_wh.mean(),
            },
            normal_month: month,
            normal_month_by_hand_h: month.and_then(|it| by_hand_h(scenario, &hands, &it)),
            on_air: at_hours(facts.shape).into_iter().map(|hour| on_air(counts, hour)).collect(),
        }
    }
}

/// Hours at which trials still on the air are counted.
fn at_hours(shape: Shape) -> Vec<f64> {
    shape.columns().map(|steps| shape.elapsed_h(steps)).collect()
}

fn on_air(counts: &crate::decide::contest::counts::Counts, hour: f64) -> u64 {
    #[allow(clippy::cast_possible_truncation)]
    let minute = (hour * 60.0).round() as i64;
    counts.tally.trials().saturating_sub(counts.first_off_air_min.below(minute))
}

/// Hours of a month in which the supply is on by hand: those in which anything is live, as long as
/// nothing else can be.
fn by_hand_h(scenario: &Scenario, hands: &[&str], month: &Month) -> Option<f64> {
    if !hands.contains(&TOP_UP) {
        return Some(0.0);
    }
    let rule = scenario.strategies.get(&scenario.strategy).map(|it| &it.supply);
    let alone = matches!(rule, Some(SupplyRule::TopUp { .. }))
        && scenario.generator.is_none()
        && scenario.vehicle.is_none();
    alone.then_some(month.noise_h)
}

/// A supply that somebody switches.
const TOP_UP: &str = "top-up";

/// What needs somebody in a station under its strategy.
#[must_use]
pub fn hands(scenario: &Scenario) -> Vec<&'static str> {
    fn tops_up(rule: &SupplyRule) -> bool {
        match rule {
            SupplyRule::TopUp { .. } => true,
            SupplyRule::Warned { otherwise, .. } => tops_up(otherwise),
            SupplyRule::Always | SupplyRule::Never | SupplyRule::Windows { .. } => false,
        }
    }
    if scenario.attended == Attended::Never {
        return Vec::new();
    }
    let strategy = scenario.strategies.get(&scenario.strategy);
    let wakes = matches!(&scenario.battery, Battery::LithiumIronPhosphate(cells) if cells.cutoff_reset == CutoffReset::ByHand);
    let engine = strategy.is_none_or(|it| it.generator == EngineUse::Allowed);
    let all = [
        (strategy.is_some_and(|it| tops_up(&it.supply)), TOP_UP),
        (scenario.snow.as_ref().is_some_and(|it| it.cleared_after_h.is_some()), "snow"),
        (scenario.generator.is_some() && engine, "generator"),
        (
            scenario.disconnect.as_ref().is_some_and(|it| it.reconnects == Reconnects::ByHand),
            "disconnect",
        ),
        (wakes, "BMS"),
    ];
    all.into_iter().filter(|(waits, _)| *waits).map(|(_, what)| what).collect()
}

impl Comparison {
    pub(super) fn of(
        facts: Facts,
        stations: Vec<OfContender>,
        pairs: Vec<Pair>,
        trials_left_out: usize,
    ) -> Self {
        let warnings = warnings(&facts, &stations, trials_left_out);
        Self {
            title: facts.title,
            version: env!("CARGO_PKG_VERSION").into(),
            sentence: String::new(),
            occasion: facts.occasion,
            seed: facts.seed,
            trials: facts.trials,
            trials_left_out,
            hours: facts.shape.hours(),
            start: facts.start.filter(|_| facts.same_start),
            warmup_days: facts.warmup_days,
            month_days: DAYS,
            months: facts.months,
            currency: facts.prices.as_ref().map(|prices| prices.currency.clone()),
            mains_per_kwh: facts.prices.as_ref().map(|prices| prices.mains_per_kwh),
            stations,
            pairs,
            on_air_at_h: at_hours(facts.shape),
            nights_h: facts.nights_h,
            warnings,
        }
    }

    /// The pair of two stations by their places.
    #[must_use]
    pub fn pair(&self, a: usize, b: usize) -> Option<&Pair> {
        let (first, second) = (a.min(b), a.max(b));
        let mut at = 0;
        for one in 0..self.stations.len() {
            for other in one + 1..self.stations.len() {
                if (one, other) == (first, second) {
                    return self.pairs.get(at);
                }
                at += 1;
            }
        }
        None
    }
}

fn warnings(facts: &Facts, stations: &[OfContender], left_out: usize) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let mut note = |text: String| {
        warnings.push(Warning { kind: WarningKind::Note, path: String::new(), text });
    };
    if left_out > 0 {
        note(format!(
            "{left_out} trials are left out: they hold a value that is no number of a station. This is a fault of longwatch"
        ));
    }
    let strategies = stations.iter().filter(|it| it.kind == Kind::Strategy).count();
    if facts.warmup_days == 0 && strategies > 1 {
        note("all begin with the same charge, since `start.warmup_days` is left out: what the strategies make of the days before is not in this".to_owned());
    }
    if facts.warmup_days > 0 && stations.iter().any(|it| it.normal_month.is_none()) {
        note(
            "there is no month of normal operation: the weather series does not reach back so far"
                .to_owned(),
        );
    }
    warnings
}
