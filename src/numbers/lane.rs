//! One arithmetic for one trial and for many side by side.
//!
//! The step is written once over [`Lane`]. A single run uses plain `f64`; many trials use
//! [`crate::numbers::packed::Packed`], a few registers of the processor, or [`Wide`], a plain array
//! for tests and draws. Every operation is the same IEEE operation in each lane, so a trial has the
//! same bits either way.

use std::fmt::Debug;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// How many numbers are next to each other, and what the processor can do with them: it makes lanes.
pub trait Width: Copy + Debug + Send + Sync {
    /// The numbers.
    type Lane: Lane<Width = Self>;

    /// How many are next to each other.
    const LANES: usize;
    /// Whether only short work (see [`Work`](super::packed::Work)) is done with them.
    const SHORT: bool = false;

    /// The same value in every lane.
    fn splat(self, value: f64) -> Self::Lane;
    /// The same answer in every lane.
    fn all(self, value: bool) -> <Self::Lane as Lane>::Mask;
    /// One value a lane.
    fn by_lane(self, value: impl FnMut(usize) -> f64) -> Self::Lane;
    /// The first numbers of a list, one a lane.
    fn load(self, values: &[f64]) -> Self::Lane;
    /// One answer a lane.
    fn mask_by_lane(self, value: impl FnMut(usize) -> bool) -> <Self::Lane as Lane>::Mask;
    /// Does a piece of the work, compiled by itself: small functions compile faster than a large one.
    #[inline(always)]
    fn apart<P: Piece>(self, piece: P) -> P::Output {
        piece.done()
    }
}

/// A piece of work that may be compiled by itself.
pub trait Piece {
    /// What comes of it.
    type Output;
    /// Does it; must be inlined, so that it is compiled for the processor.
    fn done(self) -> Self::Output;
}

/// A yes or no in every lane.
pub trait Mask: Copy + Debug {
    /// Both.
    #[must_use]
    fn and(self, other: Self) -> Self;
    /// Either.
    #[must_use]
    fn or(self, other: Self) -> Self;
    /// The opposite.
    #[must_use]
    fn not(self) -> Self;
    /// Whether it holds in any lane.
    fn any(self) -> bool;
    /// Whether it holds in a lane.
    fn lane(self, lane: usize) -> bool;
}

/// Numbers side by side.
pub trait Lane:
    Copy
    + Debug
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    /// Yes or no by lane.
    type Mask: Mask;
    /// What makes such numbers.
    type Width: Width<Lane = Self>;

    /// What made this.
    fn width(self) -> Self::Width;
    /// `self < other`.
    fn lt(self, other: Self) -> Self::Mask;
    /// `self <= other`.
    fn le(self, other: Self) -> Self::Mask;
    /// `yes` where the mask holds, else `no`.
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Square root.
    #[must_use]
    fn sqrt(self) -> Self;
    /// `2^self` of whole numbers from -1022 to 1023.
    #[must_use]
    fn two_to(self) -> Self;
    /// Of a normal positive number the whole number e and the m in sqrt(1/2) to sqrt(2) with
    /// `self = m 2^e`.
    #[must_use]
    fn exponent_and_mantissa(self) -> (Self, Self);
    /// A scalar function in every lane: slow, for what is rarely asked.
    #[must_use]
    fn map(self, function: impl Fn(f64) -> f64) -> Self;
    /// The number in a lane.
    fn lane(self, lane: usize) -> f64;
    /// Puts the numbers at the beginning of a list, which must be as long.
    #[inline(always)]
    fn store(self, into: &mut [f64]) {
        for (lane, place) in into[..Self::Width::LANES].iter_mut().enumerate() {
            *place = self.lane(lane);
        }
    }
    /// The same with another number in a lane.
    #[must_use]
    fn with_lane(self, lane: usize, value: f64) -> Self;

    /// `table[self]` in every lane: slow, for what is rarely asked.
    #[must_use]
    #[inline(always)]
    fn look_up(self, entry: impl Fn(usize) -> f64) -> Self {
        self.map(|value| entry(index_of(value)))
    }
    /// The place in a table that all lanes are in, where that is known to be the same.
    #[must_use]
    #[inline(always)]
    fn common_place(self) -> Option<usize> {
        None
    }
    /// A number of the same width.
    #[must_use]
    #[inline(always)]
    fn like(self, value: f64) -> Self {
        self.width().splat(value)
    }
    /// `self > other`.
    #[inline(always)]
    fn gt(self, other: Self) -> Self::Mask {
        other.lt(self)
    }
    /// Whether it is another number; both must be numbers.
    #[inline(always)]
    fn differs(self, other: Self) -> Self::Mask {
        self.lt(other).or(other.lt(self))
    }
    /// `self >= other`.
    #[inline(always)]
    fn ge(self, other: Self) -> Self::Mask {
        other.le(self)
    }
    /// The smaller.
    #[must_use]
    #[inline(always)]
    fn least(self, other: Self) -> Self {
        Self::select(self.lt(other), self, other)
    }
    /// The greater.
    #[must_use]
    #[inline(always)]
    fn most(self, other: Self) -> Self {
        Self::select(other.lt(self), self, other)
    }
    /// Between `low` and `high`.
    #[must_use]
    #[inline(always)]
    fn held_between(self, low: Self, high: Self) -> Self {
        self.most(low).least(high)
    }
    /// Magnitude.
    #[must_use]
    fn magnitude(self) -> Self;
}

