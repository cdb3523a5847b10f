//! The standard normal law: deviate of a chance, chance of a deviate.
//!
//! Deviate: M. J. Wichura, "Algorithm AS 241: the percentage points of the normal distribution",
//! Applied Statistics 37, 477 (1988), routine PPND16: one ratio of polynomials for chances within
//! 0.425 of one half, two for the tails in `r = sqrt(-ln(chance of the tail))`. Stated error there
//! about 1e-16 relative; here, with the logarithm of `numbers`, below 1.5e-15 (tested).
//!
//! Chance: `P(X <= -x) = exp(-x^2/2) R(x)` for x >= 0, where R is the tail over the bell; R is a
//! ratio of polynomials of degree 8 and 9 fitted for the least largest relative error on 0 to 13
//! to 60-digit values of the complementary error function (1.0e-16 before rounding; all
//! coefficients are positive, so nothing cancels). The square is rounded before the exponential:
//! relative error below 1e-15 within 3, below 8e-15 to 12.6 (tested); absolute below 3e-16.
//! Beyond 12.6 the tail stays at about 6e-37.
//!
//! Both are written over lanes: branches only skip work whose result no lane takes, so a lane has
//! the bits of the single value. Trust: checked against published values.

// Wichura's coefficients stand as published.
#![allow(clippy::excessive_precision)]

use crate::numbers::elementary::{exp_of_minus, natural_log};
use crate::numbers::lane::{Lane, Mask, Width};

/// Standard normal deviate of a chance in (0, 1). The deviate rises with the chance.
///
/// Wichura 1988, PPND16. A chance of 0 or 1 or outside gives no meaningful number.
#[must_use]
#[inline(always)]
pub fn normal_deviate<L: Lane>(chance: L) -> L {
    let w = chance.width();
    let off = chance - w.splat(0.5);
    let central = off.magnitude().le(w.splat(0.425));
    let r = w.splat(0.180_625) - off * off;
    let mut over = off * polynomial(r, CENTRAL_OVER);
    let mut under = polynomial(r, CENTRAL_UNDER);
    let outer = central.not();
    if outer.any() {
        let lower = off.lt(w.splat(0.0));
        let tail = L::select(lower, chance, w.splat(1.0) - chance);
        let r = (-tail.map(natural_log)).sqrt();
        let near = r - w.splat(1.6);
        let mut tail_over = polynomial(near, NEAR_OVER);
        let mut tail_under = polynomial(near, NEAR_UNDER);
        let far = outer.and(r.gt(w.splat(5.0)));
        if far.any() {
            let further = r - w.splat(5.0);
            tail_over = L::select(far, polynomial(further, FAR_OVER), tail_over);
            tail_under = L::select(far, polynomial(further, FAR_UNDER), tail_under);
        }
        over = L::select(central, over, L::select(lower, -tail_over, tail_over));
        under = L::select(central, under, tail_under);
    }
    over / under
}

/// Chance that a standard normal deviate is at most `deviate`, 0 to 1.
///
/// Own fit, see the head of the module. Not a number stays so.
#[must_use]
#[inline(always)]
pub fn normal_cumulative<L: Lane>(deviate: L) -> L {
    let w = deviate.width();
    let size = deviate.magnitude();
    // Beyond 13 the fit is not needed: the exponential has reached its floor.
    let within = L::select(w.splat(13.0).lt(size), w.splat(13.0), size);
    let bell = (size * size * w.splat(0.5)).map(exp_of_minus);
    let tail = bell * polynomial(within, MILLS_OVER) / polynomial(within, MILLS_UNDER);
    L::select(deviate.gt(w.splat(0.0)), w.splat(1.0) - tail, tail)
}

/// Horner's rule, highest power first.
#[inline(always)]
fn polynomial<L: Lane, const K: usize>(x: L, coefficients: [f64; K]) -> L {
    let w = x.width();
    let mut sum = w.splat(coefficients[0]);
    for coefficient in &coefficients[1..] {
        sum = sum * x + w.splat(*coefficient);
    }
    sum
}

// Wichura 1988, highest power first.
const CENTRAL_OVER: [f64; 8] = [
    2.509_080_928_730_122_672_7e3,
    3.343_057_558_358_812_810_5e4,
    6.726_577_092_700_870_085_3e4,
    4.592_195_393_154_987_145_7e4,
    1.373_169_376_550_946_112_5e4,
    1.971_590_950_306_551_442_7e3,
    1.331_416_678_917_843_774_5e2,
    3.387_132_872_796_366_608,
];
const CENTRAL_UNDER: [f64; 8] = [
    5.226_495_278_852_854_561e3,
    2.872_908_573_572_194_267_4e4,
    3.930_789_580_009_271_061e4,
    2.121_379_430_158_659_586_7e4,
    5.394_196_021_424_751_107_7e3,
    6.871_870_074_920_579_083e2,
    4.231_333_070_160_091_125_2e1,
    1.0,
];
const NEAR_OVER: [f64; 8] = [
    7.745_450_142_783_414_076_4e-4,
    2.272_384_498_926_918_458_33e-2,
    2.417_807_251_774_506_117_7e-1,
    1.270_458_252_452_368_382_58,
    3.647_848_324_763_204_605_04,
    5.769_497_221_460_691_405_5,
    4.630_337_846_156_545_295_9,
    1.423_437_110_749_683_577_34,
];
const NEAR_UNDER: [f64; 8] = [
    1.050_750_071_644_416_843_24e-9,
    5.475_938_084_995_344_946e-4,
    1.519_866_656_361_645_719_66e-2,
    1.481_039_764_274_800_745_9e-1,
    6.897_673_349_851_000_045_5e-1,
    1.676_384_830_183_803_849_4,
    2.053_191_626_637_758_821_87,
    1.0,
];
const FAR_OVER: [f64; 8] = [
    2.010_334_399_292_288_132_65e-7,
    2.711_555_568_743_487_578_15e-5,
    1.242_660_947_388_078_438_6e-3,
    2.653_218_952_657_612_309_3e-2,
    2.965_605_718_285_048_912_3e-1,
    1.784_826_539_917_291_335_8,
    5.463_784_911_164_114_369_9,
    6.657_904_643_501_103_777_2,
];
const FAR_UNDER: [f64; 8] = [
    2.044_263_103_389_939_785_64e-15,
    1.421_511_758_316_445_888_7e-7,
    1.846_318_317_510_054_681_8e-5,
    7.868_691_311_456_132_591e-4,
    1.487_536_129_085_061_485_25e-2,
    1.369_298_809_227_358_053_1e-1,
    5.998_322_065_558_879_376_9e-1,
    1.0,
];

// The tail over the bell, fitted here; highest power first.
const MILLS_OVER: [f64; 9] = [
    5.138_137_596_359_994e-6,
    0.000_127_737_331_444_926_92,
    0.001_526_315_791_575_024_8,
    0.011_320_229_432_406_289,
    0.056_714_400_510_472_364,
    0.196_479_134_141_985_62,
    0.461_872_763_542_527_76,
    0.681_922_433_564_945_5,
    0.5,
];
const MILLS_UNDER: [f64; 10] = [
    1.287_940_093_775_205_5e-5,
    0.000_320_190_010_897_633_15,
    0.003_838_785_516_937_45,
    0.028_695_803_381_232_413,
    0.145_961_933_814_721_75,
    0.520_237_544_690_153_3,
    1.292_354_784_693_045_4,
    2.148_556_062_265_25,
    2.161_729_427_932_775_2,
    1.0,
];
