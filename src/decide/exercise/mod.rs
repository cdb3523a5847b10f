//! From the trials of a club to what its members need to know.
//!
//! Lives here: counts over trials ([`gather`]), the keys of `exercise.json` ([`result`]), how many
//! spare packs a chance takes ([`spares`]), what is packed ([`packing`]), one trial to look at
//! ([`mod@timeline`]) and each station's sheet ([`sheet`]). Does not live here: how a trial of a club runs
//! (`simulate::trials::club`), wording, pictures.

pub mod gather;
pub mod packing;
pub mod result;
pub mod sheet;
pub mod spares;
pub mod timeline;
pub mod times;

pub use packing::{Packing, PackingRow};
pub use result::{Asked, Exercise, StationResult, exercise};
pub use sheet::{Sheet, SheetRow};
pub use timeline::{ClubTimeline, timeline};
