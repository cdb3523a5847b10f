//! From a scenario and a target to the station.

use std::path::Path;

use super::bench::{Bench, Seen};
use super::breaks::breaks;
use super::confirm::{Checked, Neighbour, Tried, checked, confirm, is_less, order};
use super::ladder::{Ladders, Place};
use super::limits::Limits;
use super::result::{ByHand, Contour, Effort, HandStation, Simulated, Sizing, Wanted};
use super::rounds::{FIRST_ROUND, Side, at_least, shows};
use super::season::Season;
use super::staircase::{Staircase, corners, walk};
use super::tiers::ByTier;
use super::{Minimize, Options, Trouble};
use crate::decide::hand_method;
use crate::decide::odds::Occasion;
use crate::scenario::Scenario;
use crate::scenario::problem::{likely, list_of};
use crate::simulate::trials::Watch;

/// Chance of staying on the air for which lines are drawn beside that of the target.
const LINES: [f64; 5] = [0.5, 0.8, 0.9, 0.95, 0.99];

/// Finds the sizes that a checked scenario needs. Files that it names are looked for in `base_dir`.
///
/// # Errors
/// See [`Trouble`].
pub fn size(
    scenario: &Scenario,
    base_dir: &Path,
    options: &Options,
    watch: &Watch,
) -> Result<Sizing, Trouble> {
    let ladders = Ladders::of(scenario);
    let least = least_of(&ladders, options.minimize)?;
    let floor = floor_of(scenario, options.lowest_tier.as_deref())?;
    let mut bench = Bench::new(scenario, base_dir, &ladders, options, floor, watch);
    let mut search =
        Search { ladders: &ladders, target: options.target_chance, layers: Vec::new() };
    search.walk_all(&mut bench)?;
    let for_the_target = bench.all_seen().count();
    let mut rounds = 0;
    let found = match least {
        Minimize::All => search.smallest_stations(&mut bench, options.trials, &mut rounds)?,
        Minimize::Cost | Minimize::Mass => {
            search.choose(&mut bench, least, options.trials, &mut rounds)?
        }
    };
    let layer = found.layer();
    let chosen_or_largest = found.shown().unwrap_or(search.largest(layer));
    let fresh_from = found.trials_from(options.trials * (rounds + 1));
    let fresh = fresh_from..fresh_from + options.trials;
    let (mut smaller, mut larger) = (Vec::new(), Vec::new());
    if let Some((chosen, seen)) = &found.chosen {
        for (place, is_smaller) in search.neighbours(chosen.place) {
            let station = ladders.station(scenario, place);
            let other = bench.trial(&station, fresh.clone())?;
            let one = Neighbour {
                only_it: other.alone(seen),
                only_chosen: seen.alone(&other),
                station: checked(&ladders, place, &other, options.target_chance),
            };
            if is_smaller { smaller.push(one) } else { larger.push(one) }
        }
    }
    // When it fails is asked of the chosen station, or of the largest one where none was chosen.
    let station = ladders.station(scenario, chosen_or_largest);
    let seen = found.chosen.as_ref().map(|(_, seen)| seen).or(found.last.as_ref());
    let (season_seen, largest) = match seen {
        Some(seen) => (seen.clone(), None),
        None => {
            let seen = bench.trial(&station, fresh.clone())?;
            let largest = checked(&ladders, chosen_or_largest, &seen, options.target_chance);
            (seen, Some(largest).filter(|_| found.smallest_stations.is_empty()))
        }
    };
    let season = Season::of(&bench.prepare(&station)?, &season_seen);
    let stairs = search.stairs(layer);
    let limits = Limits::of(&mut bench, &ladders, layer, &stairs, options.target_chance)?;
    let contours = search.contours(&mut bench, layer, stairs, options)?;
    let hand = by_hand(&mut bench, &ladders, options, fresh)?;
    let all = bench.all_seen().count();
    let simulated = bench.all_seen().map(|(place, seen)| Simulated {
        place: *place,
        trials: seen.survived.len() as u64,
        survived: seen.all().successes(),
    });
    Ok(Sizing {
        sentence: String::new(),
        title: scenario.title.clone(),
        strategy: scenario.strategy.clone(),
        version: env!("CARGO_PKG_VERSION").into(),
        occasion: Occasion::of(scenario),
        seed: options.seed,
        trials: options.trials,
        wanted: Wanted {
            hours: scenario.span.hours,
            chance: options.target_chance,
            lowest_tier: options.lowest_tier.clone(),
        },
        least,
        simulated: simulated.collect(),
        effort: Effort {
            stations: ladders.count() as u64,
            for_the_target: for_the_target as u64,
            for_the_lines: (all - for_the_target) as u64,
            trials: bench.trials_run,
        },
        breaks: breaks(&bench, found.shown(), &smaller.iter().chain(&larger).collect::<Vec<_>>()),
        chosen: found.chosen.map(|(chosen, _)| chosen),
        smaller,
        larger,
        smallest_stations: found.smallest_stations,
        missed: found.missed,
        largest,
        layer,
        contours,
        limits,
        season,
        worksheet: hand,
        by_tier: ByTier::default(),
        options: ladders,
    })
}

