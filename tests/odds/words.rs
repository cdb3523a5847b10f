//! Sentence, table and files: they say what was counted.

use std::collections::HashSet;

use longwatch::decide::odds::{Answers, Occasion, Odds};
use longwatch::show::odds::export::bands_csv;
use longwatch::show::odds::{Trials, first_sentence, odds_table, pictures};
use longwatch::simulate::trials::Gather as _;

use super::invented::Station;

fn january() -> Odds {
    Station::january().odds(2_000).2
}

#[test]
fn the_sentence_counts() {
    let odds = |trials, failures, occasion| Odds { trials, failures, occasion, ..january() };
    let said = |trials, failures, occasion| first_sentence(&odds(trials, failures, occasion));
    assert_eq!(
        said(10_000, 129, Occasion::OutageWithStorm),
        "On the air for all 72 hours in 9,871 of 10,000 simulated outages."
    );
    assert_eq!(
        said(10_000, 0, Occasion::Weather),
        "On the air for all 72 hours in all 10,000 simulated periods."
    );
    assert_eq!(
        said(500, 500, Occasion::Outage),
        "On the air for all 72 hours in none of 500 simulated outages."
    );
    assert_eq!(
        said(1, 0, Occasion::WeatherAndGrid),
        "On the air for all 72 hours in 1 of 1 simulated period."
    );
    let hour = Odds { hours: 1.0, ..odds(20, 1, Occasion::Outage) };
    assert_eq!(
        first_sentence(&hour),
        "On the air for the whole hour in 19 of 20 simulated outages."
    );
    let idle = Odds { load_wh: 0.0, ..odds(20, 0, Occasion::OutageWithStorm) };
    assert_eq!(first_sentence(&idle), "No load needs power in 20 simulated outages.");
    for word in ["%", "on_air_share", "confidence", "interval", "probab", "percent"] {
        assert!(!said(10_000, 129, Occasion::OutageWithStorm).contains(word));
    }
}

/// No picture calms where trials fail: the share that fails comes first, and when.
#[test]
fn pictures_lead_with_the_share_that_fails_and_when() {
    let station = Station::january();
    let subject = station.subject(200);
    let draw = |fails: &dyn Fn(u64) -> Option<f64>| {
        let mut answers = Answers::empty(station.shape()).unwrap();
        for trial in 0..200 {
            let mut outcome = station.trial(trial);
            outcome.first_off_air_h = fails(trial);
            outcome.lowest_charge_share = 0.13;
            answers.trial(&outcome);
        }
        let odds = Odds::of(&subject, &answers, None);
        let trials = Trials { subject: &subject, answers: &answers, odds: &odds };
        pictures(trials)
    };
    // Every trial fails though no charge is below 13 %.
    let all = draw(&|trial| Some(if trial < 20 { 20.0 } else { 40.5 }));
    for picture in all {
        let leads = "Off the air in all 200 simulated outages within 72 hours: the first after 20 h, half of them by 40.5 h";
        let title = &picture.title;
        assert!(title.starts_with(leads), "{title}");
        assert!(!title.contains("tays above"), "{title}");
        assert!(picture.description.contains("strategy \""), "{}", picture.description);
    }
    let one_in_four = draw(&|trial| (trial % 4 == 0).then_some(10.0 + trial as f64 / 10.0));
    for picture in one_in_four {
        let leads = "Off the air in 25 % of 200 simulated outages within 72 hours: the first after 10 h, half of them by ";
        assert!(picture.title.starts_with(leads), "{}", picture.title);
    }
    for picture in draw(&|_| None) {
        assert!(!picture.title.contains("Off the air"), "{}", picture.title);
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
        ["Still on the air", "Why off the air", "Cases", "Mean simulated outage", "Mean hours"]
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
