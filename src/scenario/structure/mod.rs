//! Does the file have the form of a scenario? Every fault at once, in words.
//!
//! Walks the scanned text against the schema (`schema`), which stands for the types. Lives here:
//! keys (this file), choices (`choice`), numbers, texts and lists (`value`), and how a place is
//! called in a sentence (`words`). Does not live here: faults of JSON itself (`scan`) and whether
//! the parts fit each other (`plan::check`).

mod choice;
mod value;
mod words;

use std::ops::Range;
use std::sync::OnceLock;

use serde_json::{Map, Value};

use super::json_path::JsonPath;
use super::patch::{IS_PATCH, NOT_IN_A_PATCH};
use super::problem::{Problem, ProblemKind, likely, list_of};
use super::renamed;
use super::spans::{Member, Node, NodeKind, Spans, underline_of};

/// All faults of form.
pub(super) fn check(spans: &Spans, schema: &Value) -> Vec<Problem> {
    let mut walker = Walker { spans, schema, problems: Vec::new() };
    let place = At { path: JsonPath::top(), key: None, meaning: None, months: false };
    walker.node(spans.root(), schema, &place);
    walker.problems
}

/// Where the walk stands.
#[derive(Clone)]
struct At {
    path: JsonPath,
    key: Option<Range<usize>>,
    /// What the schema says about this key.
    meaning: Option<String>,
    /// Whether this is an element of a list of twelve months.
    months: bool,
}

struct Walker<'a> {
    spans: &'a Spans,
    schema: &'a Value,
    problems: Vec<Problem>,
}

impl<'a> Walker<'a> {
    /// Follows references to the node that says the type.
    fn resolve(&self, mut node: &'a Value) -> &'a Value {
        while let Some(target) = node.get("$ref").and_then(Value::as_str) {
            match self.schema.pointer(target.trim_start_matches('#')) {
                Some(next) => node = next,
                None => break,
            }
        }
        node
    }

    fn node(&mut self, node: &Node, schema: &'a Value, at: &At) {
        let meaning = schema.get("description").and_then(Value::as_str);
        let at = At { meaning: at.meaning.clone().or(meaning.map(str::to_owned)), ..at.clone() };
        let schema = self.resolve(schema);
        if matches!(node.kind, NodeKind::Broken) {
            return;
        }
        if matches!(node.kind, NodeKind::Null) {
            self.null(node, &at);
        } else if let Some(branches) = schema.get("oneOf").and_then(Value::as_array) {
            self.choice(node, branches, &at);
        } else if let Some(words) = schema.get("enum").and_then(Value::as_array) {
            self.choice(node, words, &at);
        } else if let Some(branches) = schema.get("anyOf").and_then(Value::as_array) {
            match branches.iter().find(|branch| value::fits(node, self.resolve(branch))) {
                Some(branch) => self.node(node, branch, &at),
                None => self.wrong_type(node, schema, &at),
            }
        } else if !value::fits(node, schema) {
            self.wrong_type(node, schema, &at);
        } else if schema.get(IS_PATCH).is_some() {
            self.patch(node, &at);
        } else {
            match &node.kind {
                NodeKind::Object(members) => self.object(node, members, schema, &at),
                NodeKind::List(items) => self.list(node, items, schema, &at),
                NodeKind::Text(text) => self.text(node, text, schema, &at),
                NodeKind::Number(number) => self.number(node, *number, schema, &at),
                NodeKind::Bool(_) | NodeKind::Null | NodeKind::Broken => {}
            }
        }
    }

    /// The bytes to underline for a node.
    fn underline(&self, node: &Node, at: &At) -> Range<usize> {
        underline_of(self.spans.text(), at.key.as_ref(), &node.span)
    }

    fn found(&mut self, problem: Problem, at: &At) {
        self.problems.push(problem.about(&at.path));
    }

    fn null(&mut self, node: &Node, at: &At) {
        let text = format!("{} is `null`", words::name_of(at));
        let problem = Problem::new(ProblemKind::WrongType, &text)
            .mark(self.underline(node, at), "says nothing")
            .hint("Leave the whole key out if there is nothing to say.");
        self.found(problem, at);
    }

    fn object(&mut self, node: &Node, members: &[Member], schema: &'a Value, at: &At) {
        self.duplicates(members, at);
        // A part of another file's form: it is judged where it is put together.
        if schema.is_boolean() || schema.get("additionalProperties") == Some(&Value::Bool(true)) {
            return;
        }
        let keys: &'a Map<String, Value> = match schema.get("properties") {
            Some(Value::Object(keys)) => keys,
            _ => no_keys(),
        };
        let any_name = schema.get("additionalProperties").filter(|node| node.is_object());
        let missing: Vec<&str> = schema
            .get("required")
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
            .filter_map(Value::as_str)
            .filter(|key| members.iter().all(|member| member.key != *key))
            .collect();
        let mut slips: Vec<&str> = Vec::new();
        for member in members {
            let here = At {
                path: at.path.key(&member.key),
                key: Some(member.key_span.clone()),
                meaning: None,
                months: false,
            };
            if let Some(schema) = keys.get(&member.key) {
                self.node(&member.value, schema, &here);
            } else if let Some(schema) = any_name {
                self.name(member, &here);
                self.node(&member.value, schema, &here);
            } else if let Some(slip) = self.unknown_key(member, members, keys, &missing, &here) {
                slips.push(slip);
            }
        }
        let missing: Vec<&str> = missing.into_iter().filter(|key| !slips.contains(key)).collect();
        if !missing.is_empty() {
            self.missing(node, &missing, keys, at);
        }
        if keys.contains_key("basis") {
            self.basis(members, keys, at);
        }
    }

