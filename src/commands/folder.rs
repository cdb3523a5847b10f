//! The folder that the results of a command go into, and what is kept from harm there.
//!
//! Each folder holds a hidden list of what the command wrote, with a fingerprint (SHA-256) of each
//! file. What stands in the list unchanged is replaced; files of an earlier time that are not written
//! again go. What stands in no list, or was changed since, is somebody's: nothing is written then.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use super::files::{create_folder, drawn, write_whole};
use crate::error::Error;
use crate::show::Picture;

/// Longest name of a folder, bytes: a file system takes 255.
const LONGEST_NAME: usize = 120;

/// What results are of: another one has another folder.
#[derive(Debug, Clone, Copy, Default)]
pub struct Work<'a> {
    /// The command.
    pub command: &'a str,
    /// Strategies that were asked for.
    pub strategies: &'a [String],
    /// Variants that were asked for.
    pub variants: &'a [String],
    /// The trial that was asked for, and its seed.
    pub trial: Option<(u64, u64)>,
    /// Whether it begins with what is known now.
    pub from_now: bool,
}

impl Work<'_> {
    /// The folder: `out` where that is asked for, else one of its own under `output/` and the name
    /// of the scenario.
    #[must_use]
    pub fn folder(&self, out: Option<&PathBuf>, scenario: &str) -> PathBuf {
        out.cloned().unwrap_or_else(|| Path::new("output").join(scenario).join(self.name()))
    }

    /// `run-strategy-solar-only-trial-5806`.
    fn name(&self) -> String {
        let mut name = self.command.to_owned();
        for (kind, names) in [("strategy", self.strategies), ("variant", self.variants)] {
            let mut names: Vec<&String> = names.iter().collect();
            names.sort_unstable();
            names.dedup();
            for its in names {
                let _ = write!(name, "-{kind}-{}", plain(its));
            }
        }
        if let Some((trial, seed)) = self.trial {
            let _ = write!(name, "-trial-{trial}");
            if seed != 1 {
                let _ = write!(name, "-seed-{seed}");
            }
        }
        if self.from_now {
            name.push_str("-from-now");
        }
        if name.len() > LONGEST_NAME {
            let print = fingerprint(name.as_bytes());
            let mut end = LONGEST_NAME - 13;
            while !name.is_char_boundary(end) {
                end -= 1;
            }
            name.truncate(end);
            let _ = write!(name, "-{}", &print[..12]);
        }
        name
    }
}

/// A name as part of a folder's: words with a dash between them. What is more than small letters,
/// digits and single spaces is told apart by the beginning of its fingerprint.
fn plain(name: &str) -> String {
    let kept: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    let words: Vec<&str> = kept.split('-').filter(|it| !it.is_empty()).collect();
    if words.join(" ") == name {
        return words.join("-");
    }
    let print = fingerprint(name.as_bytes());
    let mut told = words.join("-");
    if !told.is_empty() {
        told.push('-');
    }
    told + &print[..6]
}

fn fingerprint(bytes: &[u8]) -> String {
    let mut digits = String::new();
    for byte in Sha256::digest(bytes) {
        let _ = write!(digits, "{byte:02x}");
    }
    digits
}

/// Results of a command, gathered to be written together.
pub struct Results {
    folder: PathBuf,
    list: String,
    files: BTreeMap<String, Vec<u8>>,
    inputs: Vec<PathBuf>,
}

/// What stands in the hidden list.
#[derive(Debug, Default, Serialize, Deserialize)]
struct List {
    /// Of each file, what it held. Two while it is being replaced.
    files: BTreeMap<String, BTreeSet<String>>,
}

impl Results {
    /// Nothing yet; `of` is the command, or which part of its work has files of its own. `inputs`
    /// are the files that it read: they are never overwritten, even where it wrote them itself.
    #[must_use]
    pub fn new(folder: &Path, of: &str, inputs: Vec<PathBuf>) -> Self {
        let list = format!(".longwatch-{of}.json");
        Self { folder: folder.to_owned(), list, files: BTreeMap::new(), inputs }
    }

    /// Adds a file; a name may have a folder before it, with `/`.
    pub fn add(&mut self, name: impl Into<String>, contents: impl Into<Vec<u8>>) {
        self.files.insert(name.into(), contents.into());
    }

