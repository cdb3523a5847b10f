//! Wells fitted to datasheet capacities.

use longwatch::scenario::battery::CapacityAtRate;
use longwatch::station::battery::acid::{
    MOST_ABOVE_SHARE, MOST_BELOW_SHARE, TOLD_BELOW_SHARE, Wells,
};
use serde_json::Value;

use super::{Row, example, float, number, rows};
use crate::support::reached;

const AGM_190: &str = "datasheet of a 190 Ah AGM block, fits in tests/reference/battery";
const AGM_55: &str = "datasheet of a 55 Ah AGM block, fits in tests/reference/battery";

fn capacities(path: &str, column: &str) -> Vec<CapacityAtRate> {
    rows(path)
        .iter()
        .map(|row| CapacityAtRate {
            discharge_h: number(row, "hours"),
            capacity_ah: number(row, column),
        })
        .collect()
}

fn agm_190() -> Vec<CapacityAtRate> {
    capacities(
        "tests/reference/battery/leadacid_agm_capacity_vs_rate.csv",
        "capacity_Ah_to_1p80Vpc_20C",
    )
}

fn at_hours(all: &[CapacityAtRate], hours: &[f64]) -> Vec<CapacityAtRate> {
    all.iter().copied().filter(|it| hours.contains(&it.discharge_h)).collect()
}

fn published(path: &str, column: &str, name: &str) -> Row {
    rows(path)
        .into_iter()
        .find(|row| row[column] == name)
        .unwrap_or_else(|| panic!("no {name} in {path}"))
}

fn published_190(name: &str) -> Row {
    published("tests/reference/battery/leadacid_agm_fit_kibam_peukert.csv", "method", name)
}

/// Greatest relative difference of the three constants.
fn apart(ours: &Wells, row: &Row) -> f64 {
    let off = |ours: f64, column: &str| (ours / number(row, column) - 1.0).abs();
    off(ours.at_hand_share, "c")
        .max(off(ours.rate_per_h, "k_per_h"))
        .max(off(ours.all_ah, "qmax_Ah"))
}

/// Root mean square and greatest relative error of the capacities, %.
fn errors_pct(wells: &Wells, capacities: &[CapacityAtRate]) -> (f64, f64) {
    let errors: Vec<f64> = capacities
        .iter()
        .map(|it| (wells.capacity_ah(it.discharge_h) / it.capacity_ah - 1.0) * 100.0)
        .collect();
    let count = errors.len() as f64;
    let rms = (errors.iter().map(|error| error * error).sum::<f64>() / count).sqrt();
    (rms, errors.iter().fold(0.0, |worst, error| worst.max(error.abs())))
}

/// Two capacities with all charge 1.08 times the greater.
#[test]
fn two_capacities_are_met_with_all_charge_given() {
    let all = agm_190();
    let wells = Wells::fit(&at_hours(&all, &[1.0, 20.0])).unwrap();
    let off = apart(&wells, &published_190("two-point 1h/20h, qmax=1.08*C20"));
    reached("acid", AGM_190, "c, k, qm from 1 h and 20 h", 1, off, 2e-5, "of it");
}

/// Nine capacities: the ends fix the wells, and the errors of the published fit through the same two
/// ends, printed with five decimals, are ours.
#[test]
fn nine_capacities_are_met_as_the_published_fit_of_two_ends_does() {
    let all = agm_190();
    let row = published_190("two-point 1h/20h, qmax=1.08*C20");
    let (rms, most) = errors_pct(&Wells::fit(&all).unwrap(), &all);
    let off = (rms - number(&row, "rms_pct")).abs().max((most - number(&row, "max_pct")).abs());
    reached("acid", AGM_190, "rms and greatest error of nine capacities", 2, off, 2e-3, "%");
}

/// Capacities of the published constants: their root mean square and greatest error are printed
/// with five decimals, the constants with five digits.
#[test]
fn published_constants_give_the_published_errors() {
    let all = agm_190();
    let mut worst = 0.0_f64;
    let mut cases = 0;
    for row in rows("tests/reference/battery/leadacid_agm_fit_kibam_peukert.csv") {
        if row["c"].is_empty() {
            continue;
        }
        let wells = Wells {
            at_hand_share: number(&row, "c"),
            rate_per_h: number(&row, "k_per_h"),
            all_ah: number(&row, "qmax_Ah"),
        };
        let (rms, most) = errors_pct(&wells, &all);
        worst = worst.max((rms - number(&row, "rms_pct")).abs());
        worst = worst.max((most - number(&row, "max_pct")).abs());
        cases += 1;
    }
    assert_eq!(cases, 7);
    reached("acid", AGM_190, "errors of published constants", cases, worst, 2e-3, "%");
}

