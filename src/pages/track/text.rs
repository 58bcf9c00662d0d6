//! What happens on a dive, in words.

use crate::forecast::Simulated;
use crate::pages::measured;
use crate::rules::contingency::covered::trouble_in_words;
use crate::rules::exposure::stuck::why;
use crate::rules::say;
use crate::run::{EventKind, Margin, Outcome, Purpose};
use crate::words::Measures;

/// A cylinder of a dive as its plan calls it.
pub(crate) fn name<'a>(dive: &Simulated<'a>, cylinder: usize) -> &'a str {
    dive.kit.get(cylinder).map_or("?", |carried| &*carried.name.value)
}

/// What an event says.
pub(crate) fn text(dive: &Simulated<'_>, kind: EventKind) -> String {
    let cylinder = |cylinder: usize| {
        let role = dive.kit.get(cylinder).map_or("cylinder", |carried| carried.role.value.word());
        format!("{role} {:?}", name(dive, cylinder))
    };
    let said = match kind {
        EventKind::SetPointReached => "the loop is at its set-point",
        EventKind::ValveSaturated => "the controlled feed is fully open and does not hold the set-point",
        EventKind::InjectorSaturated => "the injector gives all it can and does not hold the set-point",
        EventKind::Flushed => "the loop is flushed",
        EventKind::LoopFull => "the loop is full of gas again",
        EventKind::LoopShort => "the loop is too short of gas to breathe from",
        EventKind::OxygenGone => "no oxygen is left in the loop",
        EventKind::BelowFloor => "the loop's oxygen falls below the least allowed",
        EventKind::FloorRegained => "the loop's oxygen is back at the least allowed",
        EventKind::OxygenLow => "the PO2 falls below the least",
        EventKind::OxygenRegained => "the PO2 is back at the least",
        EventKind::Faint => "the PO2 is so low that the diver may lose consciousness",
        EventKind::OxygenHigh => "the PO2 rises over the greatest that the gas is meant for",
        EventKind::OxygenHighOver => "the PO2 is back at the greatest that the gas is meant for",
        EventKind::AbsorbentSpent => "the usable absorbent is used up",
        EventKind::ClockSpent => "CNS % is at its limit",
        EventKind::CylinderReserve(number) => return format!("{} is down to its reserve", cylinder(number)),
        EventKind::CylinderEmpty(number) => return format!("{} gives no more gas", cylinder(number)),
        EventKind::MixBreathable(number) => return format!("{} may be breathed from here up", cylinder(number)),
        EventKind::MixUnbreathable(number) => {
            return format!("{} may not be breathed from here down", cylinder(number));
        }
    };
    said.to_owned()
}

/// A contingency's trouble.
pub(crate) fn trouble(dive: &Simulated<'_>, outcome: &Outcome) -> String {
    trouble_in_words(dive, outcome.trouble).into()
}

/// What a contingency leaves, or lacks, in words, rounded the way that never flatters.
pub(crate) fn margin_text(margin: &Margin, measures: Measures) -> String {
    match *margin {
        Margin::Gas(litres) if litres.is_infinite() => "no bailout".to_owned(),
        Margin::Gas(litres) if litres < 0.0 && !margin.is_covered() => match measures {
            Measures::Metric => format!("lacks {} L", say::number(say::up(-litres, 10.0))),
            Measures::Imperial => format!("lacks {} cuft", measured::gas(-litres, measures)),
        },
        Margin::Gas(litres) => match measures {
            Measures::Metric => format!("{} L left", say::number(say::down(litres.max(0.0), 10.0))),
            Measures::Imperial => format!("{} cuft left", measured::gas_had(litres.max(0.0))),
        },
        Margin::Oxygen { least_bar, .. } => {
            format!("PO2 {} bar at the least", say::number(say::down(least_bar.max(0.0), 0.01)))
        }
        Margin::TooMuchOxygen(bar) => format!("PO2 up to {} bar", say::number(say::up(bar, 0.01))),
        Margin::FeedEnds(t_min) => format!("the gas ends after {} min", say::minutes_had(t_min)),
        Margin::NeverSurfaces => "the ascent does not end".to_owned(),
    }
}

/// That the dive does not end at the surface, and why; `None` where it does.
pub(crate) fn unending(dive: &Simulated<'_>) -> Option<String> {
    let (track, stuck, t_min) = dive.ran.never_surfaces()?;
    let at = say::moment(t_min, track.depth_at(t_min).max(0.0));
    Some(format!("{} never surfaces: {at}, {}.", dive.dive.member.name.value, why(dive, track, stuck)))
}

/// What gas is drawn for, each with the words for it.
pub(crate) const PURPOSES: &[(Purpose, &str)] = &[
    (Purpose::PreBreathe, "pre-breathe"),
    (Purpose::Check, "checks"),
    (Purpose::Feed, "feed"),
    (Purpose::Spill, "for the spill"),
    (Purpose::MakeUp, "make-up"),
    (Purpose::Flush, "flushes"),
    (Purpose::OpenCircuit, "open circuit"),
    (Purpose::Inflation, "suit and wing"),
];
