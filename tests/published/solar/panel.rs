//! From light to power.

use longwatch::station::panel::{PanelArray, array_power_w, cell_c, low_light_share};

use super::common::check;
use crate::support::figures::rows;

/// Four decimals.
#[test]
fn cell_temperature_and_its_cost() {
    let mut cells = check("pvlib 0.16.1, Ross, NOCT 45", "cell temperature", "deg C", 1e-4);
    let mut powers = check(
        "NREL/TP-6A20-62641, linear in temperature (pvlib 0.16.1)",
        "power over rated",
        "1",
        1e-4,
    );
    let array = PanelArray { rated_w: 1.0, pmax_per_c: -0.004, noct_c: 45.0, kept_share: 1.0 };
    for row in rows("solar/cell_temperature_cases.csv") {
        let name = format!("{} W/m2, {} C", row.text("poa"), row.text("temp_air"));
        let (light, air) = (row.number("poa"), row.number("temp_air"));
        cells.case(&name, cell_c(light, air, 45.0), row.number("ross_noct45"));
        if light > 0.0 {
            // Their model has no weak light.
            let bare = array_power_w(&array, light, air) / low_light_share(light);
            powers.case(&name, bare, row.number("pdc_over_pstc_ross"));
        }
    }
    cells.done();
    powers.done();
}

/// Four decimals.
#[test]
fn weak_light() {
    let mut shares =
        check("Huld et al. 2011, second set by JRC (pvlib 0.16.1)", "low-light share", "1", 1e-4);
    for row in rows("solar/low_light.csv") {
        if row.text("Tmod") == "25" {
            let light = row.number("G");
            shares.case(row.text("G"), low_light_share(light), row.number("csi_set2"));
        }
    }
    shares.done();
}

/// Another model (five parameters of one generic module, cells at a given temperature): warmth and
/// weak light together within 5 % of rated between -20 and 60 degrees.
#[test]
fn another_model_of_a_module() {
    let mut powers =
        check("De Soto single diode (pvlib 0.16.1)", "maximum power over rated", "1", 0.05);
    for row in rows("solar/pwm_vs_mpp.csv") {
        let (light, cells) = (row.number("poa"), row.number("cell_temp"));
        // NOCT 20: cells as warm as the air.
        let array = PanelArray { rated_w: 1.0, pmax_per_c: -0.004, noct_c: 20.0, kept_share: 1.0 };
        let name = format!("{light} W/m2, cells {cells} C");
        powers.case(&name, array_power_w(&array, light, cells), row.number("p_mp") / 100.0);
    }
    powers.done();
}
