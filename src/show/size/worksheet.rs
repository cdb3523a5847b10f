//! The sizing worksheet step by step.

use super::super::tables::{Side, Table};
use super::super::words::{number, percent, trimmed};
use crate::decide::size::result::ByHand;

/// The worksheet as a table: step, figure, how it comes about.
#[must_use]
pub fn worksheet_table(hand: &ByHand) -> Table {
    let (sheet, steps) = (&hand.worksheet, &hand.steps);
    let mut table = Table::new(&[
        ("Sizing worksheet", Side::Left),
        ("figure", Side::Right),
        ("unit", Side::Left),
        ("how", Side::Left),
    ]);
    let mut line = |name: &str, figure: f64, places: usize, unit: &str, how: &str| {
        table.row(&[&format!("  {name}"), &number(figure, places), unit, how]);
    };
    for load in &sheet.loads {
        let how =
            format!("{} A, {} h a day", trimmed(load.current_a, 2), trimmed(load.hours_per_day, 2));
        line(&load.name, load.current_a * load.hours_per_day, 1, "Ah", &how);
    }
    let (capacity, bank) = (&steps.capacity, &steps.bank);
    let rules = &sheet.bank;
    let times = |value: f64| format!("times {}", trimmed(value, 2));
    line("a day", capacity.daily_ah, 1, "Ah", "the sum");
    let days = format!("times {} days", trimmed(rules.autonomy_days, 1));
    line("for the autonomy", capacity.unadjusted_ah, 1, "Ah", &days);
    let over = |share: f64| format!("over {}", percent(share));
    line("for the depth", capacity.for_max_depth_ah, 1, "Ah", &over(rules.max_depth_share));
    let daily = format!("a day over {}", percent(rules.max_daily_depth_share));
    line("for the daily depth", capacity.for_daily_depth_ah, 1, "Ah", &daily);
    let end = over(rules.end_of_life_share);
    line("for the end of life", capacity.for_end_of_life_ah, 1, "Ah", &end);
    line("the largest of these", capacity.largest_ah, 1, "Ah", "");
    let cold = times(rules.temperature_multiplier);
    line("in the cold", capacity.after_temperature_ah, 1, "Ah", &cold);
    line("with the margin", capacity.after_margin_ah, 1, "Ah", &times(rules.design_margin));
    line("everything at once", bank.max_running_a, 1, "A", "");
    line("hours at this", bank.functional_hour_rate_h, 1, "h", "the rate to read a datasheet at");
    let unit = format!("of {} Ah", trimmed(sheet.unit_capacity_ah, 1));
    line("strings", f64::from(bank.parallel_strings), 0, "", &unit);
    line("capacity", bank.final_capacity_ah, 0, "Ah", "");
    let cells = format!(
        "{} V in all, {} V a cell",
        trimmed(sheet.window_v[1], 2),
        trimmed(sheet.cell_charge_v, 2)
    );
    line("cells in series", f64::from(bank.series_cells), 0, "", &cells);
    let lowest = format!("{} V in all", trimmed(sheet.window_v[0], 2));
    line("lowest volts of a cell", bank.min_cell_v, 2, "V", &lowest);
    line("days to that depth", bank.final_autonomy_days, 1, "days", "cold and margin counted");
    if let (Some(array), Some(it)) = (&steps.array, &sheet.array) {
        let how = format!(
            "{} of load, {} h of sun, {} losses",
            trimmed(it.array_to_load, 2),
            trimmed(it.sun_hours_per_day, 2),
            percent(it.system_loss_share)
        );
        line("array", array.array_a, 1, "A", &how);
        let module = format!("of {} A", trimmed(it.module_a, 2));
        line("panels side by side", f64::from(array.modules_parallel), 0, "", &module);
        line("panels in series", f64::from(array.modules_series), 0, "", "");
        line("array to load", array.realised_array_to_load, 2, "", "with whole panels");
        match array.days_to_recharge {
            Some(days) => {
                line("days to recharge", days, 1, "days", "the autonomy, from what is left")
            }
            None => line("days to recharge", f64::NAN, 1, "", "nothing is left to recharge"),
        }
    }
    table
}
