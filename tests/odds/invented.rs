//! Invented trials: a rough battery under days of drawn clearness, so that there is something
//! plausible to count and to draw. No check of physics hangs on it.

use chrono::DateTime;
use longwatch::chance::transforms::normal_deviate;
use longwatch::chance::{Draw, Purpose};
use longwatch::decide::odds::{Answers, Occasion, Odds, Shape, Subject};
use longwatch::scenario::Named;
use longwatch::simulate::trials::{Cause, Gather, Outcome};

/// An invented station.
#[derive(Clone)]
pub struct Station {
    pub hours: usize,
    pub steps_an_hour: usize,
    pub capacity_wh: f64,
    pub load_w: f64,
    pub sun_wh_a_clear_day: f64,
    pub seed: u64,
    pub occasion: Occasion,
    pub same_start: bool,
    pub generator: bool,
    pub tiers: Vec<&'static str>,
}

impl Station {
    pub fn january() -> Self {
        Self {
            hours: 72,
            steps_an_hour: 1,
            capacity_wh: 2400.0,
            load_w: 44.0,
            sun_wh_a_clear_day: 1300.0,
            seed: 20_260_601,
            occasion: Occasion::OutageWithStorm,
            same_start: true,
            generator: false,
            tiers: vec!["full traffic", "nets only", "listen"],
        }
    }

    pub fn shape(&self) -> Shape {
        Shape {
            steps: self.hours * self.steps_an_hour,
            step_h: 1.0 / self.steps_an_hour as f64,
            tiers: self.tiers.len(),
        }
    }

    pub fn subject(&self, trials: u64) -> Subject {
        let nights = (0..=self.hours as u32 / 24).map(|day| {
            let from = f64::from(day) * 24.0 - 1.5;
            (from.max(0.0), (from + 15.0).min(self.hours as f64))
        });
        Subject {
            name: "gannet-ness".to_owned(),
            title: "Gannet Ness community hall (invented)".to_owned(),
            version: "0.1.0".to_owned(),
            scenario_sha256: "5d".repeat(32),
            variant: None,
            strategy: "charger on".to_owned(),
            occasion: self.occasion,
            seed: self.seed,
            trials_asked: trials,
            shape: self.shape(),
            start: self
                .same_start
                .then(|| DateTime::parse_from_rfc3339("2027-01-18T18:00:00-03:00").unwrap()),
            nights_h: if self.same_start {
                nights.filter(|(from, to)| from < to).collect()
            } else {
                Vec::new()
            },
            tiers: self.tiers.iter().map(|it| (*it).to_owned()).collect(),
            series_years: None,
            capacity_ah: self.capacity_wh / 12.8,
            basis: Named::default(),
            warnings: Vec::new(),
        }
    }

