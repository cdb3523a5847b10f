//! Lanes in the registers of the processor that runs the program.
//!
//! [`side_by_side`] asks what the processor can do and hands the work a [`Registers`] made for it;
//! all that is computed with it is then compiled for that processor: for AVX-512, for AVX2, for what
//! else `pulp` knows. Narrow registers are taken two a number, which hides the time that one operation
//! takes; there are too few of them for more. Nothing here fuses a multiplication with an addition, so the
//! bits are those of plain `f64` on every processor.

use std::ops::{Add, Div, Mul, Neg, Sub};

use pulp::{Simd, bytemuck};

use super::lane::{
    Lane, Mask, Piece, ROOT_OF_HALF_BITS, Single, TWO_TO_32, TWO_TO_52, Width, index_of,
};

// Written out for all registers of a number: what is not inlined at once is not compiled for the
// processor, and closures are not.
macro_rules! each {
    ($simd:expr, $call:ident, $first:expr $(, $of:expr)*) => {{
        let mut all = [$simd.$call($first[0] $(, $of[0])*); N];
        let mut at = 1;
        while at < N {
            all[at] = $simd.$call($first[at] $(, $of[at])*);
            at += 1;
        }
        all
    }};
}

/// Makes [`Packed`] numbers.
#[derive(Debug, Clone, Copy)]
pub struct Registers<S, const N: usize>(S);

/// A number a lane, in `N` registers. In memory it begins where a line of the cache does: the numbers
/// of `pulp` are not aligned of themselves, and one that lies across two lines costs twice.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
pub struct Packed<S: Simd, const N: usize> {
    simd: S,
    registers: [S::f64s; N],
}

/// Yes or no a lane.
#[derive(Debug, Clone, Copy)]
pub struct PackedMask<S: Simd, const N: usize> {
    simd: S,
    registers: [S::m64s; N],
}

/// Work to be done with whatever lanes the processor has.
pub trait Work {
    /// What comes of it.
    type Output;
    /// Whether some of it is short: compiled for registers that are taken alone too.
    const MAY_BE_SHORT: bool = false;
    /// Whether this is. What is not keeps to the registers that all work is compiled for.
    fn is_short(&self) -> bool {
        false
    }
    /// Does it; must be inlined, so that it is compiled for the processor.
    fn with<W: Width>(self, width: W) -> Self::Output;
}

/// Numbers of a register that is wide enough to be taken alone.
#[cfg(feature = "packed")]
const WIDE: usize = 8;

/// The environment variable that names the widest registers to be used, bits: 64, 256 or 512. The
/// results do not depend on it.
pub const WIDEST_BITS: &str = "LONGWATCH_WIDEST_BITS";

#[cfg(feature = "packed")]
struct Handed<T>(T);

#[cfg(feature = "packed")]
impl<T: Work> pulp::WithSimd for Handed<T> {
    type Output = T::Output;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> T::Output {
        if const { S::F64_LANES >= WIDE } {
            self.0.with(Registers::<S, 1>(simd))
        } else if const { S::F64_LANES > 1 } {
            self.0.with(Registers::<S, 2>(simd))
        } else {
            self.0.with(Single)
        }
    }
}

/// Does the work with the widest lanes of this processor; one number at a time when the program was
/// built without the feature `packed`.
pub fn side_by_side<T: Work>(work: T) -> T::Output {
    #[cfg(all(feature = "packed", target_arch = "x86_64"))]
    {
        use pulp::x86::{V3, V4};
        let bits = widest_bits();
        if const { T::MAY_BE_SHORT }
            && bits >= 512
            && work.is_short()
            && let Some(simd) = V4::try_new()
        {
            return Simd::vectorize(simd, Handed(work));
        }
        if let Some(simd) = V3::try_new().filter(|_| bits >= 256) {
            return Simd::vectorize(simd, Handed(work));
        }
    }
    #[cfg(all(feature = "packed", not(target_arch = "x86_64")))]
    if widest_bits() > 64 {
        return pulp::Arch::new().dispatch(Handed(work));
    }
    plainly(work)
}

