//! The command line as typed.

pub mod amount;
pub mod calendar;
pub mod card;
pub mod check;
pub mod compare;
pub mod exercise;
pub mod from_now;
pub mod guide;
pub mod in_force;
pub mod new;
pub mod now;
pub mod odds;
pub mod report;
pub mod size;
pub mod without;

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use chrono::NaiveDateTime;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

pub use calendar::CalendarArgs;
pub use card::CardArgs;
pub use check::CheckArgs;
pub use compare::CompareArgs;
pub use exercise::{ExerciseArgs, SchemaArgs};
pub use guide::GuideArgs;
pub use in_force::InForceArgs;
pub use new::NewArgs;
pub use now::NowArgs;
pub use odds::{MergeArgs, OddsArgs};
pub use report::ReportArgs;
pub use size::{MinimizeArg, SizeArgs};
pub use without::WithoutArgs;

use crate::decide::contest::Play;
use crate::scenario::site::local_minute;

const EXAMPLES: &str = "\
Examples:
  longwatch new hall.json          a small station to start from
  longwatch check hall.json        all its problems at once
  longwatch run hall.json          hour by hour, in a few lines
  longwatch odds hall.json         in how many of 10,000 trials it stays on the air
  longwatch size hall.json         which panels and which battery it needs
  longwatch run hall.json --strategy \"solar only\" --out output/solar-only
  longwatch guide                  the manual, one page a topic";

const EXIT_CODES: &str = "\
Exit codes:
  0  fine
  1  the scenario is wrong
  2  the command line is wrong
  3  the station misses the target, or the check finds something serious
  4  reading or writing failed
  5  a fault of longwatch: it gives no answer; please report the scenario";

/// Plans the power of a radio station that must stay on the air when the mains is away.
///
/// One JSON file, the scenario, describes the station: panels, a mains supply, a battery, and
/// what draws current. Results go to standard output, warnings to standard error.
#[derive(Debug, Parser)]
#[command(name = "longwatch", version, after_help = EXAMPLES, after_long_help = format!("{EXAMPLES}\n\n{EXIT_CODES}"))]
#[command(max_term_width = 100, disable_help_subcommand = true)]
pub struct Cli {
    /// Colour: auto, always or never; auto honours NO_COLOR
    #[arg(long, global = true, value_name = "WHEN", value_enum, default_value_t)]
    #[arg(hide_possible_values = true, hide_default_value = true)]
    pub color: Color,

    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// When to print in colour.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// On a terminal, unless `NO_COLOR` is set.
    #[default]
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Simulate the hours of a scenario
    Run(RunArgs),
    /// Run many trials of a scenario and count how many stay on the air
    #[command(after_help = odds::EXAMPLES)]
    Odds(OddsArgs),
    /// In which month and at which hour an outage is worst
    ///
    /// Simulates many years of normal operation with each strategy. On a day of each month the mains
    /// fails at every hour of the clock, with the charge that normal operation left.
    #[command(after_help = calendar::EXAMPLES)]
    Calendar(CalendarArgs),
    /// Put the parts of `odds --shard` together
    Merge(MergeArgs),
    /// Compare strategies and variants in the same trials
    ///
    /// Without --strategy and --variant it compares the strategy in force, all other strategies and all
    /// variants. Each has its own warm-up days first.
    #[command(after_help = compare::EXAMPLES)]
    Compare(CompareArgs),
    /// Remove each part and vary each guess in turn: which loss hurts most, and what to measure first
    #[command(after_help = without::EXAMPLES)]
    Without(WithoutArgs),
    /// Find the panels and the battery that a station needs
    ///
    /// Finds the cheapest or lightest station of what `sizing` offers, or every smallest station, that
    /// stays on the air for the hours in the target share of trials. The sizing worksheet, step by
    /// step, is next to it.
    #[command(after_help = size::EXAMPLES)]
    Size(SizeArgs),
    /// Say how long the station stays on the air from now on, tier by tier
    #[command(after_help = now::EXAMPLES)]
    Now(NowArgs),
    /// Make a card that says at which charge to use which tier
    #[command(after_help = card::EXAMPLES)]
    Card(CardArgs),
    /// Run many trials of a club exercise: stations, watches, packs, one generator
    #[command(after_help = exercise::EXAMPLES)]
    Exercise(ExerciseArgs),
    /// Write all results for a station on one page
    Report(ReportArgs),
    /// Examine a scenario, and every wire, fuse and part of its station
    ///
    /// By item with its margin: voltage drops, ampacity, fuses, budgets, the windows of devices, set points, cold,
    /// ventilation, volts that can hurt. A serious finding gives exit code 3.
    Check(CheckArgs),
    /// Write a small station to start from
    ///
    /// It runs as it is. The file marks every number that is a guess. Replace it with the value on the
    /// label or a measured value, and change its mark.
    #[command(after_help = new::EXAMPLES)]
    New(NewArgs),
    /// Print the JSON Schema of a scenario
    Schema(SchemaArgs),
    /// Read the manual: a page for each topic and for each key
    #[command(after_help = guide::EXAMPLES)]
    Guide(GuideArgs),
}

