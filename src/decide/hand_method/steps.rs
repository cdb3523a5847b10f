//! Every step of the worksheet.
//!
//! Battery: ampere-hours a day times days of autonomy; the largest of what the greatest depth, the
//! greatest daily depth and the end of life ask for; times the temperature multiplier; times the design
//! margin; whole strings of the unit at hand. Array: ampere-hours a day times array-to-load over what a
//! module gives in the sun hours of the design month, after system losses; whole modules.
//!
//! Order of operations as in IEEE 1013 (lead-acid batteries for stand-alone photovoltaic systems) and
//! IEEE 1562 (array and battery sizing), from memory: neither standard was opened. That the largest of
//! the three counts, and 1.3 to 1.4 of array to load for critical loads, is told second-hand by a public
//! file that cites IEEE 1013-2019 clause 6.3 and IEEE 1562-2021 clause 9.1. Trust: checked against
//! worked examples.

use serde::Serialize;

/// A line of the list of loads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoadLine {
    /// What it is.
    pub name: String,
    /// Current at rated volts, A.
    pub current_a: f64,
    /// Hours a day at that current.
    pub hours_per_day: f64,
    /// Whether it counts towards the current of everything at once: a set that is transmitting does not
    /// receive as well.
    pub at_once: bool,
}

/// What sizes a bank, besides the loads.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BankInputs {
    /// Days that it must last without sun.
    pub autonomy_days: f64,
    /// Greatest depth of discharge, share.
    pub max_depth_share: f64,
    /// Greatest depth in one day, share.
    pub max_daily_depth_share: f64,
    /// What is left of the capacity at the end of life, share.
    pub end_of_life_share: f64,
    /// How much more it takes in the cold.
    pub temperature_multiplier: f64,
    /// Margin on everything.
    pub design_margin: f64,
}

/// What sizes an array, besides the loads.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ArrayInputs {
    /// Ampere-hours that the array gives in the design month over those that the loads take.
    pub array_to_load: f64,
    /// Losses between module and battery, share.
    pub system_loss_share: f64,
    /// Hours of full sun a day in the plane of the array, in the design month (kWh/m2 a day).
    pub sun_hours_per_day: f64,
    /// Current of one module at its best point, on the battery's side, A.
    pub module_a: f64,
    /// Volts of one module at its best point when hot, V; none where a controller converts them.
    pub module_hot_v: Option<f64>,
    /// Volts at which it must still charge, V.
    pub charge_v: f64,
}

/// Everything that goes into the worksheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worksheet {
    /// The loads.
    pub loads: Vec<LoadLine>,
    /// The bank.
    pub bank: BankInputs,
    /// Capacity of the unit at hand, Ah.
    pub unit_capacity_ah: f64,
    /// Lowest and highest volts that the loads take, V.
    pub window_v: [f64; 2],
    /// Volts at which one cell is charged, V.
    pub cell_charge_v: f64,
    /// The array; none where there is none to size.
    pub array: Option<ArrayInputs>,
    /// Where the numbers come from, a sentence each.
    pub sources: Vec<String>,
}

/// Steps of the capacity.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CapacitySteps {
    /// Ampere-hours a day.
    pub daily_ah: f64,
    /// Times the days of autonomy.
    pub unadjusted_ah: f64,
    /// So that the greatest depth is not passed.
    pub for_max_depth_ah: f64,
    /// So that the greatest daily depth is not passed.
    pub for_daily_depth_ah: f64,
    /// So that it is enough at the end of life.
    pub for_end_of_life_ah: f64,
    /// The largest of the three.
    pub largest_ah: f64,
    /// In the cold.
    pub after_temperature_ah: f64,
    /// With the margin.
    pub after_margin_ah: f64,
}

/// Steps from the capacity to a bank.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BankSteps {
    /// Current of everything at once, A.
    pub max_running_a: f64,
    /// Hours that the capacity would last at it: the rate at which to read a datasheet.
    pub functional_hour_rate_h: f64,
    /// Strings of the unit side by side.
    pub parallel_strings: u32,
    /// Their capacity, Ah.
    pub final_capacity_ah: f64,
    /// Cells in series.
    pub series_cells: u32,
    /// Volts of a cell when the loads give up, V.
    pub min_cell_v: f64,
    /// Days that the bank lasts to its greatest depth, in the cold and with the margin.
    pub final_autonomy_days: f64,
}

/// Steps of the array.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ArraySteps {
    /// Current of the array at its best point, A.
    pub array_a: f64,
    /// Modules side by side.
    pub modules_parallel: u32,
    /// Modules in series.
    pub modules_series: u32,
    /// Modules in all.
    pub modules: u32,
    /// Array to load with these.
    pub realised_array_to_load: f64,
    /// Days to put the autonomy back in the design month; null where nothing is left for that.
    pub days_to_recharge: Option<f64>,
}

