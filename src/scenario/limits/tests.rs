use super::{CLUB_LIMITS, KEY_UNITS, LIMITS, Limit, limit_among, limit_at, number_fields};
use crate::scenario::schema::{club_schema, schema};

#[test]
fn every_number_of_the_schema_has_one_limit_and_every_limit_a_number() {
    let fields = number_fields(schema());
    assert!(fields.len() > 80, "{}", fields.len());
    for field in &fields {
        let matching: Vec<&str> = LIMITS
            .iter()
            .filter(|limit| limit_at(&field.path) == Some(*limit))
            .map(|limit| limit.path)
            .collect();
        assert_eq!(matching.len(), 1, "{}: {matching:?}", field.path);
    }
    for limit in LIMITS {
        assert!(
            fields.iter().any(|field| limit_at(&field.path) == Some(limit)),
            "no number stands at {}",
            limit.path
        );
        assert!(limit.min <= limit.max, "{}", limit.path);
    }
}

#[test]
fn one_type_used_in_two_places_has_one_limit() {
    let fields = number_fields(schema());
    for one in &fields {
        for other in fields.iter().filter(|other| other.pointer == one.pointer) {
            let limit = |path| limit_at(path).map(|limit| Limit { path: "", ..*limit });
            assert_eq!(limit(&one.path), limit(&other.path), "{one:?} {other:?}");
        }
    }
}

#[test]
fn the_schema_says_what_the_table_says() {
    for field in number_fields(schema()) {
        let limit = limit_at(&field.path).expect("a limit");
        let node = schema().pointer(&field.pointer).expect("a node");
        let bound = |open: &str, closed: &str| {
            let (open, closed) = (node.get(open), node.get(closed));
            assert!(open.is_some() != closed.is_some(), "{}", field.path);
            (open.or(closed).and_then(serde_json::Value::as_f64), open.is_some())
        };
        assert_eq!(bound("exclusiveMinimum", "minimum"), (Some(limit.min), limit.above_min));
        assert_eq!(bound("exclusiveMaximum", "maximum"), (Some(limit.max), limit.below_max));
        assert_eq!(node["x-unit"], limit.unit);
    }
}

#[test]
fn every_key_says_its_unit() {
    for field in number_fields(schema()) {
        // The names of losses are free: their unit is that of the object that holds them.
        let key = field.path.trim_end_matches("[]").trim_end_matches(".*");
        let key = key.rsplit('.').next().expect("a key");
        let (_, units) = KEY_UNITS
            .iter()
            .filter(|(end, _)| key == *end || (end.starts_with('_') && key.ends_with(end)))
            .max_by_key(|(end, _)| end.len())
            .unwrap_or_else(|| panic!("`{}` does not end with a known unit", field.path));
        let limit = limit_at(&field.path).expect("a limit");
        assert!(units.contains(&limit.unit), "{}: {}", field.path, limit.unit);
    }
}

#[test]
fn every_number_of_a_club_has_one_limit_and_every_limit_a_number() {
    let fields = number_fields(club_schema());
    for field in &fields {
        let limit = limit_among(CLUB_LIMITS, &field.path);
        let limit = limit.unwrap_or_else(|| panic!("no limit for {}", field.path));
        let node = club_schema().pointer(&field.pointer).expect("a node");
        assert_eq!(node["x-unit"], limit.unit, "{}", field.path);
        let key = field.path.rsplit('.').next().expect("a key");
        let ending =
            KEY_UNITS.iter().filter(|(end, _)| key.ends_with(end)).max_by_key(|it| it.0.len());
        // Counts carry no unit.
        match ending {
            Some((_, units)) => assert!(units.contains(&limit.unit), "{}", field.path),
            None => assert_eq!(limit.unit, "1", "{}", field.path),
        }
    }
    for limit in CLUB_LIMITS {
        assert!(fields.iter().any(|it| it.path == limit.path), "no number at {}", limit.path);
    }
}
