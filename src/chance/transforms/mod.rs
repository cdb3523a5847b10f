//! From uniform deviates to the laws of the model.
//!
//! Lives here: the normal law both ways ([`normal`], own polynomials, runs in lanes), laws of
//! durations and spreads ([`law`], libm, a few draws a trial), laws given as tables
//! ([`quantiles`], [`shares`]) and any function on an even grid ([`grid`], runs in lanes). Every
//! law is drawn by its inverse: one uniform deviate, one value that rises with it, so that two
//! stations that share draws see the better and the worse day alike. Does not live here: which
//! law holds for what.

pub mod grid;
pub mod law;
pub mod normal;
pub mod quantiles;
pub mod shares;

pub use grid::Grid;
pub use law::Law;
pub use normal::{normal_cumulative, normal_deviate};
pub use quantiles::Quantiles;
pub use shares::Shares;
