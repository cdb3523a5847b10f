//! `merge`: parts of trials become the whole, to the byte what one run would have written.

use std::path::Path;

use super::files;
use super::folder::Work;
use super::odds::replay;
use super::odds::results::{Wanted, tell_and_write};
use super::screen::Beside;
use crate::cli::{InForceArgs, MergeArgs};
use crate::decide::odds::{FORMAT, Shard, join};
use crate::error::Error;

/// Runs the command.
///
/// # Errors
/// When a part cannot be read, parts do not belong together, or a result cannot be written.
pub fn run(args: &MergeArgs) -> Result<(), Error> {
    let mut shards = Vec::new();
    let mut problems = Vec::new();
    for path in &args.shards {
        match read(path)? {
            Ok(shard) => shards.push((path.display().to_string(), shard)),
            Err(problem) => problems.push(problem),
        }
    }
    let joined = if problems.is_empty() { join(shards) } else { Err(problems) };
    let (subject, answers) =
        joined.map_err(|problems| Error::CommandLine(problems.join("\n       ")))?;
    let to = &args.results;
    let work = Work {
        command: "merge",
        strategies: std::slice::from_ref(&subject.strategy),
        variants: subject.variant.as_slice(),
        ..Work::default()
    };
    let folder = work.folder(to.out.as_ref(), &subject.name);
    let wanted =
        Wanted { folder, inputs: args.shards.clone(), json: to.json, charts: !to.no_charts };
    // Parts do not say where the scenario lies, nor whether this is the strategy it names itself.
    let scenario = format!("{}.json", subject.name);
    let in_force =
        InForceArgs { strategy: Some(subject.strategy.clone()), variant: subject.variant.clone() };
    let replay = replay(Path::new(&scenario), &in_force, subject.seed);
    let mut beside = Beside::of(to);
    beside.warn_plainly(&subject.warnings);
    tell_and_write(&subject, &answers, None, &wanted, &replay, beside)
}

/// What is asked of a part before anything else.
#[derive(serde::Deserialize)]
struct OfFormat {
    shard_format: u32,
}

/// The part in a file, or what is wrong with it.
fn read(path: &Path) -> Result<Result<Shard, String>, Error> {
    let text = files::read_text(path)?;
    // Parts of another format have other keys: one sentence says so, not the first key that differs.
    if let Ok(OfFormat { shard_format }) = serde_json::from_str(&text)
        && shard_format != FORMAT
    {
        return Ok(Err(format!(
            "`{}` has shard_format {shard_format}, and this longwatch merges parts of shard_format \
             {FORMAT}: compute it again with `odds --shard`",
            path.display()
        )));
    }
    let mut reader = serde_json::Deserializer::from_str(&text);
    let shard = serde_path_to_error::deserialize(&mut reader).map_err(|problem| {
        let place = problem.path().to_string();
        let at = if place == "." { String::new() } else { format!(", at `{place}`") };
        format!(
            "`{}` is no part that `odds --shard` wrote{at}: {}",
            path.display(),
            problem.inner()
        )
    });
    Ok(shard.and_then(|shard| {
        reader
            .end()
            .map(|()| shard)
            .map_err(|problem| format!("`{}` goes on after its end: {problem}", path.display()))
    }))
}
