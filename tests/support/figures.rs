//! Checks against values from outside: each says whose value, how far off, how far it may be.
//!
//! A check collects its cases, prints its worst one, adds a row to `target/figures/<room>-<test>.csv`
//! and fails when the worst case is beyond the tolerance.
#![allow(dead_code)]

use std::collections::{BTreeMap, HashMap};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

static TABLE: Mutex<BTreeMap<(String, String, String), String>> = Mutex::new(BTreeMap::new());
const HEADER: &str = "room,source,quantity,cases,worst_difference,tolerance,unit";

/// One quantity of one source.
pub struct Check {
    room: &'static str,
    source: String,
    quantity: String,
    unit: &'static str,
    tolerance: f64,
    cases: usize,
    worst: f64,
    worst_case: String,
}

impl Check {
    pub fn new(
        room: &'static str,
        source: &str,
        quantity: &str,
        unit: &'static str,
        tolerance: f64,
    ) -> Self {
        Self {
            room,
            source: source.into(),
            quantity: quantity.into(),
            unit,
            tolerance,
            cases: 0,
            worst: -1.0,
            worst_case: String::new(),
        }
    }

    /// One case: both values in the unit of the check.
    pub fn case(&mut self, name: &str, ours: f64, theirs: f64) {
        self.add(name, ours, theirs, (ours - theirs).abs());
    }

    /// One case of which the difference over the outside value counts.
    pub fn relative(&mut self, name: &str, ours: f64, theirs: f64) {
        self.add(name, ours, theirs, ((ours - theirs) / theirs).abs());
    }

    fn add(&mut self, name: &str, ours: f64, theirs: f64, difference: f64) {
        self.cases += 1;
        let difference = if difference.is_nan() { f64::INFINITY } else { difference };
        if difference > self.worst {
            self.worst = difference;
            self.worst_case = format!("{name} | {ours:.6} | {theirs:.6}");
        }
    }

    /// The worst difference of cases that were compared elsewhere.
    pub fn worst_of(mut self, cases: usize, worst: f64) {
        self.cases = cases;
        self.worst = if worst.is_nan() { f64::INFINITY } else { worst };
        self.done();
    }

    /// Prints, writes down and judges.
    pub fn done(self) {
        let Self { room, source, quantity, unit, tolerance, cases, worst, worst_case } = self;
        println!("{source} | {quantity} | {worst_case} | +-{tolerance} {unit} ({cases} cases)");
        assert!(cases > 0, "{source}, {quantity}: no cases");
        let row = format!(
            "{},{},{},{cases},{worst:.3e},{tolerance},{}",
            room,
            quoted(&source),
            quoted(&quantity),
            quoted(unit)
        );
        write_down(room, (room.to_owned(), source.clone(), quantity.clone()), row);
        assert!(
            worst <= tolerance,
            "{source}, {quantity}: case, ours, theirs = {worst_case}; {worst} {unit} apart, \
             {tolerance} allowed"
        );
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

/// Every call writes the whole table, so that it is there whichever test ends last. Each test program
/// has a file of its own: several look into one room.
fn write_down(room: &str, key: (String, String, String), row: String) {
    let mut table = TABLE.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    table.insert(key, row);
    let folder = target_folder().join("figures");
    fs::create_dir_all(&folder).unwrap();
    let mut text = format!("{HEADER}\n");
    for ((of, ..), row) in table.iter() {
        if of == room {
            text.push_str(row);
            text.push('\n');
        }
    }
    fs::write(folder.join(format!("{room}-{}.csv", env!("CARGO_CRATE_NAME"))), text).unwrap();
}

fn target_folder() -> PathBuf {
    // .../target/<profile>/deps/<binary>
    std::env::current_exe()
        .ok()
        .and_then(|exe| exe.ancestors().nth(3).map(Path::to_path_buf))
        .unwrap_or_else(|| "target".into())
}

/// A file of `tests/reference`.
pub fn reference(file: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference").join(file);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// A row by column name.
pub struct Row(HashMap<String, String>);

impl Row {
    pub fn text(&self, column: &str) -> &str {
        self.0.get(column).unwrap_or_else(|| panic!("no column {column}"))
    }

    pub fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap_or_else(|_| panic!("{column}: {}", self.text(column)))
    }

    pub fn maybe(&self, column: &str) -> Option<f64> {
        self.text(column).parse().ok()
    }
}

/// The rows of a table of `tests/reference` whose comments begin with `#`.
pub fn rows(file: &str) -> Vec<Row> {
    let text = reference(file);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    reader.deserialize().map(|row| Row(row.unwrap())).collect()
}
