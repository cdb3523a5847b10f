//! Trials a second, draws included: the hall and, beside the whole, what its draws alone cost.
//!
//! `cargo bench --bench trials`. Elements a second are hour-steps of one thread, settling days and
//! the hours after the span included.

use std::path::Path;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use longwatch::scenario::Scenario;
use longwatch::simulate::trials::{
    Gather, Options, Outcome, Prepared, Watch, prepare, replay, run_trials,
};
use serde_json::{Value, json};

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
const TRIALS: u64 = 4096;

/// Counts the failed, so that nothing is optimised away.
struct Failed(u64);

impl Gather for Failed {
    fn trial(&mut self, outcome: &Outcome) {
        self.0 += u64::from(outcome.first_off_air_h.is_some());
    }
    fn join(&mut self, later: Self) {
        self.0 += later.0;
    }
}

fn prepared(change: impl Fn(&mut Value)) -> Prepared {
    let text = std::fs::read_to_string(format!("{FOLDER}/hall-72h.json")).expect("the hall");
    let mut value: Value = serde_json::from_str(&text).expect("JSON");
    change(&mut value);
    let scenario: Scenario = serde_json::from_value(value).expect("a scenario");
    prepare(&scenario, Path::new(FOLDER), Vec::new(), Options::default()).expect("trials")
}

fn trials(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("trials");
    group.sample_size(20);
    let random = json!({"random": {"up": {"exponential": {"mean_h": 300}},
        "down": {"weibull": {"shape": 0.7, "mean_h": 12}}}});
    let stations = [
        ("hall", prepared(|_| {})),
        ("hall, random grid with storms", prepared(|value| value["grid"] = random.clone())),
    ];
    for (name, prepared) in stations {
        let steps = (prepared.settling_steps + prepared.span_steps + prepared.after_steps) as u64;
        group.throughput(Throughput::Elements(TRIALS * steps));
        group.bench_function(name, |bencher| {
            bencher.iter(|| {
                let watch = Watch::default();
                run_trials(&prepared, 0..TRIALS, 1, || Failed(0), &watch).map(|it| it.0.0)
            });
        });
        group.throughput(Throughput::Elements(1));
        group.bench_function(format!("{name}: one replayed plan"), |bencher| {
            bencher.iter(|| replay(&prepared, 17));
        });
    }
    group.finish();
}

criterion_group!(benches, trials);
criterion_main!(benches);
