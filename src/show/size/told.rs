//! The reasons for the choice, in sentences: margin, what helps more, what lies beyond the options,
//! when it fails, and what to be wary of.

use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::text::clean;
use super::super::words::{charge, moment, number};
use super::sentence::{battery, counted, money, panels, station};
use crate::decide::size::confirm::{Checked, Neighbour};
use crate::decide::size::ladder::Place;
use crate::decide::size::{Minimize, Sizing};
use crate::scenario::problem::MONTHS;

/// Every sentence, in the order in which people need them.
#[must_use]
pub fn told(sizing: &Sizing) -> Vec<String> {
    let mut said = Vec::new();
    said.extend(forced_by_rules(sizing));
    said.extend(margin(sizing));
    said.extend(helps_more(sizing));
    said.extend(beyond(sizing));
    said.extend(season(sizing));
    said.extend(fresh(sizing));
    said.extend(passed_over(sizing));
    said.extend(broken(sizing));
    said.push(effort(sizing));
    if sizing.options.derived {
        said.push(
            "The scenario has no `sizing`: the sizes lie around what it has, without prices and \
             masses."
                .to_owned(),
        );
    }
    said
}

/// What a neighbour has less or more of: `1 x 100 W less`.
#[must_use]
pub fn step_name(chosen: Place, other: Place) -> &'static str {
    match other {
        it if it.panels < chosen.panels => "one step less of panels",
        it if it.battery < chosen.battery => "one step less of battery",
        it if it.charger < chosen.charger => "one step less of charger",
        it if it.panels > chosen.panels => "one step more of panels",
        it if it.battery > chosen.battery => "one step more of battery",
        _ => "one step more of charger",
    }
}

/// A text with a capital letter at its start.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map_or(String::new(), |first| first.to_uppercase().to_string());
    format!("{first}{}", letters.as_str())
}

/// That the rules need a larger station than the loads that count.
fn forced_by_rules(sizing: &Sizing) -> Option<String> {
    let (chosen, enough) = (sizing.chosen.as_ref()?, sizing.by_tier.shed_at_once.as_ref()?);
    let less = match (sizing.least, chosen.costs, enough.costs) {
        (Minimize::Mass, now, then) => then.mass_kg? < now.mass_kg?,
        (_, now, then) => then.price? < now.price?,
    };
    if !less {
        return None;
    }
    let tier = sizing.wanted.lowest_tier.as_deref();
    let tier = tier.or(sizing.by_tier.tiers.last().map(|it| it.lowest_tier.as_str()))?;
    let price = enough.costs.price.filter(|price| *price > 0.0);
    let price = price.map_or(String::new(), |it| format!(" for {}", money(&sizing.options, it)));
    Some(format!(
        "Your shedding rule forces the size. In \"{}\" from the start, {}{price} is enough. Change the \
         rule first: it costs nothing (`card`).",
        clean(tier),
        station(&sizing.options, enough.place)
    ))
}

/// How far the next smaller stations miss.
fn margin(sizing: &Sizing) -> Option<String> {
    let chosen = sizing.chosen.as_ref()?;
    let target = exact_percent(sizing.wanted.chance);
    if sizing.smaller.is_empty() {
        return Some("There is nothing smaller to choose from.".to_owned());
    }
    let miss: Vec<String> = sizing
        .smaller
        .iter()
        .filter(|it| !it.station.reaches)
        .map(|it| {
            let fewer = chosen.survived.saturating_sub(it.station.survived);
            format!(
                "{}: {} more of the {} fail",
                step_name(chosen.place, it.station.place),
                whole(fewer),
                Words::of(sizing.occasion).counted(it.station.trials)
            )
        })
        .collect();
    let too: Vec<String> = sizing
        .smaller
        .iter()
        .filter(|it| it.station.reaches)
        .map(|it| step_name(chosen.place, it.station.place).to_owned())
        .collect();
    let mut said = Vec::new();
    if !miss.is_empty() {
        said.push(format!("One step less does not show {target}. {}.", capital(&miss.join("; "))));
    }
    if !too.is_empty() {
        said.push(format!(
            "It is close: in these fresh trials {} would pass too, but not in the search. The \
             larger station is the careful choice.",
            too.join(" and ")
        ));
    }
    Some(said.join(" "))
}

