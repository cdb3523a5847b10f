//! Results of a run as a page of text: the sentence, why it was off the air, where the energy came from and went, the
//! charge, the tiers, the generator, and the same with less capacity.

use super::compare::table::folded;
use super::page_text::Page;
use super::sentence::{first_sentence, lowest_on_air, whose_hours};
use super::tables::{Side, Table};
use super::text::clean;
use super::words::{
    EnergyUnit, charge, energy, full, hours, moment, percent, percent_full, trimmed, volts,
};
use crate::simulate::causes::{Cause, OffAirHours};
use crate::simulate::ledger::{Ledger, Origin};
use crate::simulate::summary::Summary;
use crate::station::heads::WeatherOf;

/// The text of a run. Warnings are not in it.
#[must_use]
pub fn run_table(ledger: &Ledger, summary: &Summary) -> String {
    run_page(ledger, summary).full()
}

/// The same as blocks.
#[must_use]
pub fn run_page(ledger: &Ledger, summary: &Summary) -> Page {
    let text = |table: Option<Table>| table.map_or(String::new(), |table| table.to_string());
    let lead =
        format!("{}\n{}\n{}", first_sentence(ledger, summary), whose(ledger), rests_on(ledger));
    Page::new(lead)
        .block(0, "causes", text(cause_table(ledger, summary)))
        .block(1, "hours in tiers", text(tier_table(summary)))
        .block(2, "charge", charge_table(ledger, summary).to_string())
        .block(5, "energy", energy_table(ledger, summary).to_string())
        .block(4, "generator", text(engine_table(summary)))
        .block(6, "hours switched off", silence_line(summary).unwrap_or_default())
        .block(6, "packs", text(pack_table(summary)))
        .block(3, "less capacity", text(beside_table(summary)))
}

/// What counted as on the air, by which rule, and which command answers the sister question.
fn rests_on(ledger: &Ledger) -> String {
    let heads = &ledger.heads;
    let counts = match lowest_on_air(&heads.tiers, &heads.tiers_on_air) {
        Some(tier) => format!("Your rules shed loads; \"{tier}\" and fuller count as on the air."),
        None => String::new(),
    };
    let sister = match heads.weather {
        WeatherOf::Mean => " How often it lasts in drawn weather: `odds`.",
        WeatherOf::Trial { .. } => " How often it lasts: `odds`.",
        WeatherOf::Stated => "",
    };
    folded(format!("{counts}{sister}").trim(), 0)
}

/// Which station, under which strategy, in whose weather.
fn whose(ledger: &Ledger) -> String {
    let heads = &ledger.heads;
    folded(&format!("{}; {}", clean(&heads.title), whose_hours(&heads.strategy, heads.weather)), 0)
}

/// Hours off the air by cause, with the charge that was left; `None` when it was never off the air.
#[must_use]
pub fn cause_table(ledger: &Ledger, summary: &Summary) -> Option<Table> {
    let mut table = Table::new(&[
        ("Off the air because", Side::Left),
        ("h", Side::Right),
        ("charge left", Side::Right),
        ("first", Side::Left),
    ]);
    for it in summary.off_air.iter().filter(|it| it.hours > 0.0) {
        table.row(&[
            format!("  {}", because(it, ledger.heads.disconnect_v)),
            at_least_a_tenth(it.hours),
            it.charge_left_share.map_or(String::new(), percent),
            moment(&it.first, summary.hours),
        ]);
        if it.cold_h > 0.0 {
            let name = "    of these, too cold to charge".to_owned();
            table.row(&[name, at_least_a_tenth(it.cold_h)]);
        }
    }
    (!table.is_empty()).then_some(table)
}

/// A cause in words.
fn because(it: &OffAirHours, disconnect_v: f64) -> String {
    match it.cause {
        Cause::Disconnect => format!("the disconnect opened at {}", volts(disconnect_v)),
        Cause::BmsVolts => "the BMS switched off: cell volts".to_owned(),
        Cause::BmsCurrent => "the BMS switched off: too much current".to_owned(),
        Cause::BmsWaits => "the BMS must be reset by hand".to_owned(),
        Cause::Empty => "the battery is empty".to_owned(),
        Cause::Cold => "cold locks the charge that is left".to_owned(),
        Cause::DeviceWindow => format!("too few volts for “{}”", clean(&it.name)),
        Cause::Tier => format!("tier “{}” is off the air", clean(&it.name)),
    }
}

/// Hours with a tenth; never 0 for what is not 0.
fn at_least_a_tenth(h: f64) -> String {
    if h < 0.1 { "0.1".to_owned() } else { trimmed(h, 1) }
}

