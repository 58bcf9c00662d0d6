//! `emergency-oxygen-short`: the emergency oxygen does not last to the chamber.

use crate::findings::{Level, said};
use crate::physics::Mix;
use crate::physics::emergency::{FIRST_AID_LPM, minutes};
use crate::physics::gas::Stored;
use crate::physics::litres::FREE_C;
use crate::physics::pressure::ATMOSPHERE_BAR;
use crate::physics::tolerance;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("emergency-oxygen-short", Family::Team, Level::Error, include_str!("emergency_oxygen_short.md"), look)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    let Some(emergency) = plan.site.as_ref().and_then(|site| site.emergency.as_ref()) else { return };
    let Some(evacuation) = emergency.evacuation_min.as_ref().filter(|_| !emergency.oxygen.is_empty()) else { return };
    let (mut litres, mut said) = (0.0, Vec::new());
    for oxygen in &emergency.oxygen {
        let (Some(size), Some(gauge)) = (&oxygen.size_l, &oxygen.gauge_bar) else {
            sink.lacks(oxygen.place.clone(), "`size=` and `pressure=` of the emergency oxygen");
            return;
        };
        let count = oxygen.count.as_ref().map_or(1.0, |count| count.value);
        let one = Stored::new(Mix::OXYGEN, FREE_C).and_then(|gas| gas.free_l(size.value, gauge.value, ATMOSPHERE_BAR));
        litres += count * one.unwrap_or(0.0);
        said.push(format!(
            "{} × {} L at {} bar",
            say::number(count),
            say::number(size.value),
            say::number(gauge.value)
        ));
    }
    let lasts = minutes(litres, FIRST_AID_LPM);
    if lasts >= evacuation.value - tolerance::MINUTES {
        return;
    }
    let message = said!(
        "the emergency oxygen lasts {minutes} min at {rate} L/min: the chamber's door is {evacuation} min away",
        minutes = say::minutes_had(lasts),
        rate = say::number(FIRST_AID_LPM),
        evacuation = say::number(evacuation.value)
    );
    let mut finding = RULE.finding(evacuation.place.clone(), message);
    for oxygen in &emergency.oxygen {
        finding = finding.with_related(oxygen.place.clone(), "the oxygen");
    }
    sink.find(finding.with_step("content, real gas", said.join(" + "), format!("{litres:.0} free L")).with_step(
        "minutes = content/flow",
        format!("{litres:.0}/{}", say::number(FIRST_AID_LPM)),
        format!("{lasts:.1} min"),
    ));
}
