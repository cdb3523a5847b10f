//! `card`: at which charge to be in which tier.

use super::folder::{Results, Work};
use super::load::{base_dir, inputs_of, not_to_be_played, read};
use super::screen::Beside;
use super::{files, json_text};
use crate::cli::CardArgs;
use crate::decide::card::{Options, Refused, card};
use crate::decide::now::Failure;
use crate::error::Error;
use crate::show::card::{card_page, card_text, first_sentence, html, page};

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, there is nothing to decide, or a result cannot be
/// written.
pub fn run(args: &CardArgs) -> Result<(), Error> {
    let read = read(&args.scenario, &args.in_force, &args.from_now)?;
    let options = Options {
        target_chance: args.target,
        trials: args.trials,
        seed: args.seed,
        threads: args.threads.map_or(0, usize::from),
    };
    let made = card(&read.scenario, &base_dir(&args.scenario), &options);
    let mut card = made.map_err(|refused| match refused {
        Refused::NoCard(why) => Error::CommandLine(format!("there is no card: {why}")),
        Refused::Failed(Failure::Run(error)) => error,
        Refused::Failed(Failure::Compile(problems)) => {
            not_to_be_played(problems, &read.spans, read.variant.as_deref(), &args.from_now)
        }
    })?;
    card.sentence = first_sentence(&card);
    let work = Work {
        command: "card",
        strategies: args.in_force.strategy.as_slice(),
        variants: args.in_force.variant.as_slice(),
        from_now: args.from_now.any(),
        ..Work::default()
    };
    let folder = work.folder(args.results.out.as_ref(), &files::name_of(&args.scenario));
    let inputs = inputs_of(&args.scenario, &read.scenario);
    let mut results = Results::new(&folder, work.command, inputs);
    let value = serde_json::to_value(&card).map_err(|it| Error::Output(it.into()))?;
    let (json, text) = (json_text::laid_out(&value), card_text(&card));
    results.add("card.json", json.as_str());
    results.add("card.txt", text.as_str());
    let picture = page(&card);
    results.add("card.html", html(&picture));
    if !args.results.no_charts {
        results.add_pictures(vec![picture])?;
    }
    results.write()?;
    let mut beside = Beside::of(&args.results);
    read.tell_warnings(&mut beside);
    if args.results.json {
        return files::print(&json);
    }
    let end = format!("Card as text, page and JSON: {}\n", folder.display());
    beside.later(&end);
    beside.print(&card_page(&card))?;
    files::tell(&end);
    Ok(())
}
