//! Where a function crosses zero between two ends.
//!
//! T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a
//! nonlinear function without using derivatives", Advances in Engineering Software 28, 145 (1997):
//! inverse quadratic interpolation where it is safe, halving elsewhere. Trust: exact to rounding.

/// The argument between `low` and `high` at which `function` crosses zero, to the last bits.
///
/// `function` must not have the same sign at both ends; if it has, the end nearer to zero is
/// given. Values that are not numbers count as positive.
#[must_use]
pub fn crossing(function: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let value = |x: f64| {
        let value = function(x);
        if value.is_nan() { f64::INFINITY } else { value }
    };
    // `near` is the newest end, `far` the end with the other sign, `old` the end given up last.
    let (mut far, mut near) = (low, high);
    let (mut far_value, mut near_value) = (value(far), value(near));
    if far_value == 0.0 {
        return far;
    }
    if near_value == 0.0 {
        return near;
    }
    if (far_value > 0.0) == (near_value > 0.0) {
        return if far_value.abs() < near_value.abs() { far } else { near };
    }
    let mut share = 0.5;
    // Halving alone ends within 1,100 steps; the interpolation mostly within ten.
    for _ in 0..1_100 {
        // As a mean of both ends: where one of them is 0 nothing cancels.
        let next = near * (1.0 - share) + far * share;
        let next_value = value(next);
        let (old, old_value);
        if (next_value > 0.0) == (near_value > 0.0) {
            (old, old_value) = (near, near_value);
        } else {
            (old, old_value) = (far, far_value);
            (far, far_value) = (near, near_value);
        }
        (near, near_value) = (next, next_value);
        let (best, best_value) =
            if far_value.abs() < near_value.abs() { (far, far_value) } else { (near, near_value) };
        let tolerance = 2.0 * f64::EPSILON * best.abs() + f64::MIN_POSITIVE;
        let least_share = tolerance / (far - near).abs();
        if least_share > 0.5 || best_value == 0.0 {
            return best;
        }
        let least_step = least_share.max(f64::EPSILON);
        share = next_share([near, far, old], [near_value, far_value, old_value])
            .clamp(least_step, 1.0 - least_step);
    }
    near
}

/// Where to look next, as a share of the way from `near` to `far`.
fn next_share([near, far, old]: [f64; 3], [near_value, far_value, old_value]: [f64; 3]) -> f64 {
    let xi = (near - far) / (old - far);
    let phi = (near_value - far_value) / (old_value - far_value);
    if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
        near_value / (far_value - near_value) * (old_value / (far_value - old_value))
            + (old - near) / (far - near)
                * (near_value / (old_value - near_value))
                * (far_value / (old_value - far_value))
    } else {
        0.5
    }
}
