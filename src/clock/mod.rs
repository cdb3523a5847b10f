//! The local clock, looked up from UTC.
//!
//! Steps run in UTC, where every hour exists once. Lives here: the clock on the wall
//! ([`LocalClock`]) and times of day on it ([`TimesOfDay`], compiled from the windows of a
//! scenario). Does not live here: the sun's hours (`sky`) and who asks for a window (`plan`).

mod local;
mod offset;
mod problem;
mod time_of_day;
mod window;

pub use local::LocalClock;
pub use offset::offset_from_text;
pub use problem::{ClockProblem, NotOneInstant};
pub use time_of_day::{MINUTES_A_DAY, parse_time_of_day};
pub use window::{TimesOfDay, WindowProblem};
