//! `check`: everything that is wrong with a scenario, and what its author should know.
//!
//! Exit code 1 when something is wrong. The other commands read their scenario through [`read`],
//! so that all say the same.

use std::path::Path;

use serde_json::json;

use super::files;
use crate::cli::CheckArgs;
use crate::error::Error;
use crate::plan::check::{Examined, Variants, examine, not_compiled};
use crate::plan::compile::compile_under;
use crate::scenario::problem::render_warnings;
use crate::scenario::read::text_of;
use crate::scenario::spans::Spans;
use crate::warning::Warning;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong.
pub fn run(args: &CheckArgs) -> Result<(), Error> {
    let mut examined = read(&args.scenario)?;
    compile_too(&mut examined);
    let Examined { scenario, spans, problems, warnings, .. } = &examined;
    let title = scenario.as_ref().map(|scenario| scenario.title.as_str());
    if args.json {
        let value = json!({
            "file": problems.file,
            "title": title,
            "ok": problems.list.is_empty(),
            "problems": problems.to_json(),
            "warnings": warnings_json(warnings, spans.as_ref()),
        });
        files::print(&format!("{value:#}\n"))?;
    } else if let Some(spans) = spans {
        files::tell(&render_warnings(warnings, spans, true));
    }
    if !problems.list.is_empty() {
        let rendered = if args.json { problems.count() } else { problems.render(true) };
        return Err(Error::Scenario { rendered });
    }
    if args.json {
        return Ok(());
    }
    let count = match warnings.len() {
        0 => String::new(),
        1 => ", 1 warning".to_owned(),
        count => format!(", {count} warnings"),
    };
    files::print(&format!("{}: fine{count}\n", problems.file))
}

/// Reads and checks a scenario; `-` is standard input. Files that it names are looked for beside
/// it. What is wrong stands in the answer.
///
/// # Errors
/// When there is no such file, or it cannot be read.
pub fn read(path: &Path) -> Result<Examined, Error> {
    let (shown, base_dir) = if files::is_standard(path) {
        ("standard input".to_owned(), Path::new(""))
    } else {
        (path.display().to_string(), path.parent().unwrap_or(Path::new("")))
    };
    Ok(match text_of(files::read_bytes(path)?, &shown) {
        Ok(text) => examine(&text, &shown, base_dir),
        Err(problems) => Examined {
            scenario: None,
            spans: None,
            series: None,
            sky: None,
            problems,
            warnings: Vec::new(),
            variants: Variants::default(),
        },
    })
}

/// Compiles a good scenario for what only compiling shows.
fn compile_too(examined: &mut Examined) {
    let Some(scenario) = examined.scenario.clone() else { return };
    let warnings = std::mem::take(&mut examined.warnings);
    let compiled = examined
        .take_sky(&scenario)
        .and_then(|sky| compile_under(&sky, &scenario, warnings.clone()));
    let Some(spans) = &examined.spans else { return };
    match compiled {
        Ok(plan) => {
            examined.warnings = plan.warnings;
            examined.warnings.append(&mut examined.variants.warnings);
        }
        Err(problems) => {
            examined.problems = not_compiled(&problems, spans);
            examined.warnings = warnings;
        }
    }
}

fn warnings_json(warnings: &[Warning], spans: Option<&Spans>) -> serde_json::Value {
    let one = |warning: &Warning| {
        let line = spans
            .filter(|_| !warning.path.is_empty())
            .map(|spans| spans.line_col(spans.underline(&spans.path_of(&warning.path)).start).0);
        json!({ "kind": warning.kind, "path": warning.path, "line": line, "text": warning.text })
    };
    warnings.iter().map(one).collect()
}
