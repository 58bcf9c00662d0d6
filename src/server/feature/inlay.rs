//! Hints behind the legs: what the divers have when a leg ends.

use tower_lsp::ls_types::{InlayHint, InlayHintLabel, InlayHintTooltip, Range};

use crate::CAUTION;
use crate::pages::clean::clean;
use crate::pages::figures::leg;
use crate::server::documents::Here;
use crate::source::Span;

/// The hints that stand in a range of a file, in order.
pub fn of(here: &Here<'_>, range: Range) -> Vec<InlayHint> {
    let Some(plan) = here.archive.plan(&here.file) else { return Vec::new() };
    let wanted = here.span(range);
    let ends = leg::ends(&here.archive.scope(&here.file), here.archive.runs(), &plan);
    // Legs of a template stand in another file.
    let own = ends.iter().filter(|(place, _)| place.file == here.file);
    let meant = own.filter(|(place, _)| wanted.touches(place.span.end));
    meant.filter_map(|(place, divers)| Some(hint(here, place.span, &leg::line(divers)?))).collect()
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