impl Command {
    /// The file that is examined, of a scenario or a club.
    #[must_use]
    pub fn file(&self) -> Option<&Path> {
        match self {
            Self::Run(args) => Some(&args.scenario),
            Self::Odds(args) => Some(&args.scenario),
            Self::Calendar(args) => Some(&args.scenario),
            Self::Merge(args) => args.shards.first().map(PathBuf::as_path),
            Self::Compare(args) => Some(&args.scenario),
            Self::Without(args) => Some(&args.scenario),
            Self::Size(args) => Some(&args.scenario),
            Self::Now(args) => Some(&args.scenario),
            Self::Card(args) => Some(&args.scenario),
            Self::Exercise(args) => Some(&args.club),
            Self::Report(args) => Some(&args.scenario),
            Self::Check(args) => Some(&args.scenario),
            Self::New(_) | Self::Schema(_) | Self::Guide(_) => None,
        }
    }
}

/// Where results go, the same for every command that has some.
#[derive(Debug, Clone, Args)]
pub struct ResultArgs {
    /// Write the results into this folder; one under `output/` of its own if left out
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Print the results as JSON
    #[arg(long)]
    pub json: bool,
    /// Leave the charts out
    #[arg(long)]
    pub no_charts: bool,
    /// Print all tables and warnings, not only the first screen
    #[arg(long)]
    pub full: bool,
}

/// How many trials of each station, and how.
#[derive(Debug, Clone, Args)]
pub struct Trials {
    /// How many trials of each
    #[arg(long, value_name = "N", default_value_t = 10_000)]
    #[arg(value_parser = clap::value_parser!(u64).range(1..=10_000_000))]
    pub trials: u64,
    /// Random seed; the same seed gives the same trials
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Number of threads; all cores if left out. Results do not depend on it
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
}

impl Trials {
    /// The same for those who play.
    #[must_use]
    pub fn play(&self) -> Play {
        let threads = self.threads.map_or(0, usize::from);
        Play { seed: self.seed, trials: self.trials, threads, ..Play::default() }
    }
}

/// Simulate the hours of a scenario.
#[derive(Debug, Clone, Args)]
pub struct RunArgs {
    /// Scenario file; `-` reads standard input
    pub scenario: PathBuf,
    /// Where the results go
    #[command(flatten)]
    pub results: ResultArgs,
    /// Which strategy and variant
    #[command(flatten)]
    pub in_force: InForceArgs,
    /// What is known now
    #[command(flatten)]
    pub from_now: from_now::FromNowArgs,
    /// Run trial K, with its own weather and outages, instead of mean weather
    #[arg(long, value_name = "K")]
    pub trial: Option<u64>,
    /// Random seed; the same seed gives the same trials
    #[arg(long, value_name = "S", default_value_t = 1, requires = "trial")]
    pub seed: u64,
}

fn share(text: &str) -> Result<f64, String> {
    amount::share_within(text, 0.0, 1.0)
}

fn within(text: &str, lowest: f64, highest: f64) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|value| (lowest..=highest).contains(value))
        .ok_or_else(|| format!("a number from {lowest} to {highest} is allowed"))
}

fn local_time(text: &str) -> Result<NaiveDateTime, String> {
    NaiveDateTime::parse_from_str(text, local_minute::FORMAT)
        .map_err(|_| "a local time such as 2027-01-18T18:00 is allowed".to_owned())
}

/// Reads the command line.
///
/// # Errors
/// What is wrong with it, or the help or version text that was asked for.
pub fn parse<I>(arguments: I) -> Result<Cli, clap::Error>
where
    I: IntoIterator,
    I::Item: Into<OsString> + Clone,
{
    Cli::try_parse_from(arguments).map_err(name_a_near_command)
}

