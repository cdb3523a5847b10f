//! From the best decisions to a card of few rows.
//!
//! A row holds for decisions of one kind (sunset, sunrise, ...) from one stage to another, and says
//! from which level on each action is taken, whatever the day before was like. Rows are fitted to
//! what a wrong action costs, weighted by how often the best rule comes there; neighbours of a kind
//! are put together where that costs least, until there are few enough and one more would cost
//! something. Then each threshold is moved up and down while the exact worth of the whole card gains.
//! Trust: the worth told is exact for the decisions given; that no better card of so few rows is
//! there is not claimed.

use super::sdp::{Decisions, Place, Sheet, Solution, mean_over, visits, worth_of};

/// A row more must be worth so large a share of the whole.
const ROW_IS_WORTH: f64 = 0.000_5;
/// So large a share of the weight is spread over all places: a row says something for each level.
const ANYWHERE: f64 = 0.02;
/// Steps by which thresholds are moved, either way.
const MOVES: usize = 2;
/// Rounds of moving all thresholds.
const ROUNDS: usize = 2;

/// What a card may be like.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Kind of the decision at each stage.
    pub kinds: Vec<usize>,
    /// Thresholds are multiples of so many levels.
    pub level_step: usize,
    /// Most rows.
    pub most_rows: usize,
    /// Whether one row may hold for every kind.
    pub one_row: bool,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The stages that it holds for, in order.
    pub stages: Vec<usize>,
    /// The level from which on action 1, 2, ... is taken, none falling; as many as there are levels
    /// for never.
    pub least_level: Vec<usize>,
}

/// A card.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// Its rows, by kind, then in time.
    pub rows: Vec<Row>,
    /// What it is worth at the starts.
    pub worth: f64,
    /// What the best decisions are worth there.
    pub best_worth: f64,
    row_of: Vec<usize>,
}

impl Row {
    /// The action at a level.
    #[must_use]
    pub fn action(&self, level: usize) -> usize {
        self.least_level.iter().filter(|least| level >= **least).count()
    }
}

impl Card {
    /// The action at a place.
    #[must_use]
    pub fn action(&self, at: Place) -> usize {
        self.rows[self.row_of[at.stage]].action(at.level)
    }
}

/// Reduces a solution to a card for starts (level, class, chance).
#[must_use]
pub fn reduce(
    of: &impl Decisions,
    solution: &Solution,
    shape: &Shape,
    starts: &[(f64, usize, f64)],
) -> Card {
    let costs = Costs::of(of, solution, starts, shape.level_step);
    let best_worth = solution.worth.first().map_or(0.0, |sheet| mean_over(sheet, starts));
    let mut groups = first_groups(shape, &costs);
    let dear = ROW_IS_WORTH * best_worth.abs().max(1e-9);
    while let Some((group, rise, merged)) = cheapest_merge(&groups, &costs) {
        if groups.len() <= shape.most_rows && rise > dear {
            break;
        }
        groups[group] = merged;
        groups.remove(group + 1);
    }
    let mut row_of = vec![0; of.stages()];
    for (row, group) in groups.iter().enumerate() {
        for stage in &group.row.stages {
            row_of[*stage] = row;
        }
    }
    let rows = groups.into_iter().map(|group| group.row).collect();
    let mut card = Card { rows, worth: 0.0, best_worth, row_of };
    card.worth = exact(of, &card, starts);
    polish(of, &mut card, shape.level_step, starts);
    card
}

fn exact(of: &impl Decisions, card: &Card, starts: &[(f64, usize, f64)]) -> f64 {
    mean_over(&worth_of(of, &|at| card.action(at)), starts)
}

/// Moves thresholds while that is worth something.
fn polish(of: &impl Decisions, card: &mut Card, step: usize, starts: &[(f64, usize, f64)]) {
    let levels = of.levels();
    for _ in 0..ROUNDS {
        let before = card.worth;
        for row in 0..card.rows.len() {
            for place in 0..card.rows[row].least_level.len() {
                let least = &card.rows[row].least_level;
                let now = least[place];
                let low = if place > 0 { least[place - 1] } else { 0 };
                let high = least.get(place + 1).copied().unwrap_or(levels);
                for level in around(now, step, levels) {
                    if level < low || level > high {
                        continue;
                    }
                    let kept = card.rows[row].least_level[place];
                    card.rows[row].least_level[place] = level;
                    let worth = exact(of, card, starts);
                    if worth > card.worth + 1e-9 * card.worth.abs().max(1.0) {
                        card.worth = worth;
                    } else {
                        card.rows[row].least_level[place] = kept;
                    }
                }
            }
        }
        if card.worth <= before {
            break;
        }
    }
}

