//! Where things stand in a text.
//!
//! Everything inside leadsman speaks byte offsets into a file's text as it was read ([`Span`]); only
//! [`Text`] turns them into the lines and columns that a person or an editor counts in.

pub(crate) mod clean;
mod text;

pub use text::{Encoding, Position, Text};

use std::fmt;
use std::path::Path;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

/// A half-open range of bytes of a file's text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub struct Span {
    /// First byte, counted from 0.
    pub start: u32,
    /// One past the last byte; never less than `start`.
    pub end: u32,
}

impl Span {
    /// A span from `start` up to, but not including, `end`.
    pub const fn new(start: u32, end: u32) -> Span {
        Span { start, end: if end < start { start } else { end } }
    }

    /// An empty span at `offset`.
    pub const fn at(offset: u32) -> Span {
        Span { start: offset, end: offset }
    }

    /// Length in bytes.
    pub const fn len(self) -> u32 {
        self.end - self.start
    }

    /// Whether the span holds no byte.
    pub const fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// Whether `offset` lies in the span or just behind its last byte, as a cursor does.
    pub const fn touches(self, offset: u32) -> bool {
        self.start <= offset && offset <= self.end
    }

    /// Whether `other` lies wholly inside.
    pub const fn contains(self, other: Span) -> bool {
        self.start <= other.start && other.end <= self.end
    }

    /// Whether the two share a byte or touch.
    pub const fn meets(self, other: Span) -> bool {
        self.start <= other.end && other.start <= self.end
    }

    /// Whether the two share a byte, or touch where one of them is empty.
    pub const fn overlaps(self, other: Span) -> bool {
        if self.is_empty() || other.is_empty() {
            return self.meets(other);
        }
        self.start < other.end && other.start < self.end
    }

    /// The smallest span that holds both.
    pub fn to(self, other: Span) -> Span {
        Span::new(self.start.min(other.start), self.end.max(other.end))
    }

    /// The span as indices of a `str` or slice.
    pub const fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A text with changes made, which lie in order.
pub fn applied(text: &str, changes: &[(Span, String)]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for (span, new) in changes {
        out.push_str(text.get(at..span.start as usize).unwrap_or_default());
        out.push_str(new);
        at = span.end as usize;
    }
    out.push_str(text.get(at..).unwrap_or_default());
    out
}

/// Names a file of an archive: its path from the archive's root, with `/` between the parts.
///
/// A file outside any root (standard input, an unsaved buffer) is named by the name it was given.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct FileId(Arc<str>);

impl FileId {
    /// Names a file by its path from the root.
    pub fn new(path: impl AsRef<str>) -> FileId {
        FileId(Arc::from(path.as_ref()))
    }

    /// The path from the root, `/` between the parts.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The path from the root as a path of this system.
    pub fn as_path(&self) -> &Path {
        Path::new(&*self.0)
    }
}

impl fmt::Display for FileId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A span in a named file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Place {
    /// The file.
    pub file: FileId,
    /// The bytes meant.
    pub span: Span,
}

impl Place {
    /// A place in `file` at `span`.
    pub fn new(file: FileId, span: Span) -> Place {
        Place { file, span }
    }
}

/// A value with the place it was read from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed<T> {
    /// What was read.
    pub value: T,
    /// Where the value itself stands: what a person would change.
    pub place: Place,
}

impl<T> Placed<T> {
    /// A value and its place.
    pub fn new(value: T, place: Place) -> Placed<T> {
        Placed { value, place }
    }

    /// The same place with the value changed.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Placed<U> {
        Placed { value: change(self.value), place: self.place }
    }
}

impl<T> std::ops::Deref for Placed<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}

/// One replacement in one file.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Edit {
    /// What is replaced; an empty span inserts.
    pub place: Place,
    /// What stands there afterwards.
    pub text: String,
}
