#[path = "support/shipped.rs"]
mod shipped;
#[path = "support/books.rs"]
mod books;
use longwatch::simulate::{full_book::FullBook, phase::{Book, Phase}, state::State, step::run_slice, single};
use longwatch::plan::{Plan, Slice};
struct Spy { inner: FullBook, on: bool }
impl Book<f64> for Spy {
    fn phase(&mut self, plan: &Plan, slice: &Slice, phase: &Phase<f64>) {
        let before = self.inner.rows.last().map_or(0.0, |r| r.residual_wh);
        self.inner.phase(plan, slice, phase);
        let after = self.inner.rows.last().map_or(0.0, |r| r.residual_wh);
        if self.on && phase.hours > 0.0 {
            println!("res {:+.2e} h {:.6} V {:.6} from {:.9} to {:.9} ch_ah {:.6e} spread {} rung {} profile {} used {:?} within {:?} offered {:?} open {} supply {}", after-before, phase.hours, phase.mean_v, phase.from_share, phase.to_share, phase.charged_ah, phase.spread, phase.rung, phase.profile, &phase.used_wh[..2], &phase.within_limit_wh[..2], &phase.offered_w[..2], phase.open, phase.supply_on);
        }
    }
}
#[test]
fn look() {
    let plan = shipped::named("harbour-south").plan("charger on");
    let mut state: State<f64> = State::at_start(&plan);
    let mut spy = Spy { inner: FullBook::new(), on: false };
    let mut step = usize::MAX;
    for (at, slice) in plan.slices.iter().enumerate() {
        if slice.step != step {
            if step != usize::MAX { spy.inner.end_step(&plan, state.charge);
              let r = spy.inner.rows.last().unwrap();
              if let Err(w) = books::check_row(&plan, r) { println!("{w}"); if spy.on {break;} }
            }
            step = slice.step;
            spy.inner.begin_step(&plan, step, state.charge, state.battery_c, state.too_cold);
            spy.on = plan.steps[step].start.to_rfc3339().starts_with("2027-07-05T16");
        }
        let inputs = single::inputs_of(&plan, slice, at);
        spy.inner.begin_slice(slice, inputs.available_w);
        if spy.on { println!("slice {slice:?} bulk {:?} charge {} set {:?}", state.bulk, state.charge, plan.sources); }
        run_slice(&plan, slice, &inputs, &mut state, &mut spy);
        spy.inner.end_slice(&plan, slice, state.tier);
    }
}