/// Adds the command that was probably meant: the parser's own measure finds none for two letters
/// that changed places in a short word.
fn name_a_near_command(mut error: clap::Error) -> clap::Error {
    if error.kind() != ErrorKind::InvalidSubcommand
        || error.get(ContextKind::SuggestedSubcommand).is_some()
    {
        return error;
    }
    let Some(ContextValue::String(typed)) = error.get(ContextKind::InvalidSubcommand) else {
        return error;
    };
    let typed = typed.to_lowercase();
    let near = Cli::command()
        .get_subcommands()
        .map(|command| {
            (strsim::osa_distance(&typed, command.get_name()), command.get_name().to_owned())
        })
        .filter(|(distance, name)| *distance <= name.chars().count().div_ceil(3))
        .min();
    if let Some((_, name)) = near {
        error.insert(ContextKind::SuggestedSubcommand, ContextValue::Strings(vec![name]));
    }
    error
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decide::odds::Part;

    fn refused(arguments: &[&str]) -> String {
        parse(["longwatch"].iter().chain(arguments)).unwrap_err().to_string()
    }

    #[test]
    fn the_definition_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn a_mistyped_command_brings_the_one_meant() {
        for (typed, meant) in [
            ("rnu", "run"),
            ("chekc", "check"),
            ("nwe", "new"),
            ("shema", "schema"),
            ("RUN", "run"),
            ("ods", "odds"),
            ("mrege", "merge"),
            ("excercise", "exercise"),
        ] {
            let text = refused(&[typed, "hall.json"]);
            assert!(text.contains(&format!("'{meant}'")), "{typed}: {text}");
        }
        let text = refused(&["simulate"]);
        assert!(!text.contains("similar"), "{text}");
    }

    #[test]
    fn the_long_help_names_every_exit_code() {
        let help = parse(["longwatch", "--help"]).unwrap_err().to_string();
        for code in ["  0  ", "  1  ", "  2  ", "  3  ", "  4  "] {
            assert!(help.contains(code), "{help}");
        }
        assert!(help.contains("Examples:"), "{help}");
    }

    #[test]
    fn numbers_out_of_range_say_the_range() {
        let text = refused(&["new", "--latitude", "95"]);
        assert!(text.contains("from -80 to 80"), "{text}");
        for number in ["NaN", "inf", "-1", "many"] {
            let text = refused(&["new", &format!("--battery-ah={number}")]);
            assert!(text.contains("from 1 to 100000"), "{number}: {text}");
        }
        let text = refused(&["new", "--cells", "5"]);
        assert!(text.contains("1, 4, 8, 16"), "{text}");
        let text = refused(&["new", "--start", "tomorrow"]);
        assert!(text.contains("2027-01-18T18:00"), "{text}");
    }

    #[test]
    fn parts_are_counted_from_one() {
        let cli = parse(["longwatch", "odds", "hall.json", "--shard", "2/5"]).unwrap();
        let Command::Odds(odds) = cli.command else { panic!("not odds") };
        assert_eq!(odds.shard, Some(Part { number: 2, of: 5 }));
        for wrong in ["0/5", "6/5", "1/0", "2", "a/b", "1/99999", "-1/5"] {
            let text = refused(&["odds", "hall.json", &format!("--shard={wrong}")]);
            assert!(text.contains("2/5"), "{wrong}: {text}");
        }
        let text = refused(&["odds", "hall.json", "--shard", "1/2", "--until-half-width", "0.01"]);
        assert!(text.contains("cannot be used with"), "{text}");
        let text = refused(&["odds", "hall.json", "--trials", "0"]);
        assert!(text.contains("1..=1000000000") || text.contains("0 is not in"), "{text}");
    }

    #[test]
    fn places_south_and_west_are_written_with_a_minus() {
        let cli = parse([
            "longwatch",
            "new",
            "--latitude",
            "-33.5",
            "--longitude",
            "-71",
            "--cells",
            "8",
        ])
        .unwrap();
        let Command::New(new) = cli.command else { panic!("not new") };
        assert_eq!((new.latitude, new.longitude, new.cells), (Some(-33.5), Some(-71.0), 8));
        assert_eq!(new.path.to_str(), Some("-"));
    }
}
