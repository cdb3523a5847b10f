//! From the file of a club to the scenarios of its stations.
//!
//! Lives here: putting each station together from what all share, its own text and its patch
//! ([`layers`]), judging it as any scenario is judged, and whether the stations fit each other
//! (`sense`). Does not live here: compiling, and what happens in an exercise.

pub mod layers;
mod sense;

use std::path::{Path, PathBuf};

use serde_json::{Map, Value, json};

use self::layers::{Layer, placed, whole};
use crate::plan::check::examine;
use crate::plan::compile::CompileProblem;
use crate::scenario::club::{Club, Part, StationText};
use crate::scenario::json_path::{JsonPath, Step};
use crate::scenario::problem::{Problem, ProblemKind, Problems};
use crate::scenario::read::{attempt_club, attempt_json, text_of};
use crate::scenario::spans::Spans;
use crate::scenario::watch::OffWatch;
use crate::scenario::{Named, Scenario};
use crate::warning::{Kind, Warning};

/// A club with everything that there is to say about it.
#[derive(Debug, Clone)]
pub struct ExaminedClub {
    /// The club, when there is no problem.
    pub club: Option<GoodClub>,
    /// All problems, a file each; empty when there is none.
    pub problems: Vec<Problems>,
}

/// A club without a problem.
#[derive(Debug, Clone)]
pub struct GoodClub {
    /// As typed.
    pub club: Club,
    /// The scenarios of its stations, in the order of the file.
    pub stations: Vec<Composed>,
    /// That of its charging point.
    pub point: Option<Composed>,
    /// A station that neither charges nor draws: packs that stand or are carried.
    pub shelf: Option<Scenario>,
    /// What the reader should know, by station.
    pub warnings: Vec<(String, Warning)>,
}

/// A scenario put together.
#[derive(Debug, Clone)]
pub struct Composed {
    /// Name of the station.
    pub name: String,
    /// Its scenario.
    pub scenario: Scenario,
    /// Where the files that it names are looked for.
    pub base_dir: PathBuf,
    /// Whether it takes packs.
    pub takes_packs: bool,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// The name under which people meet the charging point.
pub const POINT: &str = "charging point";

/// Reads and checks a club. `base_dir` is where the files that it names are looked for.
#[must_use]
pub fn examine_club(text: &str, file_name: &str, base_dir: &Path) -> ExaminedClub {
    let reading = attempt_club(text, file_name);
    let (Some(club), Some(spans), true) =
        (reading.scenario, reading.spans.as_ref(), reading.problems.is_empty())
    else {
        let text = reading.spans.as_ref().map_or(text, Spans::text);
        let problems = vec![Problems::new(file_name, text, reading.problems)];
        return ExaminedClub { club: None, problems };
    };
    let mut making =
        Making { club: &club, spans, file_name, base_dir, own: Vec::new(), others: Vec::new() };
    making.names();
    let stations: Vec<Option<Composed>> =
        club.stations.keys().map(|name| making.station(name)).collect();
    let point = club.charging_point.as_ref().map(|point| {
        making.composed(
            POINT,
            &JsonPath::keys(&["charging_point"]),
            &point.from,
            &point.patch,
            true,
        )
    });
    let shelf = making.shelf();
    let mut problems = Vec::new();
    let complete =
        stations.iter().all(Option::is_some) && point.as_ref().is_none_or(Option::is_some);
    let stations: Vec<Composed> = stations.into_iter().flatten().collect();
    let point = point.flatten();
    if complete {
        making.sense(&stations, point.as_ref());
    }
    let of_roster = making.roster_warnings(&stations);
    let Making { own, others, .. } = making;
    if !own.is_empty() {
        problems.push(Problems::new(file_name, spans.text(), own));
    }
    problems.extend(others);
    let good = problems.is_empty() && complete;
    let warnings = stations
        .iter()
        .chain(&point)
        .flat_map(|it| it.warnings.iter().map(|warning| (it.name.clone(), warning.clone())))
        .chain(of_roster)
        .collect();
    let club = good.then(|| GoodClub { club, stations, point, shelf, warnings });
    ExaminedClub { club, problems }
}

/// A club being put together.
struct Making<'a> {
    club: &'a Club,
    spans: &'a Spans,
    file_name: &'a str,
    base_dir: &'a Path,
    /// Problems of the club's own file.
    own: Vec<Problem>,
    /// Those of other files.
    others: Vec<Problems>,
}

