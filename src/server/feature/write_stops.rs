//! Writing the worked-out stops of a way home into the plan.

use crate::forecast::dives::DiverDive;
use crate::forecast::{Day, Simulated};
use crate::physics::tolerance;
use crate::plan::{Leg, SwitchTo, Work};
use crate::rules::say;
use crate::run::{Act, Why};
use crate::server::documents::Here;
use crate::source::{Edit, Span};
use crate::syntax::quoted;
use crate::words::Measures;

/// What is done where a way home stops.
#[derive(Debug, Clone, PartialEq)]
struct Halt {
    depth_m: f64,
    minutes: f64,
    /// The gas that is gone over to there.
    switches: Option<SwitchTo>,
}

/// The edit that writes the stops of the way home at a place of a file, for all divers who go it: at each depth the
/// longest of them. `None` where no such leg stands, no stops are known, or divers go over to different gases.
pub(crate) fn edit(here: &Here<'_>, range: Span) -> Option<Edit> {
    let plan = here.archive.plan(&here.file)?;
    let earlier = here.archive.earlier(&here.file);
    let day = Day::of(&here.archive.scope(&here.file), here.archive.runs(), &plan, &earlier);
    let is_meant = |leg: &Leg| leg.is_way_home() && leg.place.file == here.file && leg.place.span.meets(range);
    let mut meant: Option<(Leg, Work)> = None;
    let mut all: Vec<Halt> = Vec::new();
    for (dive, simulated) in day.iter() {
        let Some((number, leg)) = dive.legs().iter().enumerate().find(|(_, leg)| is_meant(leg)) else { continue };
        if meant.as_ref().is_some_and(|(other, _)| other.place != leg.place) {
            continue;
        }
        meant = Some((leg.clone(), dive.work(leg)));
        merge(&mut all, halts(dive, simulated.as_ref().ok()?, number)?)?;
    }
    let (leg, work) = meant?;
    if all.is_empty() {
        return None;
    }
    all.sort_by(|a, b| b.depth_m.total_cmp(&a.depth_m));
    Some(Edit { place: leg.place.clone(), text: written(here, &leg, work, &all) })
}

/// The stops of one diver on a leg of the plan's; `None` where the way home does not end.
fn halts(dive: &DiverDive<'_>, simulated: &Simulated<'_>, number: usize) -> Option<Vec<Halt>> {
    let track = &simulated.ran.track;
    let (begins, ends) = simulated.leg_min(number)?;
    // Without a gradient there is nothing to write.
    if track.never_surfaces().is_some() || simulated.ran.dive.home.fewest_stops {
        return None;
    }
    let within = |t_min: f64| (begins - tolerance::MINUTES..=ends + tolerance::MINUTES).contains(&t_min);
    let stops = track.stops().into_iter().filter(|stop| within(stop.t_min));
    let mut halts: Vec<Halt> =
        stops.map(|stop| Halt { depth_m: stop.depth_m, minutes: stop.minutes, switches: None }).collect();
    for (t_min, leg) in track.legs.iter().filter(|(t_min, _)| within(*t_min)) {
        let (Act::Breathe(source), Why::Stop | Why::Switch) = (leg.act, leg.why) else { continue };
        let carried = source.checked_sub(1).and_then(|cylinder| simulated.kit.get(cylinder))?;
        let halt = halts.iter_mut().find(|halt| (halt.depth_m - track.depth_at(*t_min)).abs() < tolerance::DEPTH_M)?;
        // A role of which several are carried would not say which.
        let several = dive.cylinders(carried.role.value).count() > 1;
        let name = || SwitchTo::Cylinder(carried.name.value.clone());
        halt.switches = Some(if several { name() } else { SwitchTo::Role(carried.role.value) });
    }
    Some(halts)
}

/// Takes the longer stop at each depth; `None` where divers go over to different gases there.
fn merge(all: &mut Vec<Halt>, halts: Vec<Halt>) -> Option<()> {
    for halt in halts {
        match all.iter_mut().find(|other| (other.depth_m - halt.depth_m).abs() < tolerance::DEPTH_M) {
            Some(other) if other.switches == halt.switches => other.minutes = other.minutes.max(halt.minutes),
            Some(_) => return None,
            None => all.push(halt),
        }
    }
    Some(())
}

/// What is switched to, as a leg says it: a role bare, a name in quotes.
fn quoted_name(to: &SwitchTo) -> String {
    match to {
        SwitchTo::Role(role) => role.word().to_owned(),
        SwitchTo::Cylinder(name) => quoted(name),
    }
}

/// The legs that take the place of the way home.
fn written(here: &Here<'_>, leg: &Leg, work: Work, halts: &[Halt]) -> String {
    let text = here.text.as_str();
    let start = leg.place.span.start as usize;
    let line = text.get(..start).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
    let indent: String = text.get(line..start).unwrap_or("").chars().take_while(|c| c.is_whitespace()).collect();
    let line_end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let imperial = here.archive.tree(&here.file).is_some_and(|tree| Measures::of(&tree) == Measures::Imperial);
    let unit = |unit: &str| if imperial { format!("({unit})") } else { String::new() };
    let depth = |depth_m: f64| format!("{}{}", unit("m"), say::number(depth_m));
    let work = format!(" work={}", work.word());
    let rate = leg.rate().map(|rate| format!(" rate={}{}", unit("m/min"), say::number(rate.value)));
    let mut lines = Vec::new();
    for halt in halts {
        let at = depth(halt.depth_m);
        let rate = rate.as_deref().unwrap_or_default();
        if let Some(to) = &halt.switches {
            lines.push(format!("ascend {at}{rate}{work}"));
            lines.push(format!("switch {}", quoted_name(to)));
        }
        lines.push(format!("stop {at} minutes={}{rate}{work}", say::number(say::up(halt.minutes, 1.0))));
    }
    lines.push(format!("ascend {}{}{work}", depth(0.0), rate.unwrap_or_default()));
    lines.join(&format!("{line_end}{indent}"))
}