/// The widest registers that may be used, bits.
#[cfg(feature = "packed")]
fn widest_bits() -> u32 {
    static BITS: std::sync::LazyLock<u32> = std::sync::LazyLock::new(|| {
        std::env::var(WIDEST_BITS).ok().and_then(|bits| bits.parse().ok()).unwrap_or(u32::MAX)
    });
    *BITS
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

impl<S: Simd, const N: usize> Width for Registers<S, N> {
    type Lane = Packed<S, N>;
    const LANES: usize = N * S::F64_LANES;
    const SHORT: bool = N == 1;

    #[inline(always)]
    fn apart<P: Piece>(self, piece: P) -> P::Output {
        apart(self.0, piece)
    }
    #[inline(always)]
    fn splat(self, value: f64) -> Packed<S, N> {
        Packed { simd: self.0, registers: [self.0.splat_f64s(value); N] }
    }
    #[inline(always)]
    fn all(self, value: bool) -> PackedMask<S, N> {
        PackedMask { simd: self.0, registers: [mask_of(self.0, value); N] }
    }
    #[inline(always)]
    fn by_lane(self, mut value: impl FnMut(usize) -> f64) -> Packed<S, N> {
        let mut lanes = self.splat(0.0);
        for (lane, place) in lanes.numbers_mut().iter_mut().enumerate() {
            *place = value(lane);
        }
        lanes
    }
    #[inline(always)]
    fn load(self, values: &[f64]) -> Packed<S, N> {
        let mut lanes = self.splat(0.0);
        lanes.numbers_mut().copy_from_slice(&values[..Self::LANES]);
        lanes
    }
    #[inline(always)]
    fn mask_by_lane(self, mut value: impl FnMut(usize) -> bool) -> PackedMask<S, N> {
        self.splat(0.5).lt(self.by_lane(|lane| if value(lane) { 1.0 } else { 0.0 }))
    }
}

/// The same answer in every lane: seen by the compiler where it is known, which the outcome of a
/// comparison is not.
#[inline(always)]
fn mask_of<S: Simd>(simd: S, value: bool) -> S::m64s {
    if const { size_of::<S::m64s>() == 1 && S::F64_LANES == 8 } {
        return bytemuck::checked::cast(if value { u8::MAX } else { 0 });
    }
    if const { size_of::<S::m64s>() == size_of::<[u64; 4]>() } {
        return bytemuck::checked::cast([if value { u64::MAX } else { 0 }; 4]);
    }
    let half = simd.splat_f64s(0.5);
    simd.less_than_f64s(half, simd.splat_f64s(if value { 1.0 } else { 0.0 }))
}

/// Never inlined, so that what it calls is not inlined where it is called from.
#[inline(never)]
fn apart<S: Simd, P: Piece>(simd: S, piece: P) -> P::Output {
    struct Apart<P>(P);

    impl<P: Piece> pulp::WithSimd for Apart<P> {
        type Output = P::Output;

        #[inline(always)]
        fn with_simd<S: Simd>(self, _: S) -> P::Output {
            self.0.done()
        }
    }
    simd.vectorize(Apart(piece))
}

impl<S: Simd, const N: usize> Packed<S, N> {
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
        impl<S: Simd, const N: usize> $trait for Packed<S, N> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                Self { simd: self.simd, registers: each!(self.simd, $call, self.registers, other.registers) }
            }
        }
    )*};
}
by_register!(Add add add_f64s, Sub sub sub_f64s, Mul mul mul_f64s, Div div div_f64s);

impl<S: Simd, const N: usize> Neg for Packed<S, N> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self { simd: self.simd, registers: each!(self.simd, neg_f64s, self.registers) }
    }
}

impl<S: Simd, const N: usize> Lane for Packed<S, N> {
    type Mask = PackedMask<S, N>;
    type Width = Registers<S, N>;

