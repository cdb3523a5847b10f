//! A search for sizes as a page of text, 80 columns wide.

use super::super::compare::table::cut;
use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::page_text::Page;
use super::super::tables::{Side, Table};
use super::super::text::{clean, lines};
use super::super::words::{number, trimmed};
use super::sentence::first_sentence;
use super::told::{step_name, told};
use super::worksheet::worksheet_table;
use crate::decide::size::Sizing;
use crate::decide::size::confirm::Checked;
use crate::decide::size::ladder::Place;
use crate::decide::size::staircase::corners;
use crate::scenario::choices::PriceAndMass;

/// Columns of a terminal.
const COLUMNS: usize = 80;
/// Columns of the name of a tier.
const NAME: usize = 24;

/// The text of a search for sizes.
#[must_use]
pub fn size_table(sizing: &Sizing) -> String {
    size_page(sizing).full()
}

/// The same as blocks.
#[must_use]
pub fn size_page(sizing: &Sizing) -> Page {
    let whose = format!("{}; strategy \"{}\"", clean(&sizing.title), clean(&sizing.strategy));
    let stations = stations_table(sizing).map_or(String::new(), |(counted, table)| {
        format!("{}{table}", wrapped(&format!("{counted}:"), 0))
    });
    let mut page = Page::new(wrapped(&first_sentence(sizing), 0) + &wrapped(&whose, 0))
        .block(0, "stations", stations);
    page = page.block(
        2,
        "smallest station by tier",
        tier_table(sizing).map_or(String::new(), |it| it.to_string()),
    );
    for (place, said) in told(sizing).iter().enumerate() {
        page = page.block(1 + place, "what changes with each step", wrapped(said, 2));
    }
    let corners = corner_table(sizing).map_or(String::new(), |table| table.to_string());
    page = page.block(20, "other smallest stations", corners);
    if let Some(hand) = &sizing.worksheet {
        let sources: String = hand.worksheet.sources.iter().map(|said| wrapped(said, 2)).collect();
        page = page
            .block(22, "sizing worksheet", worksheet_table(hand).to_string())
            .block(22, "sizing worksheet", sources)
            .block(21, "sizing worksheet", wrapped(&hand_said(sizing), 2));
    }
    page
}

/// A text folded at spaces, each line set in.
#[must_use]
pub fn wrapped(text: &str, set_in: usize) -> String {
    lines(text, COLUMNS, (set_in, set_in)).join("\n") + "\n"
}

/// Heads of the columns that every table of stations has.
fn heads<'h>(sizing: &'h Sizing, first: &'h str) -> Vec<(&'h str, Side)> {
    let mut heads = vec![(first, Side::Left), ("W", Side::Right), ("Ah", Side::Right)];
    if costs(sizing).price.is_some() {
        heads.push((sizing.options.currency.as_deref().unwrap_or("price"), Side::Right));
    }
    if costs(sizing).mass_kg.is_some() {
        heads.push(("kg", Side::Right));
    }
    heads.extend([("count", Side::Right), ("share", Side::Right), ("at least", Side::Right)]);
    heads
}

/// Whether prices and masses are known at all.
fn costs(sizing: &Sizing) -> PriceAndMass {
    let last = |len: usize| len - 1;
    let ladders = &sizing.options;
    let all = ladders.costs(Place {
        panels: last(ladders.panels.len()),
        battery: last(ladders.batteries.len()),
        charger: last(ladders.chargers.len()),
        tilt: 0,
    });
    PriceAndMass {
        price: all.price.filter(|it| *it > 0.0),
        mass_kg: all.mass_kg.filter(|it| *it > 0.0),
    }
}

fn cost_cells(sizing: &Sizing, of: Option<&PriceAndMass>) -> Vec<String> {
    let known = costs(sizing);
    let cell = |known: Option<f64>, value: Option<f64>, places: usize| {
        known.map(|_| value.map_or("-".to_owned(), |value| trimmed(value, places)))
    };
    let price = cell(known.price, of.and_then(|it| it.price), 0);
    let mass = cell(known.mass_kg, of.and_then(|it| it.mass_kg), 1);
    price.into_iter().chain(mass).collect()
}

fn row(table: &mut Table, sizing: &Sizing, name: &str, one: &Checked) {
    let mut cells = vec![format!("  {name}"), number(one.rated_w, 0), number(one.rated_ah, 0)];
    cells.extend(cost_cells(sizing, Some(&one.costs)));
    cells.extend([
        whole(one.survived),
        exact_percent(one.on_air_share),
        exact_percent(one.on_air_lower_95_one_sided),
    ]);
    table.row(&cells);
}

/// `12 panels, 11 strings`.
fn counts(panels: u32, strings: Option<u32>) -> String {
    let many = |count: u32, one: &str| match count {
        1 => format!("1 {one}"),
        count => format!("{count} {one}s"),
    };
    let strings = strings.map_or(String::new(), |count| format!(", {}", many(count, "string")));
    format!("{}{strings}", many(panels, "panel"))
}

