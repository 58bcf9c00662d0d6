//! `mix-impossible`: oxygen and helium that no cylinder can hold together.

use crate::findings::{Level, Said, said};
use crate::plan::{Cylinder, Defined, WrittenMix};
use crate::rules::{ANY_FILE, Context, Family, Rule, Sink, dives, say};
use crate::source::Placed;

/// The rule. It looks at cylinders where they are defined, whatever plan takes them, and in plans where they are
/// taken.
pub(crate) const RULE: Rule =
    Rule::new("mix-impossible", Family::Mix, Level::Error, include_str!("mix_impossible.md"), look)
        .never_waived()
        .safety()
        .at(ANY_FILE);

/// Why a mix can't be, if it can't.
fn fault(mix: &WrittenMix) -> Option<Said> {
    let sum = mix.o2_percent + mix.he_percent;
    if sum > 100.0 {
        let (o2, he) = (say::number(mix.o2_percent), say::number(mix.he_percent));
        Some(said!(
            "{o2} % oxygen and {he} % helium are {sum} % together, more than a whole",
            sum = say::number(sum),
            o2,
            he
        ))
    } else if mix.o2_percent <= 0.0 {
        Some(said!("a mix without oxygen can't be breathed"))
    } else {
        None
    }
}

fn errors(cylinder: &Defined<Cylinder>) -> impl Iterator<Item = (&Placed<WrittenMix>, Said)> {
    let mixes = cylinder.thing.fills.iter().flat_map(|fill| [&fill.what.nominal, &fill.what.analysed]).flatten();
    mixes.filter_map(|mix| fault(mix).map(|fault| (mix, fault)))
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for cylinder in context.scope.cylinders.values() {
        for (mix, fault) in errors(cylinder).filter(|(mix, _)| mix.place.file == *context.file) {
            sink.find(RULE.finding(
                mix.place.clone(),
                said!("cylinder {cylinder:?}: {fault}", cylinder = cylinder.name.value, fault),
            ));
        }
    }
    for dive in dives::all(context) {
        for carried in &dive.member.cylinders {
            let Some(cylinder) = &carried.cylinder else { continue };
            for (mix, fault) in errors(cylinder).filter(|(mix, _)| mix.place.file != *context.file) {
                let message = said!("cylinder {cylinder:?}: {fault}", cylinder = cylinder.name.value, fault);
                let finding = RULE.finding(carried.name.place.clone(), message).with_about(dive.about());
                sink.find(finding.with_related(mix.place.clone(), "the mix"));
            }
        }
    }
}
