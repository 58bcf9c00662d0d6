//! `counterdiffusion`: a switch on the way up brings much nitrogen for the helium it takes away.

use crate::findings::Level;
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::plan::Role;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::run::Breath;

/// The rule.
pub const RULE: Rule =
    Rule::new("counterdiffusion", Family::Mix, Level::Note, include_str!("counterdiffusion.md"), look);

/// Nitrogen may rise by so much of what helium falls by (common practice, no source).
pub const SHARE: f64 = 0.2;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, one);
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let (dive, track) = (&simulated.dive, &simulated.ran.track);
    for pair in track.segments.windows(2) {
        let [before, after] = pair else { continue };
        let (Breath::Open(was), Breath::Open(is)) = (before.regime.breath, after.regime.breath) else { continue };
        let (helium, nitrogen) = (was.he - is.he, is.n2() - was.n2());
        if before.start.bar < after.start.bar - tolerance::PO2_BAR
            || helium <= tolerance::FRACTION
            || nitrogen <= SHARE * helium + tolerance::FRACTION
        {
            continue;
        }
        let number = after.start.source.checked_sub(1).or_else(|| simulated.of_role(Role::Back));
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
        sink.find(finding.with_step(
            "nitrogen may rise by helium’s fall / 5",
            format!("{:.1}/5 points", helium * 100.0),
            format!("{:.1} points", helium * 100.0 * SHARE),
        ));
        return;
    }
}
