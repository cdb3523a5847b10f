//! What a scenario puts into the worksheet.
//!
//! Loads are those of the lowest tier that counts, else of the fullest one, at rated volts. Sun is that
//! of the mean days of the month with the least of it, among those that an outage may lie in. Depths,
//! margin and array to load are the usual ones of the trade and stand among the inputs, each with where
//! it comes from.

use std::path::Path;

use chrono::{Datelike, Duration, NaiveDate, NaiveDateTime, NaiveTime};

use super::steps::{ArrayInputs, BankInputs, LoadLine, Worksheet, temperature_multiplier};
use crate::clock::TimesOfDay;
use crate::plan::check::series_text;
use crate::plan::compile::{battery_of, sky_of};
use crate::scenario::Scenario;
use crate::scenario::battery::{Battery, Temperature};
use crate::scenario::problem::MONTHS;
use crate::scenario::schedule::Grid;
use crate::scenario::site::Start;
use crate::scenario::sources::{Array, Controller};
use crate::scenario::sun::Sun;
use crate::sky::Sky;
use crate::station::battery::register::{nameplate_ah, string_count};
use crate::station::draw::{State, drawn};

/// Minutes of the week that windows are looked at, from the span's beginning on.
const WEEK_MIN: i64 = 7 * 24 * 60;
/// How much hotter than at standard test conditions cells are when they charge, K: common practice, no
/// source.
const HOT_K: f64 = 30.0;
/// Array to load of critical loads: the lower end of what IEEE 1562 is said to ask for.
const ARRAY_TO_LOAD: f64 = 1.3;

/// The worksheet of a checked scenario. Files that it names are looked for in `base_dir`; `array` is the
/// one to size; `floor` the lowest tier that counts. None where the loads have nothing to go by.
#[must_use]
pub fn worksheet_of(
    scenario: &Scenario,
    base_dir: &Path,
    array: Option<&str>,
    floor: Option<&str>,
) -> Option<Worksheet> {
    let bank = battery_of(&scenario.battery);
    let month = design_month(scenario, base_dir, array);
    let tier = match floor {
        Some(name) => scenario.tiers.iter().position(|tier| tier.name == name)?,
        None => 0,
    };
    let tier_name = &scenario.tiers.get(tier)?.name;
    let mut sources = vec![
        format!("loads: tier \"{tier_name}\" at {:.1} V", bank.nominal_v),
        "days of autonomy: the hours to stay on the air".to_owned(),
    ];
    let (cells, acid) = match &scenario.battery {
        Battery::LithiumIronPhosphate(cells) => (cells.cells_in_series, false),
        Battery::LeadAcid(acid) => (acid.cells_in_series, true),
        Battery::Ideal(_) => (1, false),
    };
    let battery_c = battery_c(scenario, month.as_ref().map(|month| month.air_c));
    let multiplier = if acid { temperature_multiplier(battery_c) } else { 1.0 };
    sources.push(if acid {
        format!("temperature multiplier: worksheet table at {battery_c:.0} deg C")
    } else {
        "temperature multiplier: 1, the table is for lead-acid".to_owned()
    });
    sources.push(if acid {
        "depths 0.75, daily 0.25, end of life 0.8, margin 1.15: common practice, no source"
            .to_owned()
    } else {
        "depths 0.8, daily 0.8, end of life 0.8, margin 1.15: common practice, no source".to_owned()
    });
    let charge_v = highest_bulk_v(scenario).unwrap_or(bank.nominal_v);
    let inputs = array
        .and_then(|name| scenario.arrays.get(name))
        .zip(month.as_ref())
        .and_then(|(array, month)| array_inputs(scenario, array, month.sun_hours));
    if let (Some(_), Some(month)) = (inputs, &month) {
        sources.push(format!("sun hours: mean days of {}, in the plane of the array", month.name));
        sources.push("array to load 1.3: IEEE 1562 for critical loads, second-hand".to_owned());
    }
    Some(Worksheet {
        loads: loads(scenario, tier, bank.nominal_v),
        bank: BankInputs {
            autonomy_days: f64::from(scenario.span.hours) / 24.0,
            max_depth_share: if acid { 0.75 } else { 0.8 },
            max_daily_depth_share: if acid { 0.25 } else { 0.8 },
            end_of_life_share: 0.8,
            temperature_multiplier: multiplier,
            design_margin: 1.15,
        },
        unit_capacity_ah: nameplate_ah(&scenario.battery)
            / f64::from(string_count(&scenario.battery).max(1)),
        window_v: window_v(scenario, charge_v),
        cell_charge_v: charge_v / f64::from(cells.max(1)),
        array: inputs,
        sources,
    })
}

