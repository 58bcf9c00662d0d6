//! Between the protocol's places and ours.

use std::path::{Path, PathBuf};

use tower_lsp::ls_types::{self, Range, Uri};

use crate::source::{Encoding, Position, Span, Text};

/// The path of a `file:` address.
pub(super) fn path_of(uri: &Uri) -> Option<PathBuf> {
    let is_file = uri.scheme().as_str().eq_ignore_ascii_case("file");
    is_file.then(|| uri.to_file_path()).flatten().map(|path| path.into_owned()).filter(|path| path.is_absolute())
}

/// The address of a path.
pub(super) fn uri_of(path: &Path) -> Option<Uri> {
    Uri::from_file_path(path)
}

/// A span as a range.
pub(super) fn range(text: &Text, span: Span, encoding: Encoding) -> Range {
    let at = |offset| {
        let position = text.position(offset, encoding);
        ls_types::Position { line: position.line, character: position.column }
    };
    Range { start: at(span.start), end: at(span.end) }
}

/// The offset of a position; one outside the document counts as the nearest inside.
pub(super) fn offset(text: &Text, position: ls_types::Position, encoding: Encoding) -> u32 {
    text.offset(Position { line: position.line, column: position.character }, encoding)
}

/// A range as a span.
pub(super) fn span(text: &Text, range: Range, encoding: Encoding) -> Span {
    let (start, end) = (offset(text, range.start, encoding), offset(text, range.end, encoding));
    Span::new(start.min(end), start.max(end))
}
