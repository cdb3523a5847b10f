//! The physics of the station's parts.

pub mod panel;
