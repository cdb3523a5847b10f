//! How daily clearness is spread around its monthly mean.
//!
//! Clearness is the day's global energy on the level over that outside the air. Model: P. Bendt,
//! M. Collares-Pereira and A. Rabl, "The frequency distribution of daily insolation values",
//! Solar Energy 27, 1 (1981), after the curves of B. Y. H. Liu and R. C. Jordan (1960): between
//! Kmin and Kmax,
//! `F(K) = (e^(g Kmin) - e^(g K)) / (e^(g Kmin) - e^(g Kmax))`,
//! `mean = ((Kmin - 1/g) e^(g Kmin) - (Kmax - 1/g) e^(g Kmax)) / (e^(g Kmin) - e^(g Kmax))`,
//! g solved from the mean by bisection. Kmin 0.05. Kmax of K. G. T. Hollands and R. G. Huget,
//! "A probability density function for the clearness index, with applications", Solar Energy
//! 30, 195 (1983): `0.6313 + 0.267 K - 11.9 (K - 0.75)^8`, which falls too low in the darkest
//! months; there, where K is below 0.25, a floor of 0.65 holds (judgement: dark months have
//! clear days too). Valid for monthly means from
//! about 0.1 to 0.75. Trust: checked against published values.

/// The darkest day.
pub const LEAST: f64 = 0.05;
/// The clearest day of a month darker than [`DARK_MONTH`] is at least this clear.
pub const GREATEST_FLOOR: f64 = 0.65;
/// A month below this mean is dark.
pub const DARK_MONTH: f64 = 0.25;

/// Whether the clearest day of dark months has a floor.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Floor {
    /// What the program uses.
    #[default]
    On,
    /// The bare fit: for comparison with tables.
    Off,
}

/// Clearness of the clearest day of a month with a mean.
#[must_use]
pub fn greatest(mean: f64, floor: Floor) -> f64 {
    let off = mean - 0.75;
    let fourth = off * off * off * off;
    let fit = 0.6313 + 0.267 * mean - 11.9 * fourth * fourth;
    if floor == Floor::On && mean < DARK_MONTH { fit.max(GREATEST_FLOOR) } else { fit }
}

/// Daily clearness of one month.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearness {
    least: f64,
    greatest: f64,
    /// The exponent of the density; 0 is the even law.
    g: f64,
}

impl Clearness {
    /// The distribution with a monthly mean.
    ///
    /// A mean at or outside the ends has no such distribution: every day is then the mean.
    #[must_use]
    pub fn new(mean: f64, floor: Floor) -> Self {
        let greatest = greatest(mean, floor);
        if mean.is_nan() || mean <= LEAST || mean >= greatest {
            let mean = if mean.is_nan() { 0.0 } else { mean };
            return Self { least: mean, greatest: mean, g: 0.0 };
        }
        // Ends of +-2000 put the mean within 0.0005 of Kmin or Kmax.
        let (mut low, mut high) = (-2000.0, 2000.0);
        for _ in 0..200 {
            let middle = (low + high) / 2.0;
            if mean_of(middle, LEAST, greatest) < mean { low = middle } else { high = middle }
        }
        Self { least: LEAST, greatest, g: (low + high) / 2.0 }
    }

    /// Clearness of the darkest day.
    #[must_use]
    pub fn least(&self) -> f64 {
        self.least
    }

    /// Clearness of the clearest day.
    #[must_use]
    pub fn greatest(&self) -> f64 {
        self.greatest
    }

    /// The exponent g of the density.
    #[must_use]
    pub fn g(&self) -> f64 {
        self.g
    }

    /// Mean of the distribution.
    #[must_use]
    pub fn mean(&self) -> f64 {
        mean_of(self.g, self.least, self.greatest)
    }

    /// Chance that a day is no clearer than `clearness`, 0 to 1.
    #[must_use]
    pub fn cumulative(&self, clearness: f64) -> f64 {
        if clearness >= self.greatest {
            return 1.0;
        }
        if clearness <= self.least {
            return 0.0;
        }
        let (above, width) = (clearness - self.least, self.greatest - self.least);
        if is_even(self.g, width) {
            above / width
        } else if self.g > 0.0 {
            // Both brackets over e^(g Kmax), which may be out of range by itself.
            libm::exp(self.g * (above - width)) * libm::expm1(-self.g * above)
                / libm::expm1(-self.g * width)
        } else {
            libm::expm1(self.g * above) / libm::expm1(self.g * width)
        }
    }

    /// Clearness that a share of the days does not exceed; the inverse of
    /// [`Self::cumulative`]. `share` outside 0 to 1 counts as the nearer end.
    #[must_use]
    pub fn quantile(&self, share: f64) -> f64 {
        let share = share.clamp(0.0, 1.0);
        let width = self.greatest - self.least;
        let clearness = if is_even(self.g, width) {
            self.least + share * width
        } else if self.g > 0.0 {
            self.greatest + libm::log1p((1.0 - share) * libm::expm1(-self.g * width)) / self.g
        } else {
            self.least + libm::log1p(share * libm::expm1(self.g * width)) / self.g
        };
        clearness.clamp(self.least, self.greatest)
    }
}

fn is_even(g: f64, width: f64) -> bool {
    (g * width).abs() < 1e-9
}

/// The mean of the module head, written so that nothing overflows:
/// `Kmin + w / (1 - e^(-g w)) - 1 / g` with `w = Kmax - Kmin`.
fn mean_of(g: f64, least: f64, greatest: f64) -> f64 {
    let width = greatest - least;
    let steep = g * width;
    if steep.abs() < 1e-4 {
        // The series, for the difference of two large numbers is nothing.
        return least + width / 2.0 + g * width * width / 12.0;
    }
    least - width / libm::expm1(-steep) - 1.0 / g
}
