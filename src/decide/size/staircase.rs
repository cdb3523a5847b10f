//! The smallest stations that reach a target, found by walking along their edge.
//!
//! More panels and more battery are taken to reach no less. Then, from battery to battery, the least
//! count of panels that reaches the target only falls, and a walk that takes a panel away whenever the
//! target is reached, and goes on to the next battery whenever it is not, reaches every corner of that
//! staircase. Each station asked about takes away a panel or adds a battery step: there are at most as
//! many as both option lists have steps together. Trust: exact where more never reaches less; whether that
//! holds is looked at afterwards ([`super::breaks`]).

/// By step of the battery: the least step of the panels that reaches the target; `None` where none
/// does.
pub type Staircase = Vec<Option<usize>>;

/// Walks along the edge. `reaches` answers for a step of the panels and one of the battery.
///
/// # Errors
/// The first that `reaches` meets.
pub fn walk<E>(
    panels: usize,
    batteries: usize,
    mut reaches: impl FnMut(usize, usize) -> Result<bool, E>,
) -> Result<Staircase, E> {
    let mut least = panels;
    let mut stairs = Vec::with_capacity(batteries);
    for battery in 0..batteries {
        while least > 0 && reaches(least - 1, battery)? {
            least -= 1;
        }
        stairs.push((least < panels).then_some(least));
    }
    Ok(stairs)
}

/// Steps of the battery at which fewer panels begin to be enough: the corners of the staircase, as
/// steps of panels and battery.
#[must_use]
pub fn corners(stairs: &[Option<usize>]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (battery, panels) in stairs.iter().enumerate() {
        if let Some(panels) = panels
            && found.last().is_none_or(|(least, _)| panels < least)
        {
            found.push((*panels, battery));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Whatever rising chances there are: the walk finds what asking everywhere finds, and asks
        /// about no more stations than both option lists have steps.
        #[test]
        fn the_walk_finds_what_asking_everywhere_finds(
            panels in 1_usize..9,
            batteries in 1_usize..9,
            rises in proptest::collection::vec(0.0_f64..1.0, 81),
            target in 0.0_f64..9.0,
        ) {
            // A sum over all smaller places rises both ways.
            let chance = |p: usize, b: usize| -> f64 {
                (0..=p).flat_map(|i| (0..=b).map(move |j| (i, j))).map(|(i, j)| rises[i * 9 + j]).sum()
            };
            let mut asked = 0;
            let stairs = walk(panels, batteries, |p, b| {
                asked += 1;
                Ok::<_, ()>(chance(p, b) >= target)
            }).unwrap();
            prop_assert!(asked <= panels + batteries);
            for (battery, least) in stairs.iter().enumerate() {
                prop_assert_eq!(*least, (0..panels).find(|p| chance(*p, battery) >= target));
            }
            for pair in stairs.windows(2) {
                prop_assert!(pair[1].unwrap_or(panels) <= pair[0].unwrap_or(panels));
            }
            let corners = corners(&stairs);
            for pair in corners.windows(2) {
                prop_assert!(pair[1].0 < pair[0].0 && pair[1].1 > pair[0].1);
            }
        }
    }
}