/// Whether one more step of panels or of battery helps more.
fn helps_more(sizing: &Sizing) -> Option<String> {
    let chosen = sizing.chosen.as_ref()?;
    let gain = |it: &Neighbour| {
        i64::try_from(it.only_it).unwrap_or(0) - i64::try_from(it.only_chosen).unwrap_or(0)
    };
    let price = |it: &Neighbour| Some(it.station.costs.price? - chosen.costs.price?);
    let ladders = &sizing.options;
    let tell = |it: &Neighbour| {
        let (step, kind) = (it.station.place, step_name(chosen.place, it.station.place));
        let size = match step {
            s if s.panels != chosen.place.panels => panels(ladders, s.panels),
            s if s.battery != chosen.place.battery => battery(ladders, s.battery),
            s => format!("{} A", number(ladders.chargers[s.charger].limit_a.unwrap_or(0.0), 0)),
        };
        let cost = price(it).filter(|price| *price > 0.0);
        let cost = cost.map_or(String::new(), |price| format!(", {} more", money(ladders, price)));
        let many = Words::of(sizing.occasion).many;
        match gain(it) {
            0 => format!("{kind} ({size}{cost}): no more {many} survived"),
            gain if gain > 0 => {
                format!("{kind} ({size}{cost}): {} more {many} survived", number(gain as f64, 0))
            }
            gain => {
                format!("{kind} ({size}{cost}): {} fewer {many} survived", number(-gain as f64, 0))
            }
        }
    };
    let all: Vec<String> = sizing.larger.iter().map(tell).collect();
    if all.is_empty() {
        return None;
    }
    let mut said = format!("{}.", capital(&all.join("; ")));
    let of = |more: fn(Place, Place) -> bool| {
        sizing.larger.iter().find(|it| more(it.station.place, chosen.place))
    };
    let (panel, store) = (of(|a, b| a.panels > b.panels), of(|a, b| a.battery > b.battery));
    if let (Some(panel), Some(store)) = (panel, store) {
        let (one, other) = (gain(panel), gain(store));
        let better = match one.cmp(&other) {
            std::cmp::Ordering::Greater => "panels",
            std::cmp::Ordering::Less => "battery",
            std::cmp::Ordering::Equal => "",
        };
        said += &match better {
            "" => " Both help alike".to_owned(),
            better => format!(" A step of {better} helps more"),
        };
        // For the same money too.
        if let (Some(a), Some(b)) = (price(panel), price(store))
            && a > 0.0
            && b > 0.0
            && one.max(other) > 0
        {
            let (panel_worth, store_worth) = (one as f64 / a, other as f64 / b);
            let for_money = if panel_worth > store_worth { "panels" } else { "battery" };
            said += &match for_money == better {
                true => "; so it does for the same money".to_owned(),
                false => format!("; for the same money it is {for_money}"),
            };
        }
        said.push('.');
    }
    Some(said)
}

/// What lies beyond the options.
fn beyond(sizing: &Sizing) -> Vec<String> {
    let (ladders, limits) = (&sizing.options, &sizing.limits);
    let mut said = Vec::new();
    let or_less = |step: usize| if step > 0 { " or less" } else { "" };
    if let Some(it) = &limits.no_panels {
        let step = it.place.battery;
        said.push(format!(
            "With {}{} no number of panels reaches it: with panels and controller without limit it \
             is on the air {}.",
            battery(ladders, step),
            or_less(step),
            counted(sizing, it.survived, it.trials)
        ));
    }
    if let Some(it) = &limits.more_panels {
        said.push(format!(
            "With {} it takes more than {}, though enough panels would do.",
            battery(ladders, it.place.battery),
            panels(ladders, ladders.panels.len() - 1)
        ));
    }
    if let Some(it) = &limits.no_battery {
        let step = it.place.panels;
        said.push(format!(
            "With {}{} no size of battery reaches it: with one without limit, full when it begins, \
             it is on the air {}.",
            panels(ladders, step),
            or_less(step),
            counted(sizing, it.survived, it.trials)
        ));
    }
    if let Some(it) = &limits.more_battery {
        let step = it.place.panels;
        said.push(format!(
            "With {}{} it takes more than {}, though enough battery, full when it begins, would do.",
            panels(ladders, step),
            or_less(step),
            charge(ladders.batteries.last().map_or(0.0, |it| it.rated_ah))
        ));
    }
    said
}

