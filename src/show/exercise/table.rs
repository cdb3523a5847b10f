//! What the trials of a club came to, as a page of text of at most 80 columns.

use super::super::compare::table::folded;
use super::super::odds::sentence::{Words, exact_percent, whole};
use super::super::page_text::Page;
use super::super::tables::{Side, Table};
use super::super::text::clean;
use super::super::words::{EnergyUnit, hours, number, percent, trimmed};
use super::paragraphs::{packing_items, who_first};
use super::told::weekday_time;
use super::what_counts;
use crate::decide::exercise::Exercise;
use crate::decide::exercise::packing::Sum;
use crate::decide::odds::result::Within;

/// The longest name that a table has room for, in columns.
const NAME: usize = 22;

/// A name that a table has room for.
fn short(name: &str) -> String {
    let name = clean(name);
    if name.chars().count() <= NAME {
        return name;
    }
    let kept: String = name.chars().take(NAME - 3).collect();
    format!("{}...", kept.trim_end())
}

/// The text of a club. Warnings are not in it.
#[must_use]
pub fn exercise_table(exercise: &Exercise) -> String {
    exercise_page(exercise).full()
}

/// The same as blocks.
#[must_use]
pub fn exercise_page(exercise: &Exercise) -> Page {
    let text = |table: Option<Table>| table.map_or(String::new(), |table| table.to_string());
    let packing = format!("{}{}", packing_table(exercise), packing_items(exercise));
    Page::new(format!("{}\n{}", exercise.sentence, who_first(exercise)))
        .block(0, "stations on the air", ready_table(exercise).to_string())
        .block(5, "how sure", how_sure(exercise))
        .block(1, "who runs out", station_table(exercise).to_string())
        .block(6, "energy", energy_table(exercise).to_string())
        .block(4, "charging point", text(point_table(exercise)))
        .block(2, "spare packs", spares_text(exercise))
        .block(7, "members", text(member_table(exercise)))
        .block(3, "what each member brings", packing)
        .block(8, "trials to look at", look_at(exercise))
}

/// How often the club and each station were ready.
#[must_use]
pub fn ready_table(exercise: &Exercise) -> Table {
    let head = format!("Up for all {}", hours(exercise.hours));
    let of = format!("of {}", whole(exercise.trials));
    let mut table = Table::new(&[
        (&head, Side::Left),
        (&of, Side::Right),
        ("share", Side::Right),
        ("95 % range", Side::Left),
        ("at least, 95 %", Side::Right),
    ]);
    let mut line = |name: String, it: &Within| {
        let [low, high] = it.on_air_wilson_95.map(exact_percent);
        table.row(&[
            name,
            whole(exercise.trials.saturating_sub(it.failures)),
            exact_percent(it.on_air_share),
            format!("{low} to {high}"),
            exact_percent(it.on_air_lower_95_one_sided),
        ]);
    };
    line(format!("  club, {} up", what_counts(exercise).replace(" stations", "")), &exercise.club);
    for (name, station) in &exercise.stations {
        line(format!("  {}", short(name)), &station.ready);
    }
    table
}

fn how_sure(exercise: &Exercise) -> String {
    let counted = Words::of(exercise.occasion).counted(exercise.trials);
    let mut said = format!(
        "A station that does not come is not up. The ranges are those of {counted}; how well the inputs are known is not in them. Ranges are after Wilson, bounds after Clopper and Pearson. Petrol weighs 0.72 to 0.775 kg a litre (EN 228)."
    );
    if exercise.trials_left_out > 0 {
        said += &format!(
            " {} trials could not be counted: a fault of longwatch.",
            whole(exercise.trials_left_out)
        );
    }
    folded(&said, 2)
}

