//! Parts of the trials, computed apart, and how they become whole again.
//!
//! Part i of n holds the trials from `N (i - 1) / n` on up to, without, `N i / n`, rounded down. A
//! trial depends on seed and number alone and everything gathered is a whole number, so the parts
//! join to the very bytes of the undivided run. What does not belong together is refused.

use std::collections::BTreeMap;
use std::ops::Range;

use serde::{Deserialize, Serialize};

use super::answers::Answers;
use super::subject::Subject;

/// Version of the file of a part.
pub const FORMAT: u32 = 2;

/// Part `number` of `of`, numbers from 1 on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Which part, from 1 on.
    pub number: u64,
    /// Of how many.
    pub of: u64,
}

/// Most parts.
pub const MOST_PARTS: u64 = 10_000;

impl Part {
    /// All of it.
    pub const WHOLE: Self = Self { number: 1, of: 1 };

    /// Its trials, of so many.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)]
    pub fn trials(self, of_trials: u64) -> Range<u64> {
        let begin = |part: u64| {
            let share = u128::from(of_trials) * u128::from(part) / u128::from(self.of.max(1));
            share as u64
        };
        begin(self.number.saturating_sub(1))..begin(self.number)
    }
}

/// The file of a part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shard {
    /// Version of this file; 2.
    pub shard_format: u32,
    /// Which part.
    pub part: Part,
    /// What the trials are trials of.
    pub subject: Subject,
    /// What was gathered.
    pub answers: Answers,
}

/// Puts parts together, each with the name of its file.
///
/// # Errors
/// Everything that does not belong together, in sentences.
pub fn join(shards: Vec<(String, Shard)>) -> Result<(Subject, Answers), Vec<String>> {
    let mut problems = Vec::new();
    let Some((first_file, first)) = shards.first() else {
        return Err(vec!["there is no part to join".to_owned()]);
    };
    for (file, shard) in &shards {
        problems.extend(of_itself(file, shard));
        problems.extend(unlike((first_file, first), (file, shard)));
    }
    if problems.is_empty() {
        problems.extend(missing_or_twice(&shards));
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut parts = shards.into_iter();
    let Some((_, whole)) = parts.next() else { return Err(problems) };
    let (subject, mut answers) = (whole.subject, whole.answers);
    for (file, shard) in parts {
        if let Err(problem) = answers.merge(&shard.answers) {
            return Err(vec![format!("`{file}` cannot be added: {problem}")]);
        }
    }
    Ok((subject, answers))
}

/// What is wrong with one part alone.
fn of_itself(file: &str, shard: &Shard) -> Vec<String> {
    let Part { number, of } = shard.part;
    let mut problems = Vec::new();
    if shard.shard_format != FORMAT {
        let found = shard.shard_format;
        problems.push(format!("`{file}` has shard_format {found}, this program reads {FORMAT}"));
    }
    if !(1..=MOST_PARTS).contains(&of) || !(1..=of).contains(&number) {
        problems.push(format!("`{file}` says it is part {number} of {of}, which cannot be"));
        return problems;
    }
    let same_shape = shard.answers.shape() == shard.subject.shape;
    if !shard.answers.is_sound()
        || !same_shape
        || shard.subject.tiers.len() != shard.subject.shape.tiers
    {
        problems
            .push(format!("the numbers in `{file}` do not agree with each other: it is damaged"));
        return problems;
    }
    let trials = shard.part.trials(shard.subject.trials_asked);
    let (asked, done) = (trials.end - trials.start, shard.answers.trials_seen());
    if done < asked {
        problems.push(format!(
            "`{file}` ended early, after {done} of its {asked} trials; run part {number} of {of} again"
        ));
    } else if done > asked {
        problems.push(format!("`{file}` holds {done} trials, part {number} of {of} has {asked}"));
    }
    problems
}

/// How a part differs from the first.
fn unlike((first_file, first): (&str, &Shard), (file, shard): (&str, &Shard)) -> Option<String> {
    let (one, two) = (&first.subject, &shard.subject);
    let differ = |what: &str, one: &dyn std::fmt::Display, two: &dyn std::fmt::Display| {
        Some(format!("{what} of `{file}` is {two}, that of `{first_file}` is {one}"))
    };
    if one.version != two.version {
        return differ("the version of longwatch", &one.version, &two.version);
    }
    if one.scenario_sha256 != two.scenario_sha256 {
        let same_title = one.title == two.title && one.strategy == two.strategy;
        return if same_title {
            Some(format!(
                "`{file}` and `{first_file}` are of different scenarios: something in \
                the file \"{}\" or in a file that it names has changed between them",
                one.title
            ))
        } else {
            let say = |it: &Subject| format!("\"{}\" under \"{}\"", it.title, it.strategy);
            differ("the scenario", &say(one), &say(two))
        };
    }
    if one.strategy != two.strategy {
        return differ("the strategy", &one.strategy, &two.strategy);
    }
    if one.seed != two.seed {
        return differ("the seed", &one.seed, &two.seed);
    }
    if one.trials_asked != two.trials_asked {
        return differ("the number of trials", &one.trials_asked, &two.trials_asked);
    }
    if first.part.of != shard.part.of {
        return differ("the number of parts", &first.part.of, &shard.part.of);
    }
    (one != two)
        .then(|| format!("`{file}` and `{first_file}` differ in what they say of the scenario"))
}

/// Parts that stand there twice, and those that are not there.
fn missing_or_twice(shards: &[(String, Shard)]) -> Vec<String> {
    let mut files: BTreeMap<u64, Vec<&str>> = BTreeMap::new();
    for (file, shard) in shards {
        files.entry(shard.part.number).or_default().push(file);
    }
    let of = shards.first().map_or(1, |(_, shard)| shard.part.of);
    let mut problems: Vec<String> = files
        .iter()
        .filter(|(_, named)| named.len() > 1)
        .map(|(number, named)| {
            format!(
                "part {number} of {of} is there {} times: `{}`",
                named.len(),
                named.join("`, `")
            )
        })
        .collect();
    let missing: Vec<String> =
        (1..=of).filter(|number| !files.contains_key(number)).map(|it| it.to_string()).collect();
    let (shown, rest) = missing.split_at(missing.len().min(10));
    let more = if rest.is_empty() { String::new() } else { format!(" and {} more", rest.len()) };
    match missing.len() {
        0 => {}
        1 => problems.push(format!("part {} of {of} is missing", shown.join(""))),
        _ => problems.push(format!("parts {}{more} of {of} are missing", shown.join(", "))),
    }
    problems
}
