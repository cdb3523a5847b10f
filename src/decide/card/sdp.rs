//! Decisions one after the other, solved backwards.
//!
//! At each of some stages there is a level (of charge) and a class (of the day before), and one of
//! some actions is taken. Each way that it may go has a chance, brings a worth, and leads to a level
//! and a class of the next stage; after the last stage a level and a class have an end worth.
//! Backward induction (R. Bellman, "Dynamic Programming", Princeton, 1957):
//!
//! `V_t(s, c) = max_a sum_w p_w (worth_w + V_(t+1)(s_w, c_w))`
//!
//! Between levels V is read by straight lines. Of actions of the same worth the first is taken, which
//! is the most sparing one where actions stand in that order. Trust: exact for levels that are met
//! exactly.

/// One way that a stage may go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Way {
    /// Its chance; those of all ways of an action are 1 together.
    pub chance: f64,
    /// What it brings.
    pub worth: f64,
    /// The level that it leads to, which may lie between two.
    pub to_level: f64,
    /// The class that it leads to.
    pub to_class: usize,
}

/// What there is to decide.
pub trait Decisions {
    /// How many stages, the first one first.
    fn stages(&self) -> usize;
    /// How many levels.
    fn levels(&self) -> usize;
    /// How many classes.
    fn classes(&self) -> usize;
    /// How many actions, the most sparing one first.
    fn actions(&self) -> usize;
    /// Every way that an action may go.
    fn ways(&self, at: Place, action: usize, each: &mut dyn FnMut(Way));
    /// What a level and a class are worth after the last stage.
    fn end_worth(&self, level: usize, class: usize) -> f64;
}

/// Where a decision is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// The stage.
    pub stage: usize,
    /// The level.
    pub level: usize,
    /// The class.
    pub class: usize,
}

/// A value for each level and class of one stage.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    levels: usize,
    values: Vec<f64>,
}

impl Sheet {
    /// Nothing anywhere.
    #[must_use]
    pub fn empty(of: &impl Decisions) -> Self {
        Self { levels: of.levels(), values: vec![0.0; of.levels() * of.classes()] }
    }

    /// What stands after the last stage.
    #[must_use]
    pub fn end(of: &impl Decisions) -> Self {
        let mut sheet = Self::empty(of);
        for class in 0..of.classes() {
            for level in 0..of.levels() {
                *sheet.at_mut(level, class) = of.end_worth(level, class);
            }
        }
        sheet
    }

    /// The value of a level and a class.
    #[must_use]
    pub fn at(&self, level: usize, class: usize) -> f64 {
        self.values[class * self.levels + level]
    }

    fn at_mut(&mut self, level: usize, class: usize) -> &mut f64 {
        &mut self.values[class * self.levels + level]
    }

    /// The value at a level that may lie between two.
    #[must_use]
    pub fn between(&self, level: f64, class: usize) -> f64 {
        let (low, share) = split(level, self.levels);
        let (from, to) = (self.at(low, class), self.at((low + 1).min(self.levels - 1), class));
        from + (to - from) * share
    }

    /// Adds at a level that may lie between two, to both their parts.
    fn add_between(&mut self, level: f64, class: usize, amount: f64) {
        let (low, share) = split(level, self.levels);
        let high = (low + 1).min(self.levels - 1);
        *self.at_mut(low, class) += amount * (1.0 - share);
        *self.at_mut(high, class) += amount * share;
    }
}

/// The level below, and how far towards the next.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn split(level: f64, levels: usize) -> (usize, f64) {
    let held = level.clamp(0.0, (levels - 1) as f64);
    let low = held.floor();
    (low as usize, held - low)
}

/// The best that can be done.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Worth by stage.
    pub worth: Vec<Sheet>,
    /// Best action by stage, class, level.
    action: Vec<Vec<usize>>,
    /// Worth of each action by stage, class, level.
    of_action: Vec<Vec<Vec<f64>>>,
    levels: usize,
}

