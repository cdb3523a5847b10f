//! A guess of the climate by latitude alone, to be replaced by the monthly means of the place.
//!
//! Sunlight: mean daily clearness times extraterrestrial energy. The clearness is 0.50 at the
//! equator all year; from 45 degrees polewards it is 0.47 with 0.05 more in midsummer and 0.05
//! less in midwinter; on a straight line between. A deliberately cloudy coast: judgement, no
//! source. The extraterrestrial energies behind the table are monthly means of the day-by-day
//! sum for 1361 W/m2 with the solar declination of the NREL SPA.
//!
//! Air: rounded means over all longitudes, from memory, with a yearly swing that grows polewards
//! and the coldest day a month after the shortest. Coasts are milder, valleys are not.
//!
//! Trust: plausible, and never more than a start.

use crate::scenario::sun::{Climate, usual_persistence};

use super::station::{guessed, round};

/// Mean daily global energy on the level, kWh/m2, January first, by latitude in degrees north.
const GHI_KWH_M2_DAY: [(f64, [f64; 12]); 25] = [
    (-80.0, [6.05, 3.63, 1.16, 0.06, 0.00, 0.00, 0.00, 0.00, 0.56, 2.55, 5.28, 6.73]),
    (-77.5, [6.07, 3.76, 1.43, 0.17, 0.00, 0.00, 0.00, 0.02, 0.69, 2.54, 5.15, 6.66]),
    (-75.0, [6.01, 3.79, 1.63, 0.30, 0.00, 0.00, 0.00, 0.07, 0.88, 2.67, 5.10, 6.59]),
    (-70.0, [5.79, 3.89, 1.96, 0.59, 0.04, 0.00, 0.01, 0.31, 1.33, 3.06, 5.11, 6.42]),
    (-67.5, [5.81, 4.11, 2.23, 0.81, 0.13, 0.00, 0.03, 0.42, 1.46, 3.14, 5.07, 6.30]),
    (-65.0, [5.81, 4.23, 2.42, 1.00, 0.25, 0.04, 0.11, 0.58, 1.65, 3.30, 5.12, 6.24]),
    (-60.0, [5.84, 4.43, 2.73, 1.33, 0.52, 0.25, 0.37, 0.95, 2.08, 3.67, 5.32, 6.25]),
    (-50.0, [6.04, 4.91, 3.43, 2.07, 1.19, 0.84, 0.99, 1.64, 2.77, 4.22, 5.59, 6.34]),
    (-40.0, [6.14, 5.27, 4.04, 2.80, 1.92, 1.54, 1.69, 2.36, 3.42, 4.67, 5.77, 6.34]),
    (-30.0, [6.08, 5.49, 4.55, 3.51, 2.69, 2.32, 2.46, 3.09, 4.02, 5.01, 5.81, 6.20]),
    (-20.0, [5.87, 5.55, 4.93, 4.14, 3.45, 3.11, 3.24, 3.78, 4.52, 5.22, 5.70, 5.92]),
    (-10.0, [5.52, 5.45, 5.16, 4.67, 4.17, 3.90, 4.00, 4.41, 4.89, 5.27, 5.44, 5.49]),
    (0.0, [5.03, 5.19, 5.24, 5.08, 4.81, 4.64, 4.70, 4.93, 5.13, 5.16, 5.03, 4.94]),
    (10.0, [4.29, 4.66, 5.03, 5.21, 5.21, 5.16, 5.17, 5.19, 5.08, 4.77, 4.38, 4.15]),
    (20.0, [3.49, 4.03, 4.66, 5.18, 5.47, 5.56, 5.52, 5.31, 4.87, 4.25, 3.63, 3.32]),
    (30.0, [2.66, 3.31, 4.18, 5.01, 5.59, 5.83, 5.72, 5.27, 4.52, 3.63, 2.84, 2.47]),
    (40.0, [1.84, 2.55, 3.58, 4.70, 5.56, 5.96, 5.80, 5.09, 4.04, 2.92, 2.04, 1.64]),
    (50.0, [1.09, 1.80, 2.93, 4.27, 5.41, 5.96, 5.72, 4.77, 3.47, 2.19, 1.28, 0.90]),
    (60.0, [0.43, 1.07, 2.24, 3.76, 5.16, 5.88, 5.55, 4.33, 2.80, 1.44, 0.58, 0.27]),
    (65.0, [0.16, 0.71, 1.86, 3.47, 5.04, 5.88, 5.48, 4.09, 2.44, 1.06, 0.27, 0.04]),
    (67.5, [0.05, 0.50, 1.61, 3.25, 4.93, 5.93, 5.53, 4.04, 2.32, 0.92, 0.16, 0.00]),
    (70.0, [0.01, 0.38, 1.48, 3.18, 4.99, 6.05, 5.53, 3.86, 2.06, 0.69, 0.06, 0.00]),
    (75.0, [0.00, 0.10, 1.02, 2.82, 4.99, 6.20, 5.74, 3.79, 1.74, 0.38, 0.00, 0.00]),
    (77.5, [0.00, 0.03, 0.83, 2.71, 5.05, 6.27, 5.80, 3.78, 1.55, 0.23, 0.00, 0.00]),
    (80.0, [0.00, 0.01, 0.69, 2.75, 5.17, 6.34, 5.79, 3.68, 1.28, 0.10, 0.00, 0.00]),
];

