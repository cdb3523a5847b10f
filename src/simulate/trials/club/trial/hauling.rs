//! What happens to packs between two steps: they arrive, are charged, taken, swapped and sent.

use super::super::packs::{Pack, Place};
use super::{Exercise, SwapDone};
use crate::scenario::club::Queue;

impl Exercise<'_, '_> {
    /// Packs that were carried arrive.
    pub(super) fn arrive(&mut self, over: usize, handovers: &mut [Option<f64>]) {
        for pack in 0..self.packs.len() {
            let Place::Carried { to, arrives } = self.packs[pack].place else { continue };
            if arrives > over {
                continue;
            }
            match to {
                Some(station) => self.swap(station, pack, over, handovers),
                None => self.packs[pack].place = Place::Store { since: over },
            }
        }
    }

    /// The charging point lets a charged pack go and takes the next.
    pub(super) fn tend_point(&mut self, over: usize) {
        let Some((point, walk)) = &mut self.point else { return };
        if let Some(pack) = self.on_point
            && walk.state.charge >= point.done_above_share
        {
            self.packs[pack].leave(walk);
            self.packs[pack].place = Place::Store { since: over };
            self.on_point = None;
        }
        if self.on_point.is_some() {
            return;
        }
        let mut next: Option<(usize, usize, f64)> = None;
        for (at, pack) in self.packs.iter().enumerate() {
            let Place::Store { since } = pack.place else { continue };
            let charge = pack.battery.charge;
            if charge >= point.done_above_share {
                continue;
            }
            let sooner = next.is_none_or(|(_, best_since, best_charge)| match point.queue {
                Queue::FirstCome => since < best_since,
                Queue::LowestFirst => charge < best_charge,
                Queue::FullestFirst => charge > best_charge,
            });
            if sooner {
                next = Some((at, since, charge));
            }
        }
        if let Some((pack, ..)) = next {
            self.packs[pack].enter(walk, 0.0);
            self.packs[pack].place = Place::Point;
            self.on_point = Some(pack);
            if let Some(record) = &mut self.record {
                record.put_on.push((self.stations.len(), over, self.packs[pack].battery, 0.0));
            }
        } else {
            // Nobody lets it run for nothing.
            walk.state.engine = false;
            walk.state.refilling = false;
        }
    }

    /// Somebody looks at the charge of every station and sends for a spare where it is low.
    pub(super) fn send(&mut self, number: usize, over: usize, handovers: &mut [Option<f64>]) {
        let mut low: Vec<(f64, usize)> = Vec::new();
        for (at, (part, walk)) in self.club.stations.iter().zip(&self.stations).enumerate() {
            let (Some(swap), Some(walk)) = (part.swap, walk) else { continue };
            let slice = &walk.plan().slices[part.part.prepared.slice_at(number)];
            let comes =
                |pack: &Pack| matches!(pack.place, Place::Carried { to: Some(it), .. } if it == at);
            if slice.looks
                && slice.attended
                && walk.state.charge < swap.below_share
                && !self.packs.iter().any(comes)
            {
                low.push((walk.state.charge, at));
            }
        }
        low.sort_by(|one, other| one.0.total_cmp(&other.0));
        for (_, at) in low {
            let Some(swap) = self.club.stations[at].swap else { continue };
            let Some(pack) = self.spare(swap.spare_above_share, over) else {
                self.outcome.waits += 1;
                continue;
            };
            if swap.carry_steps == 0 {
                self.swap(at, pack, over, handovers);
            } else {
                let arrives = over + swap.carry_steps;
                self.packs[pack].place = Place::Carried { to: Some(at), arrives };
            }
        }
    }

    /// The fullest spare of at least some charge, from the store, or from the charging point if that
    /// one is fuller.
    fn spare(&mut self, least_share: f64, over: usize) -> Option<usize> {
        let stored = fullest(&self.packs, least_share);
        if let (Some(pack), Some((_, walk))) = (self.on_point, &mut self.point) {
            let charge = walk.state.charge;
            let fuller = stored.is_none_or(|it| charge > self.packs[it].battery.charge);
            if charge >= least_share && fuller {
                self.packs[pack].leave(walk);
                self.packs[pack].place = Place::Store { since: over };
                self.on_point = None;
                self.tend_without(pack, over);
                return Some(pack);
            }
        }
        stored
    }

    /// The charging point takes the next pack, but not the one that is about to be carried away.
    fn tend_without(&mut self, pack: usize, over: usize) {
        let place = std::mem::replace(&mut self.packs[pack].place, Place::Absent);
        self.tend_point(over);
        self.packs[pack].place = place;
    }

    fn swap(&mut self, station: usize, pack: usize, over: usize, handovers: &mut [Option<f64>]) {
        let (Some(walk), Some(swap)) =
            (&mut self.stations[station], self.club.stations[station].swap)
        else {
            self.packs[pack].place = Place::Store { since: over };
            return;
        };
        let old = self.packs.iter().position(|it| it.place == Place::Station(station));
        let Some(old) = old else { return };
        self.packs[old].leave(walk);
        self.packs[pack].enter(walk, swap.handover_h);
        self.packs[pack].place = Place::Station(station);
        self.packs[old].place = if swap.carry_steps == 0 {
            Place::Store { since: over }
        } else {
            Place::Carried { to: None, arrives: over + swap.carry_steps }
        };
        if swap.handover_h > 0.0 && !swap.counts_as_off_air {
            handovers[station] = Some(swap.handover_h);
        }
        self.outcome.swaps.push(SwapDone {
            step: over,
            station,
            off: (old, self.packs[old].battery.charge),
            on: (pack, self.packs[pack].battery.charge),
        });
        if let Some(record) = &mut self.record {
            record.put_on.push((station, over, self.packs[pack].battery, swap.handover_h));
        }
    }
}

/// The fullest pack in the store of at least some charge; of equals the first.
pub(super) fn fullest(packs: &[Pack], least_share: f64) -> Option<usize> {
    let mut best: Option<usize> = None;
    for (at, pack) in packs.iter().enumerate() {
        let may = matches!(pack.place, Place::Store { .. }) && pack.battery.charge >= least_share;
        let fuller = best.is_none_or(|best| pack.battery.charge > packs[best].battery.charge);
        if may && fuller {
            best = Some(at);
        }
    }
    best
}