/// Every step of the worksheet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Steps {
    /// Of the capacity.
    pub capacity: CapacitySteps,
    /// Of the bank.
    pub bank: BankSteps,
    /// Of the array; none where there is none to size, or no sun to size it by.
    pub array: Option<ArraySteps>,
}

/// Multiplier of lead-acid capacity by temperature: deg C, multiplier. Worksheets of the trade; source
/// of the table unknown.
pub const TEMPERATURE_MULTIPLIERS: [(f64, f64); 7] = [
    (26.7, 1.00),
    (21.1, 1.04),
    (15.6, 1.11),
    (10.0, 1.19),
    (4.4, 1.30),
    (-1.1, 1.40),
    (-6.7, 1.59),
];

/// How much more lead-acid capacity it takes at a temperature, straight between the rows of the table
/// and level beyond them.
#[must_use]
pub fn temperature_multiplier(battery_c: f64) -> f64 {
    let table = &TEMPERATURE_MULTIPLIERS;
    let mut found = table[0].1;
    for pair in table.windows(2) {
        let [(warm_c, less), (cold_c, more)] = pair else { continue };
        if battery_c < *warm_c {
            let share = ((warm_c - battery_c) / (warm_c - cold_c)).min(1.0);
            found = less + (more - less) * share;
        }
    }
    found
}

/// The steps of the capacity.
#[must_use]
pub fn capacity(daily_ah: f64, bank: &BankInputs) -> CapacitySteps {
    let unadjusted_ah = daily_ah * bank.autonomy_days;
    let for_max_depth_ah = unadjusted_ah / bank.max_depth_share;
    let for_daily_depth_ah = daily_ah / bank.max_daily_depth_share;
    let for_end_of_life_ah = unadjusted_ah / bank.end_of_life_share;
    let largest_ah = for_max_depth_ah.max(for_daily_depth_ah).max(for_end_of_life_ah);
    let after_temperature_ah = largest_ah * bank.temperature_multiplier;
    CapacitySteps {
        daily_ah,
        unadjusted_ah,
        for_max_depth_ah,
        for_daily_depth_ah,
        for_end_of_life_ah,
        largest_ah,
        after_temperature_ah,
        after_margin_ah: after_temperature_ah * bank.design_margin,
    }
}

/// Every step; none where the loads take nothing or there is no unit to count.
#[must_use]
pub fn steps(sheet: &Worksheet) -> Option<Steps> {
    let daily_ah: f64 = sheet.loads.iter().map(|it| it.current_a * it.hours_per_day).sum();
    if daily_ah <= 0.0 || sheet.unit_capacity_ah <= 0.0 {
        return None;
    }
    let capacity = capacity(daily_ah, &sheet.bank);
    let max_running_a: f64 =
        sheet.loads.iter().filter(|it| it.at_once).map(|it| it.current_a).sum();
    let parallel_strings = whole(capacity.after_margin_ah / sheet.unit_capacity_ah);
    let final_capacity_ah = f64::from(parallel_strings) * sheet.unit_capacity_ah;
    let [lowest_v, highest_v] = sheet.window_v;
    // Rounded down: one cell more could not be charged within the window.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let series_cells = ((highest_v / sheet.cell_charge_v + 1e-9).floor() as u32).max(1);
    let BankInputs { max_depth_share, temperature_multiplier, design_margin, .. } = sheet.bank;
    Some(Steps {
        capacity,
        bank: BankSteps {
            max_running_a,
            functional_hour_rate_h: capacity.after_margin_ah / max_running_a,
            parallel_strings,
            final_capacity_ah,
            series_cells,
            min_cell_v: lowest_v / f64::from(series_cells),
            final_autonomy_days: final_capacity_ah * max_depth_share
                / (daily_ah * temperature_multiplier * design_margin),
        },
        array: sheet.array.as_ref().and_then(|it| array(&capacity, it)),
    })
}

/// The steps of the array; none without sun.
fn array(capacity: &CapacitySteps, sheet: &ArrayInputs) -> Option<ArraySteps> {
    // What one ampere of module current brings in a day.
    let hours = sheet.sun_hours_per_day * (1.0 - sheet.system_loss_share);
    if hours * sheet.module_a <= 0.0 {
        return None;
    }
    let array_a = capacity.daily_ah * sheet.array_to_load / hours;
    let modules_parallel = whole(array_a / sheet.module_a);
    let modules_series = sheet.module_hot_v.map_or(1, |hot_v| whole(sheet.charge_v / hot_v));
    let brought_ah = f64::from(modules_parallel) * sheet.module_a * hours;
    let left_ah = brought_ah - capacity.daily_ah;
    Some(ArraySteps {
        array_a,
        modules_parallel,
        modules_series,
        modules: modules_parallel.saturating_mul(modules_series),
        realised_array_to_load: brought_ah / capacity.daily_ah,
        days_to_recharge: (left_ah > 0.0).then(|| capacity.unadjusted_ah / left_ah),
    })
}

/// So many whole ones are enough.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(count: f64) -> u32 {
    (count - 1e-9).ceil().max(1.0) as u32
}
