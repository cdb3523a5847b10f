//! The way from the top of the file to one of its values: `arrays.roof.tilt_deg`.

use std::fmt;

/// One step of a [`JsonPath`].
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Step {
    /// Into an object by key.
    Key(String),
    /// Into a list by index from 0.
    Index(usize),
}

/// The way from the top of the file to one of its values. Empty: the whole file.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub struct JsonPath {
    steps: Vec<Step>,
}

impl JsonPath {
    /// The top of the file.
    #[must_use]
    pub fn top() -> Self {
        Self::default()
    }

    /// A path of keys alone.
    #[must_use]
    pub fn keys(keys: &[&str]) -> Self {
        Self { steps: keys.iter().map(|key| Step::Key((*key).to_owned())).collect() }
    }

    /// One key further.
    #[must_use]
    pub fn key(&self, key: &str) -> Self {
        self.with(Step::Key(key.to_owned()))
    }

    /// One list element further, counted from 0.
    #[must_use]
    pub fn index(&self, index: usize) -> Self {
        self.with(Step::Index(index))
    }

    /// One step further.
    #[must_use]
    pub fn with(&self, step: Step) -> Self {
        let mut steps = self.steps.clone();
        steps.push(step);
        Self { steps }
    }

    /// The steps from the top.
    #[must_use]
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// What stands there, if anything does.
    #[must_use]
    pub fn value_in<'v>(&self, whole: &'v serde_json::Value) -> Option<&'v serde_json::Value> {
        self.steps().iter().try_fold(whole, |value, step| match step {
            Step::Key(key) => value.get(key),
            Step::Index(at) => value.get(at),
        })
    }

    /// The same without quotes: `loads.hf set.window_v[1]`.
    #[must_use]
    pub fn unquoted(&self) -> String {
        let mut text = String::new();
        for (place, step) in self.steps.iter().enumerate() {
            match step {
                Step::Key(key) => text.extend([if place > 0 { "." } else { "" }, key]),
                Step::Index(index) => text.push_str(&format!("[{index}]")),
            }
        }
        text
    }

    /// The last key on the way, if any.
    #[must_use]
    pub fn last_key(&self) -> Option<&str> {
        self.steps.iter().rev().find_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Index(_) => None,
        })
    }
}

impl fmt::Display for JsonPath {
    /// Keys joined by dots, indices in brackets; a key with anything but letters, digits, `_` and
    /// `-` stands in quotes: `loads."hf set".window_v[1]`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, step) in self.steps.iter().enumerate() {
            match step {
                Step::Key(key) => {
                    if place > 0 {
                        f.write_str(".")?;
                    }
                    let plain = !key.is_empty()
                        && key.chars().all(|c| c.is_alphanumeric() || c == '_' || c == '-');
                    if plain { f.write_str(key)? } else { write!(f, "{key:?}")? }
                }
                Step::Index(index) => write!(f, "[{index}]")?,
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::JsonPath;

    #[test]
    fn a_path_reads_like_the_file() {
        let path = JsonPath::keys(&["loads", "hf set", "window_v"]).index(1);
        assert_eq!(path.to_string(), "loads.\"hf set\".window_v[1]");
        assert_eq!(JsonPath::top().to_string(), "");
        assert_eq!(path.last_key(), Some("window_v"));
    }
}