/// A file that a station is written in.
struct Beside {
    spans: Spans,
    value: Value,
    folder: PathBuf,
}

impl<'a> Making<'a> {
    fn station(&mut self, name: &str) -> Option<Composed> {
        let station = &self.club.stations[name];
        self.composed(
            name,
            &JsonPath::keys(&["stations", name]),
            &station.from,
            &station.patch,
            false,
        )
    }

    /// Puts a station together and judges it.
    fn composed(
        &mut self,
        name: &str,
        at: &JsonPath,
        from: &StationText,
        patch: &Part,
        is_point: bool,
    ) -> Option<Composed> {
        let beside = match from {
            StationText::File(file) => Some(self.beside(at, file)?),
            StationText::Inline(_) => None,
        };
        let mut layers: Vec<Layer> =
            vec![Layer { value: self.usual(name, is_point), at: None, under: Vec::new() }];
        let own_place = at.key("from").key("inline");
        match (from, &beside) {
            (StationText::Inline(part), _) => layers.push(self.layer(part, own_place)),
            (StationText::File(_), Some(beside)) => layers.push(Layer {
                value: beside.value.clone(),
                at: Some((&beside.spans, JsonPath::top())),
                under: Vec::new(),
            }),
            (StationText::File(_), None) => {}
        }
        layers.push(self.layer(&self.club.common, JsonPath::keys(&["common"])));
        if !patch.is_empty() {
            layers.push(self.layer(patch, at.key("patch")));
        }
        let takes_packs = is_point || self.takes_packs(name, &whole(&layers));
        if let (true, Some(packs)) = (takes_packs, &self.club.packs) {
            if whole(&layers).get("battery").is_none() || is_point {
                layers.push(Layer {
                    value: json!({ "battery": packs.battery }),
                    at: Some((self.spans, JsonPath::keys(&["packs", "battery"]))),
                    under: vec![Step::Key("battery".to_owned())],
                });
            }
            let stands = packs.each.iter().find(|(_, pack)| pack.at.as_deref() == Some(name));
            if let Some((pack, it)) = stands {
                layers.push(Layer {
                    value: json!({ "start": { "charge_share": it.charge_share } }),
                    at: Some((self.spans, JsonPath::keys(&["packs", "each", pack]))),
                    under: vec![Step::Key("start".to_owned())],
                });
            }
        }
        if !is_point {
            layers.extend(self.watch(name, at));
        }
        let put_together = whole(&layers);
        let folder = match &beside {
            Some(beside) if self.club.common.get("sun").is_none() => beside.folder.clone(),
            _ => self.base_dir.to_owned(),
        };
        let text = format!("{put_together:#}");
        let examined = examine(&text, self.file_name, &folder);
        if let Some(scenario) = examined.scenario {
            let warnings = examined.warnings.into_iter().filter(|it| it.kind != Kind::Unused);
            return Some(Composed {
                name: name.to_owned(),
                scenario,
                base_dir: folder,
                takes_packs,
                warnings: warnings.collect(),
            });
        }
        let Some(spans) = &examined.spans else { return None };
        let mut elsewhere = Vec::new();
        for problem in &examined.problems.list {
            match placed(problem, spans, &layers) {
                Some((file, found)) if std::ptr::eq(file, self.spans) => self.tell(name, found),
                Some((_, found)) => elsewhere.push(found),
                None => self.tell(name, Problem { marks: Vec::new(), ..problem.clone() }),
            }
        }
        if let (Some(beside), false) = (&beside, elsewhere.is_empty()) {
            let (file, text) = (beside.spans.file(), beside.spans.text());
            let known = self.others.iter().any(|it| it.file == file && it.list == elsewhere);
            if !known {
                self.others.push(Problems::new(file, text, elsewhere));
            }
        }
        None
    }

