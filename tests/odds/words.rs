//! Sentence, table and files: they say what was counted.

use std::collections::HashSet;

use longwatch::decide::odds::{Occasion, Odds};
use longwatch::show::odds::export::bands_csv;
use longwatch::show::odds::{first_sentence, odds_table};

use super::invented::Station;

fn january() -> Odds {
    Station::january().odds(2_000).2
}

#[test]
fn the_sentence_counts() {
    let odds = |trials, failures, occasion| Odds { trials, failures, occasion, ..january() };
    let said = |trials, failures, occasion| first_sentence(&odds(trials, failures, occasion));
    assert_eq!(
        said(10_000, 129, Occasion::Storm),
        "On the air for all 72 hours in 9,871 of 10,000 storms."
    );
    assert_eq!(
        said(10_000, 0, Occasion::Sky),
        "On the air for all 72 hours under all 10,000 skies."
    );
    assert_eq!(
        said(500, 500, Occasion::Outage),
        "Not once on the air for all 72 hours in 500 outages."
    );
    assert_eq!(said(1, 0, Occasion::Trial), "On the air for all 72 hours in 1 of 1 trial.");
    let hour = Odds { hours: 1.0, ..odds(20, 1, Occasion::Outage) };
    assert_eq!(first_sentence(&hour), "On the air for the whole hour in 19 of 20 outages.");
    let idle = Odds { load_wh: 0.0, ..odds(20, 0, Occasion::Storm) };
    assert_eq!(first_sentence(&idle), "No load asked for power in 20 storms.");
    for word in ["%", "readiness", "confidence", "interval", "probab", "percent"] {
        assert!(!said(10_000, 129, Occasion::Storm).contains(word));
    }
}

#[test]
fn the_table_says_what_was_counted() {
    let odds = january();
    let text = odds_table(&odds, "longwatch run hall.json --seed 7");
    let stayed = odds.trials - odds.failures;
    assert!(odds.failures > 0, "the invented station never fails");
    let row = text.lines().find(|line| line.trim_start().starts_with("after 72 hours")).unwrap();
    assert!(row.contains(&format!("{},{:03}", stayed / 1000, stayed % 1000)), "{row}");
    let worst = odds.named_trials.worst.unwrap().trial;
    assert!(text.contains(&format!("longwatch run hall.json --seed 7 --trial {worst}")), "{text}");
    for head in
        ["Still on the air", "Why off the air", "Cases", "Mean storm", "Hours of a mean storm"]
    {
        assert!(text.contains(head), "{head} in\n{text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    println!("{text}");
}

#[test]
fn the_bands_hold_what_the_odds_hold() {
    let odds = january();
    let bytes = bands_csv(&odds).unwrap();
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let heads: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(heads.iter().collect::<HashSet<_>>().len(), heads.len());
    let rows: Vec<csv::StringRecord> = reader.records().map(|it| it.unwrap()).collect();
    assert_eq!(rows.len(), odds.bands.len());
    assert_eq!(rows.len(), 73);
    let value = serde_json::to_value(&odds).unwrap();
    for (row, band) in rows.iter().zip(value["bands"].as_array().unwrap()) {
        for (head, cell) in heads.iter().zip(row) {
            assert_eq!(cell.parse::<f64>().unwrap(), band[head].as_f64().unwrap(), "{head}");
        }
    }
    let shares = |band: &longwatch::decide::odds::result::Band| {
        [
            band.charge_p05_share,
            band.charge_p25_share,
            band.charge_p50_share,
            band.charge_p75_share,
            band.charge_p95_share,
        ]
    };
    for pair in odds.bands.windows(2) {
        assert!(pair[1].on_air <= pair[0].on_air);
        assert!(shares(&pair[0]).is_sorted());
    }
}
