//! `check`: everything that is wrong with a scenario, what its author should know, and the check of
//! its station.
//!
//! Exit code 1 when the scenario is wrong, 3 when the check finds something serious, or a caution
//! with `--strict`. The other commands read their scenario through [`read`],
//! so that all say the same.

use std::path::Path;

use serde_json::json;

use super::folder::Results;
use super::load::{inputs_of, take_variant};
use super::{files, rewrite, screen};
use crate::cli::CheckArgs;
use crate::decide::contest::of_variant;
use crate::decide::preflight::{Counts, Finding, preflight};
use crate::error::Error;
use crate::plan::Plan;
use crate::plan::check::{Examined, Variants, examine, not_compiled};
use crate::plan::compile::compile_under;
use crate::scenario::basis::{Basis, stated};
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::render_warnings;
use crate::scenario::read::text_of;
use crate::scenario::spans::Spans;
use crate::show::compare::table::{cut, folded};
use crate::show::diagram::diagram;
use crate::show::page_text::screen_lines;
use crate::show::preflight::{
    Beside, Unsure, first_screen, first_sentence, guesses_text, preflight_text,
};
use crate::show::shell;
use crate::show::tables::{Side, Table};
use crate::show::text::clean;
use crate::simulate::guard::{self, Impossible};
use crate::simulate::ledger::Ledger;
use crate::simulate::single;
use crate::warning::{Kind, Warning};

/// Columns of the name of a variant.
const NAME: usize = 20;

/// Runs the command.
///
/// # Errors
/// When the scenario cannot be read or is wrong, its check finds something serious, or a result
/// cannot be written.
pub fn run(args: &CheckArgs) -> Result<(), Error> {
    if args.rewrite {
        return rewrite::run(&args.scenario);
    }
    let mut examined = read_station(&args.scenario)?;
    if let Some(name) = &args.variant
        && examined.problems.list.is_empty()
    {
        take_variant(&mut examined, name)?;
    }
    if args.guesses && examined.problems.list.is_empty() {
        return print_guesses(&examined);
    }
    let scenario = examined.scenario.clone();
    let variants = variants_flown(&examined)?;
    let plan = compile_too(&mut examined, args.variant.as_deref());
    let flown = match scenario.as_ref().zip(plan.as_ref()) {
        Some((scenario, plan)) => {
            let findings = preflight(scenario, plan, &possible(plan)?);
            let picture = diagram(scenario, plan, &findings);
            Some((findings, picture))
        }
        None => None,
    };
    let Examined { spans, problems, warnings, .. } = &examined;
    let findings = flown.as_ref().map_or(&[][..], |(findings, _)| findings);
    let sentence = flown.as_ref().map(|(findings, _)| first_sentence(findings));
    let value = json!({
        "file": problems.file,
        "title": scenario.as_ref().map(|scenario| scenario.title.as_str()),
        "ok": problems.list.is_empty(),
        "problems": problems.to_json(),
        "warnings": warnings_json(warnings, spans.as_ref()),
        "sentence": sentence,
        "counts": flown.as_ref().map(|(findings, _)| Counts::of(findings)),
        "findings": flown.as_ref().map(|(findings, _)| findings),
        "variants": variants_json(&variants),
    });
    let as_json = format!("{value:#}\n");
    if args.json {
        files::print(&as_json)?;
    } else if let Some(spans) = spans
        && (args.full || flown.is_none())
    {
        files::tell(&render_warnings(warnings, spans, true));
    }
    if !problems.list.is_empty() {
        let rendered = if args.json { problems.count() } else { problems.render(true) };
        return Err(Error::Scenario { rendered });
    }
    if let Some((folder, (_, picture))) = args.out.as_ref().zip(flown.clone()) {
        let inputs = scenario.as_ref().map(|it| inputs_of(&args.scenario, it)).unwrap_or_default();
        let mut results = Results::new(folder, "check", inputs);
        results.add("check.json", as_json.as_str());
        results.add_pictures(vec![picture])?;
        results.write()?;
        files::tell(&format!("Findings and diagram: {}\n", folder.display()));
    }
    if !args.json {
        let count = match warnings.len() {
            0 => String::new(),
            1 => ", 1 warning".to_owned(),
            count => format!(", {count} warnings"),
        };
        let head = format!("{}: {}{count}", problems.file, first_sentence(findings));
        if args.full {
            let text = preflight_text(findings) + &variants_text(&variants);
            files::print(&format!("{}\n\n{text}", folded(&head, 0)))?;
        } else {
            print_first_screen(findings, head, &variants, warnings, spans.as_ref())?;
        }
    }
    let counts = Counts::of(findings);
    if counts.serious > 0 || (args.strict && counts.caution > 0) {
        return Err(Error::TargetMissed(sentence.unwrap_or_default()));
    }
    Ok(())
}

