//! Commands, flags and exit codes, as the README names them.

use clap::CommandFactory as _;
use longwatch::cli::Cli;

use super::made::{DOCUMENTS, markdown, path, text};

/// Every command with its flags.
pub fn table() -> String {
    let mut rows = Vec::new();
    for command in Cli::command().get_subcommands() {
        let mut row = |what: String, does: String| rows.push(vec![what, does]);
        let operands: String = command
            .get_positionals()
            .map(|argument| {
                let name = argument.get_id().as_str().to_uppercase();
                if argument.is_required_set() { format!(" {name}") } else { format!(" [{name}]") }
            })
            .collect();
        let about = command.get_about().map(ToString::to_string).unwrap_or_default();
        row(format!("`longwatch {}{operands}`", command.get_name()), format!("**{about}**"));
        for flag in command.get_opts() {
            let long = flag.get_long().unwrap_or_default();
            let takes = flag.get_action().takes_values();
            let value = flag.get_value_names().filter(|_| takes).map_or(String::new(), |names| {
                names.iter().map(|name| format!(" {name}")).collect()
            });
            let help = flag.get_help().map(ToString::to_string).unwrap_or_default();
            row(format!("`--{long}{value}`"), help);
        }
    }
    let help = "`--help`, `--version`, `--color WHEN`".to_owned();
    rows.push(vec![help, "everywhere; colour is `auto`, `always` or `never`".to_owned()]);
    markdown(&["command", "what it does"], &rows)
}

/// The table of exit codes says what `--help` says.
#[test]
fn exit_codes_are_those_of_the_program() {
    let help = Cli::command().render_long_help().to_string();
    let codes = help.split("Exit codes:").nth(1).expect("exit codes in the help");
    let readme = text("README.md");
    let mut count = 0;
    for line in codes.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let (code, meaning) = line.split_once("  ").expect("code and meaning");
        let row = format!("| {code} | {meaning}");
        assert!(readme.contains(&row), "the README has no row `{row}`");
        count += 1;
    }
    assert_eq!(count, 6);
}

/// What the README tells people to run is what the machine runs on every change.
#[test]
fn the_commands_of_the_readme_are_run_on_every_change() {
    let readme = text("README.md");
    let block = readme.split("```sh\n").nth(1).and_then(|it| it.split("```").next()).unwrap();
    let commands: Vec<&str> = block.lines().collect();
    assert_eq!(commands.len(), 2, "two commands open the README");
    let checks = text(".ci/run");
    for command in commands {
        assert!(
            checks.lines().any(|line| line.trim() == command),
            ".ci/run does not run `{command}`"
        );
    }
}

/// Links to files and headings lead somewhere.
#[test]
fn links_lead_somewhere() {
    for document in DOCUMENTS {
        let text = text(document);
        let anchors: Vec<String> = text
            .lines()
            .filter(|line| line.starts_with('#'))
            .map(|line| {
                let title = line.trim_start_matches('#').trim().to_lowercase();
                let kept = |it: &char| it.is_alphanumeric() || matches!(it, ' ' | '-' | '_');
                title.chars().filter(kept).collect::<String>().replace(' ', "-")
            })
            .collect();
        for piece in text.split("](").skip(1) {
            let target = piece.split(')').next().unwrap_or_default();
            if let Some(anchor) = target.strip_prefix('#') {
                assert!(anchors.iter().any(|it| it == anchor), "{document}: no heading #{anchor}");
            } else if !target.contains("://") {
                let file = target.split('#').next().unwrap_or_default();
                let beside = path(document).with_file_name(file);
                assert!(beside.exists(), "{document}: no file `{file}`");
            }
        }
    }
}