/// Places in a table by lane, and the one that all lanes are in where they are.
#[derive(Debug, Clone, Copy)]
pub struct Places<F> {
    places: F,
    common: Option<usize>,
}

impl<F: Lane> Places<F> {
    /// These.
    #[must_use]
    #[inline(always)]
    pub fn of(places: F) -> Self {
        Self { places, common: places.common_place() }
    }

    /// What the table has there, by lane.
    #[must_use]
    #[inline(always)]
    pub fn look_up(&self, entry: impl Fn(usize) -> f64) -> F {
        match self.common {
            Some(place) => self.places.like(entry(place)),
            None => self.places.look_up(entry),
        }
    }
}

impl Mask for bool {
    #[inline(always)]
    fn and(self, other: Self) -> Self {
        self & other
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        self | other
    }
    #[inline(always)]
    fn not(self) -> Self {
        !self
    }
    #[inline(always)]
    fn any(self) -> bool {
        self
    }
    #[inline(always)]
    fn lane(self, _: usize) -> bool {
        self
    }
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
#[inline(always)]
pub(super) fn index_of(value: f64) -> usize {
    // By way of a signed number: one instruction.
    value as i32 as usize
}

/// Bits of sqrt(1/2).
pub(super) const ROOT_OF_HALF_BITS: u64 = 0x3fe6_a09e_667f_3bcd;
/// 2^52 and 2^32: what carries a whole number into the bits of the exponent and back.
pub(super) const TWO_TO_52: f64 = 4_503_599_627_370_496.0;
pub(super) const TWO_TO_32: f64 = 4_294_967_296.0;

/// `2^whole`.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
#[inline(always)]
fn two_to(whole: f64) -> f64 {
    f64::from_bits(((whole as i64 + 1023) as u64) << 52)
}

/// See [`Lane::exponent_and_mantissa`].
#[allow(clippy::cast_precision_loss, clippy::cast_possible_wrap)]
#[inline(always)]
fn exponent_and_mantissa(value: f64) -> (f64, f64) {
    let bits = value.to_bits();
    let shifted = bits.wrapping_sub(ROOT_OF_HALF_BITS);
    let exponent = (shifted as i64) >> 52;
    let mantissa = f64::from_bits(bits.wrapping_sub(shifted & 0xfff0_0000_0000_0000));
    (exponent as f64, mantissa)
}

/// One number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Single;

impl Width for Single {
    type Lane = f64;
    const LANES: usize = 1;

    #[inline(always)]
    fn splat(self, value: f64) -> f64 {
        value
    }
    #[inline(always)]
    fn all(self, value: bool) -> bool {
        value
    }
    #[inline(always)]
    fn by_lane(self, mut value: impl FnMut(usize) -> f64) -> f64 {
        value(0)
    }
    #[inline(always)]
    fn load(self, values: &[f64]) -> f64 {
        values[0]
    }
    #[inline(always)]
    fn mask_by_lane(self, mut value: impl FnMut(usize) -> bool) -> bool {
        value(0)
    }
}

impl Lane for f64 {
    type Mask = bool;
    type Width = Single;