    /// A problem of a station in the club's own file; what all stations share is told once.
    fn tell(&mut self, name: &str, problem: Problem) {
        let shared = problem.path.is_empty() || problem.path.starts_with("common");
        let same = |it: &Problem| it.path == problem.path && it.marks == problem.marks;
        if shared && self.own.iter().any(same) {
            return;
        }
        let text = if problem.path.starts_with("common") {
            problem.text.clone()
        } else {
            format!("{}: {}", called(name), problem.text)
        };
        self.own.push(Problem { text, ..problem });
    }

    fn layer(&self, part: &Part, at: JsonPath) -> Layer<'a> {
        Layer { value: Value::Object(part.clone()), at: Some((self.spans, at)), under: Vec::new() }
    }

    /// What need not be said in a club.
    fn usual(&self, name: &str, is_point: bool) -> Value {
        let title = format!("{name}, {}", self.club.title);
        if is_point {
            json!({
                "format": 2, "title": title, "outlet_groups": {}, "loads": {},
                "tiers": [{"name": "charging", "loads": {}}],
                "strategy": "charging", "strategies": {"charging": {"supply": "always"}}
            })
        } else {
            json!({
                "format": 2, "title": title,
                "strategy": "no mains", "strategies": {"no mains": {"supply": "never"}}
            })
        }
    }

    /// Stations where a pack stands, and those without a battery of their own, take packs.
    fn takes_packs(&self, name: &str, so_far: &Value) -> bool {
        self.club.packs.as_ref().is_some_and(|packs| {
            so_far.get("battery").is_none()
                || packs.each.values().any(|pack| pack.at.as_deref() == Some(name))
        })
    }

    /// The watches of the roster.
    fn watch(&self, name: &str, at: &JsonPath) -> Vec<Layer<'a>> {
        let on: Vec<&String> = self
            .club
            .roster
            .iter()
            .filter(|(_, stations)| stations.iter().any(|it| it == name))
            .map(|(window, _)| window)
            .collect();
        if on.is_empty() {
            return Vec::new();
        }
        let off_watch = &self.club.stations[name].off_watch;
        let value = json!({ "watch": { "in": on, "off_watch": off_watch } });
        let watch = Step::Key("watch".to_owned());
        let mut layers = vec![Layer { value, at: None, under: Vec::new() }];
        for (index, window) in on.iter().enumerate() {
            let under = vec![watch.clone(), Step::Key("in".to_owned()), Step::Index(index)];
            let at = Some((self.spans, JsonPath::keys(&["roster", window])));
            layers.push(Layer { value: Value::Object(Map::new()), at, under });
        }
        if let OffWatch::Tier(_) = off_watch {
            let under = vec![watch, Step::Key("off_watch".to_owned())];
            let at = Some((self.spans, at.key("off_watch")));
            layers.push(Layer { value: Value::Object(Map::new()), at, under });
        }
        layers
    }

    /// Reads a file that a station is written in.
    fn beside(&mut self, at: &JsonPath, file: &str) -> Option<Beside> {
        let path = self.base_dir.join(file);
        let shown = path.display().to_string();
        let read = std::fs::read(&path);
        let bytes = match read {
            Ok(bytes) => bytes,
            Err(error) => {
                let text = format!("the file of a station cannot be read: {error}");
                let place = at.key("from").key("file");
                let problem = Problem::new(ProblemKind::Unreadable, &text);
                self.own.push(problem.at(self.spans, &place, &format!("looked for at {shown}")));
                return None;
            }
        };
        let text = match text_of(bytes, &shown) {
            Ok(text) => text,
            Err(problems) => {
                self.others.push(problems);
                return None;
            }
        };
        let reading = attempt_json(&text, &shown);
        match (reading.scenario, reading.spans) {
            (Some(value), Some(spans)) if reading.problems.is_empty() => {
                let folder = path.parent().unwrap_or(Path::new("")).to_owned();
                Some(Beside { spans, value, folder })
            }
            (_, spans) => {
                let text = spans.as_ref().map_or(text.as_str(), Spans::text);
                self.others.push(Problems::new(&shown, text, reading.problems));
                None
            }
        }
    }

    /// A scenario in which packs only stand: the same sky and clock, nothing that charges or draws.
    fn shelf(&self) -> Option<Scenario> {
        let packs = self.club.packs.as_ref()?;
        let mut value = self.usual("shelf", true);
        for (key, kept) in &self.club.common {
            if ["site", "span", "sun", "windows", "uncertain"].contains(&key.as_str()) {
                value[key] = kept.clone();
            }
        }
        value["battery"] = Value::Object(packs.battery.clone());
        value["grid"] = json!("none");
        serde_json::from_value(value).ok()
    }
}