    /// A patch: no key twice, and none that a variant cannot change. What it makes of the scenario
    /// is checked as a whole.
    fn patch(&mut self, node: &Node, at: &At) {
        match &node.kind {
            NodeKind::Object(members) => {
                self.duplicates(members, at);
                for member in members {
                    let here = At { path: at.path.key(&member.key), ..at.clone() };
                    if at.path.steps().len() == 2 && NOT_IN_A_PATCH.contains(&member.key.as_str()) {
                        let text = format!("a variant cannot change `{}`", member.key);
                        let problem = Problem::new(ProblemKind::Conflict, &text)
                            .mark(member.key_span.clone(), "not here")
                            .hint("What is compared must go through the same hours: leave it out.");
                        self.found(problem, &here);
                    }
                    self.patch(&member.value, &here);
                }
            }
            NodeKind::List(items) => {
                for (index, item) in items.iter().enumerate() {
                    self.patch(item, &At { path: at.path.index(index), ..at.clone() });
                }
            }
            _ => {}
        }
    }

    /// A part's name must be readable.
    fn name(&mut self, member: &Member, at: &At) {
        let bad = member.key.chars().any(char::is_control);
        if member.key.trim().is_empty() || bad {
            let text = if bad { "a name holds a control character" } else { "a name is empty" };
            let problem = Problem::new(ProblemKind::WrongForm, text)
                .mark(member.key_span.clone(), "found this name")
                .allowed("Letters, digits, spaces and signs that can be printed.");
            self.found(problem, at);
        }
    }

    fn duplicates(&mut self, members: &[Member], at: &At) {
        for (place, member) in members.iter().enumerate() {
            let Some(first) = members[..place].iter().find(|first| first.key == member.key) else {
                continue;
            };
            let text = format!("`{}` stands twice in one object", member.key);
            let problem = Problem::new(ProblemKind::DuplicateKey, &text)
                .mark(member.key_span.clone(), "here again")
                .mark(first.key_span.clone(), "first here")
                .hint("Only one can count: take one away, or give it another name.");
            self.found(problem, &At { path: at.path.key(&member.key), ..at.clone() });
        }
    }

