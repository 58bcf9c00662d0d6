//! Ways out on open circuit: which lacks most, and what one takes.

use crate::forecast::{OUT_OVER_REST, PROBLEM_MIN, Simulated};
use crate::physics::tolerance;
use crate::rules::say;
use crate::run::Escape;

/// What a way out takes, gas by gas.
pub(in crate::rules) fn way_out_in_words(simulated: &Simulated<'_>, escape: &Escape) -> String {
    let draws = simulated.kit.iter().zip(&escape.draws_l).filter(|(_, draws_l)| **draws_l > 0.05);
    let each: Vec<String> =
        draws.map(|(carried, draws_l)| format!("{:?} {draws_l:.1} L", carried.name.value)).collect();
    let taken = if each.is_empty() { "nothing".to_owned() } else { each.join(" + ") };
    let back = match escape.back_min > 0.0 {
        true => format!("{:.1} min the way in back, ", escape.back_min),
        false => String::new(),
    };
    format!(
        "{taken} over {:.1} min: {} min at peak, {back}then up with its stops at {} × rest",
        escape.minutes,
        say::number(PROBLEM_MIN),
        say::number(OUT_OVER_REST)
    )
}

/// The way out that lacks most, the first of equals.
pub(in crate::rules) fn worst(escapes: &[Escape]) -> Option<&Escape> {
    let lacking = escapes.iter().filter(|escape| escape.lacks_l > tolerance::LITRES);
    lacking.rev().max_by(|a, b| a.lacks_l.total_cmp(&b.lacks_l).then(a.depth_m.total_cmp(&b.depth_m)))
}
