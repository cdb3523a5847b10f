//! Phrases that no text of longwatch uses any more, each with the plain words for it.
//!
//! What is cut out before the search: code between backticks, code blocks, what stands in double
//! quotes (names that users gave), and JSON paths. `#` in a phrase stands for a number.

/// A phrase that is no longer used.
#[derive(Debug, Clone, Copy)]
pub struct Retired {
    /// The phrase, in small letters; `#` is any number.
    pub phrase: &'static str,
    /// What to write.
    pub plain: &'static str,
    /// Longer phrases in which it may stand.
    pub except: &'static [&'static str],
}

const fn old(phrase: &'static str, plain: &'static str) -> Retired {
    Retired { phrase, plain, except: &[] }
}

const fn but(
    phrase: &'static str,
    plain: &'static str,
    except: &'static [&'static str],
) -> Retired {
    Retired { phrase, plain, except }
}

const NO_PERSON: &str = "say who does what";
const OUTAGES: &str = "simulated outages";
const PLAIN: &str = "the shortest plain sentence";

/// All of them.
pub const RETIRED: &[Retired] = &[
    // One trial, and how many.
    old("# storms", OUTAGES),
    old("# skies", OUTAGES),
    old("of skies", OUTAGES),
    old("all skies", OUTAGES),
    old("one sky", "one simulated outage"),
    old("mean storm", "mean of the simulated outages"),
    old("worst storm", "worst simulated outage"),
    old("middle storm", "middle simulated outage"),
    old("fresh storms", "fresh simulated outages"),
    old("same storms", "same simulated outages"),
    // Dark belongs to the sky.
    old("dark for", "no power for"),
    old("goes dark", "has no power"),
    old("went dark", "had no power"),
    old("go dark", "have no power"),
    old("hours dark", "hours without power"),
    old("dark hours", "hours without power"),
    old("first dark", "first without power"),
    old("counts as dark", "counts as off the air"),
    old("counting as dark", "counting as off the air"),
    // Off the air.
    old("silent", "off the air"),
    old("silenced", "switched off"),
    old("silence windows", "windows in which it is switched off"),
    // To stay on the air or to fail.
    old("storms carried", "simulated outages survived"),
    old("that it carries", "that it survives"),
    old("carries them", "survives them"),
    but("carries #", "survives #", &["wire carries #", "fuse carries #", "that carries #"]),
    old("is carried by", "is survived by"),
    old("are carried by", "are survived by"),
    old("it loses #", "it fails in #"),
    old("loses each part", "removes each part"),
    old("lose each part", "remove each part"),
    old("stands in #", "survives #"),
    old("falls in #", "fails in #"),
    // The chance.
    old("readiness", "chance of staying on the air"),
    old("the odds", "the chance of staying on the air"),
    old("odds of", "the chance of"),
    old("odds are", "the chance is"),
    // Radio and transmitting.
    old("keyed", "transmitting"),
    old("keying", "transmitting"),
    old("unkeyed", "receiving"),
    old("the set quits", "the radio switches itself off"),
    old("duty cycle", "share of time transmitting"),
    // Tier.
    old("rung", "tier"),
    old("rungs", "tiers"),
    old("ladder", "tiers, or sizes"),
    old("ladders", "tiers, or sizes"),
    old("floor tier", "lowest tier"),
    old("the floor", "the lowest tier"),
    old("load ladder", "drop sequence"),
    // Mains, generator.
    but("the grid", "the mains", &["power from the grid"]),
    old("grid is up", "mains is there"),
    old("grid is down", "mains is away"),
    old("at the plug", "from the mains"),
    old("plugged in", "mains supply switched on"),
    old("an engine that is", "a generator that is"),
    old("engines", "generators"),
    old("the engine", "the generator"),
    old("engine hours", "generator hours"),
    // Labels and guesses.
    old("nameplate", "rated"),
    old("nominal", "rated"),
    old("estimated on the safe side", "assumed on the safe side"),
    // BMS, check.
    old("the board", "the BMS"),
    old("its board", "its BMS"),
    old("board opens", "BMS opens"),
    old("board trips", "BMS opens"),
    old("board trip", "BMS limit"),
    old("pre-flight", "check"),
    old("preflight", "check"),
    // Method.
    old("settling", "warm-up"),
    old("days that settle", "warm-up days"),
    old("settles", "warms up"),
    old("hand method", "sizing worksheet"),
    but("frontier", "smallest stations", &["--minimize frontier"]),
    old("lost parts", "missing parts"),
    old("key of the random numbers", "random seed"),
    old("as many as the machine runs at once", "all cores"),
    old("in its company", "next to any other trial"),
    // Nothing is a person.
    old("hangs on", "depends on"),
    old("hang on", "depend on"),
    old("takes after", "depends on"),
    old("take after", "depend on"),
    old("knows nothing of", NO_PERSON),
    old("know nothing of", NO_PERSON),
    old("has the last word", NO_PERSON),
    old("have the last word", NO_PERSON),
    old("has the word", NO_PERSON),
    old("wants hands", "somebody must do it"),
    old("waits for hands", "somebody must do it"),
    old("waits for a hand", "somebody must do it"),
    old("needs hands", "somebody must do it"),
    old("meets the outage", "begins the outage"),
    old("meets every", NO_PERSON),
    old("it meets", NO_PERSON),
    old("as told", "as the outlook says"),
    old("told sky", "outlook"),
    old("told skies", "outlooks"),
    old("told from", "counted from"),
    old("stands beside", "is next to"),
    old("stand side by side", "are next to each other"),
    // English of nobody.
    old("by a hair", PLAIN),
    old("of an evening", "in the evening"),
    old("till", "until"),
    old("beside these", "also"),
    old("what it comes to", "the result"),
    old("what trials come to", "results of trials"),
    old("on the mean", "on average"),
    old("is gone by", PLAIN),
    old("none is asked", PLAIN),
    old("not even without", "too short even without"),
    old("no number of trials shows", "no number of trials can prove"),
    old("nothing to take away", "one step less is not enough"),
    old("a step less", "one step less"),
    old("at the most", "at most"),
    old("at the least", "at least"),
];