/// The lines of a tier: a set that transmits has one for receiving and one for transmitting.
fn loads(scenario: &Scenario, tier: usize, nominal_v: f64) -> Vec<LoadLine> {
    let mut lines = Vec::new();
    let Some(tier) = scenario.tiers.get(tier) else { return lines };
    let current_a = |state: &State| state.current_a + state.power_w / nominal_v;
    for (name, in_tier) in &tier.loads {
        let Some(load) = scenario.loads.get(name) else { continue };
        let window = in_tier.when.as_ref().or(load.when.as_ref());
        let on_h = 24.0 * window.map_or(1.0, |name| open_share(scenario, name));
        let draw = drawn(&load.draw, load.transmit_share, in_tier);
        let keyed = draw.transmit_share > 0.0;
        let line = |name: String, state: &State, share: f64, at_once| LoadLine {
            name,
            current_a: current_a(state),
            hours_per_day: on_h * share,
            at_once,
        };
        if keyed {
            let (receive, transmit) = (&draw.receive, &draw.transmit);
            let share = draw.transmit_share;
            lines.push(line(format!("{name}, receiving"), receive, 1.0 - share, share >= 1.0));
            lines.push(line(format!("{name}, transmitting"), transmit, share, true));
        } else {
            lines.push(line(name.clone(), &draw.receive, 1.0, true));
        }
    }
    let own_w: f64 = scenario.controllers.values().map(Controller::standby_w).sum();
    if own_w > 0.0 {
        lines.push(LoadLine {
            name: "charge controllers".into(),
            current_a: own_w / nominal_v,
            hours_per_day: 24.0,
            at_once: true,
        });
    }
    lines.retain(|line| line.hours_per_day > 0.0);
    lines
}

/// Share of the week from the span's beginning on in which a window is open.
#[allow(clippy::cast_precision_loss)]
fn open_share(scenario: &Scenario, name: &str) -> f64 {
    let Some(Ok(window)) = scenario.windows.get(name).map(TimesOfDay::new) else { return 0.0 };
    let begin = scenario.span.start;
    let open = (0..WEEK_MIN).filter(|min| window.contains(begin + Duration::minutes(*min))).count();
    open as f64 / WEEK_MIN as f64
}

/// Volts between which every load works, those of the disconnect included.
fn window_v(scenario: &Scenario, charge_v: f64) -> [f64; 2] {
    let windows = || scenario.loads.values().filter_map(|load| load.window_v);
    let lowest = windows().map(|window| window[0]);
    let opens = scenario.disconnect.as_ref().map(|it| it.disconnect_v);
    let lowest = lowest.chain(opens).fold(0.0, f64::max);
    let highest = windows().map(|window| window[1]).fold(f64::INFINITY, f64::min);
    [lowest, if highest.is_finite() { highest } else { charge_v }]
}

fn highest_bulk_v(scenario: &Scenario) -> Option<f64> {
    let controllers = scenario.controllers.values().map(|it| it.set_points().absorption_v);
    let charger = scenario.supply.as_ref().and_then(|supply| supply.charger.as_ref());
    controllers.chain(charger.map(|it| it.set_points.absorption_v)).reduce(f64::max)
}

/// Temperature of the battery in a month, deg C.
fn battery_c(scenario: &Scenario, air_c: Option<f64>) -> f64 {
    let temperature = match &scenario.battery {
        Battery::LithiumIronPhosphate(cells) => &cells.temperature,
        Battery::LeadAcid(acid) => &acid.temperature,
        Battery::Ideal(_) => return 20.0,
    };
    match temperature {
        Temperature::FixedC(fixed_c) => *fixed_c,
        Temperature::FollowsAir { offset_c, .. } => air_c.unwrap_or(20.0) + offset_c,
    }
}

