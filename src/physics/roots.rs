//! Where a curve given in closed form takes a value.

/// The place in `from…to` where a function that rises or falls throughout takes the value 0; `None` if its ends have the
/// same sign or one is not a number. Bisection that takes the secant's step whenever it stays well inside: it can't run
/// away and ends within 100 steps, mostly within 8.
pub fn zero(from: f64, to: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut a, mut b) = (from, to);
    let (mut fa, mut fb) = (f(a), f(b));
    if fa == 0.0 {
        return Some(a);
    }
    if fb == 0.0 {
        return Some(b);
    }
    if !(fa < 0.0 && fb > 0.0 || fa > 0.0 && fb < 0.0) {
        return None;
    }
    let narrow = 4.0 * f64::EPSILON * (from.abs() + to.abs());
    let mut last_width = f64::INFINITY;
    for _ in 0..100 {
        let width = b - a;
        if width.abs() <= narrow {
            break;
        }
        let secant = a - fa * width / (fb - fa);
        // A secant that no longer halves the bracket has one end stuck: bisect then.
        let trusted = width.abs() <= 0.5 * last_width && secant.is_finite();
        let middle =
            if trusted { secant.clamp(a.min(b) + 0.25 * narrow, a.max(b) - 0.25 * narrow) } else { a + 0.5 * width };
        last_width = width.abs();
        let fm = f(middle);
        if fm == 0.0 {
            return Some(middle);
        }
        if fm.is_nan() {
            return None;
        }
        if (fm < 0.0) == (fa < 0.0) {
            (a, fa) = (middle, fm);
            // Illinois: halve the weight of an end that stays.
            if trusted {
                fb *= 0.5;
            }
        } else {
            (b, fb) = (middle, fm);
            if trusted {
                fa *= 0.5;
            }
        }
    }
    Some(if fa.abs() < fb.abs() { a } else { b })
}

/// The first place beyond 0 where `a + b·x + c·x²` is 0, one at 0 itself (to rounding) left out; `None` if there is none.
pub fn first_of_parabola(a: f64, b: f64, c: f64) -> Option<f64> {
    let scale = b.abs() + libm::sqrt((a * c).abs());
    let square = b * b - 4.0 * a * c;
    if square < 0.0 || scale == 0.0 {
        return None;
    }
    // The sum that doesn't cancel, and the two roots from it.
    let sum = -0.5 * (b + libm::copysign(libm::sqrt(square), b));
    // All but straight, it has its other root far away: that says nothing of how near 0 is near.
    let least = 1e-9 * (a.abs() / scale).max(if c == 0.0 { 0.0 } else { (b / c).abs().min(1.0) });
    [sum / c, a / sum].into_iter().filter(|x| x.is_finite() && *x > least).min_by(f64::total_cmp)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_that_is_all_but_straight_is_crossed_where_the_line_is() {
        for bend in [0.0, 1e-17, -1e-17, 1e-13, -1e-13] {
            let found = first_of_parabola(1.0, -0.1, bend).unwrap_or(f64::NAN);
            assert!((found - 10.0).abs() < 1e-6, "{bend}: {found}");
        }
        // The root at 0 itself is left out, the other is not.
        assert_eq!(first_of_parabola(0.0, -3.0, 1.0), Some(3.0));
    }

    #[test]
    fn finds_zeros_of_steep_flat_and_straight_curves() {
        type Curve = fn(f64) -> f64;
        let cases: [(Curve, f64); 5] = [
            (|x| x - 0.3, 0.3),
            (|x| x * x * x - 0.001, 0.1),
            (|x| libm::exp(30.0 * x) - 2.0, std::f64::consts::LN_2 / 30.0),
            (|x| 0.7 - x, 0.7),
            (|x| libm::sqrt(x) - 0.05, 0.0025),
        ];
        for (f, at) in cases {
            let found = zero(0.0, 1.0, f);
            assert!(found.is_some_and(|x| (x - at).abs() < 1e-13), "{found:?} {at}");
        }
    }

    #[test]
    fn parabolas() {
        let near = |found: Option<f64>, expected: f64| assert!(found.is_some_and(|x| (x - expected).abs() < 1e-12));
        near(first_of_parabola(2.0, -3.0, 1.0), 1.0);
        near(first_of_parabola(-2.0, 1.0, 1.0), 1.0);
        near(first_of_parabola(6.0, -2.0, 0.0), 3.0);
        // One root at 0, the other beyond.
        near(first_of_parabola(0.0, -2.0, 1.0), 2.0);
        assert_eq!(first_of_parabola(1.0, 1.0, 1.0), None);
        assert_eq!(first_of_parabola(1.0, 1.0, 0.0), None);
        assert_eq!(first_of_parabola(0.0, 0.0, 0.0), None);
        assert_eq!(first_of_parabola(f64::NAN, 1.0, 1.0), None);
    }

    #[test]
    fn no_change_of_sign_no_zero() {
        assert_eq!(zero(0.0, 1.0, |x| x + 1.0), None);
        assert_eq!(zero(0.0, 1.0, |_| f64::NAN), None);
        assert_eq!(zero(0.0, f64::INFINITY, |x| x + 1.0), None);
    }
}