/// Prints the numbers that nobody measured.
fn print_guesses(examined: &Examined) -> Result<(), Error> {
    let (Some(scenario), Some(spans)) = (&examined.scenario, &examined.spans) else {
        return Ok(());
    };
    let whole = serde_json::to_value(scenario).map_err(|it| Error::Output(it.into()))?;
    let unsure = |path: &JsonPath, rated: bool| Unsure {
        path: path.unquoted(),
        line: spans.place(path).map_or(0, |_| spans.line_col(spans.underline(path).start).0),
        value: path.value_in(&whole).map(ToString::to_string).unwrap_or_default(),
        rated,
    };
    let guesses = stated(&whole).into_iter().filter(|(_, basis)| *basis == Basis::Guess);
    let rated = examined.warnings.iter().filter(|it| it.kind == Kind::Nameplate);
    let mut all: Vec<Unsure> = guesses.map(|(path, _)| unsure(&path, false)).collect();
    all.extend(rated.map(|it| unsure(&spans.path_of(&it.path), true)));
    files::print(&guesses_text(&examined.problems.file, &all))
}

/// Prints the counts, what is serious, and of the rest what a screen holds.
fn print_first_screen(
    findings: &[Finding],
    head: String,
    variants: &[OfVariant],
    warnings: &[Warning],
    spans: Option<&Spans>,
) -> Result<(), Error> {
    let rendered = |warning: &Warning, colour: bool| {
        spans.map_or(String::new(), |it| render_warnings(std::slice::from_ref(warning), it, colour))
    };
    let columns = screen::columns();
    let beside = Beside {
        columns,
        head,
        warning_lines: warnings
            .iter()
            .map(|it| screen_lines(&rendered(it, false), columns))
            .collect(),
        variants: variants_text(variants),
        variants_short: variants_line(variants),
    };
    let screen = first_screen(findings, &beside);
    let shown = warnings.iter().zip(&screen.warnings).filter(|it| *it.1);
    let told: String = shown.map(|(warning, _)| rendered(warning, true)).collect();
    files::tell(&(told + &screen.more_warnings));
    files::print(&screen.text)
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

/// As [`read`], for a command that takes the file of one station.
///
/// # Errors
/// As [`read`], and when the file is that of a club.
pub fn read_station(path: &Path) -> Result<Examined, Error> {
    let examined = read(path)?;
    match club_instead(&examined) {
        Some(rendered) => Err(Error::Scenario { rendered }),
        None => Ok(examined),
    }
}

/// What to say when the file is that of a club: it has stations, and no battery of its own.
fn club_instead(examined: &Examined) -> Option<String> {
    let spans = examined.spans.as_ref()?;
    let has = |key: &str| spans.place(&JsonPath::keys(&[key])).is_some();
    let file = &examined.problems.file;
    let word = shell::path(Path::new(file));
    (examined.scenario.is_none() && has("stations") && !has("battery")).then(|| {
        format!(
            "`{file}` is the file of a club, not of one station: `longwatch exercise {word}` examines and \
             plays it."
        )
    })
}

/// A variant by name: its findings, or why it cannot be played.
type OfVariant = (String, Result<Vec<Finding>, String>);

/// The check of each variant of a good scenario.
fn variants_flown(examined: &Examined) -> Result<Vec<OfVariant>, Error> {
    let mut flown = Vec::new();
    if !examined.problems.list.is_empty() {
        return Ok(flown);
    }
    for name in examined.variants.scenarios.keys() {
        let mut its = examined.clone();
        let taken = its.take_variant(name);
        let Some(scenario) = its.scenario.clone().filter(|_| taken) else { continue };
        let found = match compile_too(&mut its, Some(name)) {
            Some(plan) => Ok(preflight(&scenario, &plan, &possible(&plan)?)),
            None => {
                Err(its.problems.list.into_iter().map(|it| it.text).collect::<Vec<_>>().join("; "))
            }
        };
        flown.push((name.clone(), found));
    }
    Ok(flown)
}

/// The hours of a plan, if a station can come to them.
fn possible(plan: &Plan) -> Result<Ledger, Error> {
    let ledger = single::run(plan);
    guard::ledger(&ledger).map_err(Impossible::fault)?;
    Ok(ledger)
}

fn variants_json(variants: &[OfVariant]) -> serde_json::Value {
    let one = |(name, found): &OfVariant| match found {
        Ok(findings) => json!({
            "name": name,
            "sentence": first_sentence(findings),
            "counts": Counts::of(findings),
        }),
        Err(why) => json!({ "name": name, "sentence": why, "counts": null }),
    };
    variants.iter().map(one).collect()
}

/// What the check of each variant comes to, a line each.
fn variants_text(variants: &[OfVariant]) -> String {
    let mut table = Table::new(&[
        ("Variant", Side::Left),
        ("serious", Side::Right),
        ("cautions", Side::Right),
        ("not stated", Side::Right),
        ("examined", Side::Right),
    ]);
    let mut unplayed = String::new();
    for (name, found) in variants {
        match found {
            Ok(findings) => {
                let Counts { serious, caution, not_stated, examined, .. } = Counts::of(findings);
                let mut row = vec![format!("  {}", cut(name, NAME))];
                row.extend([serious, caution, not_stated, examined].map(|count| count.to_string()));
                table.row(&row);
            }
            Err(why) => unplayed += &format!("{}\n", folded(why, 0)),
        }
    }
    let with_more = if table.is_empty() {
        String::new()
    } else {
        format!("\n{table}`check --variant NAME` shows what was found.\n")
    };
    with_more + &unplayed
}

/// The same in one line: which variants have something serious, or that none has.
fn variants_line(variants: &[OfVariant]) -> String {
    let of = |found: &Result<Vec<Finding>, String>| match found {
        Ok(findings) => Counts::of(findings),
        Err(_) => Counts::default(),
    };
    let serious: Vec<String> = variants
        .iter()
        .filter(|(_, found)| found.is_err() || of(found).serious > 0)
        .map(|(name, found)| match found {
            Ok(_) => format!("{} ({} serious)", clean(name), of(found).serious),
            Err(_) => format!("{} (cannot be simulated)", clean(name)),
        })
        .collect();
    let cautions: usize = variants.iter().map(|(_, found)| of(found).caution).sum();
    let word = if cautions == 1 { "caution" } else { "cautions" };
    match (variants.len(), serious.is_empty()) {
        (0, _) => String::new(),
        (count, true) => format!("{count} variants: 0 serious, {cautions} {word}."),
        (count, false) => format!("{count} variants: {}; {cautions} {word}.", serious.join(", ")),
    }
}

/// Compiles a good scenario, or a variant in its place, for what only compiling shows.
fn compile_too(examined: &mut Examined, variant: Option<&str>) -> Option<Plan> {
    let scenario = examined.scenario.clone()?;
    let warnings = std::mem::take(&mut examined.warnings);
    let compiled = examined
        .take_sky(&scenario)
        .and_then(|sky| compile_under(&sky, &scenario, warnings.clone()));
    let spans = examined.spans.as_ref()?;
    match compiled {
        Ok(plan) => {
            examined.warnings.clone_from(&plan.warnings);
            examined.warnings.append(&mut examined.variants.warnings);
            Some(plan)
        }
        Err(problems) => {
            let problems = match variant {
                Some(name) => of_variant(name, problems),
                None => problems,
            };
            examined.problems = not_compiled(&problems, spans);
            examined.warnings = warnings;
            None
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
