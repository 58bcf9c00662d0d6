//! An archive made of any bytes, for the targets that look at whole archives.

use std::sync::Arc;

use leadsman::archive::{Archive, Memory};
use leadsman::source::Place;

pub const ROOT: &str = "/club";

/// The files, in the order in which the bytes are dealt out to them; zero bytes part them.
const FILES: [&str; 4] = ["a.plan.kdl", "kit.kit.kdl", "leadsman.kdl", "b.plan.kdl"];

/// The archive of those files.
pub fn archive(bytes: &[u8]) -> Archive {
    let parts = FILES.iter().zip(bytes.splitn(FILES.len(), |byte| *byte == 0));
    let host = parts.fold(Memory::new(), |host, (name, part)| host.file(format!("{ROOT}/{name}"), part));
    Archive::open(Arc::new(host), ROOT.as_ref())
}

/// Holds a place to its text: within it, and no character cut in two.
pub fn lies_in_its_text(archive: &Archive, place: &Place) {
    let text = archive.text(&place.file).unwrap();
    assert!(text.as_str().get(place.span.range()).is_some(), "{place:?} in {:?}", text.as_str());
}
