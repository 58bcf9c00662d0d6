//! `counterdiffusion`: a switch on the way up brings much nitrogen for the helium it takes away.

use crate::findings::{Level, Wording, said};
use crate::forecast::Simulated;
use crate::physics::{Mix, tolerance};
use crate::plan::Role;
use crate::rules::runs::{Whose, each_run};
use crate::rules::{Context, Family, Rule, Sink, say};
use crate::run::{Breath, Segment, Track};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("counterdiffusion", Family::Mix, Level::Note, include_str!("counterdiffusion.md"), look);

/// Nitrogen may rise by so much of what helium falls by (common practice, no source).
pub(crate) const SHARE: f64 = 0.2;
/// A rise by less than this, a fraction, is no matter (common practice, no source).
const LITTLE: f64 = 0.02;

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    each_run(context, sink, Whose::All, one);
}

fn one(_: &Context<'_>, simulated: &Simulated<'_>, sink: &mut Sink<'_>) {
    let (dive, ran) = (&simulated.dive, &simulated.ran);
    let found = planned(&ran.track).map(|switch| (switch, Wording(""))).or_else(|| {
        let bailing_out = ran.answer("counterdiffusion bailing out", &[], || bailing_out(simulated));
        Some(((*bailing_out).clone()?, Wording(" bailing out")))
    });
    let Some((Switch { to, helium, nitrogen }, when)) = found else { return };
    let number = to.start.source.checked_sub(1).or_else(|| simulated.of_role(Role::Back));
    let Some(carried) = number.and_then(|number| simulated.kit.get(number)) else { return };
    let message = said!(
        "going over to {role} {cylinder:?}{when} at {depth} m nitrogen rises by {nitrogen} points while helium falls by {helium}",
        role = carried.role.value,
        cylinder = carried.name.value,
        depth = say::number(say::up(to.start.depth_m().max(0.0), 1.0)),
        nitrogen = say::number(say::up(nitrogen * 100.0, 0.1)),
        helium = say::number(say::down(helium * 100.0, 0.1)),
        when
    );
    let finding = RULE.finding(carried.name.place.clone(), message).with_about(dive.about());
    sink.find(finding.with_step(
        "nitrogen may rise by helium’s fall / 5",
        format!("{:.1}/5 points", helium * 100.0),
        format!("{:.1} points", helium * 100.0 * SHARE),
    ));
}

/// A switch that brings much nitrogen: what is breathed after it, and what it changes, fractions.
#[derive(Debug, Clone)]
struct Switch {
    to: Segment,
    helium: f64,
    nitrogen: f64,
}

impl Switch {
    /// From a mix to what a segment begins with; `None` where that brings little.
    fn of(was: Mix, to: &Segment) -> Option<Switch> {
        let Breath::Open(is) = to.regime.breath else { return None };
        let (helium, nitrogen) = (was.he - is.he, is.n2() - was.n2());
        let much = helium > tolerance::FRACTION && nitrogen > (SHARE * helium).max(LITTLE) + tolerance::FRACTION;
        much.then(|| Switch { to: to.clone(), helium, nitrogen })
    }
}

/// The first on open circuit that is not on the way down.
fn planned(track: &Track) -> Option<Switch> {
    track.segments.windows(2).find_map(|pair| {
        let [before, after] = pair else { return None };
        let Breath::Open(was) = before.regime.breath else { return None };
        Switch::of(was, after).filter(|_| before.start.bar >= after.start.bar - 1e-6)
    })
}

/// The first on the way out from the deepest moment.
fn bailing_out(simulated: &Simulated<'_>) -> Option<Switch> {
    let (ran, planned_dive) = (&simulated.ran, simulated.ran.high_feed_dive());
    let out = planned_dive.home.out?;
    let ways = ran.escapes().iter().filter(|escape| escape.lacks_l.is_finite());
    let deepest = ways.max_by(|a, b| a.depth_m.total_cmp(&b.depth_m))?;
    let track = ran.high_feed();
    let before = track.segment_at(deepest.t_min)?;
    let was = before.mix_at(deepest.t_min - before.start.t_min);
    let going = planned_dive.bail_out_from(track.at(deepest.t_min), &planned_dive.sources(), &out);
    Switch::of(was, going.segments.first()?).or_else(|| planned(&going))
}
