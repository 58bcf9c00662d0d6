//! `gas-dense`: a gas is so dense at its deepest that breathing it is hard work.

use super::{Breathed, breathed, worst_breathed};
use crate::findings::{Finding, Level, Wording, said};
use crate::forecast::dives::{DiverDive, Gas};
use crate::physics::tolerance;
use crate::rules::dives::caused;
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::source::Placed;
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("gas-dense", Family::Mix, Level::Warning, include_str!("gas_dense.md"), look).safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    worst_breathed(context, sink, one, "dense too");
}

fn one(context: &Context<'_>, dive: &DiverDive<'_>, gas: &Gas<'_>, depth: &Placed<f64>) -> Option<(f64, Finding)> {
    let water = dive.water();
    let pressure = water.pressure_bar(depth.value);
    let density = |breathed: &Breathed| breathed.mix.density_g_per_l(pressure);
    let all = breathed(dive, gas, pressure);
    let worst = all.iter().max_by(|a, b| density(a).total_cmp(&density(b)))?;
    let g_per_l = density(worst);
    let limits = &dive.plan.limits;
    let (easy, most) = (limits.value(LimitName::DensityEasy), limits.value(LimitName::DensityMost));
    let (limit, level, which) = if g_per_l > most + tolerance::WRITTEN {
        (most, Level::Warning, "limit")
    } else if g_per_l > easy + tolerance::WRITTEN {
        (easy, Level::Note, "recommended")
    } else {
        return None;
    };
    let reached = worst.mix.pressure_of_density_bar(limit).map_or(0.0, |pressure| water.depth_m(pressure));
    let role = gas.carried.role.value;
    let message = said!(
        "{breathed}{role} {cylinder:?} has a density of {density} g/L at {depth} m, over the {limit} g/L {which}; it reaches that at {reached} m",
        breathed = Wording(if worst.on_the_loop { "the loop on " } else { "" }),
        cylinder = gas.cylinder.name.value,
        density = say::number(say::up(g_per_l, 0.01)),
        depth = say::number(depth.value),
        reached = say::operating_depth(reached),
        role,
        limit = say::number(limit),
        which = Wording(which)
    );
    let mut finding = RULE.finding(gas.rich.place.clone(), message).with_about(dive.about());
    finding = caused(context, finding, &gas.rich.place, &gas.carried.name.place, "the mix");
    finding.level = level;
    finding = finding.with_related(depth.place.clone(), "the deepest it is breathed at");
    let finding = finding.with_step(
        "density = Σ x·M·P/(R·T), at 0 °C",
        format!(
            "({:.4}·31.998 + {:.4}·28.014 + {:.4}·4.0026)·{pressure:.4}·100/(8.31446·273.15)",
            worst.mix.o2,
            worst.mix.n2(),
            worst.mix.he
        ),
        format!("{g_per_l:.3} g/L"),
    );
    Some((g_per_l, finding))
}
