//! Trials that stand side by side, a lane each.

use super::drawn::Drawn;

/// More lanes there are nowhere.
pub(super) const MOST_LANES: usize = 32;

/// The first places of a list.
const IN_ORDER: [usize; MOST_LANES] = {
    let mut places = [0; MOST_LANES];
    let mut at = 0;
    while at < MOST_LANES {
        places[at] = at;
        at += 1;
    }
    places
};

/// Trials side by side: some of those that were drawn, in some order.
#[derive(Debug, Clone, Copy)]
pub(super) struct Company<'a> {
    drawn: &'a [Drawn],
    places: &'a [usize],
}

impl<'a> Company<'a> {
    /// All that were drawn, in their order: [`MOST_LANES`] at the most.
    pub(super) fn all(drawn: &'a [Drawn]) -> Self {
        Self { drawn, places: &IN_ORDER[..drawn.len()] }
    }

    /// Those in these places.
    pub(super) fn some(drawn: &'a [Drawn], places: &'a [usize]) -> Self {
        Self { drawn, places }
    }

    /// How many.
    pub(super) fn len(&self) -> usize {
        self.places.len()
    }

    /// The trial in a lane; lanes left over repeat the last one.
    #[inline(always)]
    pub(super) fn of(&self, lane: usize) -> &'a Drawn {
        &self.drawn[self.places[lane.min(self.places.len() - 1)]]
    }

    /// One after the other.
    pub(super) fn iter(self) -> impl Iterator<Item = &'a Drawn> {
        self.places.iter().map(move |place| &self.drawn[*place])
    }
}