/// What is least, where nobody says: what all prices, or all masses, allow.
fn least_of(ladders: &Ladders, asked: Option<Minimize>) -> Result<Minimize, Trouble> {
    let first = Place { panels: 0, battery: 0, charger: 0, tilt: 0 };
    let last = |len: usize| len.saturating_sub(1);
    let top = Place {
        panels: last(ladders.panels.len()),
        battery: last(ladders.batteries.len()),
        charger: last(ladders.chargers.len()),
        tilt: 0,
    };
    let known = |of: fn(&crate::scenario::choices::PriceAndMass) -> Option<f64>| {
        let panels = ladders.panels.iter().map(|it| of(&it.costs));
        let batteries = ladders.batteries.iter().map(|it| of(&it.costs));
        let chargers = ladders.chargers.iter().map(|it| of(&it.costs));
        panels.chain(batteries).chain(chargers).all(|it| it.is_some())
            && of(&ladders.costs(first)) != of(&ladders.costs(top))
    };
    let (priced, weighed) = (known(|it| it.price), known(|it| it.mass_kg));
    let lacks = |flag: &str, key: &str| {
        Trouble::Asked(format!(
            "`--minimize {flag}` needs the `{key}` of every step of `sizing`; `--minimize frontier` needs none"
        ))
    };
    match asked {
        Some(Minimize::Cost) if !priced => Err(lacks("cost", "price")),
        Some(Minimize::Mass) if !weighed => Err(lacks("mass", "mass_kg")),
        Some(least) => Ok(least),
        None if priced => Ok(Minimize::Cost),
        None if weighed => Ok(Minimize::Mass),
        None => Ok(Minimize::All),
    }
}

/// The last tier that counts.
fn floor_of(scenario: &Scenario, name: Option<&str>) -> Result<usize, Trouble> {
    let Some(name) = name else { return Ok(scenario.tiers.len().saturating_sub(1)) };
    scenario.tiers.iter().position(|tier| tier.name == name).ok_or_else(|| {
        let names = || scenario.tiers.iter().map(|tier| tier.name.as_str());
        let hint = likely(name, names())
            .map_or_else(|| ".".to_owned(), |near| format!("; did you mean `{near}`?"));
        Trouble::Asked(format!(
            "the scenario has no tier `{name}`{hint} It has {}",
            list_of(names())
        ))
    })
}

/// What was found.
struct Found {
    chosen: Option<(Checked, Seen)>,
    /// What was seen of the last station of the smallest stations.
    last: Option<Seen>,
    smallest_stations: Vec<Checked>,
    missed: Vec<Checked>,
}

impl Found {
    fn shown(&self) -> Option<Place> {
        let chosen = self.chosen.as_ref().map(|(chosen, _)| chosen.place);
        chosen.or(self.smallest_stations.last().map(|it| it.place))
    }

    /// The layer that is shown: the first, where nothing was found.
    fn layer(&self) -> Place {
        let shown = self.shown().or(self.missed.last().map(|it| it.place));
        let (charger, tilt) = shown.map_or((0, 0), |it| (it.charger, it.tilt));
        Place { panels: 0, battery: 0, charger, tilt }
    }

