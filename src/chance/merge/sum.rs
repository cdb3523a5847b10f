//! Sums that do not depend on their order.
//!
//! Each value is rounded once to a whole number of small units (micro-watt-hours, seconds) and
//! added as such, and so is its square, so that mean and spread are those of the rounded values
//! whatever was added first. A value is at most 2^48 units (281 MWh, 8.9 million years), so that
//! 2^30 of them cannot leave the range. Trust: exact.

use serde::{Deserialize, Serialize};

use super::super::problem::ChanceProblem;

/// Sum of values that are counted in `PER_UNIT` small units each.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct Sum<const PER_UNIT: u32> {
    units: i128,
    squares: u128,
    count: u64,
}

/// Energies in Wh, kept in whole micro-watt-hours.
pub type EnergySum = Sum<1_000_000>;
/// Times in h, kept in whole seconds.
pub type TimeSum = Sum<3_600>;

/// No value is greater than this many small units.
const MOST_UNITS: f64 = 281_474_976_710_656.0;
/// No sum holds more values.
const MOST_VALUES: u64 = 1 << 30;

impl<const PER_UNIT: u32> Sum<PER_UNIT> {
    /// The value in whole small units, halves away from zero.
    ///
    /// # Errors
    /// If it is not a number or greater than 2^48 small units.
    #[allow(clippy::cast_possible_truncation)]
    pub fn units_of(value: f64) -> Result<i64, ChanceProblem> {
        let units = (value * f64::from(PER_UNIT)).round();
        let good = units.abs() <= MOST_UNITS;
        ChanceProblem::unless(good, "a value to be added up", value, "at most 2^48 small units")?;
        Ok(units as i64)
    }

    /// Adds one value.
    ///
    /// # Errors
    /// As [`Sum::units_of`], or if 2^30 values are in already.
    pub fn add(&mut self, value: f64) -> Result<(), ChanceProblem> {
        let units = Self::units_of(value)?;
        let size = u128::from(units.unsigned_abs());
        let one = Self { units: i128::from(units), squares: size * size, count: 1 };
        *self = self.merged(one)?;
        Ok(())
    }

    /// Both as one.
    ///
    /// # Errors
    /// If they hold more than 2^30 values together.
    pub fn merged(self, other: Self) -> Result<Self, ChanceProblem> {
        let count = self.count.saturating_add(other.count);
        #[allow(clippy::cast_precision_loss)]
        let found = count as f64;
        ChanceProblem::unless(count <= MOST_VALUES, "the values added up", found, "at most 2^30")?;
        // 2^30 values of 2^48 and their squares are at most 2^126.
        Ok(Self { units: self.units + other.units, squares: self.squares + other.squares, count })
    }

    /// How many values.
    #[must_use]
    pub fn count(self) -> u64 {
        self.count
    }

    /// The sum in small units, exact.
    #[must_use]
    pub fn total_units(self) -> i128 {
        self.units
    }

    /// The sum in the unit of the values.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn total(self) -> f64 {
        self.units as f64 / f64::from(PER_UNIT)
    }

    /// The mean; 0 without a value.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn mean(self) -> f64 {
        if self.count == 0 { 0.0 } else { self.total() / self.count as f64 }
    }

    /// The variance, with one less than the count below; 0 for fewer than two values.
    ///
    /// With `sum = q n + r`: `n Var' = squares - q^2 n - 2 q r - r^2/n`, in whole numbers up to the
    /// last term, so that nothing cancels.
    #[must_use]
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_wrap)]
    pub fn variance(self) -> f64 {
        if self.count < 2 {
            return 0.0;
        }
        let count = i128::from(self.count);
        let (q, r) = (self.units / count, self.units % count);
        // The squares are at most 2^126, so they are a whole number with a sign too.
        let whole = self.squares as i128 - q * q * count - 2 * q * r;
        let spread = whole as f64 - (r * r) as f64 / count as f64;
        let per_unit = f64::from(PER_UNIT);
        spread.max(0.0) / (count - 1) as f64 / (per_unit * per_unit)
    }

    /// Standard error of the mean.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn standard_error(self) -> f64 {
        if self.count == 0 { 0.0 } else { (self.variance() / self.count as f64).sqrt() }
    }
}

/// A sum as it is written: its numbers as text, since few readers hold them as numbers.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    units: String,
    squares: String,
    count: u64,
}

impl<const PER_UNIT: u32> From<Sum<PER_UNIT>> for Written {
    fn from(sum: Sum<PER_UNIT>) -> Self {
        Self { units: sum.units.to_string(), squares: sum.squares.to_string(), count: sum.count }
    }
}

impl<const PER_UNIT: u32> TryFrom<Written> for Sum<PER_UNIT> {
    type Error = String;

    /// Takes only what adding up can have come to, so that no later sum leaves its range.
    fn try_from(written: Written) -> Result<Self, String> {
        let units: i128 =
            written.units.parse().map_err(|_| format!("`{}` is no whole number", written.units))?;
        let squares: u128 = written
            .squares
            .parse()
            .map_err(|_| format!("`{}` is no whole number", written.squares))?;
        let count = written.count;
        let most = u128::from(count) << 48;
        if count > MOST_VALUES || units.unsigned_abs() > most || squares > most << 48 {
            return Err(format!("{units} is not the sum of {count} values"));
        }
        Ok(Self { units, squares, count })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_comes_back_and_nonsense_is_refused() {
        let mut sum = EnergySum::default();
        for wh in [1.5, -2.25, 281_000_000.0] {
            sum.add(wh).unwrap();
        }
        let text = serde_json::to_string(&sum).unwrap();
        assert_eq!(serde_json::from_str::<EnergySum>(&text).unwrap(), sum);
        for wrong in [
            r#"{"units":"1","squares":"1","count":0}"#,
            r#"{"units":"1.5","squares":"1","count":1}"#,
            r#"{"units":"1","squares":"-1","count":1}"#,
            r#"{"units":"1","squares":"340282366920938463463374607431768211455","count":1}"#,
            r#"{"units":"0","squares":"0","count":9999999999}"#,
        ] {
            assert!(serde_json::from_str::<EnergySum>(wrong).is_err(), "{wrong}");
        }
    }
}
