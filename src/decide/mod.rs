//! What outcomes say together, for people who decide.
//!
//! Lives here: the counts over many trials and what they come to, the station from now on, the
//! operating card. Does not live here: running trials (simulate), words and pictures (show).

pub mod card;
pub mod now;
pub mod odds;
