//! The list of retired phrases can fail, and leaves plain English alone.

use crate::support::retired::{RETIRED, found, long_sentences};

/// Sentences as they once stood in the program.
const PLANTED: [&str; 12] = [
    "On the air for all 72 hours in 7,425 of 10,000 storms.",
    "The station goes dark before the second morning.",
    "Dark for 1,811 of 4,344 hours, first on Wednesday.",
    "The readiness is 74 %.",
    "Each tier is held in 95 of 100 skies.",
    "Key of the random numbers: the same trials wherever it is the same.",
    "The pre-flight examines every wire before anybody connects anything.",
    "Below 10.2 V the board opens and takes the loads off.",
    "Keying until Thursday 20:00, minutes an hour.",
    "The club is down for 0.73 h on the mean.",
    "The hand method says 600 W and 400 Ah.",
    "Lose each part in turn, move each guess: what hurts most.",
];

/// Sentences that stay.
const PLAIN: [&str; 12] = [
    "On the air in 9,683 of 10,000 simulated outages.",
    "Storms dim the sun and take the mains together.",
    "A dark spell is several days with little light.",
    "Mains is utility power from the grid.",
    "The tier \"silent, ready\" is one that a user named.",
    "The key `preflight` and the phrase `hand method` are code here.",
    "The column dark_h is a name of a column.",
    "A vehicle has an engine of its own.",
    "The wire carries current to the radio.",
    "Set the thresholds again before you buy a battery.",
    "`odds` counts how many trials stay on the air.",
    "Tools burn, and rings weld, when they cross the poles.",
];

#[test]
fn planted_sentences_are_found() {
    for sentence in PLANTED {
        assert!(!found(sentence).is_empty(), "not found: {sentence}");
    }
}

#[test]
fn plain_sentences_are_left_alone() {
    for sentence in PLAIN {
        assert!(found(sentence).is_empty(), "{sentence}: {:?}", found(sentence));
    }
}

#[test]
fn every_phrase_is_found_where_it_stands() {
    for retired in RETIRED {
        let sentence = format!("Here {} stands again.", retired.phrase.replace('#', "9,683"));
        let names = found(&sentence);
        assert!(names.iter().any(|it| it.contains(retired.phrase)), "{sentence}: {names:?}");
        assert!(!retired.plain.is_empty());
    }
}

#[test]
fn phrases_are_found_across_lines_and_marks() {
    assert!(!found("It fails in 12 of 100\nstorms, as told.").is_empty());
    assert!(!found("The (pre-flight) finds it.").is_empty());
    assert!(found("```\nreadiness\n```\n").is_empty());
}

#[test]
fn long_sentences_are_counted() {
    let twenty = ["word"; 20].join(" ");
    assert!(long_sentences(&format!("{twenty}. {twenty}."), 20).is_empty());
    assert_eq!(long_sentences(&format!("{twenty} more."), 20).len(), 1);
    assert!(
        long_sentences(&format!("- {twenty}\n- {twenty}\n\n| {twenty} | more |"), 20).is_empty()
    );
    assert!(long_sentences(&format!("## A heading\n{twenty}"), 20).is_empty());
    assert_eq!(long_sentences(&format!("- {twenty}\n  more\n"), 20).len(), 1);
}
