//! Ways out on open circuit: which lacks most, and what one takes.

use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::rules::say;
use crate::run::Escape;
use crate::words::LimitName;

/// What a way out takes, gas by gas.
pub(in crate::rules) fn way_out_in_words(simulated: &Simulated<'_>, escape: &Escape) -> String {
    let draws = simulated.kit.iter().zip(&escape.draws_l).filter(|(_, draws_l)| **draws_l > 0.05);
    let each: Vec<String> =
        draws.map(|(carried, draws_l)| format!("{:?} {draws_l:.1} L", carried.name.value)).collect();
    let taken = if each.is_empty() { "nothing".to_owned() } else { each.join(" + ") };
    let limits = &simulated.dive.plan.limits;
    let at = limits.amount(LimitName::StressAt);
    let back = match escape.back_min > 0.0 {
        true => format!("{:.1} min the way in back, ", escape.back_min),
        false => String::new(),
    };
    // Nearer than 10 m to the surface nobody waits whom nothing holds.
    let problem = match escape.problem_min > 0.0 {
        true => {
            let at = at.as_ref().and_then(|at| at.text()).unwrap_or("peak");
            format!("{} min at {at}, {back}then up with its stops", say::number(escape.problem_min))
        }
        false => format!("{back}up at once"),
    };
    format!(
        "{taken} over {:.1} min: {problem} at {} × rest",
        escape.minutes,
        say::number(limits.value(LimitName::StressUp))
    )
}

/// The way out that lacks most, the first of equals.
pub(in crate::rules) fn worst(escapes: &[Escape]) -> Option<&Escape> {
    let lacking = escapes.iter().filter(|escape| escape.lacks_l > tolerance::LITRES);
    lacking.rev().max_by(|a, b| a.lacks_l.total_cmp(&b.lacks_l).then(a.depth_m.total_cmp(&b.depth_m)))
}
