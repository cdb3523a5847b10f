//! The likely name: what somebody meant who wrote something else.

/// How alike two names must be to be offered.
const ALIKE: f64 = 0.72;

/// The name of `names` that was most likely meant by `found`, if any is near.
///
/// Likeness is that of Damerau and Levenshtein, without regard to case and to what parts words,
/// or a common beginning: `tilt` means `tilt_deg`, `CapacityAh` means `capacity_ah`.
#[must_use]
pub fn likely<'n>(found: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let plain = |name: &str| -> String {
        name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
    };
    let wanted = plain(found);
    let mut best: Option<(f64, &str)> = None;
    for name in names {
        let candidate = plain(name);
        let mut score = strsim::normalized_damerau_levenshtein(&wanted, &candidate);
        let shared = wanted.len().min(candidate.len()) >= 3
            && (wanted.starts_with(&candidate) || candidate.starts_with(&wanted));
        if shared {
            score = score.max(0.8);
        }
        if same_stem(found, name) {
            score = score.max(0.78);
        }
        if score >= ALIKE && best.is_none_or(|(top, _)| score > top) {
            best = Some((score, name));
        }
    }
    best.map(|(_, name)| name)
}

/// Whether two keys differ in their unit alone: `capacity_mah` and `capacity_ah`.
fn same_stem(one: &str, other: &str) -> bool {
    let stem = |name: &str| name.rsplit_once('_').map(|(stem, _)| stem.to_lowercase());
    stem(one).is_some_and(|stem_of_one| stem(other) == Some(stem_of_one))
}

/// Names in quotes, parted by commas; long lists are cut.
#[must_use]
pub fn list_of<'n>(names: impl IntoIterator<Item = &'n str>) -> String {
    const MOST: usize = 30;
    let mut names: Vec<String> = names.into_iter().map(|name| format!("`{name}`")).collect();
    if names.len() > MOST {
        let more = names.len() - MOST;
        names.truncate(MOST);
        names.push(format!("and {more} more"));
    }
    names.join(", ")
}

#[cfg(test)]
mod tests {
    use super::likely;

    #[test]
    fn slips_find_their_name() {
        let keys = ["rated_w", "count", "tilt_deg", "azimuth_deg", "capacity_ah", "notes"];
        for (found, meant) in [
            ("tilt", "tilt_deg"),
            ("titl_deg", "tilt_deg"),
            ("azimut_deg", "azimuth_deg"),
            ("CapacityAh", "capacity_ah"),
            ("capacity_mah", "capacity_ah"),
            ("rated_watts", "rated_w"),
            ("note", "notes"),
        ] {
            assert_eq!(likely(found, keys), Some(meant), "{found}");
        }
        assert_eq!(likely("colour", keys), None);
        assert_eq!(likely("voltage", keys), None);
    }
}
