//! `rates-inconsistent`: a diver's gas and oxygen figures can't both be true.

use crate::findings::{Level, said};
use crate::physics::tolerance;
use crate::plan::Work;
use crate::rules::{Context, Family, Rule, Sink, dives, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("rates-inconsistent", Family::Team, Level::Note, include_str!("rates_inconsistent.md"), look);

/// Litres breathed for each litre of oxygen used, least and most, that are to be believed (common practice, no source).
const PLAUSIBLE: [f64; 2] = [15.0, 30.0];

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let mut seen = Vec::new();
    for dive in dives::all(context) {
        let who = &dive.member.name;
        let Some(diver) = dive.diver().filter(|_| !seen.contains(&&who.value)) else { continue };
        seen.push(&who.value);
        let both = |work| Some((work, diver.gas.at(work)?, diver.oxygen.at(work)?));
        for (work, gas, oxygen) in Work::ALL.into_iter().filter_map(both) {
            // Both as they are written: the range is too wide for the state of a litre to matter.
            let ratio = gas.value.0 / oxygen.value.0;
            let [least, most] = PLAUSIBLE;
            // A figure that can't be is out of range, and that is said of it.
            if !ratio.is_finite() || (least - tolerance::FRACTION..=most + tolerance::FRACTION).contains(&ratio) {
                continue;
            }
            let (breathed, used) = (say::number(gas.value.0), say::number(oxygen.value.0));
            let message = said!(
                "{diver} breathes {breathed} L/min for {used} L/min of oxygen {work}, {ratio} to one: {least} to {most} is plausible",
                diver = who.value,
                work = if work == Work::Rest { said!("at rest") } else { said!("at {work} work", work = work.word()) },
                ratio = say::number(if ratio < least { say::down(ratio, 0.1) } else { say::up(ratio, 0.1) }),
                breathed,
                used,
                least = say::number(least),
                most = say::number(most)
            );
            let finding = RULE.finding(gas.place.clone(), message);
            let mut finding = dives::caused(context, finding, &gas.place, &who.place, "the gas breathed");
            finding = finding.with_about(dive.about());
            finding.about.dive = None;
            sink.find(finding.with_related(oxygen.place.clone(), "the oxygen used").with_step(
                "gas/oxygen",
                format!("{breathed}/{used}"),
                format!("{ratio:.2}"),
            ));
        }
    }
}