/// Latitude in degrees from the equator, yearly mean and half the yearly swing of the air, deg C.
const AIR_C: [(f64, [f64; 2]); 9] = [
    (0.0, [26.0, 1.0]),
    (10.0, [26.0, 2.0]),
    (20.0, [24.0, 4.0]),
    (30.0, [19.0, 7.0]),
    (40.0, [12.0, 9.0]),
    (50.0, [7.0, 10.0]),
    (60.0, [1.0, 12.0]),
    (70.0, [-8.0, 14.0]),
    (80.0, [-16.0, 15.0]),
];

/// Mid-January is half a month into the year; the coldest day in the north is about the 25th.
const COLDEST_MONTHS: f64 = 0.8;

/// Difference between the warmest and the coldest hour of a day, K: judgement, no source.
const AIR_SWING_C: f64 = 8.0;

/// A guess of the climate at a latitude of at most 80 degrees.
pub(super) fn guess(latitude_deg: f64) -> Climate {
    let [mean_c, half_swing_c] = between(&AIR_C, latitude_deg.abs());
    let coldest = if latitude_deg < 0.0 { COLDEST_MONTHS + 6.0 } else { COLDEST_MONTHS };
    let mut middle = 0.5;
    let air_mean_c = [(); 12].map(|()| {
        let year_rad = 2.0 * std::f64::consts::PI * (middle - coldest) / 12.0;
        middle += 1.0;
        round(mean_c - half_swing_c * libm::cos(year_rad), 0)
    });
    Climate {
        ghi_kwh_m2_day: between(&GHI_KWH_M2_DAY, latitude_deg).map(|energy| round(energy, 2)),
        air_mean_c,
        air_swing_c: [AIR_SWING_C; 12],
        persistence: usual_persistence(),
        outlook: None,
        notes: Some(
            "Guessed from the latitude alone. Put in the monthly means of the place.".into(),
        ),
        basis: guessed(&["ghi_kwh_m2_day", "air_mean_c", "air_swing_c"]),
    }
}