fn array_inputs(scenario: &Scenario, array: &Array, sun_hours: f64) -> Option<ArrayInputs> {
    let controller = scenario.controllers.get(&array.controller)?;
    let charge_v = controller.set_points().absorption_v;
    let kept: f64 = array.loss_share.values().map(|loss| 1.0 - loss).product();
    // A tracking controller turns volts into current; a switching one passes the panel's.
    let (module_a, module_hot_v) = match controller {
        Controller::Mppt(it) => (array.rated_w * it.efficiency_share / charge_v, None),
        Controller::Pwm(_) => {
            let sheet = array.datasheet?;
            (sheet.imp_a, Some(sheet.vmp_v * (1.0 + HOT_K * sheet.voc_per_c)))
        }
    };
    Some(ArrayInputs {
        array_to_load: ARRAY_TO_LOAD,
        system_loss_share: 1.0 - kept,
        sun_hours_per_day: sun_hours,
        module_a,
        module_hot_v,
        charge_v,
    })
}

/// The month by which an array is sized.
struct DesignMonth {
    name: String,
    sun_hours: f64,
    air_c: f64,
}

/// The month with the least sun in the plane of the array among those that an outage may lie in.
fn design_month(scenario: &Scenario, base_dir: &Path, array: Option<&str>) -> Option<DesignMonth> {
    let series = match &scenario.sun {
        Sun::Measured(measured) => Some(series_text(measured, base_dir).ok()?),
        Sun::Profile(_) | Sun::Climate(_) => None,
    };
    let at = array.and_then(|name| scenario.arrays.get_index_of(name));
    let month = |first: NaiveDateTime, hours: u32, name: String| {
        let mut days = scenario.clone();
        days.start = Start::default();
        days.span.start = first;
        days.span.hours = hours;
        let sky = sky_of(&days, series.as_deref()).ok()?;
        Some(DesignMonth { name, sun_hours: sun_hours(&sky, at), air_c: mean_air_c(&sky) })
    };
    let months = months_of(scenario).into_iter().filter_map(|first| {
        let next = first.checked_add_months(chrono::Months::new(1))?;
        let hours = u32::try_from((next - first).num_hours()).ok()?;
        month(first.and_time(NaiveTime::MIN), hours, MONTHS[first.month0() as usize].to_owned())
    });
    let least =
        months.reduce(|least, one| if one.sun_hours < least.sun_hours { one } else { least });
    // A series that does not hold the whole month: its days in the span.
    least.or_else(|| month(scenario.span.start, scenario.span.hours, "the span".to_owned()))
}

/// First days of the months that an outage may lie in, twelve at most.
fn months_of(scenario: &Scenario) -> Vec<NaiveDate> {
    let (from, to) = match &scenario.grid {
        Grid::OutageAtRandom(forced) => (forced.from.0, forced.to.0 - Duration::days(1)),
        _ => {
            let start = scenario.span.start;
            let end = start + Duration::hours(i64::from(scenario.span.hours) - 1);
            (start.date(), end.date())
        }
    };
    let first = from.with_day(1);
    std::iter::successors(first, |month| month.checked_add_months(chrono::Months::new(1)))
        .take_while(|month| *month <= to)
        .take(12)
        .collect()
}

/// Hours of full sun a day.
#[allow(clippy::cast_precision_loss)]
fn sun_hours(sky: &Sky, array: Option<usize>) -> f64 {
    let hours = sky.hours();
    let of = |(index, hour): (usize, &crate::sky::series::SkyHour)| {
        hour.rated_share.unwrap_or_else(|| {
            let planes = sky.in_plane_w_m2(index);
            array.and_then(|at| planes.get(at)).copied().unwrap_or(0.0) / 1000.0
        })
    };
    hours.iter().enumerate().map(of).sum::<f64>() / hours.len().max(1) as f64 * 24.0
}

#[allow(clippy::cast_precision_loss)]
fn mean_air_c(sky: &Sky) -> f64 {
    let hours = sky.hours();
    hours.iter().map(|hour| hour.air_c).sum::<f64>() / hours.len().max(1) as f64
}
