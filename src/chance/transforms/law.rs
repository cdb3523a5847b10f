//! Laws of durations and spreads: how long the mains stays, how long it is away.
//!
//! Each is drawn by its inverse, `value = F^-1(u)`, by libm: a few draws a trial, so that lanes
//! would gain nothing. Beside the value each law knows its survival `S(x) = P(X > x)`, its mean and
//! its mean excess `E[max(X - x, 0)]`, the integral of S from x on; the last gives the share of
//! time beyond a battery's hours and the law of what is left when one looks at a random moment:
//! `P(left > x) = E[max(X - x, 0)] / E[X]` (D. R. Cox, "Renewal Theory", 1962). Closed forms:
//! N. L. Johnson, S. Kotz and N. Balakrishnan, "Continuous Univariate Distributions" 1 (1994).
//! Trust: checked against published values.

use super::super::problem::ChanceProblem;
use super::super::special::crossing::crossing;
use super::super::special::gamma::upper_gamma_share;
use super::normal::{normal_cumulative, normal_deviate};
use super::quantiles::Quantiles;

/// A law of a positive quantity (hours, days, shares) that cannot hold a wrong parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Law(Kind);

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    Exponential { mean: f64 },
    Weibull { shape: f64, scale: f64 },
    Lognormal { log_mean: f64, log_sd: f64 },
    Geometric { chance: f64 },
    Uniform { low: f64, high: f64 },
    Fixed { value: f64 },
    Stated(Quantiles),
}

/// Neither so small nor so large that a mean or a square leaves the range of numbers.
fn sized(what: &'static str, value: f64) -> Result<f64, ChanceProblem> {
    let good = (1e-9..=1e9).contains(&value);
    ChanceProblem::unless(good, what, value, "1e-9 to 1e9")
}

impl Law {
    /// No memory: what is left has the same law at any time.
    ///
    /// # Errors
    /// If the mean is not within 1e-9 to 1e9.
    pub fn exponential(mean: f64) -> Result<Self, ChanceProblem> {
        Ok(Self(Kind::Exponential { mean: sized("the mean of an exponential law", mean)? }))
    }

    /// `S(x) = exp(-(x/scale)^shape)`; a shape below 1 has many short and some very long ones.
    ///
    /// # Errors
    /// If the shape is not within 0.1 to 100 or the scale not within 1e-9 to 1e9.
    pub fn weibull(shape: f64, scale: f64) -> Result<Self, ChanceProblem> {
        let good = (0.1..=100.0).contains(&shape);
        let shape = ChanceProblem::unless(good, "the shape of a Weibull law", shape, "0.1 to 100")?;
        Ok(Self(Kind::Weibull { shape, scale: sized("the scale of a Weibull law", scale)? }))
    }

    /// The Weibull law with a mean: `scale = mean / Gamma(1 + 1/shape)`.
    ///
    /// # Errors
    /// As [`Law::weibull`].
    pub fn weibull_with_mean(shape: f64, mean: f64) -> Result<Self, ChanceProblem> {
        Self::weibull(shape, mean / libm::tgamma(1.0 + 1.0 / shape))
    }

    /// The natural logarithm is normal, with this mean and standard deviation; the median is
    /// `exp(log_mean)`.
    ///
    /// # Errors
    /// If the mean is not within -20 to 20 or the standard deviation not within 1e-6 to 5.
    pub fn lognormal(log_mean: f64, log_sd: f64) -> Result<Self, ChanceProblem> {
        let middle = (-20.0..=20.0).contains(&log_mean);
        ChanceProblem::unless(middle, "the mean logarithm", log_mean, "-20 to 20")?;
        let good = (1e-6..=5.0).contains(&log_sd);
        ChanceProblem::unless(good, "the spread of the logarithm", log_sd, "1e-6 to 5")?;
        Ok(Self(Kind::Lognormal { log_mean, log_sd }))
    }

    /// Whole numbers from 1 on: the first success when each hour succeeds with this chance.
    ///
    /// # Errors
    /// If the chance is not within 1e-9 to 1.
    pub fn geometric(chance: f64) -> Result<Self, ChanceProblem> {
        let good = (1e-9..=1.0).contains(&chance);
        ChanceProblem::unless(good, "the chance of a geometric law", chance, "1e-9 to 1")?;
        Ok(Self(Kind::Geometric { chance }))
    }

    /// Anything from `low` to `high`, all alike.
    ///
    /// # Errors
    /// If they are not in order, if `low` is negative, or if `high` is above 1e9.
    pub fn uniform(low: f64, high: f64) -> Result<Self, ChanceProblem> {
        ChanceProblem::unless(low >= 0.0, "the low end of a uniform law", low, "0 or more")?;
        let good = low < high && high <= 1e9;
        ChanceProblem::unless(good, "the high end of a uniform law", high, "above low, to 1e9")?;
        Ok(Self(Kind::Uniform { low, high }))
    }

