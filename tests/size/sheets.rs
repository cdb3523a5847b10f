//! The chart: text on the sheet and apart, whatever was found.

use longwatch::decide::size::{Minimize, Options};
use longwatch::show::size::{pictures, sentence::first_sentence};
use serde_json::json;

use super::invented::{lamp, options, sized};
use super::measure::faults;

#[test]
fn text_stays_on_the_sheet_and_apart() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/pictures");
    std::fs::create_dir_all(&folder).unwrap();
    let few = json!({"sizing": {"panels": {"counts": [4]}}});
    let alone = json!({"sizing": null, "title": "a \"<&>\" b ".repeat(30)});
    for (name, patch, readiness, least) in [
        ("cost", json!({}), 0.9, Some(Minimize::Cost)),
        ("smallest_stations", json!({}), 0.8, Some(Minimize::All)),
        ("one-count", few, 0.5, Some(Minimize::Mass)),
        ("derived", alone, 0.9, None),
        (
            "out-of-reach",
            json!({"loads": {"lamp": {"draw": {"power": {"power_w": 300}}}}}),
            0.9,
            None,
        ),
    ] {
        let options = Options { minimize: least, ..options(readiness, 1024) };
        let mut sizing = sized(&lamp(&patch), &options);
        sizing.sentence = first_sentence(&sizing);
        for picture in pictures(&sizing) {
            let faults = faults(&picture);
            assert!(faults.is_empty(), "{name}: {faults:#?}");
            let png = longwatch::show::png::png(&picture).unwrap();
            std::fs::write(folder.join(format!("{name}-{}.png", picture.name)), png).unwrap();
        }
    }
}