/// What was counted, and the chosen station, its neighbours and that of the sizing worksheet, or
/// every smallest station.
#[must_use]
pub fn stations_table(sizing: &Sizing) -> Option<(String, Table)> {
    let count =
        sizing.chosen.as_ref().or(sizing.smallest_stations.first()).or(sizing.largest.as_ref())?;
    let words = Words::of(sizing.occasion);
    let counted = format!("On the air in how many of {} fresh {}", whole(count.trials), words.many);
    let mut table = Table::new(&heads(sizing, "Station"));
    if let Some(chosen) = &sizing.chosen {
        row(&mut table, sizing, "chosen", chosen);
        for it in sizing.smaller.iter().chain(&sizing.larger) {
            row(&mut table, sizing, step_name(chosen.place, it.station.place), &it.station);
        }
    }
    for it in &sizing.smallest_stations {
        row(&mut table, sizing, &counts(it.panels, it.strings), it);
    }
    if let Some(largest) = &sizing.largest {
        row(&mut table, sizing, "the largest", largest);
    }
    if let Some(hand) = &sizing.worksheet {
        let it = &hand.station;
        let mut cells =
            vec!["  worksheet".to_owned(), number(it.rated_w, 0), number(it.rated_ah, 0)];
        cells.extend(cost_cells(sizing, Some(&it.costs)));
        cells.extend([
            whole(it.survived),
            exact_percent(it.on_air_share),
            exact_percent(it.on_air_lower_95_one_sided),
        ]);
        table.row(&cells);
    }
    Some((counted, table))
}

/// The smallest station for each tier that may be the lowest, side by side.
#[must_use]
pub fn tier_table(sizing: &Sizing) -> Option<Table> {
    let tiers = &sizing.by_tier.tiers;
    if tiers.is_empty() {
        return None;
    }
    let trials = tiers.iter().find_map(|it| it.station.as_ref()).map_or(0, |it| it.trials);
    let first = format!("Never below, of {}", whole(trials));
    let mut table = Table::new(&heads(sizing, &first));
    for it in tiers {
        let name = cut(&it.lowest_tier, NAME);
        match &it.station {
            Some(station) => row(&mut table, sizing, &name, station),
            None => {
                table.row(&[format!("  {name}"), "none".to_owned(), "enough".to_owned()]);
            }
        }
    }
    Some(table)
}

/// The corners of the staircase as the search found them, where every smallest station was not asked for.
#[must_use]
pub fn corner_table(sizing: &Sizing) -> Option<Table> {
    sizing.chosen.as_ref()?;
    let stairs = &sizing.contours.first()?.least_panels;
    let found = corners(stairs);
    if found.len() < 2 {
        return None;
    }
    let mut wanted = vec![("Smallest stations (search)", Side::Left), ("W", Side::Right)];
    wanted.push(("Ah", Side::Right));
    let known = costs(sizing);
    if known.price.is_some() {
        wanted.push((sizing.options.currency.as_deref().unwrap_or("price"), Side::Right));
    }
    if known.mass_kg.is_some() {
        wanted.push(("kg", Side::Right));
    }
    let mut table = Table::new(&wanted);
    for (panels, battery) in found {
        let place = Place { panels, battery, ..sizing.layer };
        let (step, bank) = (&sizing.options.panels[panels], &sizing.options.batteries[battery]);
        let mut cells = vec![
            format!("  {}", counts(step.count, bank.strings)),
            number(step.rated_w, 0),
            number(bank.rated_ah, 0),
        ];
        cells.extend(cost_cells(sizing, Some(&sizing.options.costs(place))));
        table.row(&cells);
    }
    Some(table)
}

/// The result of the worksheet's station.
fn hand_said(sizing: &Sizing) -> String {
    let Some(hand) = &sizing.worksheet else { return String::new() };
    let words = Words::of(sizing.occasion);
    let target = exact_percent(sizing.wanted.chance);
    let verdict = match (hand.station.reaches, &sizing.chosen) {
        (false, _) => format!(
            "It does not show {target}. The worksheet counts the loads of one tier, a full battery at \
             the start and mean days after. It leaves out dark days that come with the outage, and \
             rules that keep a fuller tier on for longer."
        ),
        (true, Some(chosen))
            if hand.station.rated_w + 1e-9 >= chosen.rated_w
                && hand.station.rated_ah + 1e-9 >= chosen.rated_ah =>
        {
            "It is more than enough: the worksheet sizes for one tier all the time and \
             counts no shedding."
                .to_owned()
        }
        (true, _) => "Also enough, with another split between panels and battery.".to_owned(),
    };
    format!(
        "In simulation the station of the sizing worksheet, {} W and {} Ah, is on the air in {} of {}. \
         {verdict}",
        number(hand.station.rated_w, 0),
        number(hand.station.rated_ah, 0),
        whole(hand.station.survived),
        words.counted(hand.station.trials)
    )
}

#[cfg(test)]
mod tests {
    use super::counts;

    #[test]
    fn one_is_not_told_as_many() {
        assert_eq!(counts(1, Some(14)), "1 panel, 14 strings");
        assert_eq!(counts(12, Some(1)), "12 panels, 1 string");
        assert_eq!(counts(0, None), "0 panels");
    }
}
