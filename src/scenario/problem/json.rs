//! Problems for programs.

use serde_json::{Value, json};

use super::{Problem, Problems};
use crate::scenario::spans::line_col;

impl Problems {
    /// The problems as a JSON list: `kind`, `path`, `text`, `file`, `line`, `column`, `found`,
    /// and where they help `meaning`, `allowed`, `hint` and `also` (further places). Lines and columns
    /// count from 1.
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
        let mut marks = problem.marks.iter().map(|mark| {
            let (line, column) = line_col(&self.text, mark.span.start);
            (self.file.as_str(), line, column, mark.label.as_str())
        });
        match &problem.table {
            Some(table) => {
                put("file", json!(table.file));
                if let Some(line) = table.line {
                    put("line", json!(line));
                }
                put("found", json!(table.label));
            }
            None => {
                put("file", json!(self.file));
                if let Some((_, line, column, label)) = marks.next() {
                    put("line", json!(line));
                    put("column", json!(column));
                    put("found", json!(label));
                }
            }
        }
        let footers =
            [("meaning", &problem.meaning), ("allowed", &problem.allowed), ("hint", &problem.hint)];
        for (key, text) in footers {
            if let Some(text) = text {
                put(key, json!(text));
            }
        }
        let also: Vec<Value> = marks
            .map(|(file, line, column, label)| {
                json!({ "file": file, "line": line, "column": column, "text": label })
            })
            .collect();
        if !also.is_empty() {
            put("also", Value::Array(also));
        }
        out
    }
}