/// Who runs out first, and how long it is dark.
#[must_use]
pub fn station_table(exercise: &Exercise) -> Table {
    let mut table = Table::new(&[
        ("Station", Side::Left),
        ("absent", Side::Right),
        ("first out", Side::Right),
        ("half by", Side::Right),
        ("no power, h", Side::Right),
        ("swap, min", Side::Right),
        ("swaps", Side::Right),
    ]);
    for (name, it) in &exercise.stations {
        let half = it.first_out_h.p50.map_or("-".to_owned(), |h| moment_of(exercise, h));
        let swaps = match (it.swaps.p50, it.swaps.greatest) {
            (Some(half), Some(most)) if most > 0.0 => format!("{half:.0}, most {most:.0}"),
            _ => "-".to_owned(),
        };
        let handover =
            if it.handover_h > 0.0 { number(it.handover_h * 60.0, 1) } else { "-".to_owned() };
        table.row(&[
            format!("  {}", short(name)),
            whole(it.absent),
            whole(it.first_out),
            half,
            small(it.no_power_h),
            handover,
            swaps,
        ]);
    }
    table
}

/// A mean that is never rounded to nothing.
pub(super) fn small(value: f64) -> String {
    if value > 0.0 && value < 0.005 { "< 0.01".to_owned() } else { trimmed(value, 2) }
}

/// `Sun 03:30`, or the hours where no beginning is known.
pub(super) fn moment_of(exercise: &Exercise, h: f64) -> String {
    weekday_time(exercise.start, h).unwrap_or_else(|| format!("{} h", trimmed(h, 1)))
}

/// Energy of a mean trial by station and origin.
#[must_use]
pub fn energy_table(exercise: &Exercise) -> Table {
    let largest = exercise.stations.values().map(|it| it.load_wh).fold(0.0, f64::max);
    let unit = EnergyUnit::for_largest(largest);
    let head = format!("Mean energy, {}", unit.name);
    let mut table = Table::new(&[
        (&head, Side::Left),
        ("demand", Side::Right),
        ("stored", Side::Right),
        ("sun", Side::Right),
        ("mains", Side::Right),
        ("generator", Side::Right),
        ("unserved", Side::Right),
    ]);
    let mut sums = [0.0; 6];
    let trials = exercise.trials.max(1) as f64;
    for (name, it) in &exercise.stations {
        let origin = &it.origin_wh;
        let row = [
            it.load_wh,
            origin.stored_before,
            origin.sun,
            origin.mains + origin.vehicle,
            origin.generator,
            it.unserved_wh,
        ];
        let there = (exercise.trials - it.absent) as f64 / trials;
        for (sum, wh) in sums.iter_mut().zip(row) {
            *sum += wh * there;
        }
        let entries = row.map(|wh| if wh > 0.0 { unit.write(wh) } else { "-".to_owned() });
        let mut cells = vec![format!("  {}", short(name))];
        cells.extend(entries);
        table.row(&cells);
    }
    let mut cells = vec!["  all together".to_owned()];
    cells.extend(sums.map(|wh| if wh > 0.0 { unit.write(wh) } else { "-".to_owned() }));
    table.row(&cells);
    table
}

/// The charging point and its generator; `None` without one.
#[must_use]
pub fn point_table(exercise: &Exercise) -> Option<Table> {
    let point = exercise.charging_point.as_ref()?;
    let mut table = Table::new(&[
        ("Charging point", Side::Left),
        ("mean", Side::Right),
        ("half", Side::Right),
        ("1 in 20 more than", Side::Right),
        ("most", Side::Right),
    ]);
    let of = |value: Option<f64>| value.map_or("-".to_owned(), |it| trimmed(it, 1));
    for (name, mean, spread) in [
        ("  generator, h", point.generator_h, &point.generator_h_spread),
        ("  fuel, l", point.fuel_l, &point.fuel_l_spread),
    ] {
        table.row(&[
            name.to_owned(),
            trimmed(mean, 1),
            of(spread.p50),
            of(spread.p95),
            of(spread.greatest),
        ]);
    }
    if point.fuel_brought_l > 0.0 {
        table.row(&["  fuel brought, l".to_owned(), trimmed(point.fuel_brought_l, 1)]);
    }
    table.row(&["  put into packs, Wh".to_owned(), number(point.charged_wh, 0)]);
    let swaps = &exercise.swaps;
    let waits = &exercise.waits_in_vain;
    for (name, spread) in [("  swaps", swaps), ("  low, and no spare charged", waits)] {
        table.row(&[
            name.to_owned(),
            String::new(),
            of(spread.p50),
            of(spread.p95),
            of(spread.greatest),
        ]);
    }
    Some(table)
}

