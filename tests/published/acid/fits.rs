//! Wells fitted to datasheet capacities.

use longwatch::scenario::battery::CapacityAtRate;
use longwatch::station::battery::acid::{MOST_MISSED_SHARE, MOST_OVER_LARGEST, Wells};
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

/// Three capacities make a set of equations: five digits of k are printed, six parts in a million
/// of its smallest value.
#[test]
fn three_capacities_are_met_exactly() {
    let all = agm_190();
    let mut worst = 0.0_f64;
    for (name, hours) in [
        ("exact (1, 5, 20) h", [1.0, 5.0, 20.0]),
        ("exact (1, 10, 20) h", [1.0, 10.0, 20.0]),
        ("exact (2, 10, 20) h", [2.0, 10.0, 20.0]),
    ] {
        let three = at_hours(&all, &hours);
        let wells = Wells::fit(&three).unwrap();
        worst = worst.max(apart(&wells, &published_190(name)));
        assert!(errors_pct(&wells, &three).1 < 1e-6, "{name} is not met");
    }
    reached("acid", AGM_190, "c, k, qm through three capacities", 3, worst, 2e-5, "of it");
}

/// Three capacities that no wells have (5, 10, 20 h of the same sheet): the nearest ones are given,
/// within what such a sheet is good for.
#[test]
fn three_capacities_that_no_wells_have_are_met_nearly() {
    let three = at_hours(&agm_190(), &[5.0, 10.0, 20.0]);
    assert!(published_190("exact (5, 10, 20) h")["c"].is_empty());
    let wells = Wells::fit(&three).unwrap();
    let (_, most) = errors_pct(&wells, &three);
    assert!(most > 1e-3, "there is no exact answer");
    reached("acid", AGM_190, "capacities nearest to 5, 10, 20 h", 3, most, 1.5, "%");
}

/// Two capacities with all charge 1.08 times the greater.
#[test]
fn two_capacities_are_met_with_all_charge_given() {
    let all = agm_190();
    let wells = Wells::fit(&at_hours(&all, &[1.0, 20.0])).unwrap();
    let off = apart(&wells, &published_190("two-point 1h/20h, qmax=1.08*C20"));
    reached("acid", AGM_190, "c, k, qm from 1 h and 20 h", 1, off, 2e-5, "of it");
}

