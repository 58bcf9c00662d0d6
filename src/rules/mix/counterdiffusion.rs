//! `counterdiffusion`: a switch on the way up brings much nitrogen for the helium it takes away.

use crate::findings::Level;
use crate::rules::inputs::Simulated;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, say};
use crate::run::Breath;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "counterdiffusion",
    family: Family::Mix,
    level: Level::Note,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: false,
    statuses: TO_DIVE,
    page: include_str!("counterdiffusion.md"),
    look,
};

/// Nitrogen may rise by so much of what helium falls by (common practice, no source).
pub const SHARE: f64 = 0.2;

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    each_run(look, out, Whose::All, one);
}

fn one(_: &Look<'_>, simulated: &Simulated<'_>, out: &mut Out<'_>) {
    let (dive, track) = (&simulated.dive, &simulated.ran.track);
    for pair in track.segments.windows(2) {
        let [before, after] = pair else { continue };
        let (Breath::Open(was), Breath::Open(is)) = (before.regime.breath, after.regime.breath) else { continue };
        let (helium, nitrogen) = (was.he - is.he, is.n2() - was.n2());
        if before.start.bar < after.start.bar - 1e-6 || helium <= 1e-6 || nitrogen <= SHARE * helium + 1e-6 {
            continue;
        }
        let number = after.start.source.checked_sub(1).or_else(|| simulated.of_role("back"));
        let Some(carried) = number.and_then(|number| simulated.kit.get(number)) else { continue };
        let message = format!(
            "going over to {} {:?} at {} m nitrogen rises by {} points while helium falls by {}",
            carried.role.value,
            carried.name.value,
            say::number(say::up(after.start.depth_m().max(0.0), 1.0)),
            say::number(say::up(nitrogen * 100.0, 0.1)),
            say::number(say::down(helium * 100.0, 0.1)),
        );
        let finding = RULE.finding(carried.name.place.clone(), message).with_about(dive.about());
        out.find(finding.with_step(
            "nitrogen may rise by helium’s fall / 5",
            format!("{:.1}/5 points", helium * 100.0),
            format!("{:.1} points", helium * 100.0 * SHARE),
        ));
        return;
    }
}