    /// Adds pictures as SVG, and as PNG where the program can.
    ///
    /// # Errors
    /// When one cannot be drawn.
    pub fn add_pictures(&mut self, pictures: Vec<Picture>) -> Result<(), Error> {
        self.files.extend(drawn(pictures)?);
        Ok(())
    }

    /// Writes all of it, and takes away what the same command wrote before and does not write now.
    ///
    /// # Errors
    /// Before anything is written when a file of such a name is there that this command did not
    /// write; when something cannot be written.
    pub fn write(self) -> Result<(), Error> {
        let list_path = self.folder.join(&self.list);
        let before = read_list(&list_path);
        let inputs: BTreeSet<PathBuf> =
            self.inputs.iter().filter_map(|input| fs::canonicalize(input).ok()).collect();
        for (name, contents) in &self.files {
            let path = self.folder.join(name);
            if fs::canonicalize(&path).is_ok_and(|path| inputs.contains(&path)) {
                return Err(Error::CommandLine(format!(
                    "`{}` was read for these results: it is not overwritten, and nothing is written. \
                     Give another folder with --out",
                    path.display()
                )));
            }
            if let Some(there) = somebodys(&path, name, &before) {
                if there == *contents {
                    continue;
                }
                return Err(Error::CommandLine(format!(
                    "`{}` is there, and this command did not write it, or it was changed since: it \
                     is not overwritten, and nothing is written. Move it away, or give another \
                     folder with --out",
                    path.display()
                )));
            }
        }
        create_folder(&self.folder)?;
        let now: BTreeMap<String, BTreeSet<String>> = self
            .files
            .iter()
            .map(|(name, contents)| (name.clone(), BTreeSet::from([fingerprint(contents)])))
            .collect();
        // While files are replaced one after the other, each is either as it was or as it will be.
        let mut both = before.files.clone();
        for (name, prints) in &now {
            both.entry(name.clone()).or_default().extend(prints.iter().cloned());
        }
        write_list(&list_path, &List { files: both })?;
        for (name, contents) in &self.files {
            let path = self.folder.join(name);
            if let Some(above) = path.parent() {
                create_folder(above)?;
            }
            write_whole(&path, contents)?;
        }
        for name in before.files.keys().filter(|name| !now.contains_key(*name)) {
            let path = self.folder.join(name);
            if is_within(name) && path.is_file() && somebodys(&path, name, &before).is_none() {
                fs::remove_file(&path).map_err(|source| failed("remove", &path, source))?;
            }
        }
        write_list(&list_path, &List { files: now })
    }
}

/// Whether a name of a list stays within the folder.
fn is_within(name: &str) -> bool {
    !Path::new(name).is_absolute() && !name.split(['/', '\\']).any(|part| part == "..")
}

/// What a file holds that is there and is not as this command wrote it.
fn somebodys(path: &Path, name: &str, before: &List) -> Option<Vec<u8>> {
    // A terminal, a named pipe or a folder is not overwritten, or says itself that it cannot be.
    if !path.is_file() {
        return None;
    }
    let there = fs::read(path).unwrap_or_default();
    let known = before.files.get(name).is_some_and(|its| its.contains(&fingerprint(&there)));
    (!known).then_some(there)
}

fn read_list(path: &Path) -> List {
    let text = fs::read(path).unwrap_or_default();
    serde_json::from_slice(&text).unwrap_or_default()
}

fn write_list(path: &Path, list: &List) -> Result<(), Error> {
    let text = serde_json::to_string_pretty(list).map_err(|it| Error::Output(it.into()))? + "\n";
    write_whole(path, text.as_bytes())
}