/// Least squares. The published fit lessens the relative error of the capacity, ours that of its
/// inverse, which is linear in what is sought; on this sheet they are 7e-4 apart, and ours is
/// worse by the published measure in the fourth digit only.
#[test]
fn nine_capacities_are_met_in_the_least_squares() {
    let all = agm_190();
    let row = published_190("least squares 9 points");
    let wells = Wells::fit(&all).unwrap();
    let what = "c, k, qm, least squares of nine";
    reached("acid", AGM_190, what, 1, apart(&wells, &row), 1e-3, "of it");
    let (rms, _) = errors_pct(&wells, &all);
    let what = "rms error over that of the published fit";
    reached("acid", AGM_190, what, 1, rms - number(&row, "rms_pct"), 1e-3, "%");
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

/// The other sheet: no two wells meet minutes and hours alike (8 % in the mean), so the two
/// objectives part: up to 9 % in k, 0.3 percentage points of error. From 1 to 20 h, the range that
/// a station lives in, they are 1 % apart.
#[test]
fn the_other_sheet_is_met_as_well_as_two_wells_can() {
    let all = capacities("tests/reference/battery/leadacid_agm55Ah_discharge_table.csv", "Ah_1p80");
    let hours: Vec<_> = all.iter().copied().filter(|it| it.discharge_h >= 1.0).collect();
    let fits = "tests/reference/battery/leadacid_agm55Ah_fits.csv";
    for (name, points, constants, percent) in
        [("1-20 h", &hours, 0.01, 0.01), ("all 5 min-20 h", &all, 0.09, 0.35)]
    {
        let row = rows(fits)
            .into_iter()
            .find(|row| row["range"] == name && row["model"] == "KiBaM")
            .unwrap();
        let wells = Wells::fit(points).unwrap();
        let what = format!("c, k, qm, least squares, {name}");
        reached("acid", AGM_55, &what, points.len(), apart(&wells, &row), constants, "of it");
        let (rms, _) = errors_pct(&wells, points);
        let what = format!("rms error over that of the published fit, {name}");
        reached("acid", AGM_55, &what, points.len(), rms - number(&row, "rms_pct"), percent, "%");
    }
}

/// Peukert's law is another model: plausibility. Wells through its capacities at 50, 20 and 5 A are
/// asked for its hours in between: 5 % at the steepest exponent.
#[test]
fn lifetimes_between_two_rates_are_near_peukert() {
    let mut worst = 0.0_f64;
    let mut cases = 0;
    for id in ["peukert_1.1", "peukert_1.15", "peukert_1.25"] {
        let it = example(id);
        let hours = |amps: f64| float(&it, &format!("/expected/hours_at_{amps}A"));
        let at = |amps: f64| CapacityAtRate {
            discharge_h: hours(amps),
            capacity_ah: amps * hours(amps),
        };
        let wells = Wells::fit(&[at(50.0), at(20.0), at(5.0)]).unwrap();
        for amps in [50.0, 20.0, 10.0, 5.0] {
            worst = worst.max((wells.lifetime_h(amps) / hours(amps) - 1.0).abs());
            cases += 1;
        }
    }
    let source = "Peukert's law, closed form (plausibility: another model)";
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

/// Wells that `check` accepts: near every point, and no more than a cell could hold.
fn accepted(capacities: &[CapacityAtRate]) -> Option<Wells> {
    let wells = Wells::fit(capacities)?;
    let (_, missed) = wells.most_missed(capacities)?;
    let largest_ah = capacities.iter().map(|it| it.capacity_ah).fold(0.0, f64::max);
    let near = missed.abs() <= MOST_MISSED_SHARE;
    (near && wells.all_ah <= MOST_OVER_LARGEST * largest_ah).then_some(wells)
}

/// What `check` refuses rests on two datasheets: each is accepted by a few of its points, and whole but
/// for the one point that stands out of its own sheet (55 Ah, 5 h: 43.6, 44.35, 46.74 Ah over 4, 5
/// and 6 h), which is the one that is named.
#[test]
fn published_sheets_are_accepted() {
    let (large, small) = (agm_190(), agm_55(1.0));
    let mut over = 0.0_f64;
    for hours in [&[1.0, 20.0][..], &[1.0, 5.0, 20.0], &[1.0, 5.0, 10.0, 20.0]] {
        for sheet in [&large, &small] {
            let points = at_hours(sheet, hours);
            let wells = accepted(&points).unwrap_or_else(|| panic!("{hours:?}"));
            over =
                over.max(wells.all_ah / points.iter().map(|it| it.capacity_ah).fold(0.0, f64::max));
        }
    }
    reached("acid", AGM_55, "all charge over the largest capacity", 6, over, 1.12, "of it");
    assert!(accepted(&large).is_some());
    let (at, missed) = Wells::fit(&small).unwrap().most_missed(&small).unwrap();
    assert_eq!(small[at].discharge_h, 5.0);
    assert!((0.03..0.035).contains(&missed), "{missed}");
    let without: Vec<_> = small.iter().copied().filter(|it| it.discharge_h != 5.0).collect();
    assert!(accepted(&without).is_some());
}

/// A worse point gives hardly a better battery: each point of a sheet is lowered until it is refused. In
/// between no capacity over 1 to 20 h rises by more than 8 %: the curve through the other points bends
/// the more between them. Before, 10 Ah in the place of 49 gave 70 % more in all.
#[test]
fn a_worse_point_gives_hardly_a_better_battery() {
    let point = |discharge_h: f64, capacity_ah: f64| CapacityAtRate { discharge_h, capacity_ah };
    let field = vec![point(20.0, 80.0), point(10.0, 75.0), point(5.0, 68.0), point(1.0, 49.0)];
    let two = vec![point(20.0, 100.0), point(1.0, 58.0)];
    let (mut worst, mut cases, mut refused) = (0.0_f64, 0, 0);
    for sheet in [field, two, at_hours(&agm_190(), &[1.0, 5.0, 20.0])] {
        let before = accepted(&sheet).unwrap();
        for place in 0..sheet.len() {
            for step in 1..=45 {
                let mut worse = sheet.clone();
                worse[place].capacity_ah *= 1.0 - 0.02 * f64::from(step);
                let Some(wells) = accepted(&worse) else {
                    refused += 1;
                    continue;
                };
                for hours in [1.0, 2.0, 5.0, 10.0, 20.0] {
                    let rise = wells.capacity_ah(hours) / before.capacity_ah(hours) - 1.0;
                    worst = worst.max(rise);
                    cases += 1;
                }
            }
        }
    }
    assert!(refused > 100 && cases > 100, "{refused} refused, {cases} cases");
    let what = "rise of a capacity by a worse point";
    reached("acid", "wells, own computation", what, cases, worst, 0.08, "of it");
}