    /// One trial, from seed and number alone.
    pub fn trial(&self, trial: u64) -> Outcome {
        let steps = self.hours * self.steps_an_hour;
        let step_h = 1.0 / self.steps_an_hour as f64;
        let draw = |day: u32, purpose| Draw::new(self.seed, trial, day, purpose).uniform();
        let start = 0.55 + 0.45 * draw(0, Purpose::StartCharge);
        let mut stored = start * self.capacity_wh;
        let mut before_wh = stored;
        let mut chi = normal_deviate(draw(0, Purpose::Sky));
        let mut outcome = Outcome {
            trial,
            no_power_h: 0.0,
            days_with_loss: 0,
            unserved_wh: 0.0,
            load_wh: 0.0,
            served_wh: 0.0,
            shed_wh: 0.0,
            first_off_air_h: None,
            lowest_charge_share: start,
            lowest_at_h: 0.0,
            start_charge_share: start,
            end_charge_share: start,
            tier_h: vec![0.0; self.tiers.len()],
            no_power_tier_h: vec![0.0; self.tiers.len()],
            origin_wh: [0.0; 5],
            fuel_l: 0.0,
            mains_plug_wh: 0.0,
            noise_h: 0.0,
            plugged_in_storm_h: 0.0,
            recharge_h: None,
            cause: None,
            charge_share: Vec::with_capacity(steps),
        };
        let (mut day, mut lost_day) = (0, u32::MAX);
        let mut clear = 0.0;
        let mut tier = 0;
        for step in 0..steps {
            let at_h = step as f64 * step_h;
            let clock_h = (18.0 + at_h) % 24.0;
            if step == 0 || (clock_h == 0.0) {
                day += 1;
                let e = normal_deviate(draw(day, Purpose::Sky));
                chi = 0.29 * chi + (1.0_f64 - 0.29 * 0.29).sqrt() * e;
                clear = 1.0 / (1.0 + (1.4 - 1.1 * chi).exp());
            }
            if clock_h == 18.0 || clock_h == 8.0 {
                let share = stored / self.capacity_wh;
                tier = [0.45, 0.25].iter().filter(|below| share < **below).count();
                tier = tier.min(self.tiers.len() - 1);
            }
            let factor = [1.0, 0.6, 0.35][tier];
            let load_wh = self.load_w * factor * step_h;
            outcome.tier_h[tier] += step_h;
            outcome.shed_wh += self.load_w * (1.0 - factor) * step_h;
            let height = (1.0 - ((clock_h + step_h / 2.0 - 12.0) / 4.5).powi(2)).max(0.0);
            let solar_wh = self.sun_wh_a_clear_day * clear * height * step_h / 6.0;
            let room_wh = self.capacity_wh - stored;
            let gained_wh = solar_wh.min(room_wh + load_wh);
            let mut engine_wh = 0.0;
            if self.generator && stored < 0.2 * self.capacity_wh && (9.0..20.0).contains(&clock_h) {
                engine_wh = 300.0 * step_h;
                outcome.fuel_l += 0.4 * step_h;
            }
            let had_wh = stored + gained_wh + engine_wh;
            let served_wh = load_wh.min(had_wh);
            // Drawn in proportion to what is there.
            let part = if had_wh > 0.0 { served_wh / had_wh } else { 0.0 };
            outcome.origin_wh[2] += engine_wh;
            outcome.origin_wh[4] += before_wh * part;
            outcome.origin_wh[0] += served_wh - before_wh * part;
            before_wh *= 1.0 - part;
            stored = (had_wh - served_wh).min(self.capacity_wh);
            outcome.load_wh += load_wh;
            outcome.served_wh += served_wh;
            let missing_wh = load_wh - served_wh;
            if missing_wh > 1e-9 {
                let no_power_h = step_h * missing_wh / load_wh;
                outcome.unserved_wh += missing_wh;
                outcome.no_power_h += no_power_h;
                outcome.first_off_air_h.get_or_insert(at_h + step_h - no_power_h);
                let its_day = (at_h / 24.0) as u32;
                if its_day != lost_day {
                    outcome.days_with_loss += 1;
                    lost_day = its_day;
                }
            }
            let share = stored / self.capacity_wh;
            if share < outcome.lowest_charge_share {
                outcome.lowest_charge_share = share;
                outcome.lowest_at_h = at_h + step_h;
            }
            outcome.charge_share.push(share);
        }
        outcome.origin_wh[0] = (outcome.origin_wh[0] - outcome.origin_wh[2]).max(0.0);
        outcome.end_charge_share = stored / self.capacity_wh;
        let wait_h = 40.0 * (1.0 - outcome.end_charge_share) / (0.2 + clear);
        outcome.recharge_h = Some(wait_h).filter(|h| *h < 96.0);
        if outcome.first_off_air_h.is_some() {
            outcome.cause = Some(if start < 0.62 { Cause::LowAtStart } else { Cause::DarkRun });
        }
        outcome
    }

    pub fn gather(&self, trials: std::ops::Range<u64>) -> Answers {
        let mut answers = Answers::empty(self.shape()).unwrap();
        for trial in trials {
            answers.trial(&self.trial(trial));
        }
        answers
    }

    pub fn odds(&self, trials: u64) -> (Subject, Answers, Odds) {
        let subject = self.subject(trials);
        let answers = self.gather(0..trials);
        let mut odds = Odds::of(&subject, &answers, None);
        odds.sentence = longwatch::show::odds::first_sentence(&odds);
        (subject, answers, odds)
    }
}
