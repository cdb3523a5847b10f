//! Problems for programs.

use serde_json::{Value, json};

use super::{Problem, Problems};
use crate::scenario::spans::line_col;

impl Problems {
    /// The problems as a JSON list. Each has `kind`, `path`, `text`, `places` (`file`, `line`,
    /// `column`, `text`; the first is the fault, the others explain it), and where they help
    /// `meaning`, `allowed` and `hint`. Lines and columns count from 1.
    #[must_use]
    pub fn to_json(&self) -> Value {
        Value::Array(self.list.iter().map(|problem| self.one(problem)).collect())
    }

    fn one(&self, problem: &Problem) -> Value {
        let mut out = json!({ "kind": problem.kind, "path": problem.path, "text": problem.text });
        let mut put = |key: &str, value: Value| {
            if let Value::Object(map) = &mut out {
                map.insert(key.to_owned(), value);
            }
        };
        let mut places: Vec<Value> = problem
            .marks
            .iter()
            .map(|mark| {
                let (line, column) = line_col(&self.text, mark.span.start);
                json!({ "file": self.file, "line": line, "column": column, "text": mark.label })
            })
            .collect();
        if let Some(table) = &problem.table {
            let column = table.text.as_ref().zip(table.span.as_ref());
            let column = column.map(|(text, span)| line_col(text, span.start).1);
            places.push(json!({
                "file": table.file, "line": table.line, "column": column, "text": table.label
            }));
        }
        if places.is_empty() {
            places.push(json!({ "file": self.file, "line": null, "column": null, "text": "" }));
        }
        put("places", Value::Array(places));
        let footers =
            [("meaning", &problem.meaning), ("allowed", &problem.allowed), ("hint", &problem.hint)];
        for (key, text) in footers {
            if let Some(text) = text {
                put(key, json!(text));
            }
        }
        out
    }
}
