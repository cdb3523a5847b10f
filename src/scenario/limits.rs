//! The range and the unit of every number of a scenario: one table, used three times.
//!
//! [`crate::scenario::schema`] writes it into the JSON Schema (`minimum`, `exclusiveMinimum`,
//! `maximum`, `exclusiveMaximum`, `x-unit`, `x-hint`); the structural check reads it from there;
//! `longwatch schema` prints it. The ranges are wide: they catch slips of the pen and of the unit,
//! not odd stations. Whether parts fit each other is for `plan::check`. How far a number may be off
//! that is a guess is next to them in [`guesses`].

use serde_json::{Number, Value};

mod club;
mod fields;
pub mod guesses;

pub use club::CLUB_LIMITS;
pub use fields::{KEY_UNITS, NumberField, number_fields};

/// Range and unit of the numbers at one place of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Where: keys joined by dots, `*` for any name, `[]` for any element of a list. With `**.` in
    /// front: every place that ends so.
    pub path: &'static str,
    /// Least value.
    pub min: f64,
    /// Whether the least value itself is excluded.
    pub above_min: bool,
    /// Greatest value.
    pub max: f64,
    /// Whether the greatest value itself is excluded.
    pub below_max: bool,
    /// Unit as it stands in tables: `V`, `kWh/m2`, `deg C`; `share` is 0 to 1, `1` a plain count.
    pub unit: &'static str,
    /// What people who miss the range usually meant; empty for none.
    pub hint: &'static str,
}

/// From `min` to `max`, ends included.
const fn within(path: &'static str, min: f64, max: f64, unit: &'static str) -> Limit {
    Limit { path, min, above_min: false, max, below_max: false, unit, hint: "" }
}

/// Above zero, up to `max`.
const fn above_zero(path: &'static str, max: f64, unit: &'static str) -> Limit {
    Limit { path, min: 0.0, above_min: true, max, below_max: false, unit, hint: "" }
}

/// 0 to 1.
const fn share(path: &'static str) -> Limit {
    within(path, 0.0, 1.0, "share")
}

/// Of a converter or a battery: common practice, no source.
const fn efficiency(path: &'static str) -> Limit {
    within(path, 0.3, 1.0, "share").hint(
        "Energy and charge are divided by it, and nothing that is sold gives less than 0.3: 90 % \
         is written 0.9.",
    )
}

/// Up to the highest current; the least bounds what is divided by it.
const fn amps(path: &'static str) -> Limit {
    within(path, 0.05, MOST_A, "A").hint(LEAST_A)
}

/// Capacity in ampere-hours.
const fn ampere_hours(path: &'static str, max: f64) -> Limit {
    within(path, 0.05, max, "Ah").hint(LEAST_AH)
}

/// Volts of a bus or a battery.
const fn bus_volts(path: &'static str) -> Limit {
    within(path, 1.0, MOST_V, "V").hint(LEAST_V)
}

impl Limit {
    const fn below_max(self) -> Self {
        Self { below_max: true, ..self }
    }
    const fn hint(self, hint: &'static str) -> Self {
        Self { hint, ..self }
    }
}

/// The highest volts of any bus: a 48 V battery charges at about 58 V.
const MOST_V: f64 = 80.0;
/// The highest current of anything.
const MOST_A: f64 = 1000.0;
/// Ten years.
const MOST_H: f64 = 87_840.0;
/// The highest price of anything, in any money.
const MOST_MONEY: f64 = 1e9;

const COMPASS: &str = "North is 0, east 90, south 180, west 270.";
const MILLIOHM: &str = "10 milliohm is written 0.010.";
const LEAST_A: &str = "Time and charge are reckoned by it: less than 0.05 A is no limit of a part \
                       that is sold. 500 mA are written 0.5.";
const LEAST_AH: &str = "Every current is divided by it: less than 0.05 Ah is no cell that runs a radio. \
                        800 mAh are written 0.8.";
const LEAST_WH: &str =
    "Every watt-hour is divided by it: less than 0.2 Wh is no battery that runs a radio.";
const AGED: &str = "Capacity is multiplied by it: a battery that has kept less than a tenth is scrap. 80 % \
                    left is written 0.8.";
const LEAST_V: &str = "Power is divided by it: no cell has less than 1 V.";
const OPEN_AIR_C: f64 = 60.0;
/// The highest current into a short circuit.
const MOST_SHORT_A: f64 = 200_000.0;
/// The highest volts of panels in series.
const MOST_PANEL_V: f64 = 1500.0;

