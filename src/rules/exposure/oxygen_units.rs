//! `oxygen-units`: a diver takes more pulmonary units in a day than the lungs bear.

use crate::findings::Level;
use crate::physics::oxygen::REPEX_A_DAY;
use crate::rules::inputs::Simulated;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, say};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "oxygen-units",
    family: Family::Exposure,
    level: Level::Warning,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("oxygen_units.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    each_run(look, out, Whose::All, |_, simulated, out| one(simulated, out));
}

fn one(simulated: &Simulated<'_>, out: &mut Out<'_>) {
    let dive = &simulated.dive;
    let before = simulated.carried.units;
    let took = simulated.ran.rich_mix().exposure().units;
    let [most, ..] = REPEX_A_DAY;
    // Said of the dive that passes it, once.
    if before + took <= most || before > most {
        return;
    }
    let whole = |units: f64| say::number(say::up(units, 1.0));
    let mut message = format!(
        "{} has taken {} pulmonary units at the end of dive {:?}",
        *dive.member.name,
        whole(before + took),
        *dive.dive.name
    );
    if before >= 1.0 {
        message += &format!(", {} of them before", whole(before));
    }
    message += &format!(": {} are bearable on a single day", say::number(most));
    let finding = RULE.finding(dive.oxygen_is_set_at().clone(), message).with_about(dive.about());
    out.find(finding.with_step(
        "units = carried + ∫ ((PO2 − 0.5)/0.5)^(5/6) dt, PO2 in atm",
        format!("{before:.1} + {took:.1}"),
        format!("{:.1}", before + took),
    ));
}
