//! Every key of a scenario and of a club's file, as its schema and its table of limits have it.

use serde_json::Value;

use crate::scenario::limits::{CLUB_LIMITS, LIMITS, Limit, limit_among};
use crate::scenario::schema::{club_schema, schema};

/// The keys of one kind of file.
#[derive(Debug, Clone, Copy)]
pub struct Tree {
    /// What stands before a key to say which file is meant: `scenario`, `club`.
    pub prefix: &'static str,
    schema: &'static Value,
    limits: &'static [Limit],
}

/// One key, or one word that a key may have.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its place: keys joined by dots, `*` for any name, `[]` for any element of a list.
    pub path: String,
    /// What it means.
    pub meaning: String,
    /// Unit and range, words, default, in short.
    pub facts: String,
    /// What holds when it is left out.
    pub default: Option<String>,
    /// Whether it must be given; nothing for a word.
    pub required: Option<bool>,
    node: &'static Value,
}

/// The files that have keys: scenarios first.
#[must_use]
pub fn trees() -> [Tree; 2] {
    [
        Tree { prefix: "scenario", schema: schema(), limits: LIMITS },
        Tree { prefix: "club", schema: club_schema(), limits: CLUB_LIMITS },
    ]
}

impl Tree {
    /// The key at this place. `[0]`, `[]` and `*` may be left out, and a user's own name may stand
    /// for `*`.
    #[must_use]
    pub fn look_up(&self, asked: &str) -> Option<Entry> {
        let path = asked.strip_prefix(self.prefix).and_then(|it| it.strip_prefix('.'));
        let path = path.unwrap_or(asked);
        let mut found: Option<Entry> = None;
        for name in path.split('.') {
            let name = name.split('[').next().unwrap_or_default().trim_matches('`');
            let (node, at) =
                found.as_ref().map_or((self.schema, ""), |it| (it.node, it.path.as_str()));
            found = Some(self.step(node, at, name)?);
        }
        found
    }

    /// What a name means below a node.
    fn step(&self, node: &'static Value, at: &str, name: &str) -> Option<Entry> {
        let (inner, at) = self.unwrapped(node, at);
        if name == "*" && at.ends_with(".*") {
            return Some(self.element(inner, at));
        }
        let below = self.entries(inner, &at);
        let word = format!("{at}: \"{name}\"");
        let key = if at.is_empty() { name.to_owned() } else { format!("{at}.{name}") };
        below
            .into_iter()
            .find(|it| it.path == key || it.path == word)
            .or_else(|| (at.ends_with(".*") && !name.is_empty()).then(|| self.element(inner, at)))
    }

    fn element(&self, node: &'static Value, path: String) -> Entry {
        let facts = self.facts(node, node, &path);
        let meaning = described(node).to_owned();
        Entry { path, meaning, facts, default: None, required: None, node }
    }

    /// The node inside lists and named parts, with its place.
    fn unwrapped(&self, node: &'static Value, at: &str) -> (&'static Value, String) {
        let mut node = self.target(node);
        let mut at = at.to_owned();
        while node["properties"].is_null() {
            let inner = [("additionalProperties", ".*"), ("items", "[]")]
                .into_iter()
                .find(|(below, _)| node[*below].is_object());
            let Some((below, mark)) = inner else { break };
            node = self.target(&node[below]);
            at.push_str(mark);
        }
        (node, at)
    }

    /// Keys and words directly below a key.
    #[must_use]
    pub fn below(&self, entry: &Entry) -> Vec<Entry> {
        let (node, at) = self.unwrapped(entry.node, &entry.path);
        self.entries(node, &at)
    }

