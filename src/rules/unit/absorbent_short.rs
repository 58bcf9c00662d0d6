//! `absorbent-short`: the absorbent does not last the dive.

use super::named;
use crate::findings::{Finding, Level, said};
use crate::forecast::dives::DiverDive;
use crate::forecast::{FirstCanister, Simulated, canister_in, first_canister, usable_share, usable_share_told};
use crate::physics::absorbent::cold_factor;
use crate::physics::tolerance;
use crate::plan::ApparatusKind;
use crate::rules::dives::{self, caused};
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, runs, say};
use crate::run::Track;
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("absorbent-short", Family::Unit, Level::Error, include_str!("absorbent_short.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for dive in dives::all(context).into_iter().filter(|dive| !matches!(dive.kind(), None | Some(ApparatusKind::Open)))
    {
        guard(context, &dive, sink);
        let Some(bed) = first_canister(context.scope, &dive) else {
            lacks(context, &dive, sink);
            continue;
        };
        match context.simulate(&dive) {
            Ok(simulated) => one(context, &simulated, &bed, sink),
            Err(missing) => sink.lacks_all(missing),
        }
    }
}

/// Whether the second bed has as much left as the limits ask it to.
fn guard(context: &Context<'_>, dive: &DiverDive<'_>, sink: &mut Sink<'_>) {
    let Some(asked) = dive.plan.limits.set(LimitName::AbsorbentGuard) else { return };
    let Some(named) = dive.unit().and_then(|unit| unit.thing.beds.get(1)).map(|bed| &bed.canister) else { return };
    let Some(bed) = canister_in(context.scope, dive, 1) else {
        return sink.lacks(named.place.clone(), format!("the rating of canister {:?}", named.value));
    };
    let left = (bed.rated_min - bed.used_min).max(0.0);
    if left >= asked.value - tolerance::MINUTES {
        return;
    }
    let message = said!(
        "second canister {canister:?} has {left} rated min left at {water} °C; a guard of {asked} min is asked for",
        canister = named.value,
        left = say::minutes_had(left),
        water = say::number(dive.water_c()),
        asked = say::number(asked.value)
    );
    let unit_named = dive.unit().map_or(&dive.member.name.place, |unit| self::named(dive, unit));
    let finding = caused(context, RULE.finding(named.place.clone(), message), &named.place, unit_named, "the canister");
    let finding = finding.with_about(dive.about()).with_related(asked.place, "the limit");
    sink.find(finding.with_step(
        "left = in the water − used",
        format!("{:.2} − {:.2}", bed.rated_min, bed.used_min),
        format!("{left:.2} min"),
    ));
}

/// Says what the rating of the first canister lacks. Of a unit without one another rule speaks.
fn lacks(context: &Context<'_>, dive: &DiverDive<'_>, sink: &mut Sink<'_>) {
    let Some(name) = dive.unit().and_then(|unit| unit.thing.beds.first()).map(|bed| &bed.canister) else { return };
    let Some(canister) = context.scope.canisters.get(&name.value) else { return };
    let rated = &canister.thing;
    let facts = [
        ("minutes", rated.rated_min.is_none()),
        ("co2", rated.rated_co2.is_none()),
        ("temperature", rated.rated_c.is_none()),
    ];
    for (fact, _) in facts.into_iter().filter(|(_, missing)| *missing) {
        sink.lacks(name.place.clone(), format!("`rated {fact}=` of canister {:?}", name.value));
    }
}

fn one<'a>(context: &Context<'a>, simulated: &Simulated<'a>, bed: &FirstCanister<'_>, sink: &mut Sink<'_>) {
    let carried = simulated.carried;
    let track = &simulated.ran.track;
    let left = bed.left_min - carried.absorbent_min;
    // No absorbent lasts a dive that never ends.
    let never = track.never_surfaces().is_some();
    if track.exposure().absorbent_min <= left + tolerance::MINUTES && !never {
        runs::lacks_gradient(simulated, sink);
        return;
    }
    let mut finding = finding(context, simulated, bed, carried.absorbent_min, spent_at(track, left.max(0.0)));
    finding.fixes.extend(fix::shorter_stay(context, simulated, &simulated.ran.dive, |_, track, _| {
        track.exposure().absorbent_min <= left + tolerance::MINUTES
    }));
    sink.find(finding);
}