/// When the station fails.
fn season(sizing: &Sizing) -> Option<String> {
    let season = &sizing.season;
    let name = |month: u32| MONTHS[(month as usize + 11) % 12];
    if season.months.is_empty() {
        let start = season.start?;
        return Some(format!(
            "It is sized for the one date in the scenario, {}. Other seasons are not examined.",
            moment(&start, 8760.0)
        ));
    }
    let Some(month) = season.binding_month else {
        return Some("It failed in no month.".to_owned());
    };
    let one = season.months.iter().find(|it| it.month == month)?;
    let words = Words::of(sizing.occasion);
    if season.start.is_some() {
        return Some(format!(
            "{} is the hardest month: {} of {} first go off the air in it.",
            name(month),
            whole(one.failed),
            words.counted(one.trials)
        ));
    }
    let share = |failed: u64, trials: u64| exact_percent(failed as f64 / trials.max(1) as f64);
    let others: Vec<String> = season
        .months
        .iter()
        .filter(|it| it.month != month)
        .map(|it| format!("{} {}", name(it.month), share(it.failed, it.trials)))
        .collect();
    let rest = if others.is_empty() { String::new() } else { format!(" ({})", others.join(", ")) };
    Some(format!(
        "{} is the hardest month: of the {} that begin in it {} fail{rest}.",
        name(month),
        words.counted(one.trials),
        share(one.failed, one.trials)
    ))
}

/// That what is told comes from trials that the search has not seen.
fn fresh(sizing: &Sizing) -> Option<String> {
    let any = sizing.chosen.as_ref().or(sizing.smallest_stations.first())?;
    let [low, high] = any.on_air_wilson_95.map(exact_percent);
    let words = Words::of(sizing.occasion);
    let range =
        format!("{} to {}", whole(any.first_trial), whole(any.first_trial + any.trials - 1));
    Some(if sizing.chosen.is_some() {
        format!(
            "Counted in {} {range} of seed {}, which the search did not use: {low} to {high} (95 % \
             range), at least {} (95 %).",
            words.many,
            sizing.seed,
            exact_percent(any.on_air_lower_95_one_sided)
        )
    } else {
        format!(
            "Each is counted in {} that the search did not use, first {range} of seed {}.",
            words.many, sizing.seed
        )
    })
}

/// Stations of the search that fresh trials did not confirm.
fn passed_over(sizing: &Sizing) -> Option<String> {
    let list: Vec<String> = sizing
        .missed
        .iter()
        .map(|it: &Checked| {
            format!(
                "{} (at least {})",
                station(&sizing.options, it.place),
                exact_percent(it.on_air_lower_95_one_sided)
            )
        })
        .collect();
    let many = Words::of(sizing.occasion).many;
    (!list.is_empty()).then(|| {
        format!(
            "Fresh {many} did not confirm these stations of the search, so the next one was tried: {}.",
            list.join(", ")
        )
    })
}

/// Where more is not better.
fn broken(sizing: &Sizing) -> Option<String> {
    let it = sizing.breaks.worst?;
    let (ladders, words) = (&sizing.options, Words::of(sizing.occasion));
    let (smaller, larger) = (station(ladders, it.smaller), station(ladders, it.larger));
    Some(if sizing.breaks.against_the_walk == 0 {
        format!(
            "More is not better in every {one}. In {} of {} pairs of stations there are {} that only \
             the smaller one survives, at worst {} of {}. The cause is rules that read the charge. No \
             larger station is clearly worse.",
            whole(sizing.breaks.broken),
            whole(sizing.breaks.pairs),
            words.many,
            whole(it.only_smaller),
            whole(it.trials),
            one = words.one
        )
    } else {
        format!(
            "More is not better here: only {smaller} survives {} of {}, only {larger} survives {}. \
             The cause is rules that read the charge: on a larger battery a fuller tier stays on for \
             longer. Set `shedding` again for the station that you build, and size again.",
            whole(it.only_smaller),
            words.counted(it.trials),
            whole(it.only_larger)
        )
    })
}

/// How much had to be simulated.
fn effort(sizing: &Sizing) -> String {
    let effort = &sizing.effort;
    let lines = if effort.for_the_lines > 0 {
        format!(", {} more for the other lines of the chart", whole(effort.for_the_lines))
    } else {
        String::new()
    };
    format!(
        "Of {} stations to choose from, {} were simulated to find it{lines}; {} in all.",
        whole(effort.stations),
        whole(effort.for_the_target),
        Words::of(sizing.occasion).counted(effort.trials)
    )
}
