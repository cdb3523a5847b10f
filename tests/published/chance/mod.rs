//! One file a kind of source.

mod common;
mod draws;
mod intervals;
mod laws;
mod merge;
mod normal;
mod outages;
mod paired;
mod philox;
mod special;
