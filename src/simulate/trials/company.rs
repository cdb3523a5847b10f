//! Trials that are next to each other, a lane each.

use std::ops::Range;

use super::drawn::Drawn;
use super::skies::Skies;
use crate::simulate::states::MOST_LANES;

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
    /// Their skies, where those are not laid out in each.
    skies: Option<&'a Skies>,
}

impl<'a> Company<'a> {
    /// All that were drawn, in their order: [`MOST_LANES`] at most.
    pub(super) fn all(drawn: &'a [Drawn]) -> Self {
        Self { drawn, places: &IN_ORDER[..drawn.len()], skies: None }
    }

    /// Those in these places, with the skies of all.
    pub(super) fn some(drawn: &'a [Drawn], skies: &'a Skies, places: &'a [usize]) -> Self {
        Self { drawn, places, skies: Some(skies) }
    }

    /// Their skies, where those are not laid out in each.
    pub(super) fn skies(&self) -> Option<&'a Skies> {
        self.skies
    }

    /// Whether the trial in a lane may have something of its own in these slices, counted from its
    /// first.
    #[inline(always)]
    pub(super) fn is_busy(&self, lane: usize, slices: &Range<usize>) -> bool {
        self.skies.is_none_or(|skies| skies.is_busy(self.place(lane), slices))
    }

    /// Where the trial in a lane stands among all.
    #[inline(always)]
    pub(super) fn place(&self, lane: usize) -> usize {
        self.places[lane.min(self.places.len() - 1)]
    }

    /// How many.
    pub(super) fn len(&self) -> usize {
        self.places.len()
    }

    /// The trial in a lane; lanes left over repeat the last one.
    #[inline(always)]
    pub(super) fn of(&self, lane: usize) -> &'a Drawn {
        &self.drawn[self.place(lane)]
    }

    /// One after the other.
    pub(super) fn iter(self) -> impl Iterator<Item = &'a Drawn> {
        self.places.iter().map(move |place| &self.drawn[*place])
    }
}
