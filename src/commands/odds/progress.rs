//! Progress on a terminal, and a stop when the user asks for it.
//!
//! Nothing is drawn where standard error is no terminal, nor before a run has taken a moment.

use std::fmt::Write;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use indicatif::{
    HumanCount, HumanDuration, ProgressBar, ProgressDrawTarget, ProgressState, ProgressStyle,
};

use crate::commands::files;
use crate::simulate::trials::Watch;

/// How long a run is quiet, and how often its progress is drawn anew.
const EVERY: Duration = Duration::from_millis(200);

const WITH_END: &str = "{human_pos} of {human_len} trials, {per_sec}{time_left}";
const WITHOUT_END: &str = "{human_pos} trials, {per_sec}";

/// Does the work while its progress is shown; the line is gone when it ends.
pub fn shown<T>(watch: &Watch, total: Option<u64>, work: impl FnOnce() -> T) -> T {
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let drawing = scope.spawn(|| draw(watch, total, &over));
        let result = work();
        over.store(true, Ordering::Release);
        drawing.thread().unpark();
        result
    })
}

fn draw(watch: &Watch, total: Option<u64>, over: &AtomicBool) {
    let bar = ProgressBar::with_draw_target(total, ProgressDrawTarget::stderr());
    let form = if total.is_some() { WITH_END } else { WITHOUT_END };
    if let Ok(style) = ProgressStyle::with_template(form) {
        bar.set_style(style.with_key("per_sec", rate).with_key("time_left", time_left));
    }
    std::thread::park_timeout(EVERY);
    while !over.load(Ordering::Acquire) {
        bar.set_position(watch.done.load(Ordering::Relaxed));
        std::thread::park_timeout(EVERY);
    }
    bar.finish_and_clear();
}

fn rate(state: &ProgressState, to: &mut dyn Write) {
    let _ = write!(to, "{} a second", HumanCount(state.per_sec() as u64));
}

/// Nothing is known of it before something is done.
fn time_left(state: &ProgressState, to: &mut dyn Write) {
    if state.pos() > 0 {
        let _ = write!(to, ", {:#} left", HumanDuration(state.eta()));
    }
}

/// The first interrupt ends the trials after those under way, the second one ends the program.
pub fn stop_on_interrupt(watch: &Arc<Watch>) {
    let watch = Arc::clone(watch);
    // Without a handler an interrupt ends the program, as it does everywhere.
    let _ = ctrlc::set_handler(move || {
        if watch.stop.swap(true, Ordering::Relaxed) {
            end_at_once();
        }
        files::tell("\nstopping after the trials under way; once more to stop at once\n");
    });
}

#[allow(clippy::exit)] // Who interrupts twice wants the program to end, whatever it is doing.
fn end_at_once() -> ! {
    // What a shell gives for a program that an interrupt ended: 128 and the signal's number.
    std::process::exit(130)
}