    /// The first of the fresh trials of what is shown.
    fn trials_from(&self, otherwise: u64) -> u64 {
        let shown =
            self.chosen.as_ref().map(|(chosen, _)| chosen).or(self.smallest_stations.last());
        shown.map_or(otherwise, |shown| shown.first_trial)
    }
}

/// The walk over all layers.
struct Search<'a> {
    ladders: &'a Ladders,
    target: f64,
    layers: Vec<(Place, Staircase)>,
}

impl Search<'_> {
    fn walk_all(&mut self, bench: &mut Bench) -> Result<(), Trouble> {
        let (panels, batteries) = (self.ladders.panels.len(), self.ladders.batteries.len());
        for charger in 0..self.ladders.chargers.len() {
            for tilt in 0..self.ladders.tilts_deg.len() {
                let stairs = walk(panels, batteries, |panels, battery| {
                    let place = Place { panels, battery, charger, tilt };
                    Ok::<_, Trouble>(bench.side(place, self.target)? == Side::Reaches)
                })?;
                self.layers.push((Place { panels: 0, battery: 0, charger, tilt }, stairs));
            }
        }
        Ok(())
    }

    fn stairs(&self, layer: Place) -> Staircase {
        let same =
            |it: &&(Place, Staircase)| it.0.charger == layer.charger && it.0.tilt == layer.tilt;
        self.layers.iter().find(same).map(|(_, stairs)| stairs.clone()).unwrap_or_default()
    }

    fn largest(&self, layer: Place) -> Place {
        Place {
            panels: self.ladders.panels.len() - 1,
            battery: self.ladders.batteries.len() - 1,
            ..layer
        }
    }

    /// Stations that reach the target as far as search knows, of one layer.
    fn reaching<'s>(&'s self, layer: &'s (Place, Staircase)) -> impl Iterator<Item = Place> + 's {
        let (place, stairs) = layer;
        stairs.iter().enumerate().flat_map(move |(battery, least)| {
            let from = least.unwrap_or(self.ladders.panels.len());
            (from..self.ladders.panels.len()).map(move |panels| Place { panels, battery, ..*place })
        })
    }

    /// The least of all that reach the target; the next one where fresh trials do not confirm it.
    fn choose(
        &self,
        bench: &mut Bench,
        least: Minimize,
        trials: u64,
        rounds: &mut u64,
    ) -> Result<Found, Trouble> {
        let next = |missed: &[Checked]| {
            // No station that is no larger than one that missed.
            let beaten = |place: &Place| {
                missed.iter().map(|it| it.place).any(|it| {
                    it.charger == place.charger
                        && it.tilt == place.tilt
                        && place.panels <= it.panels
                        && place.battery <= it.battery
                })
            };
            let all = self.layers.iter().flat_map(|layer| self.reaching(layer));
            let orders = all.filter(|it| !beaten(it)).map(|it| order(self.ladders, least, it));
            let best = orders.reduce(|best, one| if is_less(&one, &best) { one } else { best });
            best.map(|(.., place)| place)
        };
        let target = (self.target, trials);
        let Tried { confirmed: chosen, missed } =
            confirm(bench, self.ladders, target, rounds, next)?;
        Ok(Found { chosen, missed, smallest_stations: Vec::new(), last: None })
    }

    /// Every smallest station over all layers, each confirmed; one that is not takes a step more of
    /// panels.
    fn smallest_stations(
        &self,
        bench: &mut Bench,
        trials: u64,
        rounds: &mut u64,
    ) -> Result<Found, Trouble> {
        let mut best: Staircase = vec![None; self.ladders.batteries.len()];
        let mut layer_of = vec![Place { panels: 0, battery: 0, charger: 0, tilt: 0 }; best.len()];
        for (layer, stairs) in &self.layers {
            for (battery, least) in stairs.iter().enumerate() {
                if let Some(least) = least
                    && best[battery].is_none_or(|known| *least < known)
                {
                    best[battery] = Some(*least);
                    layer_of[battery] = *layer;
                }
            }
        }
        let mut found =
            Found { chosen: None, last: None, smallest_stations: Vec::new(), missed: Vec::new() };
        // All corners meet the same fresh trials; who misses goes on with others.
        let first = *rounds;
        let mut most = first;
        for (panels, battery) in corners(&best) {
            let mut at = first;
            let next = |missed: &[Checked]| {
                let panels = panels + missed.len();
                let place = Place { panels, battery, ..layer_of[battery] };
                (panels < self.ladders.panels.len()).then_some(place)
            };
            let target = (self.target, trials);
            let Tried { confirmed, missed } = confirm(bench, self.ladders, target, &mut at, next)?;
            most = most.max(at);
            found.missed.extend(missed);
            // One that had to step up may be no smaller than the corner before it.
            if let Some((one, seen)) = confirmed
                && found
                    .smallest_stations
                    .last()
                    .is_none_or(|it| one.place.panels < it.place.panels)
            {
                found.smallest_stations.push(one);
                found.last = Some(seen);
            }
        }
        *rounds = most;
        Ok(found)
    }

    /// One step less, or more, of panels, battery, charger; whether it is less.
    fn neighbours(&self, of: Place) -> Vec<(Place, bool)> {
        let mut found = Vec::new();
        let less = |it: usize| it.checked_sub(1);
        found.extend(less(of.panels).map(|panels| (Place { panels, ..of }, true)));
        found.extend(less(of.battery).map(|battery| (Place { battery, ..of }, true)));
        found.extend(less(of.charger).map(|charger| (Place { charger, ..of }, true)));
        let more = |it: usize, len: usize| Some(it + 1).filter(|it| *it < len);
        let ladders = self.ladders;
        found.extend(
            more(of.panels, ladders.panels.len()).map(|panels| (Place { panels, ..of }, false)),
        );
        found.extend(
            more(of.battery, ladders.batteries.len())
                .map(|battery| (Place { battery, ..of }, false)),
        );
        found.extend(
            more(of.charger, ladders.chargers.len())
                .map(|charger| (Place { charger, ..of }, false)),
        );
        found
    }

    /// Lines of equal chance in a layer: that of the target by decisions, the others by the share
    /// of a first round that all stations have.
    fn contours(
        &self,
        bench: &mut Bench,
        layer: Place,
        stairs: Staircase,
        options: &Options,
    ) -> Result<Vec<Contour>, Trouble> {
        let target = options.target_chance;
        let mut lines =
            vec![Contour { chance: target, trials: options.trials, least_panels: stairs }];
        let upto = FIRST_ROUND.min(options.trials);
        for level in LINES.into_iter().filter(|_| options.lines) {
            // Lines that would lie on that of the target say nothing.
            if (level - target).abs() < 0.5 * (1.0 - target) {
                continue;
            }
            let (panels, batteries) = (self.ladders.panels.len(), self.ladders.batteries.len());
            let least_panels = walk(panels, batteries, |panels, battery| {
                let place = Place { panels, battery, ..layer };
                Ok::<_, Trouble>(bench.share(place, upto)? >= level)
            })?;
            lines.push(Contour { chance: level, trials: upto, least_panels });
        }
        Ok(lines)
    }
}

