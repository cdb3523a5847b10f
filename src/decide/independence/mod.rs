//! Evidence that a station can do without the mains.
//!
//! Lives here: how likely it lasts 8, 24, 72 and 168 hours without ([`hours`]), how long the battery
//! alone carries it ([`mod@battery_alone`]), past tests beside what is forecast ([`past_tests`]), and how
//! well each stated number is known ([`basis`]). Does not live here: words and pages.

pub mod basis;
pub mod battery_alone;
pub mod hours;
pub mod past_tests;

pub use basis::{Stated, stated};
pub use battery_alone::{BatteryAlone, battery_alone};
pub use hours::{HOURS, Reached, reach, without_mains};
pub use past_tests::{Beside, Forecast, Line, beside};
