//! The topics, in the order in which a new reader needs them.

/// One page of the guide.
#[derive(Debug, Clone, Copy)]
pub struct Topic {
    /// The word behind `longwatch guide`.
    pub name: &'static str,
    /// Other words that mean the same page: commands and near names.
    pub also: &'static [&'static str],
    /// Top-level keys of a scenario or club whose pages point here.
    pub keys: &'static [&'static str],
    /// The page. Its first line is `# ` and the title.
    pub text: &'static str,
}

impl Topic {
    /// What the page is about, in a few words.
    #[must_use]
    pub fn title(&self) -> &'static str {
        self.text.lines().next().unwrap_or_default().trim_start_matches("# ")
    }
}

/// All topics.
pub const TOPICS: [Topic; 17] = [
    Topic {
        name: "start",
        also: &["new", "begin", "scenario"],
        keys: &["format", "title", "site", "span", "start"],
        text: include_str!("start.md"),
    },
    Topic {
        name: "reading",
        also: &["run", "results", "answer", "reading-an-answer"],
        keys: &["field_tests"],
        text: include_str!("reading.md"),
    },
    Topic {
        name: "batteries",
        also: &["lithium", "lead-acid", "bms"],
        keys: &["battery", "disconnect"],
        text: include_str!("batteries.md"),
    },
    Topic {
        name: "panels",
        also: &["solar"],
        keys: &["sun", "snow", "arrays", "controllers"],
        text: include_str!("panels.md"),
    },
    Topic {
        name: "mains",
        also: &["charger"],
        keys: &["grid", "warning", "supply", "generator", "vehicle"],
        text: include_str!("mains.md"),
    },
    Topic {
        name: "tiers",
        also: &["rules", "radios"],
        keys: &["attended", "windows", "loads", "tiers", "shedding", "watch"],
        text: include_str!("tiers.md"),
    },
    Topic {
        name: "odds",
        also: &["calendar", "merge", "trials", "storms"],
        keys: &["storm", "uncertain"],
        text: include_str!("odds.md"),
    },
    Topic { name: "size", also: &[], keys: &["sizing"], text: include_str!("size.md") },
    Topic {
        name: "compare",
        also: &["without"],
        keys: &["strategy", "strategies", "variants", "prices"],
        text: include_str!("compare.md"),
    },
    Topic { name: "now", also: &["outlook"], keys: &[], text: include_str!("now.md") },
    Topic { name: "card", also: &[], keys: &[], text: include_str!("card.md") },
    Topic {
        name: "check",
        also: &["fuses", "wires"],
        keys: &["main_feed", "outlet_groups", "check_limits"],
        text: include_str!("check.md"),
    },
    Topic {
        name: "exercise",
        also: &["club"],
        keys: &[
            "common",
            "stations",
            "roster",
            "packs",
            "charging_point",
            "members",
            "gear",
            "counts_as_up",
            "target_chance",
            "currency",
        ],
        text: include_str!("exercise.md"),
    },
    Topic {
        name: "files",
        also: &["report", "schema", "guide", "output"],
        keys: &["notes"],
        text: include_str!("files.md"),
    },
    Topic { name: "words", also: &["glossary"], keys: &[], text: include_str!("words.md") },
    Topic { name: "cautions", also: &["safety"], keys: &[], text: include_str!("cautions.md") },
    Topic { name: "limits", also: &[], keys: &[], text: include_str!("limits.md") },
];

/// The topic of this name, or of another word for it, without regard to case.
#[must_use]
pub fn named(asked: &str) -> Option<&'static Topic> {
    let is = |name: &str| name.eq_ignore_ascii_case(asked);
    TOPICS
        .iter()
        .find(|topic| is(topic.name))
        .or_else(|| TOPICS.iter().find(|topic| topic.also.iter().any(|name| is(name))))
}

/// The topic that a top-level key belongs to.
#[must_use]
pub fn of_key(key: &str) -> Option<&'static Topic> {
    TOPICS.iter().find(|topic| topic.keys.contains(&key))
}
