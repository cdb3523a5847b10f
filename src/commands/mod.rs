//! One thin file a command: read, call the rooms that compute, print.
//!
//! Lives here: also how files are read and written, and how a JSON file is laid out for people.
//! Does not live here: the words on the command line (`cli`), and anything that computes.

pub mod calendar;
pub mod card;
pub mod check;
pub mod compare;
pub mod exercise;
pub mod files;
pub mod folder;
pub mod from_now;
pub mod guide;
pub mod json_text;
pub mod load;
pub mod merge;
pub mod new;
pub mod now;
pub mod odds;
pub mod report;
pub mod rewrite;
pub mod run;
pub mod schema;
pub mod screen;
pub mod size;
pub mod without;

use crate::cli::Command;
use crate::error::Error;

/// Does what the command line asks for.
///
/// # Errors
/// Those of the command.
pub fn dispatch(command: &Command) -> Result<(), Error> {
    done(command).map_err(|error| error.in_file(command.file()))
}

fn done(command: &Command) -> Result<(), Error> {
    match command {
        Command::Run(args) => run::run(args),
        Command::Odds(args) => odds::run(args),
        Command::Calendar(args) => calendar::run(args),
        Command::Merge(args) => merge::run(args),
        Command::Compare(args) => compare::run(args),
        Command::Without(args) => without::run(args),
        Command::Exercise(args) => exercise::run(args),
        Command::Size(args) => size::run(args),
        Command::Now(args) => now::run(args),
        Command::Card(args) => card::run(args),
        Command::Report(args) => report::run(args),
        Command::Check(args) => check::run(args),
        Command::New(args) => new::run(args),
        Command::Schema(args) => schema::run(args),
        Command::Guide(args) => guide::run(args),
    }
}