    #[inline(always)]
    fn width(self) -> Registers<S, N> {
        Registers::<S, N>(self.simd)
    }
    #[inline(always)]
    fn lt(self, other: Self) -> PackedMask<S, N> {
        let registers = each!(self.simd, less_than_f64s, self.registers, other.registers);
        PackedMask { simd: self.simd, registers }
    }
    #[inline(always)]
    fn le(self, other: Self) -> PackedMask<S, N> {
        let registers = each!(self.simd, less_than_or_equal_f64s, self.registers, other.registers);
        PackedMask { simd: self.simd, registers }
    }
    #[inline(always)]
    fn differs(self, other: Self) -> PackedMask<S, N> {
        let alike = each!(self.simd, equal_f64s, self.registers, other.registers);
        PackedMask { simd: self.simd, registers: each!(self.simd, not_m64s, alike) }
    }
    #[inline(always)]
    fn select(mask: PackedMask<S, N>, yes: Self, no: Self) -> Self {
        let registers = each!(mask.simd, select_f64s, mask.registers, yes.registers, no.registers);
        Self { simd: mask.simd, registers }
    }
    // These processors give the second of two zeros, and the second where one is no number: as the
    // choice after a comparison does. Others do not.
    #[cfg(target_arch = "x86_64")]
    #[inline(always)]
    fn least(self, other: Self) -> Self {
        let registers = each!(self.simd, min_f64s, self.registers, other.registers);
        Self { simd: self.simd, registers }
    }
    #[cfg(target_arch = "x86_64")]
    #[inline(always)]
    fn most(self, other: Self) -> Self {
        let registers = each!(self.simd, max_f64s, self.registers, other.registers);
        Self { simd: self.simd, registers }
    }
    #[inline(always)]
    fn magnitude(self) -> Self {
        Self { simd: self.simd, registers: each!(self.simd, abs_f64s, self.registers) }
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Self { simd: self.simd, registers: each!(self.simd, sqrt_f64s, self.registers) }
    }
    // Whole numbers are carried in the low bits of 2^52 + whole 2^32, where shifts of 32-bit halves
    // by 20 bits bring them to the exponent and back: there are no others on every processor.
    #[inline(always)]
    fn two_to(self) -> Self {
        let w = self.width();
        let carried = (self + w.splat(1023.0)) * w.splat(TWO_TO_32) + w.splat(TWO_TO_52);
        let by = self.simd.splat_u32s(20);
        let mut registers = carried.registers;
        for register in &mut registers {
            let halves: S::u32s = bytemuck::cast(*register);
            *register = bytemuck::cast(self.simd.wrapping_dyn_shl_u32s(halves, by));
        }
        Self { simd: self.simd, registers }
    }
    #[inline(always)]
    fn exponent_and_mantissa(self) -> (Self, Self) {
        let (mut exponent, mut mantissa) = (self, self);
        for at in 0..N {
            (exponent.registers[at], mantissa.registers[at]) = split(self.simd, self.registers[at]);
        }
        (exponent, mantissa)
    }
    #[inline(always)]
    fn map(mut self, function: impl Fn(f64) -> f64) -> Self {
        for value in self.numbers_mut() {
            *value = function(*value);
        }
        self
    }
    #[inline(always)]
    fn common_place(self) -> Option<usize> {
        // Trials side by side are mostly in the same place.
        let first = self.lane(0);
        (!self.differs(self.like(first)).any()).then_some(index_of(first))
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.numbers()[lane]
    }
    #[inline(always)]
    fn store(self, into: &mut [f64]) {
        into[..Self::Width::LANES].copy_from_slice(self.numbers());
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

impl<S: Simd, const N: usize> Mask for PackedMask<S, N> {
    #[inline(always)]
    fn and(self, other: Self) -> Self {
        Self {
            simd: self.simd,
            registers: each!(self.simd, and_m64s, self.registers, other.registers),
        }
    }
    #[inline(always)]
    fn or(self, other: Self) -> Self {
        Self {
            simd: self.simd,
            registers: each!(self.simd, or_m64s, self.registers, other.registers),
        }
    }
    #[inline(always)]
    fn not(self) -> Self {
        Self { simd: self.simd, registers: each!(self.simd, not_m64s, self.registers) }
    }
    #[inline(always)]
    fn any(self) -> bool {
        let mut either = self.registers[0];
        let mut at = 1;
        while at < N {
            either = self.simd.or_m64s(either, self.registers[at]);
            at += 1;
        }
        if const { size_of::<S::m64s>() == size_of::<S::u64s>() } {
            // All bits of a lane alike: joined to one word they are a single test.
            let words: S::u64s = bytemuck::cast(either);
            let words: &[u64] = bytemuck::cast_slice(std::slice::from_ref(&words));
            return words.iter().fold(0, |any, word| any | word) != 0;
        }
        if const { size_of::<S::m64s>() == 1 && S::F64_LANES == 8 } {
            // A bit a lane.
            return bytemuck::cast::<S::m64s, u8>(either) != 0;
        }
        let (one, zero) = (self.simd.splat_f64s(1.0), self.simd.splat_f64s(0.0));
        self.simd.reduce_max_f64s(self.simd.select_f64s(either, one, zero)) > 0.0
    }
    #[inline(always)]
    fn lane(self, lane: usize) -> bool {
        if const { size_of::<S::m64s>() == 1 && S::F64_LANES == 8 } {
            let bits: u8 = bytemuck::cast(self.registers[lane / 8]);
            return bits >> (lane % 8) & 1 == 1;
        }
        let width = Registers::<S, N>(self.simd);
        Packed::select(self, width.splat(1.0), width.splat(0.0)).lane(lane) > 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::{Work, plainly, side_by_side};
    use crate::numbers::lane::{Lane, Mask, Places, Width};

    /// Zeros of both signs, what is no number, and what has no end, in registers of both widths.
    struct Edges<const SHORT: bool>;

    impl<const SHORT: bool> Work for Edges<SHORT> {
        type Output = ();
        const MAY_BE_SHORT: bool = SHORT;

        fn is_short(&self) -> bool {
            SHORT
        }

        fn with<W: Width>(self, w: W) {
            let edges =
                [0.0, -0.0, 1.0, -1.0, f64::INFINITY, f64::NEG_INFINITY, f64::NAN, -f64::NAN];
            for turned in 0..edges.len() {
                let one = w.by_lane(|lane| edges[lane % edges.len()]);
                let other = w.by_lane(|lane| edges[(lane + turned) % edges.len()]);
                for lane in 0..W::LANES {
                    let (of_one, of_other) = (one.lane(lane), other.lane(lane));
                    for (many, alone) in [
                        (one.least(other), of_one.least(of_other)),
                        (one.most(other), of_one.most(of_other)),
                        (other.magnitude(), of_other.magnitude()),
                    ] {
                        assert_eq!(
                            many.lane(lane).to_bits(),
                            alone.to_bits(),
                            "{of_one} {of_other}"
                        );
                    }
                    assert_eq!(one.lt(other).lane(lane), of_one < of_other);
                }
            }
            for answer in [false, true] {
                let all = w.all(answer);
                assert_eq!(all.any(), answer);
                assert_eq!(all.not().any(), !answer);
                assert!((0..W::LANES).all(|lane| all.lane(lane) == answer));
            }
            // Where all are in one place, and where one is not.
            for last in [3.0, 5.0] {
                let places = w.by_lane(|lane| if lane + 1 == W::LANES { last } else { 3.0 });
                #[allow(clippy::cast_precision_loss)]
                let found = Places::of(places).look_up(|place| place as f64 * 10.0);
                for lane in 0..W::LANES {
                    assert_eq!(found.lane(lane), places.lane(lane) * 10.0);
                }
            }
        }
    }

    #[test]
    fn edges_are_those_of_a_single_number() {
        side_by_side(Edges::<false>);
        side_by_side(Edges::<true>);
        plainly(Edges::<false>);
    }
}