/// Energy that came, went, was refused or was missing. Shares are of all that came.
#[must_use]
pub fn energy_table(ledger: &Ledger, summary: &Summary) -> Table {
    let drawn_wh = (-summary.stored_change_wh).max(0.0);
    let stored_wh = summary.stored_change_wh.max(0.0);
    let used_wh: Vec<f64> = (0..ledger.heads.sources.len())
        .map(|k| ledger.rows.iter().filter_map(|row| row.sources.get(k)).map(|s| s.used_wh).sum())
        .collect();
    let came_wh = used_wh.iter().sum::<f64>() + drawn_wh;
    let unit =
        EnergyUnit::for_largest(came_wh.max(summary.load_wh).max(summary.solar_available_wh));
    let mut table =
        Table::new(&[("Energy", Side::Left), (unit.name, Side::Right), ("share", Side::Right)]);
    let amount = |wh: f64| unit.write(wh);
    let share = |wh: f64| {
        if came_wh > 0.0 { percent(wh / came_wh) } else { String::new() }
    };

    table.row(&["came in".to_owned(), amount(came_wh), share(came_wh)]);
    let has_engine = ledger.heads.sources.iter().any(|it| it.origin == Origin::Generator);
    for (source, wh) in ledger.heads.sources.iter().zip(&used_wh) {
        // A supply that only a generator feeds is no mains.
        if source.origin == Origin::Mains && has_engine && *wh <= 0.0 {
            continue;
        }
        let name = match source.origin {
            Origin::Sun => format!("  sun, {}", clean(&source.name)),
            Origin::Mains => "  mains".to_owned(),
            Origin::Generator => "  generator".to_owned(),
            Origin::Vehicle => "  vehicle".to_owned(),
        };
        table.row(&[name, amount(*wh), share(*wh)]);
    }
    if drawn_wh > 0.0 {
        table.row(&["  out of the battery, net".to_owned(), amount(drawn_wh), share(drawn_wh)]);
    }
    let losses = &summary.losses_wh;
    let went = [
        ("loads served", summary.served_wh),
        ("controllers, standby", summary.standby_wh),
        ("battery heater", summary.heater_wh),
        ("wiring loss", losses.wiring_wh),
        ("battery resistance", losses.battery_resistance_wh),
        ("battery hysteresis", losses.battery_hysteresis_wh),
        ("battery lag", losses.battery_lag_wh),
        ("battery conversion, gassing", losses.battery_conversion_wh),
        ("battery wells levelling", losses.battery_flow_wh),
        ("self-discharge", losses.self_discharge_wh),
        ("into the battery, net", stored_wh),
    ];
    let went_wh: f64 = went.iter().map(|(_, wh)| wh).sum();
    table.row(&["went out".to_owned(), amount(went_wh), share(went_wh)]);
    for (place, (name, wh)) in went.iter().enumerate() {
        if *wh > 0.0 || place == 0 {
            table.row(&[format!("  {name}"), amount(*wh), share(*wh)]);
        }
    }
    let beside = [
        ("sun refused by the battery", summary.curtailed_wh),
        ("sun refused, output limit", summary.clipped_wh),
        ("lost in solar conversion", summary.solar_conversion_loss_wh),
        ("lost off the operating point", summary.operating_point_loss_wh),
        ("demand not served", summary.unserved_wh),
        ("shed below the top tier", summary.shed_wh),
        ("taken from the mains", summary.mains_plug_wh),
        ("taken from the generator", summary.generator_plug_wh),
    ];
    if beside.iter().any(|(_, wh)| *wh > 0.0) {
        table.row(&["not part of the sum"]);
        for (name, wh) in beside.iter().filter(|(_, wh)| *wh > 0.0) {
            table.row(&[format!("  {name}"), amount(*wh)]);
        }
    }
    table
}

/// Charge at the start, at its lowest and at the end.
#[must_use]
pub fn charge_table(ledger: &Ledger, summary: &Summary) -> Table {
    let mut table = Table::new(&[
        ("Charge", Side::Left),
        ("share", Side::Right),
        ("amount", Side::Right),
        ("when", Side::Left),
    ]);
    let capacity_ah = ledger.heads.capacity_ah;
    let mut line = |name: &str, share: f64, when: String| {
        table.row(&[format!("  {name}"), percent_full(share), charge(share * capacity_ah), when]);
    };
    let holds = full(capacity_ah, &ledger.heads.holds);
    let beside = holds.strip_prefix(&charge(capacity_ah)).unwrap_or(&holds);
    line("full", 1.0, beside.trim_start_matches([';', ' ']).to_owned());
    line("start", summary.start_charge_share, moment(&summary.start, summary.hours));
    line("lowest", summary.lowest_charge_share, moment(&summary.lowest_charge_at, summary.hours));
    let after = match summary.hours_to_full_after {
        Some(h) if h <= 0.0 => String::new(),
        Some(h) => format!("full again {} after the lowest", hours(h)),
        None => "not full again after the lowest".to_owned(),
    };
    line("end", summary.end_charge_share, after);
    table
}