    #[inline(always)]
    fn width(self) -> Single {
        Single
    }
    #[inline(always)]
    fn lt(self, other: Self) -> bool {
        self < other
    }
    #[inline(always)]
    fn le(self, other: Self) -> bool {
        self <= other
    }
    #[inline(always)]
    fn select(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }
    #[inline(always)]
    fn magnitude(self) -> Self {
        f64::abs(self)
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    #[inline(always)]
    fn two_to(self) -> Self {
        two_to(self)
    }
    #[inline(always)]
    fn exponent_and_mantissa(self) -> (Self, Self) {
        exponent_and_mantissa(self)
    }
    #[inline(always)]
    fn map(self, function: impl Fn(f64) -> f64) -> Self {
        function(self)
    }
    #[inline(always)]
    fn lane(self, _: usize) -> f64 {
        self
    }
    #[inline(always)]
    fn with_lane(self, _: usize, value: f64) -> Self {
        value
    }
}

/// `N` lanes in a plain array.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub struct Wide<const N: usize>(pub [f64; N]);

/// Yes or no in `N` lanes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(align(64))]
pub struct WideMask<const N: usize>(pub [bool; N]);

/// Makes [`Wide`] numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Side<const N: usize>;

impl<const N: usize> Width for Side<N> {
    type Lane = Wide<N>;
    const LANES: usize = N;

    #[inline(always)]
    fn splat(self, value: f64) -> Wide<N> {
        Wide([value; N])
    }
    #[inline(always)]
    fn all(self, value: bool) -> WideMask<N> {
        WideMask([value; N])
    }
    #[inline(always)]
    fn by_lane(self, value: impl FnMut(usize) -> f64) -> Wide<N> {
        Wide(std::array::from_fn(value))
    }
    #[inline(always)]
    fn load(self, values: &[f64]) -> Wide<N> {
        Wide(std::array::from_fn(|lane| values[lane]))
    }
    #[inline(always)]
    fn mask_by_lane(self, value: impl FnMut(usize) -> bool) -> WideMask<N> {
        WideMask(std::array::from_fn(value))
    }
}

impl<const N: usize> Mask for WideMask<N> {
    #[inline(always)]
    fn and(self, other: Self) -> Self {
        Self(std::array::from_fn(|lane| self.0[lane] & other.0[lane]))
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        Self(std::array::from_fn(|lane| self.0[lane] | other.0[lane]))
    }
    #[inline(always)]
    fn not(self) -> Self {
        Self(std::array::from_fn(|lane| !self.0[lane]))
    }
    #[inline(always)]
    fn any(self) -> bool {
        self.0.iter().any(|yes| *yes)
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> bool {
        self.0[lane]
    }
}

macro_rules! by_lane {
    ($($trait:ident $method:ident $sign:tt),*) => {$(
        impl<const N: usize> $trait for Wide<N> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                Self(std::array::from_fn(|lane| self.0[lane] $sign other.0[lane]))
            }
        }
    )*};
}
by_lane!(Add add +, Sub sub -, Mul mul *, Div div /);

impl<const N: usize> Neg for Wide<N> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self(self.0.map(|value| -value))
    }
}

impl<const N: usize> Lane for Wide<N> {
    type Mask = WideMask<N>;
    type Width = Side<N>;

    #[inline(always)]
    fn width(self) -> Side<N> {
        Side
    }
    #[inline(always)]
    fn lt(self, other: Self) -> WideMask<N> {
        WideMask(std::array::from_fn(|lane| self.0[lane] < other.0[lane]))
    }
    #[inline(always)]
    fn le(self, other: Self) -> WideMask<N> {
        WideMask(std::array::from_fn(|lane| self.0[lane] <= other.0[lane]))
    }
    #[inline(always)]
    fn select(mask: WideMask<N>, yes: Self, no: Self) -> Self {
        Self(std::array::from_fn(|lane| if mask.0[lane] { yes.0[lane] } else { no.0[lane] }))
    }
    #[inline(always)]
    fn magnitude(self) -> Self {
        Self(self.0.map(f64::abs))
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Self(self.0.map(f64::sqrt))
    }
    #[inline(always)]
    fn two_to(self) -> Self {
        Self(self.0.map(two_to))
    }
    #[inline(always)]
    fn exponent_and_mantissa(self) -> (Self, Self) {
        let of = self.0.map(exponent_and_mantissa);
        (Self(of.map(|(exponent, _)| exponent)), Self(of.map(|(_, mantissa)| mantissa)))
    }
    #[inline(always)]
    fn map(self, function: impl Fn(f64) -> f64) -> Self {
        Self(self.0.map(function))
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.0[lane]
    }
    #[inline(always)]
    fn with_lane(mut self, lane: usize, value: f64) -> Self {
        self.0[lane] = value;
        self
    }
}
