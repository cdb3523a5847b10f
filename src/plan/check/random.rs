//! What trials draw: day types, resampling, the random grid, storms, uncertain inputs.

use chrono::NaiveTime;

use super::{Check, num};
use crate::clock::LocalClock;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind, likely, list_of};
use crate::scenario::schedule::{Attended, Begins, DurationLaw, Grid, OutageAtRandom, RandomGrid};
use crate::scenario::sun::{Chain, DayTypes, Spread, Storm, Sun};
use crate::warning::Kind;

/// Shares that make a whole may miss it by this: they are typed with few decimals.
const WHOLE_WITHIN: f64 = 1e-6;

impl Check<'_> {
    /// Everything that only trials draw.
    pub(super) fn random(&mut self) {
        if let Sun::Profile(profile) = &self.scenario.sun
            && let Some(days) = &profile.day_types
        {
            self.day_types(days);
        }
        self.storm();
        self.uncertain();
        self.false_alarms();
    }

    fn day_types(&mut self, days: &DayTypes) {
        let at = JsonPath::keys(&["sun", "profile", "day_types"]);
        if days.types.is_empty() {
            let problem = Problem::new(ProblemKind::MissingKey, "there is no type of day")
                .at(self.spans, &at.key("types"), "empty")
                .hint(
                    "Give at least one, such as `\"sunny\": {\"sun_multiplier\": {\"fixed\": 1}}`.",
                );
            self.found(problem);
            return;
        }
        for (name, kind) in &days.types {
            self.spread(&at.key("types").key(name).key("sun_multiplier"), &kind.sun_multiplier);
        }
        let count = days.types.len();
        let known = || days.types.keys().map(String::as_str);
        if let Some(name) = days.yesterday.as_ref().filter(|name| !days.types.contains_key(*name)) {
            let label = match likely(name, known()) {
                Some(meant) => format!("did you mean `{meant}`?"),
                None => "found this".to_owned(),
            };
            let text = format!("there is no type of day named `{name}`");
            let problem = Problem::new(ProblemKind::UnknownName, &text)
                .at(self.spans, &at.key("yesterday"), &label)
                .allowed(&list_of(known()));
            self.found(problem);
        }
        match &days.chain {
            Chain::Shares { type_share, lag1_correlation } => {
                let at = at.key("chain").key("shares");
                if !self.one_each(&at.key("type_share"), type_share.len(), count)
                    || !self.whole(&at.key("type_share"), type_share)
                {
                    return;
                }
                let least = least_correlation(type_share);
                if *lag1_correlation < least || *lag1_correlation >= 1.0 {
                    let text = "no days follow each other like that";
                    let problem = Problem::new(ProblemKind::Impossible, text)
                        .at(self.spans, &at.key("lag1_correlation"), "found this")
                        .allowed(&format!("from {} to below 1 with these shares", num(least)));
                    self.found(problem);
                }
            }
            Chain::Matrix { next_share } => {
                let at = at.key("chain").key("matrix").key("next_share");
                if !self.one_each(&at, next_share.len(), count) {
                    return;
                }
                let mut good = true;
                for (row, shares) in next_share.iter().enumerate() {
                    good &= self.one_each(&at.index(row), shares.len(), count)
                        && self.whole(&at.index(row), shares);
                }
                if good && !joins_up(next_share) {
                    let text = "the days fall apart into groups that never follow each other";
                    let problem = Problem::new(ProblemKind::Impossible, text)
                        .at(self.spans, &at, "has no single long run")
                        .hint("Which group a trial is in would decide everything: make two scenarios of it.");
                    self.found(problem);
                }
            }
        }
    }

    fn one_each(&mut self, path: &JsonPath, found: usize, wanted: usize) -> bool {
        if found == wanted {
            return true;
        }
        let text = format!("there are {wanted} types of day, so {wanted} entries are needed");
        let problem = Problem::new(ProblemKind::WrongType, &text).at(
            self.spans,
            path,
            &format!("found {found}"),
        );
        self.found(problem);
        false
    }

    fn whole(&mut self, path: &JsonPath, shares: &[f64]) -> bool {
        let sum: f64 = shares.iter().sum();
        if (sum - 1.0).abs() <= WHOLE_WITHIN {
            return true;
        }
        let problem = Problem::new(ProblemKind::Impossible, "these shares do not make a whole")
            .at(self.spans, path, &format!("together {}", num(sum)))
            .allowed("shares that add up to 1");
        self.found(problem);
        false
    }

    fn spread(&mut self, path: &JsonPath, spread: &Spread) {
        if let Spread::Uniform([low, high]) = spread
            && low >= high
        {
            let problem =
                Problem::new(ProblemKind::Impossible, "the ends of this spread are out of order")
                    .at(self.spans, &path.key("uniform"), "the lower end comes first")
                    .hint("Write one value that is always the same as `{\"fixed\": ...}`.");
            self.found(problem);
        }
    }

    /// What the season of a random hour must be like.
    pub(super) fn season(&mut self, clock: &LocalClock, forced: &OutageAtRandom) {
        let at = JsonPath::keys(&["grid", "outage_at_random"]);
        if forced.from.0 >= forced.to.0 {
            self.clash(
                "this season ends before it begins",
                (&at.key("to"), "the date after its last"),
                (&at.key("from"), "its first date"),
                "Write the years: from 2026-11-01 to 2027-03-01.",
            );
            return;
        }
        for (key, date) in [("from", forced.from.0), ("to", forced.to.0)] {
            self.instant(clock, &at.key(key), date.and_time(NaiveTime::MIN));
        }
        if let Sun::Measured(measured) = &self.scenario.sun
            && measured.resample.is_none()
        {
            let text = "A series that is replayed has one winter: every trial has the same weather at the same hour. `resample` draws its days.";
            self.warn(Kind::Note, &at, text);
        }
    }

    pub(super) fn random_grid(&mut self, random: &RandomGrid) {
        let at = JsonPath::keys(&["grid", "random"]);
        let text = "In a single run the mains never fails: random outages belong to trials.";
        self.warn(Kind::Note, &at, text);
        if self.scenario.supply.is_none() {
            let text = "The mains feeds nothing: the station has no mains supply.";
            self.warn(Kind::Note, &at, text);
        }
        let whole = |law: &DurationLaw| matches!(law, DurationLaw::Geometric { .. });
        if whole(&random.up) != whole(&random.down) {
            let text = "One of `up` and `down` counts whole hours, the other does not: outages begin and end between hours.";
            self.warn(Kind::Note, &at, text);
        }
        if random.begins == Begins::JustFailed
            && self.scenario.start.warmup_days.is_some_and(|days| days > 0)
        {
            let text =
                "The mains has just failed when the warm-up days begin, not when the span does.";
            self.warn(Kind::Note, &at.key("begins"), text);
        }
    }

    fn storm(&mut self) {
        let at = JsonPath::keys(&["storm"]);
        let grid = &self.scenario.grid;
        match &self.scenario.storm {
            None if matches!(grid, Grid::Random(_)) => {
                let text = "Each outage is taken to come with a storm: two days at a fifth to four fifths of the clearness, a guess. `storm` says what is known.";
                self.warn(Kind::Note, &JsonPath::keys(&["grid", "random"]), text);
            }
            None => {}
            Some(Storm::Independent) if matches!(grid, Grid::Random(_)) => {
                let text = "Outages and sky are drawn apart. Storms that take the mains also darken the days after: leaving that out understates the trouble several times.";
                self.warn(Kind::Note, &at, text);
            }
            Some(Storm::Independent) => {
                let text = "`independent` changes nothing here: only a random grid brings storms of itself.";
                self.warn(Kind::Unused, &at, text);
            }
            Some(Storm::Coupled(coupling)) => {
                let at = at.key("coupled");
                self.spread(&at.key("clearness_multiplier"), &coupling.clearness_multiplier);
                let brightest = match coupling.clearness_multiplier {
                    Spread::Fixed(value) | Spread::Uniform([_, value]) => value,
                };
                if brightest > 1.0 {
                    let problem = Problem::new(
                        ProblemKind::Impossible,
                        "a storm does not make the sky clearer",
                    )
                    .at(self.spans, &at.key("clearness_multiplier"), "reaches beyond 1")
                    .allowed("0 to 1");
                    self.found(problem);
                }
                if matches!(grid, Grid::Always | Grid::None | Grid::Pattern(_)) {
                    let text = "No storm comes: storms begin with outages, and this grid has none of its own.";
                    self.warn(Kind::Unused, &at, text);
                }
                let cleared =
                    self.scenario.snow.as_ref().is_some_and(|it| it.cleared_after_h.is_some());
                if coupling.snow_chance > 0.0
                    && !cleared
                    && self.scenario.attended != Attended::Never
                {
                    let text = "Nobody clears the snow that storms bring: it lies until it slides. `snow.cleared_after_h` says otherwise.";
                    self.warn(Kind::Note, &at.key("snow_chance"), text);
                }
            }
        }
    }

    fn uncertain(&mut self) {
        let Some(uncertain) = &self.scenario.uncertain else { return };
        let at = JsonPath::keys(&["uncertain"]);
        let all = [
            ("load_multiplier", uncertain.load_multiplier),
            ("capacity_multiplier", uncertain.capacity_multiplier),
            ("array_multiplier", uncertain.array_multiplier),
        ];
        for (key, spread) in all {
            let Some(spread) = spread else { continue };
            self.spread(&at.key(key), &spread);
            let least = match spread {
                Spread::Fixed(value) | Spread::Uniform([value, _]) => value,
            };
            if key == "capacity_multiplier" && least <= 0.0 {
                let problem =
                    Problem::new(ProblemKind::OutOfRange, "a battery without capacity is none")
                        .at(self.spans, &at.key(key), "reaches down to 0")
                        .allowed("above 0");
                self.found(problem);
            }
        }
    }

    fn false_alarms(&mut self) {
        let Some(service) = &self.scenario.warning else { return };
        if let Some(least_h) =
            service.shortest_lead_time_h.filter(|least_h| *least_h > service.lead_time_h)
        {
            let at = JsonPath::keys(&["warning"]);
            self.clash(
                "the least lead time is longer than the lead time",
                (&at.key("shortest_lead_time_h"), &format!("{} h", num(least_h))),
                (&at.key("lead_time_h"), &format!("{} h", num(service.lead_time_h))),
                "`lead_time_h` is the longest when both are given.",
            );
        }
    }
}

/// The lowest lag-one correlation that days of these shares can have, each type followed by the
/// others in proportion.
fn least_correlation(type_share: &[f64]) -> f64 {
    // Staying: c + (1 - c) p must not be below 0, for the smallest p above 0.
    type_share
        .iter()
        .filter(|share| **share > 0.0 && **share < 1.0)
        .map(|share| -share / (1.0 - share))
        .fold(-1.0, f64::max)
}

/// Whether there is one group of types that every day leads to sooner or later.
fn joins_up(next_share: &[Vec<f64>]) -> bool {
    let count = next_share.len();
    let reached = |from: usize| {
        let mut seen = vec![false; count];
        let mut open = vec![from];
        while let Some(at) = open.pop() {
            if !std::mem::replace(&mut seen[at], true) {
                open.extend((0..count).filter(|next| next_share[at][*next] > 0.0));
            }
        }
        seen
    };
    let all: Vec<Vec<bool>> = (0..count).map(reached).collect();
    (0..count).any(|to| all.iter().all(|seen| seen[to]))
}