fn failed(action: &'static str, path: &Path, source: io::Error) -> Error {
    Error::File { action, path: path.to_owned(), source }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(folder: &Path, of: &str, files: &[(&str, &str)]) -> Result<(), Error> {
        let mut results = Results::new(folder, of, vec![folder.join("read.csv")]);
        for (name, text) in files {
            results.add(*name, *text);
        }
        results.write()
    }

    fn text(path: &Path) -> String {
        fs::read_to_string(path).unwrap()
    }

    #[test]
    fn a_command_replaces_its_own_whole_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let here = folder.path();
        written(here, "run", &[("a.csv", "1"), ("sheets/b.txt", "2")]).unwrap();
        written(here, "odds", &[("c.csv", "3")]).unwrap();
        fs::write(here.join("notes.txt"), "mine").unwrap();
        written(here, "run", &[("a.csv", "4")]).unwrap();
        assert_eq!(text(&here.join("a.csv")), "4");
        assert!(!here.join("sheets/b.txt").exists(), "a file of an earlier time stays");
        assert_eq!(
            (text(&here.join("c.csv")), text(&here.join("notes.txt"))),
            ("3".into(), "mine".into())
        );
    }

    #[test]
    fn what_somebody_else_wrote_or_changed_stays_and_nothing_is_written() {
        let folder = tempfile::tempdir().unwrap();
        let here = folder.path();
        fs::write(here.join("b.csv"), "mine").unwrap();
        let error = written(here, "run", &[("a.csv", "1"), ("b.csv", "2")]).unwrap_err();
        assert_eq!(error.exit_code(), 2);
        assert!(error.to_string().contains("b.csv` is there"), "{error}");
        assert!(!here.join("a.csv").exists() && text(&here.join("b.csv")) == "mine");
        fs::write(here.join("read.csv"), "2").unwrap();
        let error = written(here, "run", &[("read.csv", "2")]).unwrap_err();
        assert!(error.to_string().contains("read.csv` was read for these results"), "{error}");
        fs::remove_file(here.join("b.csv")).unwrap();
        written(here, "run", &[("a.csv", "1"), ("b.csv", "2")]).unwrap();
        fs::write(here.join("a.csv"), "changed").unwrap();
        assert!(written(here, "run", &[("a.csv", "3")]).is_err());
        // Neither does it go where it is not written again.
        fs::write(here.join("b.csv"), "changed").unwrap();
        fs::remove_file(here.join("a.csv")).unwrap();
        written(here, "run", &[("a.csv", "3")]).unwrap();
        assert_eq!(text(&here.join("b.csv")), "changed");
        // Nor does a list that somebody wrote lead out of the folder.
        let list = here.join(".longwatch-run.json");
        let print = fingerprint(b"out");
        fs::write(here.join("out.txt"), "out").unwrap();
        let inner = here.join("inner");
        create_folder(&inner).unwrap();
        fs::rename(&list, inner.join(".longwatch-run.json")).unwrap();
        fs::write(
            inner.join(".longwatch-run.json"),
            format!("{{\"files\": {{\"../out.txt\": [\"{print}\"]}}}}"),
        )
        .unwrap();
        written(&inner, "run", &[("a.csv", "3")]).unwrap();
        assert!(here.join("out.txt").exists());
    }

    #[test]
    fn each_occasion_has_a_folder_of_its_own() {
        let names = |names: &[&str]| names.iter().map(|it| (*it).to_owned()).collect::<Vec<_>>();
        let of = |strategies: &[&str], variants: &[&str], trial| {
            let (strategies, variants) = (names(strategies), names(variants));
            let occasion = Work {
                command: "run",
                strategies: &strategies,
                variants: &variants,
                trial,
                from_now: false,
            };
            occasion.name()
        };
        assert_eq!(of(&[], &[], None), "run");
        assert_eq!(
            of(&["solar only"], &["old rule"], Some((5806, 1))),
            "run-strategy-solar-only-variant-old-rule-trial-5806"
        );
        let long = "x".repeat(400);
        let all = [
            of(&[], &[], None),
            of(&["solar only"], &[], None),
            of(&["solar-only"], &[], None),
            of(&["Solar only"], &[], None),
            of(&["solar  only"], &[], None),
            of(&[], &["solar only"], None),
            of(&["../../x"], &[], None),
            of(&["x"], &[], None),
            of(&[""], &[], None),
            of(&[&long], &[], None),
            of(&[&format!("{long}x")], &[], None),
            of(&[], &[], Some((1, 1))),
            of(&[], &[], Some((1, 2))),
            of(&[], &[], Some((12, 1))),
        ];
        let different: BTreeSet<&String> = all.iter().collect();
        assert_eq!(different.len(), all.len(), "{all:?}");
        for name in &all {
            assert!(name.len() <= LONGEST_NAME && !name.contains(['/', '.', '\\']), "{name}");
        }
    }
}