/// The sizing worksheet, and its station in simulation.
fn by_hand(
    bench: &mut Bench,
    ladders: &Ladders,
    options: &Options,
    fresh: std::ops::Range<u64>,
) -> Result<Option<ByHand>, Trouble> {
    let scenario = bench.scenario();
    let floor = options.lowest_tier.as_deref();
    let array = ladders.array.as_deref();
    let Some(worksheet) = hand_method::worksheet_of(scenario, bench.base_dir(), array, floor)
    else {
        return Ok(None);
    };
    let Some(steps) = hand_method::steps(&worksheet) else { return Ok(None) };
    let panels = steps.array.as_ref().map_or(0, |it| it.modules);
    let station = ladders.with_counts(scenario, panels, steps.bank.final_capacity_ah);
    let tally = bench.trial(&station, fresh)?.all();
    let station = HandStation {
        panels,
        rated_w: ladders.panel_w(scenario) * f64::from(panels),
        rated_ah: steps.bank.final_capacity_ah,
        costs: ladders.costs_with_counts(scenario, panels, steps.bank.final_capacity_ah),
        trials: tally.trials(),
        survived: tally.successes(),
        on_air_share: tally.share(),
        on_air_lower_95_one_sided: at_least(tally),
        reaches: shows(tally, options.target_chance),
    };
    Ok(Some(ByHand { worksheet, steps, station }))
}
