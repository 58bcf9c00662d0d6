//! Fixes that several rules suggest: another cylinder of the club's kit, a depth, a time.

use std::collections::BTreeSet;

use super::contingency::covered::holds;
use super::{Context, say};
use crate::findings::{Fix, FixKind};
use crate::forecast::Simulated;
use crate::forecast::dives::{DiverDive, Gas};
use crate::plan::{Carried, Cylinder, Defined, LegKind};
use crate::run::{Escape, Profile, Track, Why};
use crate::source::{Edit, Place, Placed, Span, Text};
use crate::syntax::Part;
use crate::words::Measures;

/// Suggests the first cylinder in sight that would do in a carried one's place: whose gas on the day `suits`, that
/// holds at least as much, and that nobody else takes on that day.
pub(super) fn another_cylinder(
    context: &Context<'_>,
    dive: &DiverDive<'_>,
    carried: &Carried,
    suits: impl Fn(&Gas<'_>) -> bool,
) -> Option<Fix> {
    if carried.name.place.file != *context.file || !context.searches_fixes() {
        return None;
    }
    let taken: BTreeSet<&str> = dive
        .plan
        .dives
        .iter()
        .flat_map(|dive| std::iter::once(dive).chain(&dive.otherwise))
        .flat_map(|dive| &dive.divers)
        .flat_map(|member| &member.cylinders)
        .map(|carried| carried.name.value.as_str())
        .collect();
    let now = dive.gas(carried).ok();
    let content = |gas: &Gas<'_>| gas.content_free_l(dive);
    let wanted = now.as_ref().and_then(content);
    let size = |cylinder: &Cylinder| cylinder.size_l.as_ref().map(|size| size.value);
    let mut free: Vec<_> =
        context.scope.cylinders.values().filter(|other| !taken.contains(other.name.value.as_str())).collect();
    // One of the same size first: it fits where the other one was.
    let other_size = |other: &Defined<Cylinder>| now.is_some_and(|now| size(&other.thing) != size(&now.cylinder.thing));
    free.sort_by_key(|other| other_size(other));
    let fitting = free.into_iter().find(|other| {
        let other = in_place_of(carried, other);
        let Ok(gas) = dive.gas(&other) else { return false };
        suits(&gas) && wanted.is_none_or(|wanted| content(&gas).is_some_and(|content| content >= wanted))
    })?;
    Some(Fix {
        title: format!("take cylinder {:?}", fitting.name.value),
        kind: FixKind::Suggested,
        edits: vec![Edit { place: carried.name.place.clone(), text: format!("{:?}", fitting.name.value) }],
    })
}

/// What would be carried if another cylinder were named.
fn in_place_of(carried: &Carried, other: &std::sync::Arc<Defined<Cylinder>>) -> Carried {
    let name = Placed::new(other.name.value.clone(), carried.name.place.clone());
    Carried { role: carried.role.clone(), name, cylinder: Some(other.clone()), with: None }
}

/// Suggests to go no deeper than `depth_m`, rounded down to whole metres, by changing every leg of the diver's that
/// does.
pub(super) fn no_deeper(context: &Context<'_>, dive: &DiverDive<'_>, depth_m: f64) -> Option<Fix> {
    let depth_m = say::down(depth_m, 1.0);
    if depth_m < 1.0 {
        return None;
    }
    let deeper = dive.legs().iter().filter_map(|leg| leg.depth_m()).filter(|depth| depth.value > depth_m);
    let mut edits: Vec<Edit> =
        deeper.map(|depth| metric(context, &depth.place, depth_m, Some("m"))).collect::<Option<_>>()?;
    // An unrolled `repeat` says one place many times.
    edits.dedup();
    let title = format!("go no deeper than {} m", say::number(depth_m));
    (!edits.is_empty()).then_some(Fix { title, kind: FixKind::Suggested, edits })
}

/// Suggests the longest whole minutes for a diver's longest stay with which a dive, given as it runs with the planned ones,
/// `fits`: by its run and the ways out of it. Whatever goes wrong then must be covered too.
pub(super) fn shorter_stay(
    context: &Context<'_>,
    simulated: &Simulated<'_>,
    planned: &Profile,
    fits: impl Fn(&Profile, &Track, &[Escape]) -> bool,
) -> Option<Fix> {
    if !context.searches_fixes() {
        return None;
    }
    let said = simulated.dive.legs().iter().enumerate().filter_map(|(number, leg)| match &leg.kind {
        LegKind::Stay { minutes, .. } if !leg.leads_out() => Some((number, minutes.as_ref()?)),
        _ => None,
    });
    let (number, said) = said.rev().max_by(|a, b| a.1.value.total_cmp(&b.1.value))?;
    let fits = |minutes: f64| {
        let shorter = planned.alike(|dive| {
            for leg in dive.legs.iter_mut().filter(|leg| leg.why == Why::Asked(number)) {
                leg.lasts_min = minutes;
            }
        });
        let track = shorter.run();
        let escapes = shorter.home.out.map(|out| shorter.escapes(&track, &out)).unwrap_or_default();
        track.stuck().is_none() && fits(&shorter, &track, &escapes) && holds(&shorter, &track, &escapes)
    };
    // A longer stay never leaves more, so the longest that fits is found by halving.
    let (mut fitting, mut over) = (0.0, say::up(said.value, 1.0));
    while over - fitting > 1.0 {
        let middle = ((fitting + over) / 2.0_f64).floor();
        if fits(middle) { fitting = middle } else { over = middle }
    }
    if fitting < 1.0 {
        return None;
    }
    let edit = metric(context, &said.place, fitting, None)?;
    Some(Fix { title: format!("stay {} min", say::number(fitting)), kind: FixKind::Suggested, edits: vec![edit] })
}

/// An edit that makes the number at `place` a metric one. `unit` is that of a quantity whose bare numbers
/// `measures imperial` changes; it is said where the file would read the number otherwise.
/// `None` where the place is not a value of the file looked at.
pub(super) fn metric(context: &Context<'_>, place: &Place, value: f64, unit: Option<&str>) -> Option<Edit> {
    if place.file != *context.file {
        return None;
    }
    let Part::Value(entry) = context.tree.at(place.span.start).part else { return None };
    let entry = context.tree.entry(entry);
    let whole = entry.annotation.as_ref().map_or(entry.value_span, |annotation| annotation.span.to(entry.value_span));
    let number = say::number(value);
    let text = match unit {
        Some(unit) if entry.annotation.is_some() || Measures::of(context.tree) == Measures::Imperial => {
            format!("({unit}){number}")
        }
        _ => number.into(),
    };
    Some(Edit { place: context.here(whole), text })
}

/// Takes a node out that does nothing, with its line where nothing else stands on it; `what` it is, in a word.
pub(super) fn take_out(text: &Text, node: &Place, what: &str, kind: FixKind) -> Fix {
    let edits = vec![Edit { place: whole_line(text, node), text: String::new() }];
    Fix { title: format!("take the {what} out"), kind, edits }
}

/// The whole line of a node where nothing else stands on it, else the node alone.
fn whole_line(text: &Text, node: &Place) -> Place {
    let before = text.slice(Span::new(0, node.span.start));
    let after = text.slice(Span::new(node.span.end, text.len()));
    let start = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let blank = after.find(|c: char| c != ' ' && c != '\t').unwrap_or(after.len());
    let line_break = match &after[blank..] {
        rest if rest.starts_with("\r\n") => 2,
        rest if rest.starts_with(['\n', '\r']) => 1,
        _ => return node.clone(),
    };
    if before[start..].trim().is_empty() {
        let end = node.span.end as usize + blank + line_break;
        Place::new(node.file.clone(), Span::new(start as u32, end as u32))
    } else {
        node.clone()
    }
}