/// How many spare packs it takes.
#[must_use]
pub fn spares_text(exercise: &Exercise) -> String {
    let Some(spares) = &exercise.spares else { return String::new() };
    let many = Words::of(exercise.occasion).many;
    let mut table = Table::new(&[
        ("Spare packs", Side::Left),
        ("club up in", Side::Right),
        ("at least, 95 %", Side::Right),
        ("", Side::Left),
    ]);
    for it in &spares.tried {
        let mut said = Vec::new();
        if it.spares == spares.brought {
            said.push("as brought");
        }
        if Some(it.spares) == spares.needed {
            said.push("enough");
        }
        table.row(&[
            format!("  {}", it.spares),
            format!("{} {many}", whole(it.up)),
            exact_percent(it.lower_95_one_sided),
            said.join(", "),
        ]);
    }
    let target = percent(spares.target_chance);
    let most = spares.tried.last().map_or(0, |it| it.spares);
    let verdict = match spares.needed {
        Some(needed) => format!("  {needed} spare packs show a chance of {target}."),
        None => {
            format!("  No number up to {most} shows a chance of {target}: more packs do not help.")
        }
    };
    let more = spares.needed.map_or(0, |needed| needed.saturating_sub(spares.brought));
    let price = spares.more_price.map(|price| {
        let currency = exercise.packing.currency.as_deref().map_or(String::new(), clean);
        format!("{} {currency}", number(price, 0)).trim_end().to_owned()
    });
    let mass = spares.more_mass_kg.map(|mass_kg| format!("{} kg", trimmed(mass_kg, 1)));
    let facts: Vec<String> = price.into_iter().chain(mass).collect();
    let costs = match (more, facts.is_empty()) {
        (0, _) | (_, true) => String::new(),
        (more, false) => format!("\n  {more} more than brought: {}.", facts.join(", ")),
    };
    format!("{table}{verdict}{costs}\n")
}

/// Who came; `None` where everybody always does.
#[must_use]
pub fn member_table(exercise: &Exercise) -> Option<Table> {
    let many = Words::of(exercise.occasion).many;
    let head = format!("came, {many}");
    let mut table =
        Table::new(&[("Member", Side::Left), (&head, Side::Right), ("share", Side::Right)]);
    for (name, member) in exercise.members.iter().filter(|(_, it)| it.comes_chance < 1.0) {
        let share = member.came as f64 / exercise.trials.max(1) as f64;
        table.row(&[format!("  {}", short(name)), whole(member.came), percent(share)]);
    }
    (!table.is_empty()).then_some(table)
}

/// Who brings what, in sums; the whole list is in `packing.csv`.
#[must_use]
pub fn packing_table(exercise: &Exercise) -> Table {
    let packing = &exercise.packing;
    let price = match &packing.currency {
        Some(currency) => format!("price, {}", clean(currency)),
        None => "price".to_owned(),
    };
    let mut table = Table::new(&[
        ("Brought by", Side::Left),
        ("things", Side::Right),
        ("kg", Side::Right),
        (&price, Side::Right),
        ("", Side::Left),
    ]);
    let mut line = |name: String, sum: &Sum| {
        let mut lacks = Vec::new();
        if sum.without_mass > 0 {
            lacks.push(format!("{} not weighed", sum.without_mass));
        }
        if sum.without_price > 0 {
            lacks.push(format!("{} without a price", sum.without_price));
        }
        table.row(&[
            name,
            whole(u64::from(sum.things)),
            number(sum.mass_kg, 1),
            number(sum.price, 0),
            lacks.join(", "),
        ]);
    };
    for (owner, sum) in &packing.by_owner {
        let name = if owner.is_empty() { "nobody named".to_owned() } else { short(owner) };
        line(format!("  {name}"), sum);
    }
    line("  all".to_owned(), &packing.all);
    table
}

fn look_at(exercise: &Exercise) -> String {
    let named = exercise.named_trials;
    let one = |name: &str, trial: Option<u64>| {
        trial.map(|trial| format!("  {name}: trial {trial}, timeline-{name}\n"))
    };
    let lines: String =
        [one("median", named.median), one("worst", named.worst)].into_iter().flatten().collect();
    if lines.is_empty() { lines } else { format!("To look at\n{lines}") }
}
