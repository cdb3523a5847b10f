//! Parts of trials: whatever the cut, the same bytes; what does not belong together is refused.

use longwatch::decide::odds::shard::FORMAT;
use longwatch::decide::odds::{Answers, Odds, Part, Shard, join};
use longwatch::simulate::trials::Gather as _;
use proptest::prelude::*;

use super::invented::Station;

fn text<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_string(value).unwrap()
}

fn station() -> Station {
    // Lean, so that many trials fail, and with a generator, so that fuel is there to be summed.
    Station { hours: 30, load_w: 125.0, generator: true, ..Station::january() }
}

#[test]
fn the_trials_to_be_joined_hold_something_of_everything() {
    let whole = station().gather(0..120);
    let (failures, stayed) = (whole.tally.failures(), whole.tally.successes());
    assert!(failures > 20 && stayed > 20, "{failures} of {stayed}");
    assert!(whole.fuel_l.total() > 0.0 && whole.unserved_wh.total() > 0.0);
    assert!((1..120).contains(&whole.recharge_min.count()), "{}", whole.recharge_min.count());
}

fn shards(station: &Station, trials: u64, of: u64) -> Vec<(String, Shard)> {
    let subject = station.subject(trials);
    (1..=of)
        .map(|number| {
            let part = Part { number, of };
            let answers = station.gather(part.trials(trials));
            let shard = Shard { shard_format: FORMAT, part, subject: subject.clone(), answers };
            // Through a file, as between two machines.
            let read: Shard = serde_json::from_str(&text(&shard)).unwrap();
            assert_eq!(read, shard);
            (format!("part-{number}.json"), read)
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn blocks_join_to_the_bytes_of_the_whole(
        trials in 0..120_u64,
        mut cuts in prop::collection::vec(0..120_u64, 0..6),
        backwards: bool,
    ) {
        let station = station();
        let whole = station.gather(0..trials);
        for cut in &mut cuts {
            *cut = (*cut).min(trials);
        }
        cuts.extend([0, trials]);
        cuts.sort_unstable();
        let mut blocks: Vec<Answers> =
            cuts.windows(2).map(|pair| station.gather(pair[0]..pair[1])).collect();
        if backwards {
            blocks.reverse();
        }
        let mut joined = Answers::empty(station.shape()).unwrap();
        for block in blocks {
            joined.join(block);
        }
        prop_assert_eq!(text(&joined), text(&whole));
        prop_assert!(whole.is_sound());
        let subject = station.subject(trials);
        let odds = |answers| text(&Odds::of(&subject, answers, None));
        prop_assert_eq!(odds(&joined), odds(&whole));
    }

    #[test]
    fn parts_join_to_the_bytes_of_the_whole(trials in 1..150_u64, of in 1..9_u64, turn in 0..9_usize) {
        let station = station();
        let mut shards = shards(&station, trials, of);
        let turn = turn % shards.len();
        shards.rotate_left(turn);
        let (subject, answers) = join(shards).unwrap();
        prop_assert_eq!(&subject, &station.subject(trials));
        prop_assert_eq!(text(&answers), text(&station.gather(0..trials)));
    }

    #[test]
    fn parts_share_the_trials_between_them(trials: u64, of in 1..=10_000_u64) {
        let parts = (1..=of).map(|number| Part { number, of }.trials(trials));
        let mut next = 0;
        for range in parts {
            prop_assert_eq!(range.start, next);
            prop_assert!(range.end >= range.start);
            prop_assert!(range.end - range.start <= trials / of + 1);
            next = range.end;
        }
        prop_assert_eq!(next, trials);
    }
}

fn refused(change: impl FnOnce(&mut Vec<(String, Shard)>)) -> String {
    let mut shards = shards(&station(), 50, 3);
    change(&mut shards);
    join(shards).map(|_| ()).unwrap_err().join("\n")
}

#[test]
fn what_does_not_belong_together_is_refused_in_words() {
    let says = |said: String, words: &str| assert!(said.contains(words), "{said}");
    says(
        refused(|shards| shards[1].1.subject.seed = 7),
        "the seed of `part-2.json` is 7, that of `part-1.json` is 20260601",
    );
    says(
        refused(|shards| shards[2].1.subject.version = "9.9.9".to_owned()),
        "the version of longwatch of `part-3.json` is 9.9.9, that of `part-1.json` is 0.1.0",
    );
    says(
        refused(|shards| shards[1].1.subject.scenario_sha256 = "00".repeat(32)),
        "`part-2.json` and `part-1.json` are of different scenarios: something in the file",
    );
    says(
        refused(|shards| {
            shards[1].1.subject.scenario_sha256 = "00".repeat(32);
            shards[1].1.subject.title = "Another hall".to_owned();
        }),
        "the scenario of `part-2.json` is \"Another hall\" under \"charger on\"",
    );
    says(refused(|shards| shards[1].1.subject.capacity_ah = 1.0), "differ in what they say");
    says(
        refused(|shards| {
            *shards = [self::shards(&station(), 50, 3), self::shards(&station(), 50, 2)].concat();
        }),
        "the number of parts of `part-1.json` is 2, that of `part-1.json` is 3",
    );
    says(
        refused(|shards| shards[1] = self::shards(&station(), 60, 3).remove(1)),
        "the number of trials of `part-2.json` is 60",
    );
    says(refused(|shards| drop(shards.remove(1))), "part 2 of 3 is missing");
    says(refused(|shards| shards.truncate(1)), "parts 2, 3 of 3 are missing");
    says(
        refused(|shards| shards[1] = shards[0].clone()),
        "part 1 of 3 is there 2 times: `part-1.json`, `part-1.json`\npart 2 of 3 is missing",
    );
    says(
        refused(|shards| shards[1].1.answers = station().gather(16..20)),
        "`part-2.json` ended early, after 4 of its 17 trials; run part 2 of 3 again",
    );
    says(
        refused(|shards| shards[1].1.answers = station().gather(16..40)),
        "`part-2.json` holds 24 trials, part 2 of 3 has 17",
    );
    says(
        refused(|shards| shards[0].1.shard_format = 3),
        "has shard_format 3, this program reads 2",
    );
    says(refused(|shards| shards[0].1.part.number = 4), "says it is part 4 of 3, which cannot be");
    says(refused(Vec::clear), "there is no part to join");
}

/// Files of parts are written by programs but carried by people.
#[test]
fn a_part_whose_numbers_do_not_agree_is_damaged() {
    let damage: [&dyn Fn(&mut Shard); 7] = [
        &|it| it.answers.causes.fuel += 1,
        &|it| it.answers.charge.truncate(3),
        &|it| it.answers.tier_h.clear(),
        &|it| it.answers.first_failing = None,
        &|it| it.answers.worst = None,
        &|it| it.answers.lowest.add(0, 0),
        &|it| it.subject.tiers.clear(),
    ];
    for change in damage {
        let said = refused(|shards| change(&mut shards[0].1));
        assert!(said.contains("do not agree with each other: it is damaged"), "{said}");
    }
    let text = text(&shards(&station(), 20, 1)[0].1);
    for (from, to) in [
        ("\"steps\":30", "\"steps\":99999999999"),
        ("\"step_h\":1.0", "\"step_h\":0.0"),
        ("\"steps\":30", "\"steps\":0"),
    ] {
        assert!(text.contains(from), "{from}");
        let shard: Shard = serde_json::from_str(&text.replace(from, to)).unwrap();
        assert!(join(vec![("x.json".to_owned(), shard)]).is_err(), "{to}");
    }
}
