//! From now on: how long a tier lasts, how much keying, when to shed.

use crate::support;

use crate::support::shipped;

mod by_hand;
mod cards;
mod lines;
mod programs;
mod sdp;
mod skies;
