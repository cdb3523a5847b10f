//! The generator: known answers, the layout of its counter, lanes.

use longwatch::chance::philox::{block, blocks, blocks_of_rounds, uniform};
use longwatch::chance::{Draw, Purpose};

use super::common::check;
use crate::support::figures::rows;

const SALMON: &str = "Salmon, Moraes, Dror & Shaw 2011, Random123 test vectors";

fn words<const N: usize>(text: &str) -> [u32; N] {
    let words: Vec<u32> =
        text.split_whitespace().map(|word| u32::from_str_radix(word, 16).unwrap()).collect();
    words.try_into().unwrap()
}

/// Whole words: no tolerance.
#[test]
fn known_answers() {
    let mut seven = check(SALMON, "Philox4x32-7, wrong words", "words", 0.0);
    let mut ten = check(SALMON, "Philox4x32-10, wrong words", "words", 0.0);
    for row in rows("risk/random123_kat.csv") {
        if row.text("generator") != "philox4x32" {
            continue;
        }
        let counter: [u32; 4] = words(row.text("counter_hex_words"));
        let key = words(row.text("key_hex_words"));
        let expected: [u32; 4] = words(row.text("expected_hex_words"));
        let (check, ours) = match row.text("rounds") {
            "10" => (&mut ten, block(counter, key)),
            "7" => {
                let side_by_side = counter.map(|word| [word; 3]);
                (&mut seven, blocks_of_rounds::<7, 3>(side_by_side, key).map(|word| word[2]))
            }
            rounds => panic!("{rounds} rounds"),
        };
        let wrong = ours.iter().zip(expected).filter(|(one, other)| *one != other).count();
        check.case(row.text("counter_hex_words"), wrong as f64, 0.0);
    }
    seven.done();
    ten.done();
}

/// The layout of key and counter, spelled out.
#[test]
fn layout_of_the_counter() {
    let draw = Draw {
        seed: 0x0123_4567_89ab_cdef,
        trial: 0x00aa_bbcc_1122_3344,
        day: 739_403,
        purpose: Purpose::Warning,
        block: 0x7788,
        branch: 0x99,
    };
    assert_eq!(draw.key(), [0x89ab_cdef, 0x0123_4567]);
    assert_eq!(draw.counter(), [0x1122_3344, 739_403, 0x0020_7788, 0x99aa_bbcc]);
    assert_eq!(draw.words(), block(draw.counter(), draw.key()));
    // A trial beyond 2^56 must not reach into the branch.
    let beyond = Draw { trial: draw.trial | (0xff << 56), ..draw };
    assert_eq!(beyond.counter(), draw.counter());
}

/// The number of a purpose is part of what a seed means.
#[test]
fn purposes_keep_their_numbers() {
    let numbers: Vec<u16> = Purpose::ALL.iter().map(|purpose| purpose.number()).collect();
    let settled =
        [1, 2, 3, 16, 17, 18, 32, 33, 48, 49, 50, 64, 65, 66, 80, 96, 97, 112, 113, 128, 0xffff];
    assert_eq!(numbers, settled);
}

/// `u = (2 k + 1) / 2^53`, k being the top 52 of 64 bits.
#[test]
fn uniform_rule() {
    let unit = 1.0 / (1_u64 << 53) as f64;
    assert_eq!(uniform(0, 0), unit);
    assert_eq!(uniform(0, 0x0fff), unit);
    assert_eq!(uniform(0, 0x1000), 3.0 * unit);
    assert_eq!(uniform(0x8000_0000, 0), 0.5 + unit);
    assert_eq!(uniform(u32::MAX, u32::MAX), 1.0 - unit);
    for trial in 0..100_000 {
        let draw = Draw::new(7, trial, 0, Purpose::Check);
        let [a, b, c, d] = draw.words();
        for (deviate, high, low) in [(draw.pair()[0], a, b), (draw.pair()[1], c, d)] {
            let k = ((u64::from(high) << 32) | u64::from(low)) >> 12;
            assert_eq!(deviate, (2 * k + 1) as f64 * unit);
            // One less a deviate is a deviate again, without rounding.
            assert_eq!(1.0 - (1.0 - deviate), deviate);
        }
    }
}

fn lanes_agree<const N: usize>(first: u64) {
    let draw = Draw { block: 3, branch: 2, ..Draw::new(99, first, 739_000, Purpose::Sky) };
    let in_lanes = draw.pair_in_lanes::<N>();
    let scattered: [u64; N] = std::array::from_fn(|lane| first ^ (lane as u64 * 0x1_0000_0007));
    let of_trials = draw.pair_of_trials(scattered);
    for (lane, trial) in scattered.into_iter().enumerate() {
        let follows = Draw { trial: first.wrapping_add(lane as u64), ..draw }.pair();
        let named = Draw { trial, ..draw }.pair();
        for deviate in 0..2 {
            assert_eq!(in_lanes[deviate].0[lane].to_bits(), follows[deviate].to_bits());
            assert_eq!(of_trials[deviate].0[lane].to_bits(), named[deviate].to_bits());
        }
    }
}

/// Side by side the bits are those of the single draw, across the ends of the words too.
#[test]
fn lanes_have_the_bits_of_single_draws() {
    for first in [0, 12_345, u64::from(u32::MAX) - 2, (1 << 40) - 3, (1 << 56) - 2, u64::MAX] {
        lanes_agree::<1>(first);
        lanes_agree::<2>(first);
        lanes_agree::<4>(first);
        lanes_agree::<8>(first);
        lanes_agree::<16>(first);
    }
    let counters: [[u32; 5]; 4] = std::array::from_fn(|word| {
        std::array::from_fn(|lane| (word * 1_000_003 + lane * 77_777_777) as u32)
    });
    let side_by_side = blocks(counters, [5, 6]);
    for lane in 0..5 {
        let single = block(counters.map(|word| word[lane]), [5, 6]);
        assert_eq!(side_by_side.map(|word| word[lane]), single);
    }
}

/// Four at once are two pairs.
#[test]
fn four_are_two_pairs() {
    for block in [0, 9, u16::MAX] {
        let draw = Draw::new(1, 2, 3, Purpose::Storm).with_block(block);
        let next = draw.with_block(block.wrapping_add(1));
        let four = draw.four();
        assert_eq!(four[..2], draw.pair());
        assert_eq!(four[2..], next.pair());
    }
}
