//! Reads the command line, runs the command, turns the outcome into an exit code.

use std::ffi::OsString;
use std::io::Write;
use std::process::ExitCode;

use anstream::ColorChoice;
use clap::builder::styling::{AnsiColor, Style};
use longwatch::cli::{self, Color};
use longwatch::commands;
use longwatch::error::Error;

fn main() -> ExitCode {
    let arguments: Vec<OsString> = std::env::args_os().collect();
    match cli::parse(&arguments) {
        Ok(cli) => {
            choice(cli.color).write_global();
            match commands::dispatch(&cli.command) {
                Ok(()) => ExitCode::SUCCESS,
                Err(error) if error.is_closed_pipe() => ExitCode::SUCCESS,
                Err(error) => {
                    report(&error);
                    ExitCode::from(error.exit_code())
                }
            }
        }
        Err(answer) => {
            // Help, version, or what is wrong with the command line. Nobody may be listening.
            choice(asked_color(&arguments)).write_global();
            let text = answer.render();
            let code = u8::try_from(answer.exit_code()).unwrap_or(2);
            let written = if answer.use_stderr() {
                write!(anstream::stderr().lock(), "{}", text.ansi())
            } else {
                write!(anstream::stdout().lock(), "{}", text.ansi())
            };
            match written.map_err(Error::Output) {
                Err(error) if code == 0 && !error.is_closed_pipe() => {
                    ExitCode::from(error.exit_code())
                }
                _ => ExitCode::from(code),
            }
        }
    }
}

/// Tells people on standard error; if that is closed there is nobody to tell.
fn report(error: &Error) {
    let mut to = anstream::stderr().lock();
    let _ = match error {
        Error::Scenario { rendered } => writeln!(to, "{}", rendered.trim_end()),
        Error::TargetMissed(sentence) => writeln!(to, "{sentence}"),
        other => {
            let style = Style::new().bold().fg_color(Some(AnsiColor::Red.into()));
            writeln!(to, "{style}error:{style:#} {other}")
        }
    };
}

fn choice(color: Color) -> ColorChoice {
    match color {
        Color::Auto => ColorChoice::Auto,
        Color::Always => ColorChoice::Always,
        Color::Never => ColorChoice::Never,
    }
}

/// The colour asked for on a command line that could not be read as a whole.
fn asked_color(arguments: &[OsString]) -> Color {
    let mut words = arguments.iter().filter_map(|argument| argument.to_str());
    while let Some(word) = words.next() {
        let when = match word {
            "--color" => words.next(),
            "--" => None,
            _ => word.strip_prefix("--color="),
        };
        match when {
            Some("always") => return Color::Always,
            Some("never") => return Color::Never,
            _ if word == "--" => break,
            _ => {}
        }
    }
    Color::Auto
}
