use super::{new_name, rewritten};
use crate::scenario::json_path::JsonPath;
use crate::scenario::read::attempt;

const OLD: &str = r#"{
  "format": 1, "title": "charge",
  "arrays": {"charge": {"power_per_c": -0.004, "loss_share": {"rows_up": 0.1}}},
  "controllers": {"tracking": {"tracking": {"own_draw_w": 0.4, "charge": {"bulk_v": 14.30},
    "basis": {"bulk_v": "guess"}}}},
  "disconnect": {"open_v": 11.8, "close_v": 12.9, "closes": "itself"},
  "loads": {"w": {"notes": "w, bulk_v", "draw": {"power": {"w": 9}}}},
  "strategies": {"engine": {"engine": "never"}},
  "variants": {"choices": {"choices": {"target": {"readiness_share": 0.9}}}}
}"#;

const NEW: &str = r#"{
  "format": 2, "title": "charge",
  "arrays": {"charge": {"pmax_per_c": -0.004, "loss_share": {"rows_up": 0.1}}},
  "controllers": {"tracking": {"mppt": {"standby_w": 0.4, "set_points": {"absorption_v": 14.30},
    "basis": {"absorption_v": "guess"}}}},
  "disconnect": {"disconnect_v": 11.8, "reconnect_v": 12.9, "reconnects": "by_itself"},
  "loads": {"w": {"notes": "w, bulk_v", "draw": {"power": {"power_w": 9}}}},
  "strategies": {"engine": {"generator": "never"}},
  "variants": {"choices": {"sizing": {"target": {"chance": 0.9}}}}
}"#;

#[test]
fn names_change_and_nothing_else() {
    let (new, names) = rewritten(OLD, "old.json").unwrap().expect("format 1");
    assert_eq!(new, NEW);
    assert_eq!(names, 13);
    assert_eq!(rewritten(&new, "new.json").unwrap(), None);
}

#[test]
fn an_old_file_gets_one_sentence_and_the_list_of_its_keys() {
    let problems = attempt(OLD, "old.json").problems;
    let texts: Vec<&str> = problems.iter().map(|it| it.text.as_str()).collect();
    assert_eq!(texts, ["this file has format 1, and longwatch now reads format 2"]);
    let list = problems[0].meaning.as_deref().unwrap_or_default();
    assert!(list.contains("`bulk_v` is now `absorption_v` (lines 4, 5)"), "{list}");
    assert!(list.contains("`readiness_share` is now `chance` (line 9)"), "{list}");
}

#[test]
fn old_and_new_name_together_are_refused() {
    let both = OLD.replace("\"open_v\": 11.8", "\"open_v\": 11.8, \"disconnect_v\": 11.8");
    let problems = rewritten(&both, "old.json").unwrap_err();
    assert_eq!(
        problems.list[0].text,
        "`open_v` and `disconnect_v` are the old and the new name of one key"
    );
    let spoken = attempt(&both, "old.json").problems;
    assert_eq!(spoken.len(), 2);
}

#[test]
fn a_name_is_no_key() {
    for path in [
        &["loads", "w"][..],
        &["windows", "charge"],
        &["strategies", "engine"],
        &["arrays", "x", "loss_share", "rows_up"],
    ] {
        assert_eq!(new_name(&JsonPath::keys(path)), None, "{path:?}");
    }
}