/// How a station is called at the beginning of a sentence.
fn called(name: &str) -> String {
    if name == POINT { "the charging point".to_owned() } else { format!("station `{name}`") }
}

/// What cannot be compiled of a composed scenario, as text.
#[must_use]
pub fn not_compiled(name: &str, file_name: &str, problems: &[CompileProblem]) -> Problems {
    let told = problems.iter().map(|problem| {
        let text = format!("{}: {}: {}", called(name), problem.path, problem.text);
        Problem::new(ProblemKind::Impossible, &text)
    });
    Problems::new(file_name, "", told.collect())
}

/// The names of all who own something, with where it is said.
fn owners(club: &Club) -> Vec<(JsonPath, &str)> {
    let mut found: Vec<(JsonPath, Option<&String>)> = Vec::new();
    for (name, it) in &club.stations {
        found.push((JsonPath::keys(&["stations", name, "owner"]), it.owner.as_ref()));
    }
    for (name, it) in club.packs.iter().flat_map(|packs| &packs.each) {
        found.push((JsonPath::keys(&["packs", "each", name, "owner"]), it.owner.as_ref()));
    }
    if let Some(point) = &club.charging_point {
        let at = JsonPath::keys(&["charging_point"]);
        found.push((at.key("owner"), point.owner.as_ref()));
        found.push((at.key("generator_owner"), point.generator_owner.as_ref()));
    }
    for (name, it) in &club.gear {
        found.push((JsonPath::keys(&["gear", name, "owner"]), it.owner.as_ref()));
    }
    found.into_iter().filter_map(|(path, owner)| Some((path, owner?.as_str()))).collect()
}

/// Keys that must be the same for all: one series of days, one grid, one span.
const ONE_FOR_ALL: [&str; 7] = ["span", "sun", "snow", "storm", "grid", "warning", "uncertain"];

/// What of a scenario must be the same for all.
fn shared(scenario: &Scenario) -> Named<Value> {
    let whole = serde_json::to_value(scenario).unwrap_or_default();
    let mut kept: Named<Value> = Named::new();
    for key in ONE_FOR_ALL {
        kept.insert(key.to_owned(), whole.get(key).cloned().unwrap_or_default());
    }
    for key in ["latitude_deg", "longitude_deg", "elevation_m", "clock"] {
        let value = whole.get("site").and_then(|site| site.get(key)).cloned();
        kept.insert(format!("site.{key}"), value.unwrap_or_default());
    }
    let settle = scenario.start.warmup_days.unwrap_or(0);
    kept.insert("start.warmup_days".to_owned(), settle.into());
    kept
}
