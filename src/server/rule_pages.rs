//! The pages of rules as files that an editor can open: what a finding links to.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use tower_lsp::ls_types::Uri;

use super::place;
use crate::CAUTION;
use crate::archive::user_folder;
use crate::rules::{Rule, find};

/// The pages that were asked for, by rule; `None` for one that could not be written.
static PAGES: Mutex<BTreeMap<&'static str, Option<Uri>>> = Mutex::new(BTreeMap::new());

/// The address of a rule's page, written where it is not there yet; `None` where there is no folder to write it to, or no
/// such rule.
pub(super) fn page_of(slug: &str) -> Option<Uri> {
    let rule = find(slug)?;
    let mut pages = PAGES.lock().unwrap_or_else(PoisonError::into_inner);
    pages.entry(rule.slug).or_insert_with(|| write(rule, &user_folder()?)).clone()
}

/// Another version's pages may be open beside these.
fn write(rule: &Rule, folder: &Path) -> Option<Uri> {
    let folder = folder.join("rules").join(env!("CARGO_PKG_VERSION"));
    let path = folder.join(format!("{}.md", rule.slug));
    let text = format!("{}\n{CAUTION}\n", rule.page);
    if fs::read_to_string(&path).is_ok_and(|there| there == text) {
        return place::uri_of(&path);
    }
    fs::create_dir_all(&folder).ok()?;
    // Two servers may write it at once: each puts a whole one there.
    let mut file = tempfile::NamedTempFile::new_in(&folder).ok()?;
    file.write_all(text.as_bytes()).ok()?;
    file.persist(&path).ok()?;
    place::uri_of(&path)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::rules::TABLE;

    #[test]
    fn every_page_is_written_whole_and_again_if_it_was_changed() {
        let folder = tempfile::tempdir().unwrap();
        for rule in TABLE {
            let uri = write(rule, folder.path()).unwrap();
            let path = uri.to_file_path().unwrap().into_owned();
            let text = fs::read_to_string(&path).unwrap();
            assert!(text.starts_with(&format!("# {}\n", rule.slug)) && text.ends_with(&format!("{CAUTION}\n")));
            fs::write(&path, "cut").unwrap();
            assert_eq!(write(rule, folder.path()), Some(uri));
            assert_eq!(fs::read_to_string(&path).unwrap(), text);
        }
    }

    #[test]
    fn where_nothing_can_be_written_there_is_no_page() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "").unwrap();
        assert_eq!(write(&TABLE[0], &file), None);
    }
}