    fn entries(&self, node: &'static Value, at: &str) -> Vec<Entry> {
        let mut entries = Vec::new();
        let required: Vec<&str> =
            node["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
        for (key, property) in node["properties"].as_object().into_iter().flatten() {
            if !matches!(key.as_str(), "notes" | "basis") || at.is_empty() {
                let must = Some(required.contains(&key.as_str()));
                entries.push(self.entry(at, key, property, must, ""));
            }
        }
        let branches = ["oneOf", "anyOf"].map(|name| node[name].as_array());
        for branch in branches.into_iter().flatten().flatten() {
            let said = described(branch);
            if let Some(word) = branch["const"].as_str() {
                entries.push(Entry {
                    path: format!("{at}: \"{word}\""),
                    meaning: said.to_owned(),
                    facts: String::new(),
                    default: None,
                    required: None,
                    node: branch,
                });
            }
            for (key, property) in branch["properties"].as_object().into_iter().flatten() {
                entries.push(self.entry(at, key, property, None, said));
            }
        }
        entries
    }

    fn entry(
        &self,
        at: &str,
        key: &str,
        property: &'static Value,
        required: Option<bool>,
        said: &str,
    ) -> Entry {
        let path = if at.is_empty() { key.to_owned() } else { format!("{at}.{key}") };
        let node = self.target(property);
        let meaning = [described(property), said, described(node)]
            .into_iter()
            .find(|text| !text.is_empty())
            .unwrap_or_default()
            .to_owned();
        let facts = self.facts(property, node, &path);
        Entry { path, meaning, facts, default: default(property), required, node }
    }

    /// The node that a reference means; the only branch that is no `null`.
    fn target(&self, node: &'static Value) -> &'static Value {
        let node = match node["anyOf"].as_array().map(Vec::as_slice) {
            Some([only]) => only,
            _ => node,
        };
        match node["$ref"].as_str() {
            Some(name) => self.schema.pointer(name.trim_start_matches('#')).unwrap_or(node),
            None => node,
        }
    }

    /// The range at a place.
    pub(super) fn limit(&self, path: &str) -> Option<&'static Limit> {
        let places = [path.to_owned(), format!("{path}[]"), format!("{path}.*")];
        places.iter().find_map(|path| limit_among(self.limits, path))
    }

    fn facts(&self, property: &Value, node: &Value, path: &str) -> String {
        facts(self.limit(path), property, node)
    }

    /// Every place of this kind of file; a type that holds itself is entered once.
    #[must_use]
    pub fn paths(&self) -> Vec<String> {
        self.all().into_iter().map(|entry| entry.path).collect()
    }

    /// Every key and word.
    #[must_use]
    pub fn all(&self) -> Vec<Entry> {
        let mut found = Vec::new();
        self.collect(self.schema, "", &mut Vec::new(), &mut found);
        found
    }

    fn collect(
        &self,
        node: &'static Value,
        at: &str,
        inside: &mut Vec<*const Value>,
        found: &mut Vec<Entry>,
    ) {
        let (node, at) = self.unwrapped(node, at);
        let here: *const Value = node;
        if inside.contains(&here) {
            return;
        }
        inside.push(here);
        for entry in self.entries(node, &at) {
            found.push(entry.clone());
            self.collect(entry.node, &entry.path, inside, found);
        }
        inside.pop();
    }

    /// Keys and words whose place ends so, each meaning once.
    #[must_use]
    pub fn ending_with(&self, asked: &str) -> Vec<Entry> {
        let plain = |path: &str| {
            let path = path.replace("[]", "").replace(".*", "");
            format!(".{}", path.replace(": \"", ".").replace('"', ""))
        };
        let end = plain(asked);
        if asked.is_empty() {
            return Vec::new();
        }
        let all = self.all().into_iter();
        once_each(all.filter(|it| plain(&it.path).ends_with(&end)).collect())
    }
}

/// The entries without those that say of another place what one before them says.
#[must_use]
pub fn once_each(entries: Vec<Entry>) -> Vec<Entry> {
    let last = |entry: &Entry| entry.path.rsplit('.').next().unwrap_or_default().to_owned();
    let mut kept: Vec<Entry> = Vec::new();
    for entry in entries {
        let same = |it: &Entry| it.meaning == entry.meaning && last(it) == last(&entry);
        if !kept.iter().any(same) {
            kept.push(entry);
        }
    }
    kept
}

fn described(node: &Value) -> &str {
    node["description"].as_str().unwrap_or_default()
}

/// Unit and range, words, default of a key: what stands between its name and its meaning.
#[must_use]
pub fn facts(limit: Option<&Limit>, property: &Value, node: &Value) -> String {
    let mut facts = Vec::new();
    facts.extend(limit.map(range));
    let words: Vec<&str> =
        node["enum"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    if !words.is_empty() {
        facts.push(words.join(", "));
    }
    facts.extend(default(property).map(|value| format!("{value} if left out")));
    facts.join("; ")
}

fn default(property: &Value) -> Option<String> {
    match &property["default"] {
        Value::Null | Value::Object(_) => None,
        Value::Array(list) if list.is_empty() => None,
        value => Some(value.to_string()),
    }
}

/// Unit and range: `V, above 0 to 80`.
fn range(limit: &Limit) -> String {
    match limit.unit {
        "share" | "1" => bounds(limit),
        unit => format!("{unit}, {}", bounds(limit)),
    }
}

/// The range alone.
pub(super) fn bounds(limit: &Limit) -> String {
    let above = if limit.above_min { "above " } else { "" };
    let below = if limit.below_max { "below " } else { "" };
    format!("{above}{} to {below}{}", limit.min, limit.max)
}
