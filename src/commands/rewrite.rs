//! `check --rewrite`: a file of format 1 with the names of format 2, written beside it.

use std::path::{Path, PathBuf};

use super::files;
use crate::error::Error;
use crate::scenario::read::text_of;
use crate::scenario::renamed::rewritten;

/// Runs it.
///
/// # Errors
/// When the file cannot be read, is not JSON, or has an old name beside its new one; when the new file
/// is there already or cannot be written.
pub fn run(path: &Path) -> Result<(), Error> {
    if files::is_standard(path) {
        return Err(Error::CommandLine(
            "`--rewrite` writes a file beside the old one: name the old one, not `-`".to_owned(),
        ));
    }
    let shown = path.display().to_string();
    let wrong = |problems: crate::scenario::problem::Problems| Error::Scenario {
        rendered: problems.render(true),
    };
    let text = text_of(files::read_bytes(path)?, &shown).map_err(wrong)?;
    let Some((new, names)) = rewritten(&text, &shown).map_err(wrong)? else {
        return files::print(&format!("`{shown}` is not of format 1: nothing was written.\n"));
    };
    let beside = beside(path);
    if beside.exists() {
        return Err(Error::CommandLine(format!(
            "`{}` is there already: move it away first",
            beside.display()
        )));
    }
    files::write_whole(&beside, new.as_bytes())?;
    let (keys, have) = if names == 1 { ("key", "has") } else { ("keys", "have") };
    files::print(&format!(
        "{}: {names} {keys} {have} new names. `{shown}` is as it was.\n",
        beside.display()
    ))
}

/// `hall.json` becomes `hall.format-2.json`.
fn beside(path: &Path) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending =
        path.extension().map_or_else(String::new, |it| format!(".{}", it.to_string_lossy()));
    path.with_file_name(format!("{stem}.format-2{ending}"))
}