    /// Always the same.
    ///
    /// # Errors
    /// If it is not within 1e-9 to 1e9.
    pub fn fixed(value: f64) -> Result<Self, ChanceProblem> {
        Ok(Self(Kind::Fixed { value: sized("a fixed value", value)? }))
    }

    /// A law by its quantiles.
    ///
    /// # Errors
    /// If a value is negative or above 1e9, or if the mean is below 1e-9.
    pub fn stated(quantiles: Quantiles) -> Result<Self, ChanceProblem> {
        let (low, high) = quantiles.ends();
        ChanceProblem::unless(low >= 0.0, "the lowest quantile", low, "0 or more")?;
        ChanceProblem::unless(high <= 1e9, "the highest quantile", high, "at most 1e9")?;
        sized("the mean of the quantiles", quantiles.mean())?;
        Ok(Self(Kind::Stated(quantiles)))
    }

    /// The value below which this chance lies, for a chance in (0, 1). It never falls as the
    /// chance rises.
    #[must_use]
    pub fn value(&self, chance: f64) -> f64 {
        match &self.0 {
            Kind::Exponential { mean } => -mean * libm::log1p(-chance),
            Kind::Weibull { shape, scale } => scale * libm::pow(-libm::log1p(-chance), 1.0 / shape),
            Kind::Lognormal { log_mean, log_sd } => {
                libm::exp(log_mean + log_sd * normal_deviate(chance))
            }
            Kind::Geometric { chance: each } => {
                (libm::log1p(-chance) / libm::log1p(-each)).ceil().max(1.0)
            }
            Kind::Uniform { low, high } => low + (high - low) * chance,
            Kind::Fixed { value } => *value,
            Kind::Stated(quantiles) => quantiles.value(chance),
        }
    }

    /// Chance of a value above `x`, for x >= 0.
    #[must_use]
    pub fn survival(&self, x: f64) -> f64 {
        match &self.0 {
            Kind::Exponential { mean } => libm::exp(-x / mean),
            Kind::Weibull { shape, scale } => libm::exp(-libm::pow(x / scale, *shape)),
            Kind::Lognormal { log_mean, log_sd } => {
                normal_cumulative((log_mean - libm::log(x)) / log_sd)
            }
            Kind::Geometric { chance } => libm::exp(x.floor() * libm::log1p(-chance)),
            Kind::Uniform { low, high } => ((high - x) / (high - low)).clamp(0.0, 1.0),
            Kind::Fixed { value } => f64::from(u8::from(x < *value)),
            Kind::Stated(quantiles) => quantiles.survival(x),
        }
    }

    /// Mean.
    #[must_use]
    pub fn mean(&self) -> f64 {
        match &self.0 {
            Kind::Exponential { mean } => *mean,
            Kind::Weibull { shape, scale } => scale * libm::tgamma(1.0 + 1.0 / shape),
            Kind::Lognormal { log_mean, log_sd } => libm::exp(log_mean + log_sd * log_sd / 2.0),
            Kind::Geometric { chance } => 1.0 / chance,
            Kind::Uniform { low, high } => (low + high) / 2.0,
            Kind::Fixed { value } => *value,
            Kind::Stated(quantiles) => quantiles.mean(),
        }
    }

    /// Mean of what lies beyond `x`, nothing where the value is below, for x >= 0.
    #[must_use]
    pub fn mean_excess(&self, x: f64) -> f64 {
        if x <= 0.0 {
            return self.mean() - x;
        }
        match &self.0 {
            Kind::Exponential { .. } => self.mean() * self.survival(x),
            Kind::Weibull { shape, scale } => {
                self.mean() * upper_gamma_share(1.0 / shape, libm::pow(x / scale, *shape))
            }
            Kind::Lognormal { log_mean, log_sd } => {
                let longer = normal_cumulative((log_mean - libm::log(x)) / log_sd + log_sd);
                self.mean() * longer - x * self.survival(x)
            }
            Kind::Geometric { .. } => {
                let started = x.floor() + 1.0;
                self.survival(x) * (started - x) + self.survival(started) * self.mean()
            }
            Kind::Uniform { low, high } if x > *low => {
                let left = (high - x).max(0.0);
                left * left / (2.0 * (high - low))
            }
            Kind::Uniform { .. } => self.mean() - x,
            Kind::Fixed { value } => (value - x).max(0.0),
            Kind::Stated(quantiles) => quantiles.mean_excess(x),
        }
    }

    /// What is left of a duration that is under way at a random moment, for a chance in (0, 1).
    ///
    /// Cox 1962: `P(left > x) = E[max(X - x, 0)] / E[X]`, solved for x. The geometric law is looked
    /// at on the hour, where it has no memory.
    #[must_use]
    pub fn value_left(&self, chance: f64) -> f64 {
        if let Kind::Exponential { .. } | Kind::Geometric { .. } = self.0 {
            return self.value(chance);
        }
        let still = self.mean() * (1.0 - chance);
        let mut high = self.mean();
        while self.mean_excess(high) > still && high < 1e300 {
            high *= 2.0;
        }
        crossing(|x| still - self.mean_excess(x), 0.0, high)
    }
}
