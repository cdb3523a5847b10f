//! One scenario put together from several places, and the way back: what is wrong with the whole is
//! told at the place that said it.
//!
//! Each place is a layer: a value and where it stands in a file. Layers are merged in their order
//! (RFC 7386), so the last that says something counts, and a fault is marked there.

use std::ops::Range;

use serde_json::{Map, Value};

use crate::scenario::json_path::{JsonPath, Step};
use crate::scenario::patch::{merged, stacked};
use crate::scenario::problem::{Mark, Problem};
use crate::scenario::spans::{Node, NodeKind, Spans};

const VARIANTS: &str = "variants";

/// One place that says a part of a scenario.
pub struct Layer<'a> {
    /// What it says.
    pub value: Value,
    /// Where: the file and the way to it; none for what nobody typed.
    pub at: Option<(&'a Spans, JsonPath)>,
    /// Which keys of the scenario stand there: the way that the value itself begins with.
    pub under: Vec<Step>,
}

/// The whole of all layers. What a variant says is a patch of its own: `null` within it stays, for
/// whoever puts the variant in force.
#[must_use]
pub fn whole(layers: &[Layer]) -> Value {
    let empty = Value::Object(Map::new());
    layers.iter().fold(empty, |base, layer| {
        let mut plain = layer.value.clone();
        let is_object = plain.get(VARIANTS).is_some_and(Value::is_object);
        let variants = plain.as_object_mut().filter(|_| is_object);
        let variants = variants.and_then(|it| it.shift_remove(VARIANTS));
        let mut whole = merged(&base, &plain);
        if let (Some(variants), Some(whole)) = (variants, whole.as_object_mut()) {
            let before = whole.get(VARIANTS).unwrap_or(&Value::Null);
            let mut now = stacked(before, &variants);
            // A whole variant that is taken away is gone.
            if let Some(now) = now.as_object_mut() {
                now.retain(|_, variant| !variant.is_null());
            }
            whole.insert(VARIANTS.to_owned(), now);
        }
        whole
    })
}

/// A problem of the whole, told where it was said: the file, and the problem with its places there.
/// `whole` are the places of the whole as one text.
#[must_use]
pub fn placed<'a>(
    problem: &Problem,
    whole: &Spans,
    layers: &[Layer<'a>],
) -> Option<(&'a Spans, Problem)> {
    let mut found = Problem { marks: Vec::new(), ..problem.clone() };
    let mut file: Option<&'a Spans> = None;
    for mark in &problem.marks {
        let (path, on_key) = way_to(whole.root(), &mark.span);
        let Some((spans, here, exact)) = said(&path, layers) else { continue };
        if file.is_some_and(|file| !std::ptr::eq(file, spans)) {
            continue;
        }
        if file.is_none() {
            found.path = here.to_string();
        }
        file = Some(spans);
        let span =
            if on_key && exact { spans.underline_key(&here) } else { spans.underline(&here) };
        found.marks.push(Mark { span, label: mark.label.clone() });
    }
    if file.is_none() {
        // Nothing is marked, or all of it was typed by nobody.
        let path = whole.path_of(&problem.path);
        let (spans, here, _) = said(&path, layers)?;
        found.path = here.to_string();
        return Some((spans, found));
    }
    file.map(|file| (file, found))
}

/// The place that says what stands at `path`: of those that have all of it the last; else that
/// which has most of it. And whether it has all of it.
fn said<'a>(path: &JsonPath, layers: &[Layer<'a>]) -> Option<(&'a Spans, JsonPath, bool)> {
    let mut best: Option<(usize, &'a Spans, JsonPath)> = None;
    for layer in layers {
        let Some((spans, prefix)) = &layer.at else { continue };
        let Some(rest) = path.steps().strip_prefix(layer.under.as_slice()) else { continue };
        let mut here = prefix.clone();
        let mut depth = layer.under.len();
        for step in rest {
            let next = here.with(step.clone());
            if spans.place(&next).is_none() {
                break;
            }
            here = next;
            depth += 1;
        }
        if best.as_ref().is_none_or(|(most, ..)| depth > *most || depth == path.steps().len()) {
            best = Some((depth, *spans, here));
        }
    }
    best.map(|(depth, spans, here)| (spans, here, depth == path.steps().len()))
}

/// The way to the deepest value that holds the bytes, and whether they are those of its key.
fn way_to(root: &Node, span: &Range<usize>) -> (JsonPath, bool) {
    let holds = |outer: &Range<usize>| outer.start <= span.start && span.end <= outer.end;
    let mut path = JsonPath::top();
    let mut node = root;
    loop {
        match &node.kind {
            NodeKind::Object(members) => {
                if let Some(member) = members.iter().find(|it| holds(&it.key_span)) {
                    return (path.key(&member.key), true);
                }
                let Some(member) = members.iter().find(|it| holds(&it.value.span)) else {
                    return (path, false);
                };
                path = path.key(&member.key);
                node = &member.value;
            }
            NodeKind::List(items) => {
                let Some(at) = items.iter().position(|it| holds(&it.span)) else {
                    return (path, false);
                };
                path = path.index(at);
                node = &items[at];
            }
            _ => return (path, false),
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::{Layer, whole};

    /// A station's file says what its variants take away; a club that takes the file keeps that.
    #[test]
    fn null_in_a_variant_stays_and_a_variant_that_is_null_goes() {
        let layer = |value| Layer { value, at: None, under: Vec::new() };
        let file = json!({"a": 1, "variants": {"old": {"card": null, "b": 2}, "other": {"c": 3}}});
        let more = json!({"a": null, "variants": {"old": {"b": null}, "other": null}});
        assert_eq!(
            whole(&[layer(file), layer(more)]),
            json!({"variants": {"old": {"card": null, "b": null}}})
        );
    }
}
