//! What a file is held to, and where that is set: for people and for other programs.

pub(crate) mod json;
pub(crate) mod screen;

use std::path::Path;

use super::{file_name, spots};
use crate::archive::Archive;
use crate::rules::settings::Settings;
use crate::source::{FileId, Place};

/// A file and what it is held to.
#[derive(Debug)]
pub(crate) struct Page<'a> {
    /// The archive.
    pub archive: &'a Archive,
    /// The file.
    pub file: FileId,
    /// The folder that the reader stands in, an absolute path.
    pub here: &'a Path,
    /// What the file is held to.
    pub settings: Settings,
}

/// Where something is set, as a reader knows it.
struct Where {
    path: String,
    line: u32,
    column: u32,
}

impl Page<'_> {
    fn name(&self, file: &FileId) -> String {
        file_name(self.archive, file, self.here)
    }

    fn place(&self, place: &Place) -> Where {
        let (start, _) = spots(self.archive, place);
        Where { path: self.name(&place.file), line: start.line, column: start.column }
    }

    /// How many findings of the file were accepted.
    fn accepted(&self) -> usize {
        self.archive.findings(&self.file).iter().filter(|finding| finding.accepted).count()
    }
}