impl Solution {
    /// The best action at a place.
    #[must_use]
    pub fn action(&self, at: Place) -> usize {
        self.action[at.stage][at.class * self.levels + at.level]
    }

    /// What each action is worth at a place, when all that follow are the best.
    #[must_use]
    pub fn of_action(&self, at: Place) -> &[f64] {
        &self.of_action[at.stage][at.class * self.levels + at.level]
    }
}

/// Solves the decisions.
#[must_use]
pub fn solve(of: &impl Decisions) -> Solution {
    let (stages, cells) = (of.stages(), of.levels() * of.classes());
    let mut solution = Solution {
        worth: vec![Sheet::empty(of); stages],
        action: vec![vec![0; cells]; stages],
        of_action: vec![vec![Vec::new(); cells]; stages],
        levels: of.levels(),
    };
    let mut next = Sheet::end(of);
    for stage in (0..stages).rev() {
        let mut here = Sheet::empty(of);
        for class in 0..of.classes() {
            for level in 0..of.levels() {
                let at = Place { stage, level, class };
                let worths: Vec<f64> =
                    (0..of.actions()).map(|action| worth_then(of, at, action, &next)).collect();
                let mut best = 0;
                for (action, worth) in worths.iter().enumerate() {
                    if *worth > worths[best] + tie(worths[best]) {
                        best = action;
                    }
                }
                let cell = class * of.levels() + level;
                *here.at_mut(level, class) = worths.get(best).copied().unwrap_or(0.0);
                solution.action[stage][cell] = best;
                solution.of_action[stage][cell] = worths;
            }
        }
        solution.worth[stage] = here.clone();
        next = here;
    }
    solution
}

/// Worths that differ by less are the same but for rounding.
fn tie(worth: f64) -> f64 {
    1e-12 * worth.abs().max(1.0)
}

fn worth_then(of: &impl Decisions, at: Place, action: usize, next: &Sheet) -> f64 {
    let mut sum = 0.0;
    of.ways(at, action, &mut |way| {
        sum += way.chance * (way.worth + next.between(way.to_level, way.to_class));
    });
    sum
}

/// What a rule is worth at the first stage.
#[must_use]
pub fn worth_of(of: &impl Decisions, rule: &dyn Fn(Place) -> usize) -> Sheet {
    let mut next = Sheet::end(of);
    for stage in (0..of.stages()).rev() {
        let mut here = Sheet::empty(of);
        for class in 0..of.classes() {
            for level in 0..of.levels() {
                let at = Place { stage, level, class };
                *here.at_mut(level, class) = worth_then(of, at, rule(at), &next);
            }
        }
        next = here;
    }
    next
}

/// How often a rule comes to each place, from places of the first stage with their chances.
#[must_use]
pub fn visits(
    of: &impl Decisions,
    rule: &dyn Fn(Place) -> usize,
    starts: &[(f64, usize, f64)],
) -> Vec<Sheet> {
    let mut sheets = vec![Sheet::empty(of); of.stages()];
    for (level, class, chance) in starts {
        if let Some(first) = sheets.first_mut() {
            first.add_between(*level, *class, *chance);
        }
    }
    for stage in 0..of.stages().saturating_sub(1) {
        let mut next = Sheet::empty(of);
        for class in 0..of.classes() {
            for level in 0..of.levels() {
                let here = sheets[stage].at(level, class);
                if here > 0.0 {
                    let at = Place { stage, level, class };
                    of.ways(at, rule(at), &mut |way| {
                        next.add_between(way.to_level, way.to_class, here * way.chance);
                    });
                }
            }
        }
        sheets[stage + 1] = next;
    }
    sheets
}

/// The mean of a sheet over starts with their chances.
#[must_use]
pub fn mean_over(sheet: &Sheet, starts: &[(f64, usize, f64)]) -> f64 {
    starts.iter().map(|(level, class, chance)| chance * sheet.between(*level, *class)).sum()
}
