//! Philox4x32-10: random numbers looked up by a counter, not drawn in sequence.
//!
//! Model: J. K. Salmon, M. A. Moraes, R. O. Dror and D. E. Shaw, "Parallel random numbers: as easy
//! as 1, 2, 3", Proc. SC11 (2011): a 128-bit counter goes through ten rounds under a 64-bit key.
//! One round on the words (c0, c1, c2, c3) with the keys (k0, k1), H and L being the high and low
//! 32 bits of a product:
//! `c0' = H(M1 c2) ^ c1 ^ k0, c1' = L(M1 c2), c2' = H(M0 c0) ^ c3 ^ k1, c3' = L(M0 c0)`;
//! after each round both keys grow by a constant. Nothing is kept between two blocks, so any trial
//! can be replayed alone, on any thread, in any order. Trust: exact (published known answers).
//!
//! A uniform deviate is made of 64 bits thus: the top 52 bits are a whole number k, and
//! `u = (2 k + 1) / 2^53`. These are the 53-bit fractions with an odd last bit: never 0, never 1,
//! as many below one half as above, and `1 - u` is one of them again.

/// Multipliers of the two halves (Salmon et al. 2011).
const MULTIPLIER: [u64; 2] = [0xd251_1f53, 0xcd9e_8d57];
/// What each key grows by: the golden ratio and the square root of 3 less 1.
const KEY_STEP: [u32; 2] = [0x9e37_79b9, 0xbb67_ae85];
const LOWER: u64 = 0xffff_ffff;
/// The rounds of Philox4x32-10.
pub const ROUNDS: usize = 10;

/// `N` blocks side by side under one key: word `w` of block `n` is `[w][n]`.
#[must_use]
#[inline(always)]
pub fn blocks<const N: usize>(counters: [[u32; N]; 4], key: [u32; 2]) -> [[u32; N]; 4] {
    blocks_of_rounds::<ROUNDS, N>(counters, key)
}

/// One block.
#[must_use]
#[inline(always)]
pub fn block(counter: [u32; 4], key: [u32; 2]) -> [u32; 4] {
    blocks(counter.map(|word| [word]), key).map(|[word]| word)
}

/// As [`blocks`], with any number of rounds. Seven are the fewest that pass the tests of the
/// authors; published answers exist for seven and ten.
#[must_use]
#[inline(always)]
#[allow(clippy::cast_possible_truncation)]
pub fn blocks_of_rounds<const R: usize, const N: usize>(
    counters: [[u32; N]; 4],
    key: [u32; 2],
) -> [[u32; N]; 4] {
    long_words::<R, N>(counters, key).map(|word| word.map(|bits| bits as u32))
}

/// The words, each in the lower half of 64 bits; the upper half is of no meaning.
///
/// So the products stay where they are made, and two lanes (or four, or eight) share one multiply
/// instruction. Cutting the words to 32 bits here costs as much as all the rounds.
#[inline(always)]
pub(super) fn long_words<const R: usize, const N: usize>(
    counters: [[u32; N]; 4],
    key: [u32; 2],
) -> [[u64; N]; 4] {
    let [mut c0, mut c1, mut c2, mut c3] = counters.map(|word| word.map(u64::from));
    let [mut k0, mut k1] = key;
    for _ in 0..R {
        for lane in 0..N {
            let first = MULTIPLIER[0] * (c0[lane] & LOWER);
            let second = MULTIPLIER[1] * (c2[lane] & LOWER);
            c0[lane] = (second >> 32) ^ c1[lane] ^ u64::from(k0);
            c1[lane] = second;
            c2[lane] = (first >> 32) ^ c3[lane] ^ u64::from(k1);
            c3[lane] = first;
        }
        k0 = k0.wrapping_add(KEY_STEP[0]);
        k1 = k1.wrapping_add(KEY_STEP[1]);
    }
    [c0, c1, c2, c3]
}

/// The uniform deviate of 64 bits, in (0, 1), both ends left out.
#[must_use]
#[inline(always)]
pub fn uniform(high: u32, low: u32) -> f64 {
    uniform_of_long(u64::from(high), u64::from(low))
}

/// As [`uniform`], of [`long_words`].
#[inline(always)]
pub(super) fn uniform_of_long(high: u64, low: u64) -> f64 {
    let top_52 = ((high & LOWER) << 20) | ((low & LOWER) >> 12);
    // 1 + k / 2^52 by its bits, less 1 - 1 / 2^53: the difference needs no rounding.
    f64::from_bits(0x3ff0_0000_0000_0000 | top_52) - (1.0 - f64::EPSILON / 2.0)
}