/// The other sheet, 1 to 20 h: the published least squares have three free constants, and miss by
/// 1.7 % in the mean; ours are held by the ends, and miss by little more.
#[test]
fn the_other_sheet_is_met_nearly_as_well_as_two_wells_can() {
    let points = agm_55(1.0);
    let row = published("tests/reference/battery/leadacid_agm55Ah_fits.csv", "range", "1-20 h");
    let (rms, _) = errors_pct(&Wells::fit(&points).unwrap(), &points);
    let what = "rms error over that of the least squares, 1-20 h";
    reached("acid", AGM_55, what, points.len(), rms - number(&row, "rms_pct"), 0.35, "%");
}

/// All charge over the capacity at the longest stated rate, against wells fitted to nine capacities
/// of the sheet: sheets that end at 8, 10 and 20 h give the same battery.
#[test]
fn all_charge_follows_from_the_longest_rate() {
    let all = agm_190();
    let published_ah = number(&published_190("least squares 9 points"), "qmax_Ah");
    let mut worst = 0.0_f64;
    for longest_h in [8.0, 10.0, 20.0] {
        let wells = Wells::fit(&at_hours(&all, &[1.0, longest_h])).unwrap();
        worst = worst.max((wells.all_ah / published_ah - 1.0).abs());
    }
    reached("acid", AGM_190, "all charge by the longest rate", 3, worst, 0.005, "of it");
}

/// Peukert's law is another model: plausibility. Wells through its capacities at 50, 20 and 5 A are
/// asked for its hours in between: 5 %. At the steepest exponent the wells are above the capacity at
/// 20 A by more than two published sheets need, and `check` refuses the three.
#[test]
fn lifetimes_between_two_rates_are_near_peukert() {
    let mut worst = 0.0_f64;
    let mut refused = Vec::new();
    let mut cases = 0;
    for id in ["peukert_1.1", "peukert_1.15", "peukert_1.25"] {
        let it = example(id);
        let hours = |amps: f64| float(&it, &format!("/expected/hours_at_{amps}A"));
        let at = |amps: f64| CapacityAtRate {
            discharge_h: hours(amps),
            capacity_ah: amps * hours(amps),
        };
        let Some(wells) = accepted(&[at(50.0), at(20.0), at(5.0)]) else {
            refused.push(id);
            continue;
        };
        for amps in [50.0, 20.0, 10.0, 5.0] {
            worst = worst.max((wells.lifetime_h(amps) / hours(amps) - 1.0).abs());
            cases += 1;
        }
    }
    let source = "Peukert's law, closed form (plausibility: another model)";
    assert_eq!(refused, ["peukert_1.25"]);
    reached("acid", source, "lifetime between the rates fitted", cases, worst, 0.05, "of it");
}

/// A battery's exponent from two capacities (closed form, four rates of one battery): the wells
/// through them have the same exponent between these rates.
#[test]
fn wells_keep_the_exponent_between_two_rates() {
    let it: Value = example("peukert_fit");
    let capacity = |name: &str| float(&it, &format!("/inputs/{name}"));
    let at =
        |hours: f64, name: &str| CapacityAtRate { discharge_h: hours, capacity_ah: capacity(name) };
    let wells =
        Wells::fit(&[at(20.0, "C20"), at(10.0, "C10"), at(5.0, "C5"), at(1.0, "C1")]).unwrap();
    let exponent = |short: f64, long: f64| {
        let amps = |hours: f64| wells.capacity_ah(hours) / hours;
        (long / short).ln() / (amps(short) / amps(long)).ln()
    };
    let worst = [(1.0, "n_20_1"), (5.0, "n_20_5"), (10.0, "n_20_10")]
        .into_iter()
        .map(|(hours, key)| (exponent(hours, 20.0) - float(&it, &format!("/expected/{key}"))).abs())
        .fold(0.0, f64::max);
    // Four capacities, three constants: 1 % of misfit at 10 and at 20 h is 0.03 of the exponent
    // between them.
    let source = "Peukert's law, closed form (plausibility: another model)";
    reached("acid", source, "exponent between two rates", 3, worst, 0.03, "");
}

fn agm_55(least_h: f64) -> Vec<CapacityAtRate> {
    let all = capacities("tests/reference/battery/leadacid_agm55Ah_discharge_table.csv", "Ah_1p80");
    all.into_iter().filter(|it| it.discharge_h >= least_h).collect()
}

/// Wells that `check` accepts: hardly above a point, not far below one.
fn accepted(capacities: &[CapacityAtRate]) -> Option<Wells> {
    let wells = Wells::fit(capacities)?;
    let mut above = wells.above_shares(capacities).into_iter();
    above.all(|it| (-MOST_BELOW_SHARE..=MOST_ABOVE_SHARE).contains(&it)).then_some(wells)
}

