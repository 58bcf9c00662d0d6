//! Whatever stands in an archive's files: each fix changes what it says and no byte beside it, a text that read still reads,
//! and what comes of it can be checked again.
#![no_main]

#[path = "../files.rs"]
mod files;

use std::collections::BTreeMap;

use leadsman::archive::{Archive, Change};
use leadsman::findings::Fix;
use leadsman::source::{Edit, FileId};
use leadsman::syntax::Tree;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let archive = files::archive(bytes);
    let report = archive.check(&archive.walk(&[]), &|| ());
    for fix in report.files.iter().flat_map(|(_, findings)| findings).flat_map(|finding| &finding.fixes) {
        let fixed = apply(&archive, fix);
        fixed.check(&fixed.walk(&[]), &|| ());
    }
});

fn apply(archive: &Archive, fix: &Fix) -> Archive {
    let mut edits: BTreeMap<&FileId, Vec<&Edit>> = BTreeMap::new();
    for edit in &fix.edits {
        files::lies_in_its_text(archive, &edit.place);
        edits.entry(&edit.place.file).or_default().push(edit);
    }
    let changes = edits.into_iter().map(|(file, mut edits)| {
        edits.sort_by_key(|edit| edit.place.span);
        for pair in edits.windows(2) {
            assert!(pair[0].place.span.end <= pair[1].place.span.start, "two edits at one place: {fix:?}");
        }
        let before = archive.text(file).unwrap();
        let after = edits.iter().rev().fold(before.clone(), |text, edit| text.edited(edit.place.span, &edit.text));
        let read = |text: &str| Tree::parse(text).errors().is_empty();
        assert!(!read(before.as_str()) || read(after.as_str()), "{fix:?}\n{:?}", after.as_str());
        Change::Open(file.clone(), after)
    });
    archive.with(&changes.collect::<Vec<_>>())
}
