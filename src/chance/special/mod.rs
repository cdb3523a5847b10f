//! Functions that laws and intervals need and no small library has with settled bits.
//!
//! Lives here: chance of a binomial count ([`binomial`]), incomplete beta function and its inverse
//! ([`beta`]), incomplete gamma function ([`gamma`]), the place where a function crosses a value
//! ([`crossing`]). Elementary functions come from libm. Does not live here: what they are used for.

pub mod beta;
pub mod binomial;
pub mod crossing;
pub mod gamma;
