//! What is usual of a diver, offered where the diver's own figures are lacking: to be used until it is measured, and written
//! down as no more than that.

use super::Context;
use crate::findings::{Fix, FixKind};
use crate::forecast::dives::{self, DiverDive};
use crate::forecast::{USUAL_OXYGEN, Unknown, gas_lpm, oxygen};
use crate::plan::{Defined, Diver, Work};
use crate::source::{Edit, Place, Span};
use crate::syntax::Tree;
use crate::words::Measures;

/// What is breathed on open circuit at the surface, litres a minute: at rest and at peak work (common practice, no source).
const USUAL_GAS: [(&str, f64); 2] = [("rest", 15.0), ("peak", 60.0)];

/// What is usual of a diver's gas, as a line of a metric file.
pub(crate) fn gas() -> String {
    line("gas", &USUAL_GAS, Measures::Metric)
}

/// Suggests the usual figures for a fact of a diver that is lacking at a place of the plan; `None` where it is no figure of
/// that kind, or some of the diver's own are written.
pub(super) fn figures(context: &Context<'_>, place: &Place, fact: &str) -> Option<Fix> {
    let is_it = |unknown: Unknown| {
        unknown.missing().is_some_and(|missing| missing.place == *place && missing.fact == fact).then_some(())
    };
    dives::of(context.plan?).into_iter().find_map(|dive| {
        let diver = dive.member.diver.as_deref()?;
        let (word, figures) = if gas_lpm(&dive).err().and_then(is_it).is_some() {
            ("gas", USUAL_GAS.to_vec())
        } else {
            lacks_oxygen(&dive, &is_it)?;
            ("oxygen", Work::ALL.map(Work::word).into_iter().zip(USUAL_OXYGEN.map(|oxygen| oxygen.0)).collect())
        };
        let tree = context.trees.tree(&diver.header.file)?;
        let line = line(word, &figures, Measures::of(&tree));
        let title = format!("go by what is usual of diver {:?} until it is measured: {line}", diver.name.value);
        let edits = vec![below(&tree, diver, &line)?];
        Some(Fix { title, kind: FixKind::Suggested, edits })
    })
}

/// Whether a diver has no figure of oxygen at all, and what that leaves unknown is it.
fn lacks_oxygen(dive: &DiverDive<'_>, is_it: &dyn Fn(Unknown) -> Option<()>) -> Option<()> {
    let none = Work::ALL.into_iter().all(|work| dive.diver().is_some_and(|diver| diver.oxygen.at(work).is_none()));
    none.then(|| Work::ALL.into_iter().find_map(|work| is_it(oxygen(dive, work).err()?)))?
}

/// Figures as a line of a file that goes by some measures; theirs are litres in any.
fn line(word: &str, figures: &[(&str, f64)], measures: Measures) -> String {
    let unit = if measures == Measures::Imperial { "(l)" } else { "" };
    let figures = figures.iter().map(|(level, figure)| format!(" {level}={unit}{figure}"));
    format!("{word} usual=yes{}", figures.collect::<String>())
}

/// Puts a line first into the block of the node that defines a diver, which gets one if it has none.
fn below(tree: &Tree, diver: &Defined<Diver>, line: &str) -> Option<Edit> {
    let (header, text) = (&diver.header, tree.text());
    let node = tree.at(header.span.start).node?;
    let begins = text.get(..header.span.start as usize)?.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let indent = text.get(begins..header.span.start as usize)?;
    let indent = if indent.chars().all(char::is_whitespace) { indent } else { "" };
    let (at, text) = match tree.block_span(node) {
        None => (header.span.end, format!(" {{\n{indent}    {line}\n{indent}}}")),
        Some(block) if text.get(block.range())?.contains(['\n', '\r']) => {
            (block.start + 1, format!("\n{indent}    {line}"))
        }
        Some(block) => (block.start + 1, format!(" {line};")),
    };
    Some(Edit { place: Place::new(header.file.clone(), Span::at(at)), text })
}
