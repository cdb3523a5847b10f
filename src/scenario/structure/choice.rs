//! Choices: a bare word (`"always"`) or a word with what belongs to it (`{"windows": {...}}`).

use serde_json::{Map, Value};

use super::super::problem::{Problem, ProblemKind, likely};
use super::super::spans::{Member, Node, NodeKind};
use super::{At, Walker, words};

/// One of the choices.
struct Variant<'s> {
    name: &'s str,
    /// What belongs to it; none for a bare word.
    inside: Option<&'s Value>,
}

/// The choices that a schema node offers: the branches of `oneOf`, or the words of `enum`.
fn variants(branches: &[Value]) -> Vec<Variant<'_>> {
    let mut found = Vec::new();
    for branch in branches {
        if let Some(name) = branch.as_str().or_else(|| branch.get("const").and_then(Value::as_str))
        {
            found.push(Variant { name, inside: None });
        } else if let Some(words) = branch.get("enum").and_then(Value::as_array) {
            let words = words.iter().filter_map(Value::as_str);
            found.extend(words.map(|name| Variant { name, inside: None }));
        } else if let Some(keys) = branch.get("properties").and_then(Value::as_object) {
            found.extend(keys.iter().map(|(name, inside)| Variant { name, inside: Some(inside) }));
        }
    }
    found
}

impl<'a> Walker<'a> {
    pub(super) fn choice(&mut self, node: &Node, branches: &'a [Value], at: &At) {
        let variants = variants(branches);
        match &node.kind {
            NodeKind::Text(word) => match variants.iter().find(|variant| variant.name == *word) {
                Some(Variant { inside: None, .. }) => {}
                Some(Variant { name, inside: Some(inside) }) => {
                    let text = format!("`{name}` needs to be told more");
                    let problem = Problem::new(ProblemKind::MissingKey, &text)
                        .mark(node.span.clone(), "the word alone")
                        .allowed(&self.example(name, inside));
                    self.found(problem, at);
                }
                None => {
                    let problem = self.unknown(word, &variants, at);
                    let problem = mark_unknown(problem, node.span.clone(), word, &variants);
                    self.found(problem, at);
                }
            },
            NodeKind::Object(members) => self.choice_object(node, members, &variants, at),
            _ => {
                let text = format!("{} must be one of a few choices", words::name_of(at));
                let problem = Problem::new(ProblemKind::WrongType, &text)
                    .mark(
                        self.underline(node, at),
                        &format!("found {}", super::value::kind_of(node)),
                    )
                    .allowed(&self.offer(&variants));
                self.found(problem, at);
            }
        }
    }

    fn choice_object(
        &mut self,
        node: &Node,
        members: &[Member],
        variants: &[Variant<'a>],
        at: &At,
    ) {
        let known = |member: &Member| variants.iter().find(|variant| variant.name == member.key);
        if members.len() > 1
            && let Some(wrapper) = self.forgotten_wrapper(members, variants)
        {
            let text = format!("{} lacks the word that says which kind it is", words::name_of(at));
            let problem = Problem::new(ProblemKind::MissingKey, &text)
                .mark(self.underline(node, at), "these keys stand one level too high")
                .hint(&format!("Put them into `{{\"{wrapper}\": {{...}}}}`."));
            self.found(problem, at);
            return;
        }
        if members.is_empty() {
            let text = format!("{} is empty", words::name_of(at));
            let problem = Problem::new(ProblemKind::MissingKey, &text)
                .mark(self.underline(node, at), "nothing inside")
                .allowed(&self.offer(variants));
            self.found(problem, at);
        }
        let mut first: Option<&Member> = None;
        for member in members {
            let here = At {
                path: at.path.key(&member.key),
                key: Some(member.key_span.clone()),
                meaning: None,
                months: false,
            };
            match known(member) {
                None => {
                    let problem = self.unknown(&member.key, variants, at);
                    let span = member.key_span.clone();
                    self.found(mark_unknown(problem, span, &member.key, variants), &here);
                }
                Some(Variant { name, inside: None }) => {
                    let text = format!("`{name}` stands alone, without braces");
                    let problem = Problem::new(ProblemKind::WrongType, &text)
                        .mark(self.underline(node, at), "found braces")
                        .allowed(&format!("\"{name}\""));
                    self.found(problem, at);
                }
                Some(Variant { inside: Some(inside), .. }) => {
                    self.node(&member.value, inside, &here);
                    if let Some(first) = first {
                        let text = format!("{} takes one choice only", words::name_of(at));
                        let problem = Problem::new(ProblemKind::Conflict, &text)
                            .mark(member.key_span.clone(), "and this one")
                            .mark(first.key_span.clone(), "this one")
                            .hint("Take one of them away.");
                        self.found(problem, &here);
                    }
                    first = first.or(Some(member));
                }
            }
        }
    }

    /// The kind whose keys these are, when somebody left the kind itself out.
    fn forgotten_wrapper(&self, members: &[Member], variants: &[Variant<'a>]) -> Option<&'a str> {
        variants.iter().find_map(|variant| {
            let keys = self.resolve(variant.inside?).get("properties")?.as_object()?;
            let inside = members.iter().filter(|member| keys.contains_key(&member.key)).count();
            (2 * inside > members.len()).then_some(variant.name)
        })
    }

    fn unknown(&self, word: &str, variants: &[Variant<'a>], at: &At) -> Problem {
        let text = format!("`{word}` is not a choice for {}", words::name_of(at));
        Problem::new(ProblemKind::UnknownChoice, &text).allowed(&self.offer(variants))
    }

    fn offer(&self, variants: &[Variant<'a>]) -> String {
        let mut names: Vec<String> = Vec::new();
        for variant in variants {
            names.push(match variant.inside {
                None => format!("\"{}\"", variant.name),
                Some(inside) => self.example(variant.name, inside),
            });
        }
        names.join(", ")
    }

    /// `{"windows": {"in": ...}}`: the shape of a choice with what it cannot do without.
    fn example(&self, name: &str, inside: &'a Value) -> String {
        let schema = self.resolve(inside);
        let keys: Option<&Map<String, Value>> = schema.get("properties").and_then(Value::as_object);
        let required: Vec<&str> = schema
            .get("required")
            .and_then(Value::as_array)
            .into_iter()
            .flatten()
            .filter_map(Value::as_str)
            .collect();
        let shape = match (schema.get("type").and_then(Value::as_str), keys) {
            (Some("object"), Some(_)) if !required.is_empty() && required.len() <= 3 => {
                let inner: Vec<String> =
                    required.iter().map(|key| format!("\"{key}\": ...")).collect();
                format!("{{{}}}", inner.join(", "))
            }
            (Some("object"), _) => "{...}".to_owned(),
            (Some("array"), _) => "[...]".to_owned(),
            _ => "...".to_owned(),
        };
        format!("{{\"{name}\": {shape}}}")
    }
}

fn mark_unknown(
    problem: Problem,
    span: std::ops::Range<usize>,
    word: &str,
    variants: &[Variant<'_>],
) -> Problem {
    let label = match likely(word, variants.iter().map(|variant| variant.name)) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => "not one of them".to_owned(),
    };
    problem.mark(span, &label)
}
