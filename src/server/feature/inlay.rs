//! Hints: behind the legs what the divers have when a leg ends, behind a diver the turn.

use tower_lsp::ls_types::{InlayHint, InlayHintLabel, InlayHintTooltip, Range};

use crate::CAUTION;
use crate::forecast::{Day, Neighbour};
use crate::pages::figures::leg;
use crate::plan::Plan;
use crate::rules::say;
use crate::rules::supply::turn::turn;
use crate::server::documents::Here;
use crate::source::Span;
use crate::source::clean::clean;

/// The hints that stand in a range of a file, in order.
pub(crate) fn of(here: &Here<'_>, range: Range) -> Vec<InlayHint> {
    let Some(plan) = here.archive.plan(&here.file) else { return Vec::new() };
    let wanted = here.span(range);
    let earlier = here.archive.earlier(&here.file);
    let ends = leg::ends(&here.archive.scope(&here.file), here.archive.runs(), &plan, &earlier);
    // Legs of a template stand in another file.
    let own = ends.iter().filter(|(place, _)| place.file == here.file);
    let meant = own.filter(|(place, _)| wanted.touches(place.span.end));
    let legs = meant.filter_map(|(place, divers)| Some(hint(here, place.span, &leg::line(divers)?)));
    let turns = turns(here, &plan, &earlier).into_iter().filter(|(span, _)| wanted.touches(span.end));
    let mut hints: Vec<(Span, InlayHint)> = turns.map(|(span, line)| (span, hint(here, span, &line))).collect();
    hints.sort_by_key(|(span, _)| span.end);
    legs.chain(hints.into_iter().map(|(_, hint)| hint)).collect()
}

/// The turn of each diver, behind what they take.
fn turns(here: &Here<'_>, plan: &Plan, earlier: &[Neighbour]) -> Vec<(Span, String)> {
    let day = Day::of(&here.archive.scope(&here.file), here.archive.runs(), plan, earlier);
    let own = day.iter().filter(|(dive, _)| dive.member.header.file == here.file);
    // An alternative dive has its divers from the first one, and the first one's turn stands there.
    let mut known: Vec<Span> = Vec::new();
    own.filter_map(|(dive, simulated)| {
        let span = dive.member.header.span;
        if known.contains(&span) {
            return None;
        }
        known.push(span);
        let turn = turn(simulated.as_ref().ok()?)?;
        let minutes = say::minutes_had(turn.t_min);
        Some((
            span,
            format!(
                "turn at {} bar, {minutes} min: later {}",
                say::pressure_needed(turn.gauge_bar),
                turn.binds.words()
            ),
        ))
    })
    .collect()
}

fn hint(here: &Here<'_>, header: Span, line: &str) -> InlayHint {
    InlayHint {
        position: here.range(Span::at(header.end)).start,
        label: InlayHintLabel::String(clean(line).into_owned()),
        kind: None,
        text_edits: None,
        tooltip: Some(InlayHintTooltip::String(CAUTION.to_owned())),
        padding_left: Some(true),
        padding_right: None,
        data: None,
    }
}
