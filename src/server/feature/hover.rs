//! What stands under the pointer: a word's meaning, the figures of what a name stands for, and how the numbers of a
//! finding were worked out.
//!
//! Plain Markdown, without a language on any code: editors know too different ones.

use tower_lsp::ls_types::{Hover, HoverContents, MarkupContent, MarkupKind, Position};

use super::diagnostics;
use crate::findings::Finding;
use crate::forecast::dives;
use crate::pages::figures::{Scene, caution, escaped, leg, working};
use crate::server::documents::Here;
use crate::server::place;
use crate::source::Span;
use crate::syntax::{EntryId, Part, Tree};
use crate::words::{Measures, NodeDef, Quantity, ValueDef, word_of};

/// What to say of a position; nothing where there is nothing to say.
pub(crate) fn of(here: &Here<'_>, at: Position) -> Option<Hover> {
    let offset = place::offset(&here.text, at, here.abilities().encoding);
    let (figures, workings) = (figures(here, offset), worked_out(here, offset));
    let leg = leg_figures(here, offset);
    let counts = figures.is_some() || leg.is_some() || !workings.is_empty();
    // What a name stands for says more than that it is a name.
    let first = figures.or_else(|| meaning(&here.archive.tree(&here.file)?, offset));
    let span = first.as_ref().or(leg.as_ref()).or(workings.first())?.0;
    let pages: Vec<(Span, String)> = leg.into_iter().chain(first).chain(workings).collect();
    let mut value = pages.iter().map(|(_, page)| page.as_str()).collect::<Vec<_>>().join("\n---\n\n");
    if counts {
        value += "\n";
        value += &caution();
    }
    let contents = HoverContents::Markup(MarkupContent { kind: MarkupKind::Markdown, value });
    Some(Hover { contents, range: Some(here.range(span)) })
}

/// The figures of what a name stands for.
fn figures(here: &Here<'_>, offset: u32) -> Option<(Span, String)> {
    let word = here.archive.word(&here.file)?;
    let mention = word.mentions.iter().find(|mention| mention.name.place.span.touches(offset))?;
    let (scope, plan) = (here.archive.scope(&here.file), here.archive.plan(&here.file));
    let (kind, at) = (mention.kind?, &mention.name.place);
    let scene = Scene::of(&scope, plan.as_deref(), kind, &mention.name.value, at);
    let earlier = here.archive.earlier(&here.file);
    let scene = scene.with_runs(here.archive.runs(), &earlier);
    Some((at.span, scene.figures(kind, &mention.name.value)?.markdown()))
}

/// What the divers have when the leg at an offset ends.
fn leg_figures(here: &Here<'_>, offset: u32) -> Option<(Span, String)> {
    let plan = here.archive.plan(&here.file)?;
    let legs = dives::of(&plan).into_iter().flat_map(|dive| dive.legs());
    let at = legs.map(|leg| &leg.place).find(|at| at.file == here.file && at.span.touches(offset))?;
    let earlier = here.archive.earlier(&here.file);
    let ends = leg::ends(&here.archive.scope(&here.file), here.archive.runs(), &plan, &earlier);
    Some((at.span, leg::figures(&ends, at)?.markdown()))
}

/// The meaning of the word at an offset, and where the word stands.
fn meaning(tree: &Tree, offset: u32) -> Option<(Span, String)> {
    let at = tree.at(offset);
    let word = word_of(tree, at.node?)?;
    let measures = Measures::of(tree);
    let page = match at.part {
        Part::Name => word.hover(measures),
        Part::Key(entry) | Part::Value(entry) => value_word(tree, entry, word)?.hover(measures),
        Part::Annotation(Some(entry)) => annotation(tree, entry, word)?,
        Part::Annotation(None) | Part::Header | Part::Block | Part::Comment => return None,
    };
    Some((at.span, page))
}

/// The vocabulary's word of an argument or a property.
fn value_word(tree: &Tree, entry: EntryId, word: &'static NodeDef) -> Option<&'static ValueDef> {
    match tree.entry(entry).key {
        Some(key) => word.prop(&key.text),
        None => {
            let before = tree.entries(tree.node_of(entry)).take_while(|other| other.id != entry);
            word.arg(before.filter(|other| other.key.is_none()).count())
        }
    }
}

/// What a unit's annotation makes of the number behind it.
fn annotation(tree: &Tree, entry: EntryId, word: &'static NodeDef) -> Option<String> {
    let quantity: Quantity = value_word(tree, entry, word)?.quantity;
    let entry = tree.entry(entry);
    let unit = quantity.unit(&entry.annotation?.text)?;
    let base = quantity.unit_words(Measures::Metric);
    if base.is_empty() || unit.zero != 0.0 {
        return Some(format!("`({})`: {}\n", unit.name, quantity.noun()));
    }
    Some(format!("`({})`: {}, 1 {} = {} {base}\n", unit.name, quantity.noun(), unit.name, unit.factor))
}

/// The workings of the findings that are shown at an offset.
fn worked_out(here: &Here<'_>, offset: u32) -> Vec<(Span, String)> {
    let findings = here.archive.findings_at_hand(&here.file);
    let shown = findings.iter().map(|finding| (diagnostics::shown_at(here, finding), finding));
    let worked = shown.filter(|(at, finding)| at.touches(offset) && !finding.working.is_empty());
    let page = |(at, finding): (Span, &Finding)| {
        let said = escaped(&finding.message);
        (at, format!("**{}**: {said}\n\n{}", finding.rule, working(&finding.working, "")))
    };
    worked.map(page).collect()
}
