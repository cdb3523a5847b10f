//! Tests that were done: one that measured nothing says nothing.

use super::Check;
use crate::scenario::json_path::JsonPath;
use crate::scenario::problem::{Problem, ProblemKind};

impl Check<'_> {
    /// Each test found at least one figure.
    pub(super) fn past_tests(&mut self) {
        for (place, test) in self.scenario.field_tests.iter().enumerate() {
            let all = test.measured.all();
            if all.iter().any(|(_, found)| found.is_some()) {
                continue;
            }
            let keys: Vec<String> = all.iter().map(|(key, _)| format!("`{key}`")).collect();
            let path = JsonPath::keys(&["field_tests"]).index(place).key("measured");
            let problem = Problem::new(ProblemKind::Impossible, "this test measured nothing")
                .at(self.spans, &path, "no figure")
                .hint(&format!("Give at least one of {}.", keys.join(", ")));
            self.found(problem);
        }
    }
}
