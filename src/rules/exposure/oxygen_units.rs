//! `oxygen-units`: a diver takes more pulmonary units in a day, or in days in a row, than the lungs bear.

use std::collections::BTreeSet;

use crate::findings::{Level, said};
use crate::forecast::Simulated;
use crate::physics::oxygen::units_allowed;
use crate::rules::runs::{Whose, each_schedule};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("oxygen-units", Family::Exposure, Level::Warning, include_str!("oxygen_units.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    // Said once of a diver, of the dive that passes the sum or that begins beyond it.
    let mut said = BTreeSet::new();
    each_schedule(context, sink, Whose::All, |context, simulated, sink| one(context, simulated, &mut said, sink));
}

fn one<'a>(context: &Context<'_>, simulated: &Simulated<'a>, said: &mut BTreeSet<&'a str>, sink: &mut Sink<'_>) {
    let dive = &simulated.dive;
    let diver = &*dive.member.name.value;
    let took = simulated.ran.rich_mix().exposure().units;
    let (today, trip) = (simulated.carried.units, simulated.trip);
    let passed =
        |(_, before): &(usize, f64), most: f64| before + took > most && !(*before > most && said.contains(diver));
    let sums = [(1, today), (trip.days, trip.units)];
    let Some((days, before)) = sums.into_iter().find(|sum| passed(sum, units_allowed(sum.0))) else { return };
    said.insert(diver);
    let most = say::number(units_allowed(days));
    let (so_far, bearable) = match days {
        1 => (said!(""), said!("{most} are allowed on a single day", most)),
        _ => (said!(" in {days} days in a row", days), said!("{most} are allowed in {span} days", most, span = days)),
    };
    let mut message = said!(
        "{diver} has taken {units} OTU{so_far} at the end of dive {dive:?}",
        units = say::units(before + took),
        dive = *dive.dive.name,
        diver,
        so_far
    );
    if before >= 1.0 {
        message += said!(", {before} of them before", before = say::units(before));
    }
    let mut finding = RULE.finding(dive.oxygen_is_set_at().clone(), {
        message += said!(": {bearable}", bearable);
        message
    });
    let planned = simulated.ran.rich_mix_dive();
    finding.fixes.extend(fix::shorter_stay(context, simulated, &planned, |_, track, _| {
        sums.iter().all(|(days, before)| before + track.exposure().units <= units_allowed(*days))
    }));
    sink.find(finding.with_about(dive.about()).with_step(
        "units = carried + ∫ ((PO2 − 0.5)/0.5)^(5/6) dt, PO2 in atm",
        format!("{before:.1} + {took:.1}"),
        format!("{:.1}", before + took),
    ));
}