/// What is found in a text: each phrase with its plain words and the words around it.
pub fn found(text: &str) -> Vec<String> {
    let words = words_of(&without_code(text));
    let joined = format!(" {} ", words.join(" "));
    let mut found = Vec::new();
    for retired in RETIRED {
        let mut line = joined.clone();
        for except in retired.except {
            line = line.replace(&format!(" {except} "), " ");
        }
        let wanted = format!(" {} ", retired.phrase);
        if let Some(at) = line.find(&wanted) {
            let before: String = line[..at].chars().rev().take(30).collect();
            let before: String = before.chars().rev().collect();
            let after: String = line[at..].chars().take(wanted.len() + 30).collect();
            found.push(format!("`{}` ({}): ...{before}{after}...", retired.phrase, retired.plain));
        }
    }
    found
}

/// The text without code and names: blocks of code, what stands between backticks or in double
/// quotes on one line, and words that are JSON paths or keys.
pub fn without_code(text: &str) -> String {
    let mut plain = String::new();
    let mut block = false;
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            block = !block;
        } else if !block {
            plain.push_str(line);
            plain.push('\n');
        }
    }
    let plain = without_pairs(&plain, '`');
    let plain = without_pairs(&plain, '"');
    let typed = plain.replace(['\u{201c}', '\u{201d}'], "\"");
    without_pairs(&typed, '"')
}

/// The text with `x` in the place of what stands between two marks, at most two lines apart.
fn without_pairs(text: &str, mark: char) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some(begin) = rest.find(mark) {
        plain.push_str(&rest[..begin]);
        let inside = &rest[begin + mark.len_utf8()..];
        match inside.find(mark).filter(|end| inside[..*end].lines().count() <= 2) {
            Some(end) => {
                plain.push('x');
                rest = &inside[end + mark.len_utf8()..];
            }
            None => {
                rest = inside;
            }
        }
    }
    plain.push_str(rest);
    plain
}

/// Words in small letters without marks; numbers as `#`; JSON paths left out.
fn words_of(text: &str) -> Vec<String> {
    let marks: &[char] = &['.', ',', ';', ':', '!', '?', '(', ')', '[', ']', '*', '\u{2026}'];
    text.split_whitespace()
        .map(|word| word.trim_matches(marks).to_lowercase())
        .filter(|word| !word.is_empty() && !word.contains('_'))
        .map(|word| {
            let number = word.chars().all(|c| c.is_ascii_digit() || ",.".contains(c));
            if number { "#".to_owned() } else { word }
        })
        .collect()
}

/// Sentences of a text with more than `most` words, code counting as one word.
pub fn long_sentences(text: &str, most: usize) -> Vec<String> {
    let mut long = Vec::new();
    for paragraph in without_code(text).split("\n\n") {
        let mut words: Vec<&str> = Vec::new();
        let mut end = |words: &mut Vec<&str>| {
            if words.len() > most {
                long.push(format!("{} words: {}", words.len(), words.join(" ")));
            }
            words.clear();
        };
        for line in paragraph.lines() {
            let heads = ["# ", "## ", "- ", "//"].iter().any(|head| line.starts_with(head));
            if heads || line.starts_with('|') {
                end(&mut words);
            }
            if line.starts_with('|') {
                continue;
            }
            for word in line.trim_start_matches(['#', '-', '/', ' ']).split_whitespace() {
                words.push(word);
                let bare = word.trim_end_matches([')', '*', '"']);
                if bare.ends_with(['.', '!', '?']) {
                    end(&mut words);
                }
            }
            if line.starts_with('#') {
                end(&mut words);
            }
        }
        end(&mut words);
    }
    long
}
