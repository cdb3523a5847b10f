//! Sentences of the README that a change could make untrue.

use longwatch::plan::check::examine;
use longwatch::scenario::Scenario;
use longwatch::scenario::battery::{Battery, LithiumIronPhosphate, Temperature};
use longwatch::simulate::single;
use longwatch::simulate::summary::{Summary, summarise};

use super::made::{root, text};
use super::shipped::{Shipped, named};

fn outcome(shipped: &Shipped, change: impl FnOnce(&mut Scenario)) -> Summary {
    let plan = shipped.plan_with(change);
    summarise(&plan, &single::run(&plan))
}

#[test]
fn the_example_of_the_readme_is_a_good_scenario() {
    let readme = text("scenarios/README.md");
    let example = readme.split("```json\n").nth(1).and_then(|it| it.split("```").next()).unwrap();
    let examined = examine(example, "scenarios/README.md", root());
    assert!(examined.scenario.is_some(), "{}", examined.problems.render(false));
    let others: Vec<_> = examined.warnings.iter().filter(|it| !it.text.contains("guess")).collect();
    assert!(others.is_empty(), "{others:?}");
}

fn cells(scenario: &mut Scenario) -> &mut LithiumIronPhosphate {
    match &mut scenario.battery {
        Battery::LithiumIronPhosphate(cells) => cells,
        other => panic!("{other:?}"),
    }
}

/// "Two more degrees in its box, a third panel or two more strings would each do; a flatter panel,
/// which brings more sun a year, makes it worse."
#[test]
fn what_the_readme_says_of_the_ridge_is_so() {
    let ridge = named("ridge-relay");
    let as_it_is = outcome(&ridge, |_| ());
    assert!(as_it_is.no_power_h > 24.0, "{}", as_it_is.no_power_h);
    let warmer = outcome(&ridge, |it| match &mut cells(it).temperature {
        Temperature::FollowsAir { offset_c, .. } => *offset_c += 2.0,
        other @ Temperature::FixedC(_) => panic!("{other:?}"),
    });
    let more_panels = outcome(&ridge, |it| it.arrays["mast"].count += 1);
    let more_strings = outcome(&ridge, |it| cells(it).strings += 2);
    for (what, summary) in
        [("warmer", warmer), ("a panel", more_panels), ("two strings", more_strings)]
    {
        assert_eq!(summary.no_power_h, 0.0, "{what}");
    }
    let flatter = outcome(&ridge, |it| it.arrays["mast"].tilt_deg = 40.0);
    assert!(flatter.solar_available_wh > 1.05 * as_it_is.solar_available_wh);
    assert!(
        flatter.no_power_h > 1.2 * as_it_is.no_power_h,
        "{} {}",
        flatter.no_power_h,
        as_it_is.no_power_h
    );
    // "Two fifths."
    let refused = as_it_is.curtailed_wh / as_it_is.solar_available_wh;
    assert!((0.37..0.43).contains(&refused), "{refused}");
}

/// The hall steps down because full traffic does not last; "solar only" begins the outage lower.
#[test]
fn what_the_readme_says_of_the_hall_is_so() {
    let hall = named("hall-72h");
    let as_it_is = outcome(&hall, |_| ());
    assert_eq!(as_it_is.no_power_h, 0.0);
    assert!(as_it_is.shed_wh > 0.0);
    let stubborn = outcome(&hall, |it| it.shedding = None);
    assert!(stubborn.no_power_h > 12.0, "{}", stubborn.no_power_h);
    let sun = outcome(&hall, |it| "solar only".clone_into(&mut it.strategy));
    assert!(sun.start_charge_share < as_it_is.start_charge_share - 0.3);
}

/// The harbour tops up in attended hours, never while somebody listens; the storm finds it low.
#[test]
fn what_the_readme_says_of_the_harbour_is_so() {
    let harbour = named("harbour-south");
    let by_hand = outcome(&harbour, |_| ());
    assert_eq!(by_hand.no_power_h, 0.0);
    let plan = harbour.plan("top up by hand");
    let book = single::run(&plan);
    let listening = book.rows.iter().filter(|row| {
        let hour = row.start.format("%H").to_string();
        ("17".."20").contains(&hour.as_str())
            && row.sources.last().is_some_and(|it| it.used_wh > 0.0)
    });
    assert_eq!(listening.count(), 0);
    let always = outcome(&harbour, |it| "charger on".clone_into(&mut it.strategy));
    assert!(always.lowest_charge_share > by_hand.lowest_charge_share + 0.1);
    assert!(by_hand.mains_plug_wh < always.mains_plug_wh);
}

/// The table of what mends the club, each change as the merge patch that the README gives.
#[test]
fn what_the_readme_says_of_the_club_is_so() {
    let readme = text("output/README.md");
    let from = readme.find("| as planned, every pack swapped").unwrap();
    let rows: Vec<Vec<u64>> = readme[from..]
        .lines()
        .take(4)
        .map(|line| {
            let cells = line.trim_matches('|').split('|').skip(1);
            cells.map(|cell| cell.trim().replace(',', "").parse().unwrap()).collect()
        })
        .collect();
    let patches = readme[from..].split("```json\n").nth(1).unwrap().split("```").next().unwrap();
    let patches: Vec<serde_json::Value> =
        patches.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(patches.len(), 3);
    let club: serde_json::Value =
        serde_json::from_str(&text("scenarios/club-weekend.json")).unwrap();
    let none = serde_json::json!({});
    for (row, patch) in rows.iter().zip(std::iter::once(&none).chain(&patches)) {
        let changed = longwatch::scenario::patch::merged(&club, patch);
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("club.json");
        std::fs::write(&file, changed.to_string()).unwrap();
        let out = folder.path().join("out");
        let status = std::process::Command::new(env!("CARGO_BIN_EXE_longwatch"))
            .args([
                "exercise",
                file.to_str().unwrap(),
                "--trials",
                "2000",
                "--no-charts",
                "--full",
                "--out",
            ])
            .arg(&out)
            .output()
            .unwrap();
        assert!(status.status.success(), "{}", String::from_utf8_lossy(&status.stderr));
        let said = String::from_utf8(status.stdout).unwrap();
        let up = |name: &str| -> u64 {
            let line = said.lines().find(|line| line.starts_with(&format!("  {name}"))).unwrap();
            let rest = line[2 + name.len()..].trim_start_matches(|c: char| c != ' ');
            let word = rest.split("  ").map(str::trim).find(|it| !it.is_empty()).unwrap();
            word.replace(',', "").parse().unwrap_or_else(|_| panic!("{line}"))
        };
        let found =
            [up("club, at least 3 of 4 up"), up("camp"), up("lighthouse"), up("ferry slip")];
        assert_eq!(row[..], found, "{patch}");
    }
    let (planned, later) = (&rows[0], &rows[3]);
    assert!(readme.contains("it stays on the air in\n1,450 trials instead of 1,497"));
    assert_eq!((planned[1], later[1], later[3] - planned[3]), (1497, 1450, 605));
}
