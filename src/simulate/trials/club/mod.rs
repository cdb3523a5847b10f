//! Trials of a club: its stations in step under one weather, packs carried between them.
//!
//! Lives here: what the trials of a club share ([`plan`]), where each pack is ([`packs`]), one trial
//! ([`trial`]), many of them ([`run`]), and a trial again with full books ([`replay`]). Every station
//! goes through the walk of `engine`, the same as in trials of one station, so a club of one station
//! that swaps nothing comes to the same bits. Does not live here: what many outcomes say together.

pub mod packs;
pub mod plan;
pub mod replay;
pub mod run;
pub mod trial;

pub use packs::{BatteryState, Place};
pub use plan::{ClubPart, ClubPlan, PackPlan, PointPlan, SwapPlan, prepare_club};
pub use replay::{ReplayedStation, replay_club};
pub use run::run_club;
pub use trial::{ClubOutcome, Record, StepRecord, SwapDone, club_outcome};
