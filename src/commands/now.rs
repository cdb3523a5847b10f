//! `now`: how long the station lasts from now on.

use super::load::{base_dir, not_to_be_played, read};
use super::screen::Beside;
use super::{files, json_text};
use crate::cli::NowArgs;
use crate::cli::from_now::FromNowArgs;
use crate::decide::now::{Failure, Options, now};
use crate::error::Error;
use crate::show::now::{first_sentence, line, now_page};

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, what is known now cannot be, or no tier on the air
/// lasts until a time that was asked for.
pub fn run(args: &NowArgs) -> Result<(), Error> {
    let from_now = FromNowArgs { mains_away: true, ..args.from_now.clone() };
    let read = read(&args.scenario, &args.in_force, &from_now)?;
    let options = Options {
        target_chance: args.target,
        seed: args.seed,
        threads: args.threads.map_or(0, usize::from),
        mains_back: from_now.mains_back.is_some(),
    };
    let mut now =
        now(&read.scenario, &base_dir(&args.scenario), &options).map_err(
            |failure| match failure {
                Failure::Run(error) => error,
                Failure::Compile(problems) => {
                    not_to_be_played(problems, &read.spans, read.variant.as_deref(), &from_now)
                }
            },
        )?;
    now.sentence = first_sentence(&now);
    now.line = line(&now);
    let mut beside = Beside::new(args.full || args.json);
    read.tell_warnings(&mut beside);
    if args.json {
        let value = serde_json::to_value(&now).map_err(|it| Error::Output(it.into()))?;
        files::print(&json_text::laid_out(&value))?;
    } else {
        beside.print(&now_page(&now))?;
    }
    if args.from_now.until.is_some() && !now.reaches() {
        return Err(Error::TargetMissed(format!(
            "no tier stays on the air until {}",
            now.until.format(crate::scenario::site::local_minute::FORMAT)
        )));
    }
    Ok(())
}
