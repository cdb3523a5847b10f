//! Do the stations of a club fit each other? Names, one series of days and one grid, packs of one kind.

use super::{Composed, Making, owners, shared};
use crate::plan::check::dates_never_met;
use crate::plan::compile::{battery_of, clock_and_stretch};
use crate::scenario::club::{CountsAsUp, Handover};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind, likely, list_of};
use crate::scenario::schedule::{Attended, Grid};
use crate::station::battery::register;
use crate::warning::{Kind, Warning};

impl Making<'_> {
    /// Every name must be borne by somebody.
    pub(super) fn names(&mut self) {
        let club = self.club;
        let stations: Vec<&str> = club.stations.keys().map(String::as_str).collect();
        let members: Vec<&str> = club.members.keys().map(String::as_str).collect();
        if stations.is_empty() {
            let at = JsonPath::keys(&["stations"]);
            let problem = Problem::new(ProblemKind::Impossible, "a club has at least one station");
            self.own.push(problem.at(self.spans, &at, "none in here"));
        }
        for (window, names) in &club.roster {
            for (index, name) in names.iter().enumerate() {
                let at = JsonPath::keys(&["roster", window]).index(index);
                self.known("station", name, &stations, &at);
            }
        }
        for (path, owner) in owners(club) {
            if members.is_empty() {
                let text = format!("`{owner}` owns something, but the club has no `members`");
                let problem = Problem::new(ProblemKind::UnknownName, &text)
                    .at(self.spans, &path, "not among the members")
                    .hint("Name everybody who owns something under `members`; `{}` is enough.");
                self.own.push(problem);
            } else {
                self.known("member", owner, &members, &path);
            }
        }
        self.pack_names(&stations);
        if let CountsAsUp::AtLeast(count) = club.counts_as_up
            && count as usize > stations.len()
        {
            let text = format!("{count} stations must be up, and there are {}", stations.len());
            let at = JsonPath::keys(&["counts_as_up", "at_least"]);
            let problem = Problem::new(ProblemKind::Impossible, &text);
            self.own.push(problem.at(self.spans, &at, "more than there are"));
        }
        if club.packs.is_none() {
            for (name, station) in &club.stations {
                if station.swap.is_some() {
                    let at = JsonPath::keys(&["stations", name, "swap"]);
                    let text = format!("station `{name}` swaps packs, and there are no `packs`");
                    let problem = Problem::new(ProblemKind::MissingKey, &text);
                    self.own.push(problem.at_key(self.spans, &at, "of which packs?"));
                }
            }
            if club.charging_point.is_some() {
                let at = JsonPath::keys(&["charging_point"]);
                let text = "a charging point without `packs` has nothing to charge";
                let problem = Problem::new(ProblemKind::MissingKey, text);
                self.own.push(problem.at_key(self.spans, &at, "charges packs"));
            }
        }
    }

    fn pack_names(&mut self, stations: &[&str]) {
        let Some(packs) = &self.club.packs else { return };
        let mut taken: Vec<(&str, &str)> = Vec::new();
        for (name, pack) in &packs.each {
            let Some(station) = pack.at.as_deref() else { continue };
            let at = JsonPath::keys(&["packs", "each", name, "at"]);
            self.known("station", station, stations, &at);
            if let Some((first, _)) = taken.iter().find(|(_, there)| *there == station) {
                let text = format!("two packs are at `{station}`: packs are never in parallel");
                let first = JsonPath::keys(&["packs", "each", first, "at"]);
                let hint = "Leave `at` out for a spare. A station with a bank of its own says so in its `battery` and takes no packs.";
                let problem = Problem::new(ProblemKind::Conflict, &text)
                    .at(self.spans, &at, "the second")
                    .at(self.spans, &first, "the first")
                    .hint(hint);
                self.own.push(problem);
            }
            taken.push((name, station));
        }
    }

    fn known(&mut self, what: &str, name: &str, names: &[&str], at: &JsonPath) {
        if names.contains(&name) {
            return;
        }
        let label = match likely(name, names.iter().copied()) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => format!("not under `{what}s`"),
        };
        let problem =
            Problem::new(ProblemKind::UnknownName, &format!("there is no {what} called `{name}`"))
                .at(self.spans, at, &label)
                .allowed(&list_of(names.iter().copied()));
        self.own.push(problem);
    }

    /// Stations that are good by themselves: do they fit each other?
    pub(super) fn sense(&mut self, stations: &[Composed], point: Option<&Composed>) {
        self.one_for_all(stations, point);
        self.one_kind_of_pack(stations, point);
        self.roster_dates(stations);
        for composed in stations {
            self.swaps(composed);
        }
    }

    /// A watch on a date that the exercise never meets leaves its stations off watch unseen, which
    /// makes the club look better than it is.
    fn roster_dates(&mut self, stations: &[Composed]) {
        for (window, names) in &self.club.roster {
            let on = stations.iter().find(|it| names.contains(&it.name));
            let Some((station, its)) =
                on.and_then(|it| Some((it, it.scenario.windows.get(window)?)))
            else {
                continue;
            };
            let never = dates_never_met(&station.scenario, its);
            if never.is_empty() {
                continue;
            }
            let dates: Vec<String> = never.iter().map(ToString::to_string).collect();
            let text = format!("the watch `{window}` never comes on {}", dates.join(", "));
            let span = JsonPath::keys(&["common", "span"]);
            let dates = JsonPath::keys(&["common", "windows", window, "dates"]);
            let roster = JsonPath::keys(&["roster", window]);
            let mut problem = Problem::new(ProblemKind::Impossible, &text);
            if self.spans.place(&dates).is_some() {
                problem = problem.at(self.spans, &dates, "none of its hours are simulated");
            }
            problem = problem.at_key(self.spans, &roster, "a watch of the roster");
            if self.spans.place(&span).is_some() {
                problem = problem.at_key(self.spans, &span, "the hours that are simulated");
            }
            self.own.push(problem.hint("Mend the date or the span, or take the watch away."));
        }
    }

    /// Stations at which somebody is, and that the roster leaves out.
    pub(super) fn roster_warnings(&self, stations: &[Composed]) -> Vec<(String, Warning)> {
        let roster = &self.club.roster;
        let left_out = stations.iter().filter(|it| {
            it.scenario.attended != Attended::Never
                && !roster.is_empty()
                && !roster.values().flatten().any(|name| *name == it.name)
        });
        left_out
            .map(|it| {
                let name = &it.name;
                let text = format!(
                    "The roster leaves out `{name}`: it is taken to be on watch in every hour."
                );
                (name.clone(), Warning { kind: Kind::Note, path: "roster".to_owned(), text })
            })
            .collect()
    }

    /// One weather, one grid, one span.
    fn one_for_all(&mut self, stations: &[Composed], point: Option<&Composed>) {
        let Some(first) = stations.first() else { return };
        if matches!(first.scenario.grid, Grid::OutageAtRandom(_)) {
            let text = "an exercise has one beginning: `outage_at_random` gives each trial its own";
            let problem = Problem::new(ProblemKind::Impossible, text)
                .at(self.spans, &JsonPath::keys(&["common"]), "`grid` of all stations")
                .hint("A roster is by the clock: say `outage`, `random`, `outages` or `none`.");
            self.own.push(problem);
        }
        let one = shared(&first.scenario);
        for other in stations.iter().skip(1).chain(point) {
            let differ: Vec<String> = shared(&other.scenario)
                .into_iter()
                .filter(|(key, value)| one.get(key) != Some(value))
                .map(|(key, _)| key)
                .collect();
            if differ.is_empty() {
                continue;
            }
            let names = list_of(differ.iter().map(String::as_str));
            let text = format!(
                "`{}` and `{}` do not share {names}: a club has one weather and one mains",
                first.name, other.name
            );
            let at = if point.is_some_and(|it| it.name == other.name) {
                JsonPath::keys(&["charging_point"])
            } else {
                JsonPath::keys(&["stations", &other.name])
            };
            let problem = Problem::new(ProblemKind::Conflict, &text)
                .at_key(self.spans, &at, "unlike the first")
                .hint("Say what all share once, under `common`: it replaces what each says.");
            self.own.push(problem);
        }
    }

    /// A station takes only packs of the kind and the size of its own battery.
    fn one_kind_of_pack(&mut self, stations: &[Composed], point: Option<&Composed>) {
        let Some(packs) = &self.club.packs else { return };
        let battery_at = JsonPath::keys(&["packs", "battery"]);
        let takers: Vec<&Composed> =
            stations.iter().chain(point).filter(|it| it.takes_packs).collect();
        let pack = serde_json::from_value(serde_json::Value::Object(packs.battery.clone()));
        let Ok(pack) = pack else {
            // Nobody takes them, or it is told already.
            if takers.is_empty() {
                let text = "no station takes these packs: each has a battery of its own";
                let problem = Problem::new(ProblemKind::Impossible, text);
                self.own.push(problem.at_key(self.spans, &battery_at, "nobody's"));
            }
            return;
        };
        let strings = match &register::as_strings(&pack) {
            crate::scenario::battery::Battery::LithiumIronPhosphate(it) => it.strings,
            crate::scenario::battery::Battery::LeadAcid(it) => it.strings,
            crate::scenario::battery::Battery::Ideal(_) => 1,
        };
        if strings != 1 {
            let text = format!("a pack is one string, and this one has {strings}");
            let problem = Problem::new(ProblemKind::Impossible, &text)
                .at_key(self.spans, &battery_at, "packs are never side by side")
                .hint("Give the capacity of one pack; each pack stands under `each`.");
            self.own.push(problem);
        }
        let one = battery_of(&pack);
        for taker in takers {
            if battery_of(&taker.scenario.battery) != one {
                let text = format!(
                    "the packs do not fit `{}`: its battery is of another kind or size",
                    taker.name
                );
                let at = JsonPath::keys(&["stations", &taker.name]);
                let problem = Problem::new(ProblemKind::Conflict, &text)
                    .at_key(self.spans, &at, "has a battery of its own")
                    .at_key(self.spans, &battery_at, "the packs")
                    .hint("Take its battery away with `\"battery\": null` in its patch, or let no pack stand `at` it.");
                self.own.push(problem);
            }
        }
    }

    /// Swap rules that can be kept.
    fn swaps(&mut self, composed: &Composed) {
        let station = &self.club.stations[&composed.name];
        let Some(packs) = &self.club.packs else { return };
        let at = JsonPath::keys(&["stations", &composed.name]);
        let stands =
            packs.each.values().any(|pack| pack.at.as_deref() == Some(composed.name.as_str()));
        if composed.takes_packs && !stands {
            let text = format!("no pack stands at `{}` when the exercise begins", composed.name);
            let problem = Problem::new(ProblemKind::MissingKey, &text)
                .at_key(self.spans, &at, "takes packs")
                .hint("Give one of `packs.each` an `at`, or the station a `battery` of its own.");
            self.own.push(problem);
        }
        let Some(swap) = &station.swap else { return };
        if !composed.takes_packs {
            let text = format!("`{}` has a battery of its own and takes no packs", composed.name);
            let problem = Problem::new(ProblemKind::Conflict, &text)
                .at_key(self.spans, &at.key("swap"), "swaps packs")
                .hint("Let a pack stand `at` it, or leave `swap` out.");
            self.own.push(problem);
        }
        if swap.spare_above_share <= swap.below_share {
            let text = "a spare may be as empty as the pack that it replaces";
            let at = at.key("swap");
            let problem = Problem::new(ProblemKind::Impossible, text)
                .at(self.spans, &at.key("below_share"), "swapped below this")
                .at(self.spans, &at.key("spare_above_share"), "for one above this");
            self.own.push(problem);
        }
        if let (Handover::OffMin(off_min), Ok((_, stretch))) =
            (swap.handover, clock_and_stretch(&composed.scenario))
            && off_min > f64::from(stretch.step_min)
        {
            let text = "a handover takes longer than a step";
            let at = at.key("swap").key("handover").key("off_min");
            let problem = Problem::new(ProblemKind::Impossible, text)
                .at(self.spans, &at, &format!("{off_min} minutes"))
                .allowed(&format!("Up to `span.step_min`, {} minutes.", stretch.step_min));
            self.own.push(problem);
        }
    }
}
