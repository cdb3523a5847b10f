//! One arithmetic for one trial and for many side by side.
//!
//! The step is written once over [`Lane`]. A single run uses plain `f64`; many trials use
//! [`Wide`], an array of lanes that the compiler turns into vector instructions. Every operation
//! is the same IEEE operation in each lane, so a trial has the same bits either way.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A yes or no in every lane.
pub trait Mask: Copy {
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
}

/// Numbers side by side.
pub trait Lane:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    /// Yes or no by lane.
    type Mask: Mask;
    /// How many lanes there are.
    const LANES: usize;

    /// A value for each lane.
    fn from_lanes(value: impl Fn(usize) -> f64) -> Self;
    /// The value of one lane; lanes beyond the last count as the last.
    fn lane(self, lane: usize) -> f64;

    /// The same value in every lane.
    fn splat(value: f64) -> Self;
    /// `self < other`.
    fn lt(self, other: Self) -> Self::Mask;
    /// `self <= other`.
    fn le(self, other: Self) -> Self::Mask;
    /// `yes` where the mask holds, else `no`.
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;
    /// Square root.
    #[must_use]
    fn sqrt(self) -> Self;
    /// A scalar function in every lane.
    #[must_use]
    fn map(self, function: impl Fn(f64) -> f64) -> Self;
    /// `table[self]` in every lane; an index beyond the end takes the last entry.
    #[must_use]
    fn look_up(self, entry: impl Fn(usize) -> f64) -> Self;
    /// The mask that is the same in every lane.
    fn all(value: bool) -> Self::Mask;

    /// `self > other`.
    fn gt(self, other: Self) -> Self::Mask {
        other.lt(self)
    }
    /// `self >= other`.
    fn ge(self, other: Self) -> Self::Mask {
        other.le(self)
    }
    /// The smaller.
    #[must_use]
    fn least(self, other: Self) -> Self {
        Self::select(self.lt(other), self, other)
    }
    /// The greater.
    #[must_use]
    fn most(self, other: Self) -> Self {
        Self::select(other.lt(self), self, other)
    }
    /// Between `low` and `high`.
    #[must_use]
    fn held_between(self, low: Self, high: Self) -> Self {
        self.most(low).least(high)
    }
    /// Magnitude.
    #[must_use]
    fn magnitude(self) -> Self {
        Self::select(self.lt(Self::splat(0.0)), -self, self)
    }
}

impl Mask for bool {
    fn and(self, other: Self) -> Self {
        self & other
    }
    fn or(self, other: Self) -> Self {
        self | other
    }
    fn not(self) -> Self {
        !self
    }
    fn any(self) -> bool {
        self
    }
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn index_of(value: f64) -> usize {
    value as usize
}

impl Lane for f64 {
    type Mask = bool;
    const LANES: usize = 1;

    fn from_lanes(value: impl Fn(usize) -> f64) -> Self {
        value(0)
    }
    fn lane(self, _lane: usize) -> f64 {
        self
    }

    fn splat(value: f64) -> Self {
        value
    }
    fn lt(self, other: Self) -> bool {
        self < other
    }
    fn le(self, other: Self) -> bool {
        self <= other
    }
    fn select(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    fn map(self, function: impl Fn(f64) -> f64) -> Self {
        function(self)
    }
    fn look_up(self, entry: impl Fn(usize) -> f64) -> Self {
        entry(index_of(self))
    }
    fn all(value: bool) -> bool {
        value
    }
}

/// `N` lanes.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub struct Wide<const N: usize>(pub [f64; N]);

/// Yes or no in `N` lanes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(align(64))]
pub struct WideMask<const N: usize>(pub [bool; N]);

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
    const LANES: usize = N;

    #[inline(always)]
    fn from_lanes(value: impl Fn(usize) -> f64) -> Self {
        Self(std::array::from_fn(value))
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.0[lane.min(N - 1)]
    }
    #[inline(always)]
    fn splat(value: f64) -> Self {
        Self([value; N])
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
    fn sqrt(self) -> Self {
        Self(self.0.map(f64::sqrt))
    }
    #[inline(always)]
    fn map(self, function: impl Fn(f64) -> f64) -> Self {
        Self(self.0.map(function))
    }
    #[inline(always)]
    fn look_up(self, entry: impl Fn(usize) -> f64) -> Self {
        Self(self.0.map(|value| entry(index_of(value))))
    }
    #[inline(always)]
    fn all(value: bool) -> WideMask<N> {
        WideMask([value; N])
    }
}
