//! Sun, sky and panel: one file a kind of source.

mod clearness;
mod common;
mod extraterrestrial;
mod handbook;
mod panel;
mod positions;
mod split;
mod tilt;
mod years;