/// Allowed thresholds near one, itself left out: multiples of the step, and never.
fn around(now: usize, step: usize, levels: usize) -> Vec<usize> {
    let allowed: Vec<usize> = (0..levels).step_by(step).chain([levels]).collect();
    let here = allowed.iter().position(|level| *level >= now).unwrap_or(0);
    (here.saturating_sub(MOVES)..=(here + MOVES).min(allowed.len() - 1))
        .map(|place| allowed[place])
        .filter(|level| *level != now)
        .collect()
}

/// A row with what it costs.
struct Group {
    kind: usize,
    row: Row,
    cost: f64,
}

/// A row for each stage, or one for all; those of a kind follow each other.
fn first_groups(shape: &Shape, costs: &Costs) -> Vec<Group> {
    if shape.one_row {
        return vec![costs.fitted(0, (0..shape.kinds.len()).collect())];
    }
    let mut stages: Vec<usize> = (0..shape.kinds.len()).collect();
    stages.sort_by_key(|stage| (shape.kinds[*stage], *stage));
    stages.into_iter().map(|stage| costs.fitted(shape.kinds[stage], vec![stage])).collect()
}

/// The two neighbours of a kind that are put together at least rise of cost.
fn cheapest_merge(groups: &[Group], costs: &Costs) -> Option<(usize, f64, Group)> {
    let mut best: Option<(usize, f64, Group)> = None;
    for (place, pair) in groups.windows(2).enumerate() {
        let [one, two] = pair else { continue };
        if one.kind != two.kind {
            continue;
        }
        let stages = one.row.stages.iter().chain(&two.row.stages).copied().collect();
        let merged = costs.fitted(one.kind, stages);
        let rise = merged.cost - one.cost - two.cost;
        if best.as_ref().is_none_or(|(_, least, _)| rise < *least) {
            best = Some((place, rise, merged));
        }
    }
    best
}

/// What each action costs at each level of each stage, over the best, weighted by visits.
struct Costs {
    /// By stage, level, action.
    of_action: Vec<Vec<Vec<f64>>>,
    levels: usize,
    actions: usize,
    level_step: usize,
}

impl Costs {
    #[allow(clippy::cast_precision_loss)]
    fn of(
        of: &impl Decisions,
        solution: &Solution,
        starts: &[(f64, usize, f64)],
        level_step: usize,
    ) -> Self {
        let seen: Vec<Sheet> = visits(of, &|at| solution.action(at), starts);
        let (levels, classes, actions) = (of.levels(), of.classes(), of.actions());
        let anywhere = ANYWHERE / (levels * classes) as f64;
        let mut of_action = vec![vec![vec![0.0; actions]; levels]; of.stages()];
        for (stage, by_level) in of_action.iter_mut().enumerate() {
            for (level, costs) in by_level.iter_mut().enumerate() {
                for class in 0..classes {
                    let at = Place { stage, level, class };
                    let weight = seen[stage].at(level, class) + anywhere;
                    let best = solution.worth[stage].at(level, class);
                    for (cost, worth) in costs.iter_mut().zip(solution.of_action(at)) {
                        *cost += weight * (best - worth);
                    }
                }
            }
        }
        Self { of_action, levels, actions, level_step }
    }

    /// The best row for some stages: actions never fall as the level rises.
    fn fitted(&self, kind: usize, stages: Vec<usize>) -> Group {
        let cost = |level: usize, action: usize| -> f64 {
            stages.iter().map(|stage| self.of_action[*stage][level][action]).sum()
        };
        // Least cost of all levels so far with each action at the last one, and where it began.
        let mut least: Vec<f64> = (0..self.actions).map(|action| cost(0, action)).collect();
        let mut came_from: Vec<Vec<usize>> = vec![(0..self.actions).collect()];
        for level in 1..self.levels {
            let may_change = level % self.level_step == 0;
            let mut next = Vec::with_capacity(self.actions);
            let mut from = Vec::with_capacity(self.actions);
            for action in 0..self.actions {
                let mut best = action;
                for lower in (0..action).filter(|_| may_change) {
                    if least[lower] < least[best] {
                        best = lower;
                    }
                }
                next.push(least[best] + cost(level, action));
                from.push(best);
            }
            least = next;
            came_from.push(from);
        }
        let mut action = 0;
        for other in 1..self.actions {
            if least[other] < least[action] {
                action = other;
            }
        }
        let total = least.get(action).copied().unwrap_or(0.0);
        let mut least_level = vec![self.levels; self.actions.saturating_sub(1)];
        for level in (0..self.levels).rev() {
            let before = came_from[level][action];
            let begins = if level == 0 { 0 } else { before };
            for least in least_level.iter_mut().take(action).skip(begins) {
                *least = level;
            }
            action = before;
        }
        Group { kind, row: Row { stages, least_level }, cost: total }
    }
}
