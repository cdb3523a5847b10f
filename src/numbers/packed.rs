//! Lanes in the registers of the processor that runs the program.
//!
//! [`side_by_side`] asks once what the processor can do and hands the work a [`Registers`] made for
//! it; all that is computed with it is then compiled for that processor. Two registers a number hide
//! the time that one operation takes. Nothing here fuses a multiplication with an addition, so the
//! bits are those of plain `f64` on every processor.

use std::ops::{Add, Div, Mul, Neg, Sub};

use pulp::{Simd, bytemuck};

use super::lane::{Lane, Mask, ROOT_OF_HALF_BITS, Single, TWO_TO_32, TWO_TO_52, Width};

/// Registers a number takes.
pub const REGISTERS: usize = 2;

// Written out for both registers: what is not inlined at once is not compiled for the processor.
macro_rules! both {
    ($simd:expr, $call:ident, $($of:expr),*) => {
        [$simd.$call($($of[0]),*), $simd.$call($($of[1]),*)]
    };
}

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

#[cfg(feature = "packed")]
struct Handed<T>(T);

#[cfg(feature = "packed")]
impl<T: Work> pulp::WithSimd for Handed<T> {
    type Output = T::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> T::Output {
        if S::F64_LANES > 1 { self.0.with(Registers(simd)) } else { self.0.with(Single) }
    }
}

/// Does the work with the widest lanes of this processor; one number at a time when the program was
/// built without the feature `packed`.
pub fn side_by_side<T: Work>(work: T) -> T::Output {
    #[cfg(feature = "packed")]
    return pulp::Arch::new().dispatch(Handed(work));
    #[cfg(not(feature = "packed"))]
    plainly(work)
}

/// How many lanes [`side_by_side`] has.
#[must_use]
pub fn lanes() -> usize {
    struct Count;
    impl Work for Count {
        type Output = usize;

        #[inline(always)]
        fn with<W: Width>(self, _: W) -> usize {
            W::LANES
        }
    }
    side_by_side(Count)
}

/// Does the work with what every processor has: one number at a time.
pub fn plainly<T: Work>(work: T) -> T::Output {
    work.with(Single)
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
    fn load(self, values: &[f64]) -> Packed<S> {
        let mut lanes = self.splat(0.0);
        lanes.numbers_mut().copy_from_slice(&values[..Self::LANES]);
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
}

macro_rules! by_register {
    ($($trait:ident $method:ident $call:ident),*) => {$(
        impl<S: Simd> $trait for Packed<S> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                Self { simd: self.simd, registers: both!(self.simd, $call, self.registers, other.registers) }
            }
        }
    )*};
}
by_register!(Add add add_f64s, Sub sub sub_f64s, Mul mul mul_f64s, Div div div_f64s);

impl<S: Simd> Neg for Packed<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self { simd: self.simd, registers: both!(self.simd, neg_f64s, self.registers) }
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
        let registers = both!(self.simd, less_than_f64s, self.registers, other.registers);
        PackedMask { simd: self.simd, registers }
    }
    #[inline(always)]
    fn le(self, other: Self) -> PackedMask<S> {
        let registers = both!(self.simd, less_than_or_equal_f64s, self.registers, other.registers);
        PackedMask { simd: self.simd, registers }
    }
    #[inline(always)]
    fn select(mask: PackedMask<S>, yes: Self, no: Self) -> Self {
        let registers = both!(mask.simd, select_f64s, mask.registers, yes.registers, no.registers);
        Self { simd: mask.simd, registers }
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Self { simd: self.simd, registers: both!(self.simd, sqrt_f64s, self.registers) }
    }
    // Whole numbers are carried in the low bits of 2^52 + whole 2^32, where shifts of 32-bit halves
    // by 20 bits bring them to the exponent and back: there are no others on every processor.
    #[inline(always)]
    fn two_to(self) -> Self {
        let w = self.width();
        let carried = (self + w.splat(1023.0)) * w.splat(TWO_TO_32) + w.splat(TWO_TO_52);
        let by = self.simd.splat_u32s(20);
        let halves: [S::u32s; REGISTERS] =
            [bytemuck::cast(carried.registers[0]), bytemuck::cast(carried.registers[1])];
        let one = self.simd.wrapping_dyn_shl_u32s(halves[0], by);
        let two = self.simd.wrapping_dyn_shl_u32s(halves[1], by);
        Self { simd: self.simd, registers: [bytemuck::cast(one), bytemuck::cast(two)] }
    }
    #[inline(always)]
    fn exponent_and_mantissa(self) -> (Self, Self) {
        let one = split(self.simd, self.registers[0]);
        let two = split(self.simd, self.registers[1]);
        let exponent = Self { simd: self.simd, registers: [one.0, two.0] };
        (exponent, Self { simd: self.simd, registers: [one.1, two.1] })
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
    #[inline(always)]
    fn with_lane(mut self, lane: usize, value: f64) -> Self {
        self.numbers_mut()[lane] = value;
        self
    }
}

/// Exponent and mantissa.
#[inline(always)]
fn split<S: Simd>(simd: S, value: S::f64s) -> (S::f64s, S::f64s) {
    let bits: S::u64s = simd.transmute_u64s_f64s(value);
    let shifted = simd.sub_u64s(bits, simd.splat_u64s(ROOT_OF_HALF_BITS));
    let whole = simd.and_u64s(shifted, simd.splat_u64s(0xfff0_0000_0000_0000));
    let mantissa = simd.transmute_f64s_u64s(simd.sub_u64s(bits, whole));
    // 1024 more, so that it is not negative.
    let raised: S::u32s =
        bytemuck::cast(simd.add_u64s(whole, simd.splat_u64s(0x4000_0000_0000_0000)));
    let low: S::u64s = bytemuck::cast(simd.wrapping_dyn_shr_u32s(raised, simd.splat_u32s(20)));
    let carried = simd.transmute_f64s_u64s(simd.or_u64s(low, simd.splat_u64s(TWO_TO_52.to_bits())));
    let number = simd.sub_f64s(carried, simd.splat_f64s(TWO_TO_52));
    let raised = simd.mul_f64s(number, simd.splat_f64s(1.0 / TWO_TO_32));
    (simd.sub_f64s(raised, simd.splat_f64s(1024.0)), mantissa)
}

impl<S: Simd> Mask for PackedMask<S> {
    #[inline(always)]
    fn and(self, other: Self) -> Self {
        Self {
            simd: self.simd,
            registers: both!(self.simd, and_m64s, self.registers, other.registers),
        }
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        Self {
            simd: self.simd,
            registers: both!(self.simd, or_m64s, self.registers, other.registers),
        }
    }
    #[inline(always)]
    fn not(self) -> Self {
        Self { simd: self.simd, registers: both!(self.simd, not_m64s, self.registers) }
    }
    #[inline(always)]
    fn any(self) -> bool {
        let either = self.simd.or_m64s(self.registers[0], self.registers[1]);
        let (one, zero) = (self.simd.splat_f64s(1.0), self.simd.splat_f64s(0.0));
        self.simd.reduce_max_f64s(self.simd.select_f64s(either, one, zero)) > 0.0
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> bool {
        let width = Registers(self.simd);
        Packed::select(self, width.splat(1.0), width.splat(0.0)).lane(lane) > 0.0
    }
}
