//! How narcotic a gas is, told as a depth on air.

use crate::findings::Step;
use crate::physics::mix::{AIR_INERT, Narcotic};
use crate::physics::{Mix, Water};
use crate::plan::Limits;
use crate::words::LimitName;

/// What counts as narcotic by the limits.
pub(crate) fn counts(limits: &Limits) -> Narcotic {
    match limits.amount(LimitName::NarcosisCounts).is_some_and(|said| said.text() == Some("nitrogen")) {
        true => Narcotic::NitrogenOnly,
        false => Narcotic::OxygenToo,
    }
}

/// How the depth is worked out at which air would be as narcotic as a mix is at a pressure in bar.
pub(crate) fn working(mix: Mix, pressure_bar: f64, water: &Water, counts: Narcotic) -> Step {
    let (surface, grows) = (water.surface_bar, water.bar_per_m);
    let depth = mix.equivalent_narcotic_depth_m(water.depth_m(pressure_bar), water, counts);
    let (formula, numbers) = match counts {
        Narcotic::NitrogenOnly => (
            "depth as air = (N2/0.79·P − Ps)/k",
            format!("({:.4}/{AIR_INERT}·{pressure_bar:.4} − {surface:.4})/{grows:.5}", mix.n2()),
        ),
        Narcotic::OxygenToo => (
            "depth as air = ((1 − He)·P − Ps)/k",
            format!("((1 − {:.4})·{pressure_bar:.4} − {surface:.4})/{grows:.5}", mix.he),
        ),
    };
    Step { formula: formula.into(), numbers, result: format!("{depth:.2} m") }
}