/// Hours in each tier and what came of them; `None` if there is nothing to tell.
#[must_use]
pub fn tier_table(summary: &Summary) -> Option<Table> {
    let mut table =
        Table::new(&[("Hours", Side::Left), ("h", Side::Right), ("share", Side::Right)]);
    let mut line = |name: &str, h: f64| {
        let share = if summary.hours > 0.0 { percent(h / summary.hours) } else { String::new() };
        table.row(&[format!("  {name}"), trimmed(h, 1), share]);
    };
    if summary.tier_h.len() > 1 {
        for (name, h) in &summary.tier_h {
            line(&format!("tier {}", clean(name)), *h);
        }
    }
    for (name, h) in [
        ("without power", summary.no_power_h),
        ("off the air", summary.off_air_h),
        ("loads disconnected", summary.disconnected_h),
    ] {
        if h > 0.0 {
            line(name, h);
        }
    }
    (!table.is_empty()).then_some(table)
}

/// Hours and fuel of engine and vehicle; `None` without either.
#[must_use]
pub fn engine_table(summary: &Summary) -> Option<Table> {
    let mut table = Table::new(&[("Generator, vehicle", Side::Left), ("amount", Side::Right)]);
    if summary.generator_h > 0.0 {
        table.row(&[
            "  generator running".to_owned(),
            format!("{} h", trimmed(summary.generator_h, 1)),
        ]);
    }
    if summary.fuel_l > 0.0 {
        let name = match (summary.generator_h > 0.0, summary.vehicle_wh > 0.0) {
            (true, true) => "  fuel, generator and vehicle",
            (true, false) => "  fuel, generator",
            _ => "  fuel, vehicle",
        };
        table.row(&[name.to_owned(), format!("{} l", trimmed(summary.fuel_l, 2))]);
    }
    (!table.is_empty()).then_some(table)
}

/// What windows in which it is switched off cost; `None` when nothing is switched off.
#[must_use]
pub fn silence_line(summary: &Summary) -> Option<String> {
    let silence = summary.silence?;
    let cost = if silence.charging_wh < 0.05 {
        "no charging".to_owned()
    } else {
        format!("{} of charging", energy(silence.charging_wh))
    };
    Some(format!(
        "Silence cost {cost}; lowest charge would have been {}.\n",
        percent(silence.without.lowest_charge_share)
    ))
}

/// The register of packs: whose, how well known, how heavy; `None` when there are none.
#[must_use]
pub fn pack_table(summary: &Summary) -> Option<Table> {
    if summary.packs.is_empty() {
        return None;
    }
    let mut table = Table::new(&[
        ("Packs", Side::Left),
        ("owner", Side::Left),
        ("rated", Side::Right),
        ("counts as", Side::Right),
        ("because", Side::Left),
        ("weighs", Side::Right),
    ]);
    let weighs = |kg: f64| format!("{} kg", trimmed(kg, 1));
    for (name, it) in &summary.packs {
        let because = match (it.pack.measured_ah, it.pack.tested) {
            (Some(_), Some(on)) => format!("measured {}", on.0),
            (Some(_), None) => "measured".to_owned(),
            (None, _) => "rated and age".to_owned(),
        };
        table.row(&[
            format!("  {}", clean(name)),
            it.pack.owner.as_deref().map(clean).unwrap_or_default(),
            charge(it.pack.rated_ah),
            charge(it.counts_ah),
            because,
            it.pack.mass_kg.map(weighs).unwrap_or_default(),
        ]);
    }
    if summary.packs.len() > 1 {
        let packs = || summary.packs.values();
        let all_kg: Option<f64> = packs().map(|it| it.pack.mass_kg).sum();
        table.row(&[
            "  all".to_owned(),
            String::new(),
            charge(packs().map(|it| it.pack.rated_ah).sum()),
            charge(packs().map(|it| it.counts_ah).sum()),
            String::new(),
            all_kg.map(weighs).unwrap_or_default(),
        ]);
    }
    Some(table)
}

/// The answer with less capacity than rated, next to that of the run.
#[must_use]
pub fn beside_table(summary: &Summary) -> Option<Table> {
    let less = summary.at_65_percent?;
    let mut table = Table::new(&[
        ("Capacity", Side::Left),
        ("lowest charge", Side::Right),
        ("off the air", Side::Right),
        ("unserved", Side::Right),
    ]);
    let mut line = |name: &str, lowest_share: f64, off_air_h: f64, unserved_wh: f64| {
        table.row(&[
            format!("  {name}"),
            percent(lowest_share),
            format!("{} h", trimmed(off_air_h, 1)),
            energy(unserved_wh),
        ]);
    };
    line("as given", summary.lowest_charge_share, summary.off_air_h, summary.unserved_wh);
    line("65 % of the rated capacity", less.lowest_charge_share, less.off_air_h, less.unserved_wh);
    Some(table)
}
