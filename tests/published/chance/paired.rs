//! Differences and tests of the same trials for two stations.

use longwatch::chance::intervals::{
    Confidence, Paired, clopper_pearson, mcnemar_exact_p, mcnemar_mid_p, newcombe_difference,
};
use longwatch::chance::merge::Tally;

use super::common::{check, count, json, list, number, statistics};

const SCIPY: &str = "scipy 1.17.1 and statsmodels 0.15.0, agreeing to 1e-12";

/// Sixteen digits are given.
#[test]
fn mcnemar() {
    let mut exact = check(SCIPY, "McNemar exact two-sided p, relative", "1", 1e-12);
    let mut middle = check(SCIPY, "McNemar mid-p, relative", "1", 1e-12);
    let mut shares = check(SCIPY, "interval of the share of A among unlike trials", "1", 1e-12);
    for case in statistics("mcnemar") {
        let (a, b) = (count(&case["only_A_fails"]), count(&case["only_B_fails"]));
        let name = format!("{a} and {b}");
        exact.relative(&name, mcnemar_exact_p(a, b), number(&case["exact_two_sided_p"]));
        // They take the mid-p from a difference near 1: 16 decimals, not 16 digits.
        middle.relative(&name, mcnemar_mid_p(a, b), number(&case["mid_p"]));
        let interval = clopper_pearson(Tally::of(a, b).unwrap(), Confidence::NINETY_FIVE);
        let theirs = &case["discordant_share_cp95"];
        shares.case(&name, interval.low, number(&theirs[0]));
        shares.case(&name, interval.high, number(&theirs[1]));
    }
    exact.done();
    middle.done();
    shares.done();
}

#[test]
fn newcombe() {
    let mut check = check(SCIPY, "paired difference, square and add, both ends", "1", 1e-12);
    for case in statistics("paired_difference") {
        let cell = |key: &str| count(&case[key]);
        let paired = Paired {
            both: cell("both_ok"),
            only_a: cell("only_A_ok"),
            only_b: cell("only_B_ok"),
            neither: cell("both_fail"),
        };
        let ours = newcombe_difference(paired, Confidence::NINETY_FIVE).unwrap();
        let name = format!("{paired:?}");
        check.case(&name, ours.difference, number(&case["diff_A_minus_B"]));
        check.case(&name, ours.low, number(&case["newcombe10_lo"]));
        check.case(&name, ours.high, number(&case["newcombe10_hi"]));
    }
    check.done();
}

/// What stands in print, to half a unit of its last place.
#[test]
fn printed_table() {
    let book = "Fagerland, Lydersen & Laake 2017, table 59/6/16/80";
    let mut difference = check(book, "difference and its square-and-add interval", "1", 5e-5);
    let mut tests = check(book, "McNemar exact p and mid-p", "1", 5e-6);
    let published = list(&json("risk/mc_statistics.json")["published_values"]);
    let theirs = &published[2];
    let paired = Paired { both: 59, only_a: 6, only_b: 16, neither: 80 };
    let ours = newcombe_difference(paired, Confidence::NINETY_FIVE).unwrap();
    difference.case("difference", ours.difference, number(&theirs["difference"]));
    let ends = &theirs["newcombe_square_and_add"];
    difference.case("low", ours.low, number(&ends[0]));
    difference.case("high", ours.high, number(&ends[1]));
    tests.case("exact", mcnemar_exact_p(6, 16), number(&theirs["mcnemar_exact_p"]));
    tests.case("mid", mcnemar_mid_p(6, 16), number(&theirs["mcnemar_midp"]));
    difference.done();
    tests.done();
}

/// Swapping the stations swaps the ends; nothing known is everything possible.
#[test]
fn edges() {
    let level = Confidence::NINETY_FIVE;
    let one = Paired { both: 900, only_a: 70, only_b: 20, neither: 10 };
    let other = Paired { only_a: one.only_b, only_b: one.only_a, ..one };
    let (one, other) =
        (newcombe_difference(one, level).unwrap(), newcombe_difference(other, level).unwrap());
    assert_eq!(one.difference, -other.difference);
    assert!((one.low + other.high).abs() < 1e-15 && (one.high + other.low).abs() < 1e-15);
    let nothing = newcombe_difference(Paired::default(), level).unwrap();
    assert_eq!((nothing.low, nothing.high), (-1.0, 1.0));
    let always = Paired { both: 10_000_000, ..Paired::default() };
    let always = newcombe_difference(always, level).unwrap();
    assert!(always.low < 0.0 && always.high > 0.0 && always.high < 1e-6);
    let too_many = Paired { both: u64::MAX, only_a: u64::MAX, ..Paired::default() };
    assert!(newcombe_difference(too_many, level).is_err());
    assert_eq!(mcnemar_exact_p(0, 0), 1.0);
    assert!(mcnemar_exact_p(5_000_000, 4_000_000) < 1e-300);
}
