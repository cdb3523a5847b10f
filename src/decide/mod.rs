//! What many trials say to those who decide.
//!
//! Lives here: how likely a station stays on the air and how bad the bad cases are ([`odds`]), which
//! sizes it needs ([`size`]) and what the worksheet of the trade would have given ([`hand_method`]).
//! Does not live here: the trials themselves, which belong to simulate, and the words and pictures.

pub mod hand_method;
pub mod odds;
pub mod size;