/// Every number of the file, in the order of the file.
pub const LIMITS: &[Limit] = &[
    within("format", 2.0, 2.0, "1")
        .hint("A later number needs a later longwatch; this one reads format 2."),
    within("site.latitude_deg", -90.0, 90.0, "deg"),
    within("site.longitude_deg", -180.0, 180.0, "deg"),
    within("site.elevation_m", -450.0, 9000.0, "m"),
    share("site.ground_reflectance_share"),
    share("site.ground_reflectance_share[]"),
    within("site.horizon[].azimuth_deg", 0.0, 360.0, "deg").below_max().hint(COMPASS),
    within("site.horizon[].height_deg", 0.0, 90.0, "deg").below_max(),
    within("span.hours", 1.0, MOST_H, "h"),
    within("span.step_min", 1.0, 60.0, "min"),
    share("start.charge_share"),
    share("start.charge_between_share[]"),
    within("start.warmup_days", 0.0, 366.0, "day"),
    within("sun.profile.in_plane_w_m2[]", 0.0, 1500.0, "W/m2"),
    share("sun.profile.rated_share[]"),
    within("sun.profile.air_c", -OPEN_AIR_C, OPEN_AIR_C, "deg C"),
    within("**.fixed", 0.0, 1000.0, "1"),
    within("**.uniform[]", 0.0, 1000.0, "1"),
    share("sun.profile.day_types.chain.shares.type_share[]"),
    within("sun.profile.day_types.chain.shares.lag1_correlation", -1.0, 1.0, "1"),
    share("sun.profile.day_types.chain.matrix.next_share[][]"),
    within("sun.climate.ghi_kwh_m2_day[]", 0.0, 12.0, "kWh/m2")
        .hint("This is the energy of a mean day, not of the whole month."),
    within("sun.climate.air_mean_c[]", -OPEN_AIR_C, OPEN_AIR_C, "deg C"),
    within("sun.climate.air_swing_c[]", 0.0, 40.0, "K"),
    within("sun.climate.persistence", 0.0, 0.99, "1"),
    within("sun.measured.time.hours_of.year", 1900.0, 2200.0, "year"),
    within("sun.measured.resample.block_days", 1.0, 366.0, "day"),
    within("sun.measured.resample.season_days", 0.0, 183.0, "day"),
    within("snow.cleared_after_h", 0.0, 720.0, "h"),
    above_zero("storm.coupled.lasts_days", 30.0, "day"),
    share("storm.coupled.snow_chance"),
    above_zero("grid.outage.hours", MOST_H, "h"),
    above_zero("grid.outage_at_random.hours", MOST_H, "h"),
    within("**.exponential.mean_h", 0.01, MOST_H, "h"),
    within("**.weibull.shape", 0.1, 100.0, "1"),
    within("**.weibull.mean_h", 0.01, MOST_H, "h"),
    within("**.lognormal.median_h", 0.01, MOST_H, "h"),
    within("**.lognormal.log_sd", 1e-6, 5.0, "1"),
    within("**.geometric.end_chance", 1e-6, 1.0, "share"),
    within("warning.chance", 0.0, 1.0, "share"),
    within("warning.lead_time_h", 0.0, 240.0, "h"),
    within("warning.shortest_lead_time_h", 0.0, 240.0, "h"),
    within("warning.false_alarms_per_month", 0.0, 1000.0, "1/month"),
    within("windows.*.minutes[]", 0.0, 60.0, "min"),
    within("arrays.*.rated_w", 0.05, 2000.0, "W")
        .hint("This is the power of one panel; `count` says how many there are."),
    within("arrays.*.count", 0.0, 10_000.0, "1"),
    within("arrays.*.tilt_deg", 0.0, 90.0, "deg").hint("Flat on the ground is 0, upright is 90."),
    within("arrays.*.azimuth_deg", 0.0, 360.0, "deg").below_max().hint(COMPASS),
    within("arrays.*.pmax_per_c", -0.02, 0.0, "share/K")
        .hint("-0.37 % per kelvin is written -0.0037."),
    within("arrays.*.noct_c", 30.0, 80.0, "deg C"),
    within("arrays.*.loss_share.*", 0.0, 1.0, "share").below_max(),
    within("arrays.*.rows_up_slope", 1.0, 100.0, "1"),
    within("arrays.*.datasheet.isc_a", 0.005, 100.0, "A")
        .hint("Curve and fuses are reckoned by it: 300 mA are written 0.3."),
    within("arrays.*.datasheet.voc_v", 0.4, 200.0, "V")
        .hint("One silicon cell has about 0.5 V; the label gives the volts of one panel."),
    within("arrays.*.datasheet.imp_a", 0.005, 100.0, "A")
        .hint("Curve and fuses are reckoned by it: 300 mA are written 0.3."),
    within("arrays.*.datasheet.vmp_v", 0.4, 200.0, "V")
        .hint("One silicon cell has about 0.5 V; the label gives the volts of one panel."),
    within("arrays.*.datasheet.in_series", 1.0, 100.0, "1"),
    within("arrays.*.datasheet.voc_per_c", -0.02, 0.0, "share/K")
        .hint("-0.3 % per kelvin is written -0.003."),
    within("arrays.*.datasheet.isc_per_c", -0.002, 0.005, "share/K")
        .hint("0.05 % per kelvin is written 0.0005."),
    above_zero("arrays.*.datasheet.series_fuse_a", 100.0, "A"),
    efficiency("controllers.*.mppt.efficiency_share"),
    amps("controllers.*.mppt.output_limit_a"),
    within("controllers.*.mppt.standby_w", 0.0, 100.0, "W"),
    above_zero("controllers.*.mppt.input_limit_v", MOST_PANEL_V, "V"),
    amps("controllers.*.pwm.output_limit_a"),
    within("controllers.*.pwm.drop_v", 0.0, 5.0, "V"),
    within("controllers.*.pwm.standby_w", 0.0, 100.0, "W"),
    above_zero("controllers.*.pwm.input_limit_v", MOST_PANEL_V, "V"),
    bus_volts("**.set_points.absorption_v"),
    bus_volts("**.set_points.float_v"),
    within("**.set_points.tail_a", 0.001, MOST_A, "A")
        .hint("Nothing measures a tail below a milliampere; 2 % of the ampere-hours is usual."),
    bus_volts("**.set_points.recharge_below_v"),
    within("**.set_points.compensation_v_per_k", -0.5, 0.0, "V/K")
        .hint("For the whole battery: six cells at -4 mV each are written -0.024."),
    within("battery.lithium_iron_phosphate.cells_in_series", 1.0, 20.0, "1"),
    within("battery.lithium_iron_phosphate.strings", 1.0, 100.0, "1"),
    ampere_hours("battery.lithium_iron_phosphate.capacity_ah", 10_000.0),
    within("battery.lithium_iron_phosphate.age_capacity_share", 0.1, 1.0, "share").hint(AGED),
    within("battery.lithium_iron_phosphate.pack_resistance_ohm", 0.0, 0.5, "ohm").hint(MILLIOHM),
    amps("battery.lithium_iron_phosphate.charge_limit_a"),
    amps("battery.lithium_iron_phosphate.discharge_limit_a"),
    within("battery.lithium_iron_phosphate.cell_cutoff_v", 2.0, 3.2, "V")
        .hint("These are volts of one cell, not of the whole battery."),
    within("battery.lithium_iron_phosphate.cell_reconnect_v", 2.0, 3.6, "V")
        .hint("These are volts of one cell, not of the whole battery."),
    within("battery.lithium_iron_phosphate.cell_overvoltage_v", 3.4, 4.2, "V")
        .hint("These are volts of one cell, not of the whole battery."),
    above_zero("battery.lithium_iron_phosphate.short_circuit_a", MOST_SHORT_A, "A"),
    within("battery.lithium_iron_phosphate.self_discharge_share_month", 0.0, 1.0, "share/month")
        .below_max(),
    ampere_hours("**.packs.*.rated_ah", 10_000.0),
    ampere_hours("**.packs.*.measured_ah", 10_000.0),
    above_zero("**.packs.*.mass_kg", 10_000.0, "kg"),
    within("**.heater.power_w", 0.0, 2000.0, "W"),
    within("**.heater.on_below_c", -40.0, 40.0, "deg C"),
    within("**.heater.rise_c", 0.0, 60.0, "K"),
    within("**.temperature.fixed_c", -40.0, 80.0, "deg C"),
    within("**.temperature.follows_air.lag_h", 0.01, 1000.0, "h")
        .hint("Warming is divided by it: a lag below a minute is none."),
    within("**.temperature.follows_air.offset_c", -50.0, 50.0, "K"),
    within("battery.lithium_iron_phosphate.charge_inhibit.below_c", -40.0, 40.0, "deg C"),
    within("battery.lithium_iron_phosphate.charge_inhibit.resume_above_c", -40.0, 40.0, "deg C"),
    within("**.usable_share_at_c[].cell_c", -60.0, 80.0, "deg C"),
    share("**.usable_share_at_c[].usable_share"),
    within("battery.lead_acid.cells_in_series", 1.0, 30.0, "1"),
    within("battery.lead_acid.strings", 1.0, 100.0, "1"),
    within("battery.lead_acid.capacities[].discharge_h", 0.05, 1000.0, "h")
        .hint("Current is capacity divided by it; datasheets begin at 3 to 5 minutes."),
    ampere_hours("battery.lead_acid.capacities[].capacity_ah", 10_000.0),
    within("battery.lead_acid.age_capacity_share", 0.1, 1.0, "share").hint(AGED),
    within("battery.lead_acid.resistance_ohm", 0.000_05, 1.0, "ohm").hint(
        "Volts are divided by it: a battery below 0.05 milliohm would give more than 200,000 A into \
         a short circuit. 10 milliohm is written 0.010.",
    ),
    above_zero("battery.lead_acid.short_circuit_a", MOST_SHORT_A, "A"),
    within("battery.lead_acid.vent_opening_cm2", 0.0, 100_000.0, "cm2"),
    bus_volts("battery.lead_acid.rated_absorption_v"),
    within("battery.lead_acid.acceptance_share_per_h", 0.01, 10.0, "share/h")
        .hint("Volts are divided by it: with less than 0.01 a battery never fills."),
    within("battery.lead_acid.rated_absorption_v_per_k_cell", -0.01, 0.0, "V/K")
        .hint("-4 mV per kelvin and cell is written -0.004."),
    amps("battery.lead_acid.charge_limit_a"),
    efficiency("battery.lead_acid.charge_efficiency_share"),
    within("battery.lead_acid.full_efficiency_share", 0.01, 1.0, "share")
        .hint("Charge is divided by it: with less than 0.01 a battery never fills."),
    within("battery.lead_acid.self_discharge_share_month", 0.0, 1.0, "share/month").below_max(),
    within("battery.ideal.capacity_wh", 0.2, 1_000_000.0, "Wh").hint(LEAST_WH),
    bus_volts("battery.ideal.empty_v"),
    bus_volts("battery.ideal.full_v"),
    efficiency("battery.ideal.charge_efficiency_share"),
    efficiency("battery.ideal.discharge_efficiency_share"),
    amps("battery.ideal.charge_limit_a"),
    within("battery.ideal.self_discharge_share_month", 0.0, 1.0, "share/month").below_max(),
    bus_volts("supply.rated_v"),
    amps("supply.limit_a"),
    efficiency("supply.efficiency_share"),
    within("supply.no_load_w", 0.0, 500.0, "W"),
    amps("supply.charger.limit_a"),
    within("generator.rated_w", 10.0, 100_000.0, "W")
        .hint("Fuel is reckoned by it: no engine gives less than 10 W. 2 kW is written 2000."),
    within("generator.fuel_l", 0.0, 10_000.0, "l"),
    within("generator.fuel_line.per_rated_kw_l_h", 0.0, 5.0, "l/h"),
    within("generator.fuel_line.per_kwh_l", 0.0, 5.0, "l"),
    share("generator.rule.start_below_share"),
    share("generator.rule.stop_above_share"),
    share("generator.fails_to_start_chance"),
    above_zero("generator.tank_l", 10_000.0, "l"),
    within("generator.refuel_pause_min", 0.0, 1440.0, "min"),
    within("generator.derate_share_per_300_m", 0.0, 0.2, "share"),
    within("generator.other_w", 0.0, 100_000.0, "W"),
    amps("vehicle.limit_a"),
    within("vehicle.idle_l_h", 0.0, 20.0, "l/h"),
    bus_volts("disconnect.disconnect_v"),
    bus_volts("disconnect.reconnect_v"),
    within("disconnect.delay_s", 0.0, 3600.0, "s"),
    within("disconnect.min_off_min", 0.0, 10_080.0, "min"),
    amps("outlet_groups.*.limit_a"),
    within("**.wire.awg", -3.0, 30.0, "AWG").hint("1/0 is written 0, 2/0 is -1, 4/0 is -3."),
    within("**.wire.mm2", 0.05, 500.0, "mm2")
        .hint("Resistance is divided by it: 0.05 mm2 is the thinnest, gauge 30."),
    within("**.wire.one_way_m", 0.0, 500.0, "m"),
    within("**.wire.conductor_c", -40.0, 120.0, "deg C"),
    within("**.wire.connectors", 0.0, 100.0, "1"),
    within("**.wire.connector_ohm", 0.0, 0.1, "ohm").hint(
        "It takes volts from every load: a sound connector has a few milliohm, a corroded one 50. \
         1 milliohm is written 0.001.",
    ),
    within("**.wire.insulation_c", 60.0, 250.0, "deg C")
        .hint("60, 75, 80, 90 or 105 is printed on most insulation."),
    within("**.wire.bundled", 2.0, 200.0, "1"),
    within("**.wire.surroundings_c", -40.0, 120.0, "deg C"),
    above_zero("**.fuse.rated_a", MOST_A, "A"),
    above_zero("**.fuse.interrupt_a", MOST_SHORT_A, "A"),
    above_zero("**.fuse.rated_v", MOST_PANEL_V, "V"),
    within("**.fuse.from_source_m", 0.0, 500.0, "m"),
    above_zero("**.string_fuse.rated_a", MOST_A, "A"),
    above_zero("**.string_fuse.interrupt_a", MOST_SHORT_A, "A"),
    above_zero("**.string_fuse.rated_v", MOST_PANEL_V, "V"),
    within("**.string_fuse.from_source_m", 0.0, 500.0, "m"),
    above_zero("**.pack_fuse.rated_a", MOST_A, "A"),
    above_zero("**.pack_fuse.interrupt_a", MOST_SHORT_A, "A"),
    above_zero("**.pack_fuse.rated_v", MOST_PANEL_V, "V"),
    within("**.pack_fuse.from_source_m", 0.0, 500.0, "m"),
    above_zero("loads.*.max_fuse_a", MOST_A, "A"),
    within("loads.*.draw.current.receive_a", 0.0, MOST_A, "A"),
    within("loads.*.draw.current.transmit_a", 0.0, MOST_A, "A"),
    within("loads.*.draw.envelope.receive_a", 0.0, MOST_A, "A"),
    within("loads.*.draw.envelope.quiescent_a", 0.0, MOST_A, "A"),
    within("loads.*.draw.envelope.full_a", 0.0, MOST_A, "A"),
    share("loads.*.draw.envelope.power_share"),
    within("loads.*.draw.power.power_w", 0.0, 20_000.0, "W"),
    efficiency("loads.*.draw.power.converter_efficiency_share"),
    within("loads.*.draw.power.idle_w", 0.0, 500.0, "W"),
    share("loads.*.transmit_share"),
    within("loads.*.transmission_s", 0.01, 86_400.0, "s")
        .hint("Times are divided by it: 10 ms are written 0.01."),
    within("loads.*.window_v[]", 1.0, 2.0 * MOST_V, "V").hint(LEAST_V),
    share("tiers[].loads.*.transmit_share"),
    share("tiers[].loads.*.power_share"),
    share("shedding.down_below_share[]"),
    share("shedding.up_above_share[]"),
    above_zero("check_limits.radio_drop_share", 1.0, "share").hint("3 % is written 0.03."),
    above_zero("check_limits.main_drop_share", 1.0, "share").hint("3 % is written 0.03."),
    above_zero("check_limits.other_drop_share", 1.0, "share").hint("10 % is written 0.10."),
    within("check_limits.bms_margin_cell_v", 0.0, 1.0, "V"),
    above_zero("check_limits.touch_v", MOST_PANEL_V, "V"),
    within("check_limits.coldest_air_c", -90.0, OPEN_AIR_C, "deg C"),
    within("shedding.card[].from_h", 0.0, MOST_H, "h"),
    within("shedding.card[].at_least_share[]", 0.0, 1.01, "share")
        .hint("1.01 means never: no charge is that high."),
    within("tiers[].worth_per_h", 0.0, 1e6, "1/h"),
    within("sun.climate.outlook.days[].ghi_kwh_m2_day", 0.0, 14.0, "kWh/m2"),
    share("strategies.*.supply.top_up.start_below_share"),
    share("strategies.*.supply.top_up.stop_above_share"),
    above_zero("strategies.*.supply.warned.hold_h", 2400.0, "h"),
    within("prices.mains_per_kwh", 0.0, 100_000.0, "1/kWh"),
    within("sizing.target.hours", 1.0, MOST_H, "h"),
    above_zero("sizing.target.chance", 1.0, "share")
        .below_max()
        .hint("95 % is written 0.95; no number of trials can prove 1."),
    within("**.each.price", 0.0, MOST_MONEY, "money"),
    within("**.each.mass_kg", 0.0, 10_000.0, "kg"),
    within("sizing.panels.counts[]", 0.0, 10_000.0, "1"),
    amps("sizing.panels.controllers[].output_limit_a"),
    within("sizing.panels.controllers[].price", 0.0, MOST_MONEY, "money"),
    within("sizing.panels.controllers[].mass_kg", 0.0, 10_000.0, "kg"),
    within("sizing.panels.tilt_deg[]", 0.0, 90.0, "deg")
        .hint("Flat on the ground is 0, upright is 90."),
    within("sizing.battery.strings.counts[]", 1.0, 100.0, "1"),
    ampere_hours("sizing.battery.strings.capacity_ah", 10_000.0),
    ampere_hours("sizing.battery.sizes[].capacity_ah", 10_000.0),
    within("sizing.battery.sizes[].capacity_wh", 0.2, 1_000_000.0, "Wh").hint(LEAST_WH),
    amps("sizing.battery.sizes[].charge_limit_a"),
    amps("sizing.battery.sizes[].discharge_limit_a"),
    within("sizing.battery.sizes[].price", 0.0, MOST_MONEY, "money"),
    within("sizing.battery.sizes[].mass_kg", 0.0, 10_000.0, "kg"),
    amps("sizing.chargers[].limit_a"),
    amps("sizing.chargers[].supply_limit_a"),
    within("sizing.chargers[].price", 0.0, MOST_MONEY, "money"),
    within("sizing.chargers[].mass_kg", 0.0, 10_000.0, "kg"),
    above_zero("field_tests[].expected.capacity_ah", 100_000.0, "Ah"),
    within("field_tests[].expected.battery_alone_h", 0.0, MOST_H, "h"),
    within("field_tests[].expected.day_wh", 0.0, 1_000_000.0, "Wh"),
    share("field_tests[].expected.lowest_charge_share"),
    above_zero("field_tests[].measured.capacity_ah", 100_000.0, "Ah"),
    within("field_tests[].measured.battery_alone_h", 0.0, MOST_H, "h"),
    within("field_tests[].measured.day_wh", 0.0, 1_000_000.0, "Wh"),
    share("field_tests[].measured.lowest_charge_share"),
];