    /// Reports a key that the format does not have; gives back the missing key it probably is.
    fn unknown_key<'m>(
        &mut self,
        member: &Member,
        members: &[Member],
        keys: &'a Map<String, Value>,
        missing: &[&'m str],
        at: &At,
    ) -> Option<&'m str> {
        let free = || {
            keys.keys()
                .map(String::as_str)
                .filter(|key| members.iter().all(|other| other.key != *key))
        };
        if let Some(new) = renamed::new_name(&at.path).filter(|new| keys.contains_key(*new)) {
            self.old_name(member, members, new, at);
            return missing.iter().copied().find(|key| *key == new);
        }
        let slip = likely(&member.key, missing.iter().copied());
        let meant = slip.or_else(|| likely(&member.key, free()));
        let text = format!("`{}` is not a key of {}", member.key, words::object_of(&at.path));
        let mut problem = Problem::new(ProblemKind::UnknownKey, &text);
        problem = match meant {
            Some(meant) => {
                let meaning = keys.get(meant).and_then(|key| key.get("description"));
                let meaning = meaning.and_then(Value::as_str).map(words::first_sentence);
                problem
                    .mark(member.key_span.clone(), &format!("did you mean `{meant}`?"))
                    .maybe_meaning(meaning.map(|meaning| format!("`{meant}`: {meaning}")))
            }
            None => problem
                .mark(member.key_span.clone(), "not known here")
                .allowed(&list_of(keys.keys().map(String::as_str))),
        };
        self.found(problem, at);
        slip
    }

    /// Reports a key that has another name since format 2.
    fn old_name(&mut self, member: &Member, members: &[Member], new: &str, at: &At) {
        let beside = members.iter().find(|it| it.key == new).map(|it| it.key_span.clone());
        let problem = match beside {
            Some(beside) => {
                renamed::both_names(&at.path, (&member.key, &member.key_span), (new, beside))
            }
            None => {
                let text = format!("`{}` is called `{new}` since format 2", member.key);
                Problem::new(ProblemKind::UnknownKey, &text)
                    .mark(member.key_span.clone(), &format!("write `{new}`"))
            }
        };
        self.found(problem, at);
    }

    /// One problem for all keys that an object lacks.
    fn missing(&mut self, node: &Node, missing: &[&str], keys: &'a Map<String, Value>, at: &At) {
        let is = if missing.len() == 1 { "is" } else { "are" };
        let whose = words::whole_object(&at.path);
        let text = format!("{} {is} missing in {whose}", list_of(missing.iter().copied()));
        let meanings: Vec<String> = missing
            .iter()
            .filter_map(|key| {
                let meaning = keys.get(*key)?.get("description")?.as_str()?;
                Some(format!("`{key}`: {}", words::first_sentence(meaning)))
            })
            .collect();
        let mut span = self.underline(node, at);
        if at.key.is_none() && span == node.span && span.len() > 1 {
            span = span.start..span.start + 1;
        }
        let problem = Problem::new(ProblemKind::MissingKey, &text)
            .mark(span, "belongs in here")
            .maybe_meaning((!meanings.is_empty()).then(|| meanings.join("\n")));
        self.found(problem, at);
    }

    /// The keys of `basis` must be those of the numbers beside it.
    fn basis(&mut self, members: &[Member], keys: &'a Map<String, Value>, at: &At) {
        let Some(basis) = members.iter().find(|member| member.key == "basis") else { return };
        let NodeKind::Object(entries) = &basis.value.kind else { return };
        let mut names: Vec<&str> = keys
            .keys()
            .map(String::as_str)
            .filter(|key| !matches!(*key, "basis" | "notes"))
            .collect();
        for member in
            members.iter().filter(|member| !matches!(member.key.as_str(), "basis" | "notes"))
        {
            keys_below(&member.value, &mut names);
        }
        for entry in entries.iter().filter(|entry| !names.contains(&entry.key.as_str())) {
            let here = at.path.key("basis").key(&entry.key);
            let text = format!(
                "`basis` speaks of `{}`, which {} does not have",
                entry.key,
                words::whole_object(&at.path)
            );
            let problem = Problem::new(ProblemKind::UnknownKey, &text);
            let problem = match likely(&entry.key, names.iter().copied()) {
                Some(meant) => {
                    problem.mark(entry.key_span.clone(), &format!("did you mean `{meant}`?"))
                }
                None => problem
                    .mark(entry.key_span.clone(), "not known here")
                    .allowed(&list_of(names.iter().copied())),
            };
            self.found(problem, &At { path: here, ..at.clone() });
        }
    }
}

/// An object of names alone has no keys of its own.
fn no_keys() -> &'static Map<String, Value> {
    static NONE: OnceLock<Map<String, Value>> = OnceLock::new();
    NONE.get_or_init(Map::new)
}

/// The keys of the objects inside a value.
fn keys_below<'n>(node: &'n Node, names: &mut Vec<&'n str>) {
    if let NodeKind::Object(members) = &node.kind {
        for member in members {
            if !names.contains(&member.key.as_str()) {
                names.push(&member.key);
            }
            keys_below(&member.value, names);
        }
    }
}
