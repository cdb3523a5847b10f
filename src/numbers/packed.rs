//! Lanes in the registers of the processor that runs the program.
//!
//! [`side_by_side`] asks once what the processor can do and hands the work a [`Registers`] made for
//! it; all that is computed with it is then compiled for that processor. Two registers a number hide
//! the time that one operation takes. Nothing here fuses a multiplication with an addition, so the
//! bits are those of plain `f64` on every processor.

use std::ops::{Add, Div, Mul, Neg, Sub};

use pulp::{Arch, Simd, WithSimd, bytemuck};

use super::lane::{Lane, Mask, Width};

/// Registers a number takes.
pub const REGISTERS: usize = 2;

/// Makes [`Packed`] numbers.
#[derive(Debug, Clone, Copy)]
pub struct Registers<S>(S);

/// A number a lane.
#[derive(Debug, Clone, Copy)]
pub struct Packed<S: Simd> {
    simd: S,
    registers: [S::f64s; REGISTERS],
}

/// Yes or no a lane.
#[derive(Debug, Clone, Copy)]
pub struct PackedMask<S: Simd> {
    simd: S,
    registers: [S::m64s; REGISTERS],
}

/// Work to be done with whatever lanes the processor has.
pub trait Work {
    /// What comes of it.
    type Output;
    /// Does it; must be inlined, so that it is compiled for the processor.
    fn with<W: Width>(self, width: W) -> Self::Output;
}

struct Handed<T>(T);

impl<T: Work> WithSimd for Handed<T> {
    type Output = T::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> T::Output {
        self.0.with(Registers(simd))
    }
}

/// Does the work with the widest lanes of this processor.
pub fn side_by_side<T: Work>(work: T) -> T::Output {
    Arch::new().dispatch(Handed(work))
}

/// Does the work with what every processor has.
pub fn plainly<T: Work>(work: T) -> T::Output {
    Handed(work).with_simd(pulp::Scalar256b)
}

impl<S: Simd> Width for Registers<S> {
    type Lane = Packed<S>;
    const LANES: usize = REGISTERS * S::F64_LANES;

    #[inline(always)]
    fn splat(self, value: f64) -> Packed<S> {
        Packed { simd: self.0, registers: [self.0.splat_f64s(value); REGISTERS] }
    }
    #[inline(always)]
    fn all(self, value: bool) -> PackedMask<S> {
        let yes = self.0.splat_f64s(if value { 1.0 } else { 0.0 });
        let half = self.0.splat_f64s(0.5);
        PackedMask { simd: self.0, registers: [self.0.less_than_f64s(half, yes); REGISTERS] }
    }
    #[inline(always)]
    fn by_lane(self, mut value: impl FnMut(usize) -> f64) -> Packed<S> {
        let mut lanes = self.splat(0.0);
        for (lane, place) in lanes.numbers_mut().iter_mut().enumerate() {
            *place = value(lane);
        }
        lanes
    }
    #[inline(always)]
    fn mask_by_lane(self, mut value: impl FnMut(usize) -> bool) -> PackedMask<S> {
        self.splat(0.5).lt(self.by_lane(|lane| if value(lane) { 1.0 } else { 0.0 }))
    }
}

impl<S: Simd> Packed<S> {
    #[inline(always)]
    fn numbers_mut(&mut self) -> &mut [f64] {
        bytemuck::cast_slice_mut(&mut self.registers)
    }
    #[inline(always)]
    fn numbers(&self) -> &[f64] {
        bytemuck::cast_slice(&self.registers)
    }
    #[inline(always)]
    fn each(self, other: Self, of: impl Fn(S, S::f64s, S::f64s) -> S::f64s) -> Self {
        let registers =
            std::array::from_fn(|at| of(self.simd, self.registers[at], other.registers[at]));
        Self { simd: self.simd, registers }
    }
    #[inline(always)]
    fn compare(self, other: Self, of: impl Fn(S, S::f64s, S::f64s) -> S::m64s) -> PackedMask<S> {
        let registers =
            std::array::from_fn(|at| of(self.simd, self.registers[at], other.registers[at]));
        PackedMask { simd: self.simd, registers }
    }
}

macro_rules! by_register {
    ($($trait:ident $method:ident $call:ident),*) => {$(
        impl<S: Simd> $trait for Packed<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                self.each(other, |simd, one, two| simd.$call(one, two))
            }
        }
    )*};
}
by_register!(Add add add_f64s, Sub sub sub_f64s, Mul mul mul_f64s, Div div div_f64s);

impl<S: Simd> Neg for Packed<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.each(self, |simd, value, _| simd.neg_f64s(value))
    }
}

impl<S: Simd> Lane for Packed<S> {
    type Mask = PackedMask<S>;
    type Width = Registers<S>;

    #[inline(always)]
    fn width(self) -> Registers<S> {
        Registers(self.simd)
    }
    #[inline(always)]
    fn lt(self, other: Self) -> PackedMask<S> {
        self.compare(other, |simd, one, two| simd.less_than_f64s(one, two))
    }
    #[inline(always)]
    fn le(self, other: Self) -> PackedMask<S> {
        self.compare(other, |simd, one, two| simd.less_than_or_equal_f64s(one, two))
    }
    #[inline(always)]
    fn select(mask: PackedMask<S>, yes: Self, no: Self) -> Self {
        let registers = std::array::from_fn(|at| {
            mask.simd.select_f64s(mask.registers[at], yes.registers[at], no.registers[at])
        });
        Self { simd: mask.simd, registers }
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        self.each(self, |simd, value, _| simd.sqrt_f64s(value))
    }
    #[inline(always)]
    fn map(mut self, function: impl Fn(f64) -> f64) -> Self {
        for value in self.numbers_mut() {
            *value = function(*value);
        }
        self
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.numbers()[lane]
    }
}

impl<S: Simd> Mask for PackedMask<S> {
    #[inline(always)]
    fn and(self, other: Self) -> Self {
        let registers =
            std::array::from_fn(|at| self.simd.and_m64s(self.registers[at], other.registers[at]));
        Self { simd: self.simd, registers }
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        let registers =
            std::array::from_fn(|at| self.simd.or_m64s(self.registers[at], other.registers[at]));
        Self { simd: self.simd, registers }
    }
    #[inline(always)]
    fn not(self) -> Self {
        Self { simd: self.simd, registers: self.registers.map(|yes| self.simd.not_m64s(yes)) }
    }
    #[inline(always)]
    fn any(self) -> bool {
        let mut either = self.registers[0];
        for more in &self.registers[1..] {
            either = self.simd.or_m64s(either, *more);
        }
        let (one, zero) = (self.simd.splat_f64s(1.0), self.simd.splat_f64s(0.0));
        self.simd.reduce_max_f64s(self.simd.select_f64s(either, one, zero)) > 0.0
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> bool {
        let width = Registers(self.simd);
        Packed::select(self, width.splat(1.0), width.splat(0.0)).lane(lane) > 0.0
    }
}
