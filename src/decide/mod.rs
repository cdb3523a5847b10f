//! What outcomes say together, for people who decide.
//!
//! Lives here: how likely a station stays on the air and how bad the bad cases are ([`odds`]), in
//! which month and at which hour an outage is worst ([`calendar`]), several stations in the same
//! trials ([`contest`]), which way to run or build it ([`compare`]), which sizes it needs ([`size`]) and
//! what the worksheet of the trade would have given ([`hand_method`]), what its parts are worth and
//! what to measure first ([`without`]), the station from now on ([`now`]), the operating card
//! ([`card`]), a club of stations ([`exercise`]), which cautions belong to it ([`cautions`]), what
//! speaks for its doing without the mains ([`independence`]), and whether wires, fuses and parts bear what is asked of them ([`preflight`]). Does not live here: the
//! trials themselves, which belong to simulate, and the words and pictures.

pub mod calendar;
pub mod card;
pub mod cautions;
pub mod compare;
pub mod contest;
pub mod exercise;
pub mod hand_method;
pub mod independence;
pub mod now;
pub mod odds;
pub mod preflight;
pub mod size;
pub mod without;
