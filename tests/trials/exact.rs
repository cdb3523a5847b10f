//! Chances that are known exactly.

use super::common::{prepared, shipped, sums};
use std::time::Instant;

#[test]
fn speed() {
    let prepared = prepared(&shipped("hall-72h"), 1);
    let begin = Instant::now();
    let found = sums(&prepared, 2000);
    eprintln!("{found:?} in {:?}", begin.elapsed());
}