/// What `check` refuses rests on two datasheets: each is accepted whole and by a few of its points.
/// The 55 Ah sheet scatters (43.6, 44.35, 46.74 Ah over 4, 5 and 6 h): `check` says of one point that
/// the wells are below it by more than 3 %.
#[test]
fn published_sheets_are_accepted() {
    let (large, small) = (agm_190(), agm_55(1.0));
    for hours in [
        &[1.0, 20.0][..],
        &[1.0, 10.0],
        &[1.0, 8.0],
        &[1.0, 5.0, 20.0],
        &[5.0, 10.0, 20.0],
        &[1.0, 5.0, 10.0, 20.0],
    ] {
        for sheet in [&large, &small] {
            assert!(accepted(&at_hours(sheet, hours)).is_some(), "{hours:?}");
        }
    }
    let (mut above, mut below) = (0.0_f64, 0.0_f64);
    for (sheet, told_h) in [(&large, &[][..]), (&small, &[10.0])] {
        let wells = accepted(sheet).unwrap();
        let shares = wells.above_shares(sheet);
        above = shares.iter().copied().fold(above, f64::max);
        below = shares.iter().copied().fold(below, f64::min);
        let told: Vec<f64> = sheet
            .iter()
            .zip(&shares)
            .filter(|(_, share)| **share < -TOLD_BELOW_SHARE)
            .map(|(point, _)| point.discharge_h)
            .collect();
        assert_eq!(told, told_h);
    }
    reached("acid", AGM_55, "wells above a capacity of a sheet", 18, above, 0.023, "of it");
    reached("acid", AGM_55, "wells below a capacity of a sheet", 18, -below, 0.035, "of it");
}

/// A number from 0 to 1 that depends on the place alone (Weyl, golden section).
fn spread(place: u32, step: f64) -> f64 {
    (f64::from(place) * step).fract()
}

/// A random sheet of two to nine capacities that grow with the hours: from 0.5 to 3 h on, up to
/// 8 to 120 h, those between anywhere between their neighbours' bounds.
fn random_sheet(place: u32) -> Vec<CapacityAtRate> {
    let count = 2 + place % 8;
    let (first_h, last_h) = (
        0.5 + 2.5 * spread(place, 0.618_033_988_7),
        8.0 * 15.0_f64.powf(spread(place, 0.7548776662)),
    );
    let total = 1.02 + 2.5 * spread(place, 0.569_840_290_9);
    (0..count)
        .map(|at| {
            let way = f64::from(at) / f64::from(count - 1);
            let bent = way.powf(0.5 + spread(place + 7 * at, 0.381_966_011_2));
            CapacityAtRate {
                discharge_h: first_h * (last_h / first_h).powf(way),
                capacity_ah: 60.0 * (1.0 + (total - 1.0) * bent),
            }
        })
        .collect()
}

/// A worse point never gives a better battery: any capacity of any sheet lowered by any share, down to
/// the one before it, raises no capacity at any rate between the shortest and the longest stated, nor
/// all charge. Nothing is sifted: also what `check` refuses is as strict. Least squares, before: 10 Ah
/// in the place of 49 gave 70 % more in all, and among accepted sheets 7.5 % more at some rate.
#[test]
fn a_worse_point_never_gives_a_better_battery() {
    let point = |discharge_h: f64, capacity_ah: f64| CapacityAtRate { discharge_h, capacity_ah };
    let mut sheets: Vec<_> = (0..600).map(random_sheet).collect();
    sheets.push(vec![point(20.0, 80.0), point(10.0, 75.0), point(5.0, 68.0), point(1.0, 49.0)]);
    sheets.push(vec![point(20.0, 100.0), point(1.0, 58.0)]);
    sheets.extend([agm_190(), agm_55(1.0), agm_55(0.0)]);
    let (mut worst, mut cases, mut fell) = (0.0_f64, 0, 0);
    for sheet in sheets {
        let before = Wells::fit(&sheet).unwrap();
        let by = |a: &&CapacityAtRate, b: &&CapacityAtRate| a.discharge_h.total_cmp(&b.discharge_h);
        let first_h = sheet.iter().min_by(by).unwrap().discharge_h;
        let last_h = sheet.iter().max_by(by).unwrap().discharge_h;
        for place in 0..sheet.len() {
            for step in 1..=12 {
                let mut worse = sheet.clone();
                worse[place].capacity_ah *= 1.0 - 0.004 * f64::from(step * step);
                let Some(wells) = Wells::fit(&worse) else { continue };
                for way in 0..=16 {
                    let hours = first_h * (last_h / first_h).powf(f64::from(way) / 16.0);
                    let rise = wells.capacity_ah(hours) / before.capacity_ah(hours) - 1.0;
                    worst = worst.max(rise);
                    fell += usize::from(rise < -1e-6);
                    cases += 1;
                }
                worst = worst.max(wells.all_ah / before.all_ah - 1.0);
            }
        }
    }
    assert!(cases > 100_000 && fell > cases / 20, "{cases} cases, {fell} fell");
    let what = "rise of a capacity by a worse point";
    reached("acid", "wells, own computation", what, cases, worst, 1e-9, "of it");
}
