//! The table of trust says what the heads of the modules say; cautions are those of the README.

use longwatch::show::cautions::{ALL, EVERY_STATION, words};
use longwatch::show::report::trust::MODELS;

use super::common::{hall_page, root};

/// The head of a module on one line.
fn head(module: &str) -> String {
    let text =
        std::fs::read_to_string(root().join(module)).unwrap_or_else(|e| panic!("{module}: {e}"));
    let lines: Vec<&str> =
        text.lines().map_while(|line| line.strip_prefix("//!")).map(str::trim).collect();
    lines.join(" ")
}

/// Words of at least four letters, and years: what a source is known by.
fn marks(text: &str) -> Vec<&str> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|word| word.len() >= 4)
        .filter(|word| word.starts_with(|c: char| c.is_ascii_uppercase() || c.is_ascii_digit()))
        .collect()
}

#[test]
fn every_row_says_what_its_module_says() {
    for model in &MODELS {
        let head = head(model.module);
        let said = head.split("Trust:").nth(1);
        let said = said.unwrap_or_else(|| panic!("{} states no trust", model.module));
        for word in ["exact", "checked", "plausible"] {
            assert_eq!(
                model.trust.contains(word),
                said.split(". ").next().unwrap().contains(word),
                "{}: `{word}` in \"{}\" against \"{said}\"",
                model.module,
                model.trust
            );
        }
        for mark in marks(model.source) {
            assert!(head.contains(mark), "{}: the head knows no {mark}", model.module);
        }
    }
}

/// A model of sky or station that states its trust is in the table, or is a part of one that is.
#[test]
fn no_model_is_forgotten() {
    // Parts of others, without a source of their own.
    let parts = [
        "src/sky/climate.rs",
        "src/sky/daily.rs",
        "src/sky/day_types.rs",
        "src/sky/events.rs",
        "src/sky/hour.rs",
        "src/sky/profile.rs",
        "src/sky/skyline.rs",
        "src/sky/track.rs",
    ];
    let mut open = vec![root().join("src/sky"), root().join("src/station")];
    let mut seen = 0;
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
                continue;
            }
            let name = path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
            if !head(&name).contains("Trust:") {
                continue;
            }
            seen += 1;
            let told = MODELS.iter().any(|model| model.module == name);
            assert!(told || parts.contains(&name.as_str()), "`{name}` is in no table of trust");
        }
    }
    assert!(seen > 15, "only {seen} models state their trust");
}

#[test]
fn cautions_are_those_of_the_manual_of_the_outputs() {
    let readme = std::fs::read_to_string(root().join("output/README.md")).unwrap();
    let section = readme.split("\n## Cautions\n").nth(1).unwrap().split("\n## ").next().unwrap();
    let told: String = section.split_whitespace().collect::<Vec<_>>().join(" ");
    let all = ALL.iter().map(|it| (words(*it).strong, words(*it).more)).chain(EVERY_STATION);
    for (strong, text) in all {
        let item = format!("**{strong}** {text}");
        assert!(told.contains(&item), "the README does not say: {item}");
    }
    assert_eq!(
        section.matches("\n- **").count(),
        ALL.len() + EVERY_STATION.len(),
        "cautions left out"
    );
    assert!(hall_page().contains("Local codes, the makers"), "no deference to local codes");
}