/// When so many rated minutes are used, minutes since leaving the surface.
fn spent_at(track: &Track, minutes: f64) -> f64 {
    let mut left = minutes;
    for segment in &track.segments {
        let takes = segment.regime.absorbent_per_min * segment.minutes;
        if takes >= left && takes > 0.0 {
            return segment.start.t_min + left / segment.regime.absorbent_per_min;
        }
        left -= takes;
    }
    track.end.t_min
}

fn finding(context: &Context<'_>, simulated: &Simulated<'_>, bed: &FirstCanister<'_>, before: f64, at: f64) -> Finding {
    let (dive, track) = (&simulated.dive, &simulated.ran.track);
    let name = &bed.canister.name.value;
    let needs = track.exposure().absorbent_min;
    let usable = bed.rated_min * usable_share(&dive.plan.limits);
    let share = usable_share_told(&dive.plan.limits);
    let used = bed.used_min + before;
    let left = (usable - used).max(0.0);
    let when = if track.never_surfaces().is_some() {
        said!("lasts {lasts} min of a dive that never ends", lasts = say::minutes_had(at.max(0.0)))
    } else if at > 0.0 {
        said!(
            "lasts {lasts} of {whole} min",
            lasts = say::minutes_had(at),
            whole = say::number(say::up(track.end.t_min, 1.0))
        )
    } else {
        said!("is used up")
    };
    let message = said!(
        "canister {canister:?} {when} on dive {dive:?}: of {usable} rated min usable at {water} °C {left} are left, and {diver} needs {needs}",
        dive = *dive.dive.name,
        diver = *dive.member.name,
        needs = say::number(say::up(needs, 1.0)),
        usable = say::minutes_had(usable),
        water = say::number(dive.water_c()),
        left = say::minutes_had(left),
        canister = name,
        when
    );
    let canister = &bed.canister.thing;
    let cause = dive
        .unit()
        .and_then(|unit| unit.thing.beds.first())
        .map_or(&bed.canister.name.place, |bed| &bed.canister.place);
    let unit_named = dive.unit().map_or(&dive.member.name.place, |unit| named(dive, unit));
    let mut finding = caused(context, RULE.finding(cause.clone(), message), cause, unit_named, "the canister");
    finding = finding.with_about(dive.about());
    if let Some(leg) = track.asked_at(at.max(0.0)).and_then(|leg| dive.legs().get(leg)) {
        finding = finding.with_related(leg.place.clone(), "here it is used up");
    }
    if let Some(rated) = &canister.rated_min {
        finding = finding.with_related(rated.place.clone(), "the rating");
    }
    let rated = canister.rated_min.as_ref().map_or(0.0, |rated| rated.value);
    let rated_c = canister.rated_c.as_ref().map_or(0.0, |rated| rated.value);
    finding
        .with_step(
            "in the water = rated·min(1, cold(water)/cold(rating))",
            format!("{}·min(1, {:.4}/{:.4})", say::number(rated), cold_factor(dive.water_c()), cold_factor(rated_c)),
            format!("{:.2} min", bed.rated_min),
        )
        .with_step("usable = share of it", format!("{share}·{:.2}", bed.rated_min), format!("{usable:.2} min"))
        .with_step(
            "used = before + earlier dives",
            format!("{:.2} + {before:.2}", bed.used_min),
            format!("{used:.2} min"),
        )
        .with_step(
            "takes = Σ minutes·max(1, CO2/rated CO2), pre-breathe counted",
            format!("over {:.2} min", track.minutes()),
            format!("{needs:.2} min"),
        )
}
