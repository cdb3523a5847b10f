//! Plans the power of a radio station that must stay on the air when the mains is down: a battery
//! charged in parallel by panels and by a mains supply, and loads that people depend on.
//!
//! # The way the data goes
//! The text of a scenario becomes a [`scenario::Scenario`], as its author typed it, with the place
//! in the text of every value ([`scenario::spans`]). [`plan::check`] collects everything that is
//! wrong with it, [`plan::compile`] turns it into a [`plan::Plan`]: dense tables over slices of
//! time in which nothing that the clock governs changes. [`sky`] gives each hour its sun and air,
//! [`station`] the physics of the parts. [`simulate`] walks a plan through time with one step
//! function, whether for one trial or for many side by side ([`numbers::lane`]), and keeps the
//! books: a [`simulate::ledger::Ledger`], one row a step, and a [`simulate::summary::Summary`].
//! [`show`] turns these into a sentence, tables, files and pictures; [`commands`] and [`cli`] are
//! the program around it.
//!
//! What a user needs to know is in the pages of `src/guide/`; `longwatch guide` prints them.
//!
//! # Signs and units
//! - Every number carries its unit in its name, spelled the same in JSON, structs, column heads and
//!   axes: `capacity_ah`, `tilt_deg`, `ghi_w_m2`. `_share` is 0 to 1; percent are for people only.
//!   `DEVELOPERS.md` holds the one table of them.
//! - One unit a dimension inside: W, Wh, A, V, Ah, h, deg C. Angles are degrees at borders and
//!   radians (`_rad`) inside trigonometry.
//! - A flow that can go both ways has two names (`charged_ah`, `discharged_ah`). Where the closed
//!   form of the step needs one signed number, charging is positive.
//! - Charge is a share of rated, aged capacity. Azimuth is degrees east of north, everywhere.
//! - Instants are UTC; the clock on the wall is looked up from them ([`clock`]).
//! - The same scenario gives the same bytes everywhere: no fused multiply-add, sums in one order,
//!   and every sine, power or logarithm from `libm` or from [`numbers::elementary`].
//!
//! # Rooms
//! A room uses only rooms to its left; a test holds that.
//!
//! | room | what lives there |
//! |---|---|
//! | [`error`] | what can go wrong, and the exit code that says so |
//! | [`numbers`] | lanes of numbers, exp and ln with the same bits everywhere |
//! | [`warning`] | warnings as data |
//! | [`scenario`] | the file as typed, its reading, its problems, its schema |
//! | [`clock`] | wall clock, time windows, offsets |
//! | [`chance`] | random numbers, laws to draw from, intervals |
//! | [`sky`] | position of the sun, light on a tilted panel, climate, measured series |
//! | [`station`] | panels, battery chemistries, loads, wires |
//! | [`plan`] | the check for sense and the compilation into tables |
//! | [`simulate`] | the step, its books, the summary |
//! | [`decide`] | what many trials come to, for one station or several side by side |
//! | [`show`] | sentence, tables, files, pictures |
//! | [`guide`] | the manual: its pages, and a page for every key |
//! | [`cli`] | the command line as typed |
//! | [`commands`] | one thin file a command |

#![cfg_attr(not(test), warn(clippy::unwrap_used, clippy::expect_used, clippy::panic))]
#![cfg_attr(not(test), warn(clippy::disallowed_methods, clippy::exit, clippy::get_unwrap))]

pub mod chance;
pub mod cli;
pub mod clock;
pub mod commands;
pub mod decide;
pub mod error;
pub mod guide;
pub mod numbers;
pub mod plan;
pub mod scenario;
pub mod show;
pub mod simulate;
pub mod sky;
pub mod station;
pub mod warning;
