//! An ordinary good plan raises nothing but notes.

use std::path::Path;
use std::sync::Arc;

use leadsman::archive::{Archive, Memory};
use leadsman::findings::Level;

use crate::club::Club;

#[test]
fn two_hundred_made_plans_raise_nothing_but_notes() {
    let club = Club { plans: 200, seed: crate::seed::or(11), flawed_percent: 0, ready: 200 };
    let host =
        club.files().into_iter().fold(Memory::new(), |host, (path, text)| host.file(format!("/club/{path}"), text));
    let archive = Archive::open(Arc::new(host), Path::new("/club"));
    let report = archive.check(&archive.walk(&[]), &|| ());
    assert!(report.files.len() > 200 && report.unread.is_empty() && report.lacking.is_empty(), "{report:#?}");
    for (file, findings) in &report.files {
        let graver: Vec<_> = findings.iter().filter(|finding| finding.level > Level::Note).collect();
        assert!(graver.is_empty(), "{file}: {graver:#?}");
    }
}