/// The row at `x` of a table sorted by its first column: straight lines between, level outside.
fn between<const N: usize>(table: &[(f64, [f64; N])], x: f64) -> [f64; N] {
    let above = table.partition_point(|(row_x, _)| *row_x < x);
    match (above.checked_sub(1).and_then(|below| table.get(below)), table.get(above)) {
        (Some((low_x, low)), Some((high_x, high))) => {
            let share = (x - low_x) / (high_x - low_x);
            std::array::from_fn(|at| low[at] + share * (high[at] - low[at]))
        }
        (Some((_, row)), None) | (None, Some((_, row))) => *row,
        (None, None) => [0.0; N],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Daily extraterrestrial energy on the level, kWh/m2: Duffie & Beckman, Solar Engineering of
    /// Thermal Processes, eq. 1.10.3 with declination and eccentricity by Spencer (1971), eqs.
    /// 1.6.1b and 1.4.1b; constant 1361 W/m2.
    fn extraterrestrial_kwh_m2(latitude_deg: f64, day_of_year: u32) -> f64 {
        let b = f64::from(day_of_year - 1) * 2.0 * std::f64::consts::PI / 365.0;
        let declination = 0.006918 - 0.399912 * b.cos() + 0.070257 * b.sin()
            - 0.006758 * (2.0 * b).cos()
            + 0.000907 * (2.0 * b).sin()
            - 0.002697 * (3.0 * b).cos()
            + 0.00148 * (3.0 * b).sin();
        let eccentricity = 1.000110
            + 0.034221 * b.cos()
            + 0.001280 * b.sin()
            + 0.000719 * (2.0 * b).cos()
            + 0.000077 * (2.0 * b).sin();
        let latitude = latitude_deg.to_radians();
        let sunset = (-latitude.tan() * declination.tan()).clamp(-1.0, 1.0).acos();
        let day = latitude.cos() * declination.cos() * sunset.sin()
            + sunset * latitude.sin() * declination.sin();
        24.0 / std::f64::consts::PI * 1.361 * eccentricity * day
    }

    fn monthly_extraterrestrial(latitude_deg: f64) -> [f64; 12] {
        let lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
        let mut day = 0;
        lengths.map(|length| {
            let days = day + 1..=day + length;
            day += length;
            days.map(|day| extraterrestrial_kwh_m2(latitude_deg, day)).sum::<f64>()
                / f64::from(length)
        })
    }

    /// The rule that the head of this file states, counted from midsummer in the middle between June and July.
    fn stated_clearness(latitude_deg: f64, month0: usize) -> f64 {
        let polewards = (latitude_deg.abs() / 45.0).min(1.0);
        let summer = (2.0 * std::f64::consts::PI * (month0 as f64 - 5.5) / 12.0).cos()
            * latitude_deg.signum();
        0.50 - 0.03 * polewards + 0.05 * polewards * summer
    }

    #[test]
    fn the_formula_of_this_test_agrees_with_the_handbook() {
        // Duffie & Beckman, example 1.10.1: 43 N, 15 April, 33.8 MJ/m2 with 1367 W/m2.
        let mj = extraterrestrial_kwh_m2(43.0, 105) * 3.6 * 1367.0 / 1361.0;
        assert!((mj - 33.8).abs() < 0.2, "{mj}");
    }

    #[test]
    fn the_table_is_what_its_head_says() {
        // Monthly means of the day-by-day sum with the SPA's declination, 2025, 1361 W/m2,
        // geometric horizon, computed apart from this program. Tolerance: the rounding of the table.
        let outside = [
            (
                -60.0,
                [
                    11.273, 8.757, 5.660, 2.901, 1.201, 0.593, 0.879, 2.180, 4.543, 7.608, 10.521,
                    12.059,
                ],
            ),
            (
                0.0,
                [
                    10.050, 10.388, 10.481, 10.155, 9.613, 9.272, 9.395, 9.856, 10.259, 10.317,
                    10.068, 9.875,
                ],
            ),
            (
                65.0,
                [
                    0.368, 1.635, 4.074, 7.189, 9.965, 11.350, 10.577, 8.097, 5.047, 2.322, 0.630,
                    0.106,
                ],
            ),
        ];
        for (latitude_deg, outside) in outside {
            let row = between(&GHI_KWH_M2_DAY, latitude_deg);
            for month0 in 0..12 {
                let stated = stated_clearness(latitude_deg, month0) * outside[month0];
                assert!(
                    (row[month0] - stated).abs() <= 0.0051,
                    "{latitude_deg} {month0}: {} {stated}",
                    row[month0]
                );
            }
        }
        // Every row against the handbook's formula. 0.13 kWh/m2: near the poles the two
        // declinations part by up to 0.25 kWh/m2 a day before the clearness halves it.
        for (latitude_deg, row) in GHI_KWH_M2_DAY {
            for (month0, outside) in monthly_extraterrestrial(latitude_deg).into_iter().enumerate()
            {
                let stated = stated_clearness(latitude_deg, month0) * outside;
                assert!(
                    (row[month0] - stated).abs() < 0.13,
                    "{latitude_deg} {month0}: {} {stated}",
                    row[month0]
                );
            }
        }
    }

    #[test]
    fn no_latitude_gets_more_sun_than_there_is() {
        for latitude_deg in (-160..=160).map(|half| f64::from(half) / 2.0) {
            let outside = monthly_extraterrestrial(latitude_deg);
            for (month0, energy) in guess(latitude_deg).ghi_kwh_m2_day.into_iter().enumerate() {
                // Days with less than 0.05 kWh/m2 outside the atmosphere count as polar night.
                if outside[month0] >= 0.05 {
                    let clearness = energy / outside[month0];
                    assert!(
                        clearness < 0.75,
                        "{latitude_deg} month {month0}: clearness {clearness}"
                    );
                }
            }
        }
    }

    #[test]
    fn winter_comes_when_it_should() {
        let north = guess(45.0);
        let south = guess(-45.0);
        let coldest = |climate: &Climate| {
            (0..12)
                .min_by(|&a, &b| climate.air_mean_c[a].total_cmp(&climate.air_mean_c[b]))
                .unwrap()
        };
        assert_eq!(coldest(&north), 0);
        assert_eq!(coldest(&south), 6);
        assert!(north.ghi_kwh_m2_day[11] < 0.3 * north.ghi_kwh_m2_day[5]);
        assert!(south.ghi_kwh_m2_day[5] < 0.3 * south.ghi_kwh_m2_day[11]);
    }
}
