//! A function held on an even grid, read between its nodes by straight lines.
//!
//! For laws whose inverse is dear and asked for every day of every trial: tabulate the value over
//! the normal deviate (or any other argument), then one look-up a lane. The error is that of the
//! straight line, at most `h^2/8` times the largest second derivative, h being the spacing; the
//! caller chooses the spacing and can ask for the error seen ([`Grid::worst_difference`]). Trust:
//! plausible (as good as the spacing).

use super::super::problem::ChanceProblem;
use crate::numbers::lane::Lane;

/// A tabulated function. Below and above its ends it keeps the end values.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    low: f64,
    high: f64,
    cells_per_unit: f64,
    /// Value at the node and rise to the next.
    nodes: Vec<[f64; 2]>,
}

impl Grid {
    /// Tabulates `function` from `low` to `high` in `cells` even steps.
    ///
    /// # Errors
    /// If the ends are not finite or not in order, if there is no cell or more than 2^24, or if
    /// the function has a value that is not finite.
    pub fn new(
        low: f64,
        high: f64,
        cells: usize,
        function: impl Fn(f64) -> f64,
    ) -> Result<Self, ChanceProblem> {
        let finite = low.is_finite() && (high - low).is_finite();
        ChanceProblem::unless(finite, "the lower end of a grid", low, "a finite number")?;
        ChanceProblem::unless(low < high, "the upper end of a grid", high, "above the lower end")?;
        #[allow(clippy::cast_precision_loss)]
        let steps = cells as f64;
        let some = (1..=1 << 24).contains(&cells);
        ChanceProblem::unless(some, "the number of cells of a grid", steps, "1 to 16,777,216")?;
        let mut values = Vec::with_capacity(cells + 1);
        for node in 0..=cells {
            #[allow(clippy::cast_precision_loss)]
            let share = node as f64 / steps;
            let value = function(low + (high - low) * share);
            ChanceProblem::unless(value.is_finite(), "a value on a grid", value, "finite")?;
            values.push(value);
        }
        let last = [values[cells], 0.0];
        let nodes = values.windows(2).map(|two| [two[0], two[1] - two[0]]).chain([last]).collect();
        Ok(Self { low, high, cells_per_unit: steps / (high - low), nodes })
    }

    /// The value at `x`. Not a number counts as the lower end.
    #[must_use]
    #[inline(always)]
    pub fn value<L: Lane>(&self, x: L) -> L {
        let held = x.held_between(x.like(self.low), x.like(self.high));
        let place = (held - x.like(self.low)) * x.like(self.cells_per_unit);
        let last = self.nodes.len() - 1;
        let node = place.map(whole_part);
        let start = node.look_up(|index| self.nodes[index.min(last)][0]);
        let rise = node.look_up(|index| self.nodes[index.min(last)][1]);
        start + rise * (place - node)
    }

    /// The largest difference from `function` at `points` places within every cell.
    #[must_use]
    pub fn worst_difference(&self, points: u32, function: impl Fn(f64) -> f64) -> f64 {
        let mut worst = 0.0_f64;
        for node in 0..self.nodes.len() - 1 {
            for point in 1..=points {
                let within = f64::from(point) / f64::from(points + 1);
                #[allow(clippy::cast_precision_loss)]
                let x = self.low + (node as f64 + within) / self.cells_per_unit;
                worst = worst.max((self.value(x) - function(x)).abs());
            }
        }
        worst
    }
}

/// The whole part of a number in 0 to 2^31, without a library call.
#[inline(always)]
#[allow(clippy::cast_possible_truncation)]
fn whole_part(value: f64) -> f64 {
    f64::from(value as i32)
}