/// The limit of the numbers at `path`, written as [`Limit::path`].
#[must_use]
pub fn limit_at(path: &str) -> Option<&'static Limit> {
    limit_among(LIMITS, path)
}

/// The limit of the numbers at `path` in another table.
#[must_use]
pub fn limit_among(table: &'static [Limit], path: &str) -> Option<&'static Limit> {
    table.iter().find(|limit| match limit.path.strip_prefix("**.") {
        Some(end) => path == end || path.strip_suffix(end).is_some_and(|rest| rest.ends_with('.')),
        None => limit.path == path,
    })
}

/// Writes range, unit and hint into every number of the schema.
pub(super) fn write_into(schema: &mut Value, table: &'static [Limit]) {
    for field in number_fields(schema) {
        let (Some(limit), Some(Value::Object(node))) =
            (limit_among(table, &field.path), schema.pointer_mut(&field.pointer))
        else {
            continue;
        };
        node.shift_remove("format");
        let (min_key, max_key) = (
            if limit.above_min { "exclusiveMinimum" } else { "minimum" },
            if limit.below_max { "exclusiveMaximum" } else { "maximum" },
        );
        node.shift_remove("minimum");
        node.insert(min_key.to_owned(), number(limit.min));
        node.insert(max_key.to_owned(), number(limit.max));
        node.insert("x-unit".to_owned(), limit.unit.into());
        if !limit.hint.is_empty() {
            node.insert("x-hint".to_owned(), limit.hint.into());
        }
    }
}

/// A bound as people write it: `90`, not `90.0`.
fn number(value: f64) -> Value {
    #[allow(clippy::cast_possible_truncation)] // every bound of the table is below 2^53
    if value.fract() == 0.0 {
        Value::from(value as i64)
    } else {
        Number::from_f64(value).map_or(Value::Null, Value::Number)
    }
}

#[cfg(test)]
mod tests;
