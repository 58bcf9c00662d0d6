//! What a letter in a comment costs: not one dive is run for it.

use std::path::Path;
use std::sync::Arc;

use leadsman::archive::{Archive, Change, Disk};
use leadsman::run::runs_so_far;
use leadsman::source::Text;

/// Over a club's year, the examples and the flawed ones: whatever is found, a look after a comment was typed runs nothing.
#[test]
fn a_comment_runs_no_dive() {
    let mut looked = 0;
    let mut ran = Vec::new();
    for folder in ["tests/year", "examples"] {
        let archive = Archive::open(Arc::new(Disk), &Path::new(env!("CARGO_MANIFEST_DIR")).join(folder));
        for file in archive.walk(&[]).into_iter().filter(|file| file.to_string().ends_with(".plan.kdl")) {
            let before = runs_so_far();
            let first = archive.findings_at_hand(&file);
            let took = runs_so_far() - before;
            let text = archive.text(&file).unwrap();
            let typed = archive.with(&[Change::Open(file.clone(), Text::new(format!("// x\n{}", text.as_str())))]);
            let before = runs_so_far();
            let again = typed.findings_at_hand(&file);
            let more = runs_so_far() - before;
            assert_eq!(first.len(), again.len(), "{file}");
            if more > 0 {
                ran.push(format!("{file}: {more} runs, {took} at first"));
            }
            looked += usize::from(took > 0);
        }
    }
    assert!(ran.is_empty(), "{}", ran.join("\n"));
    assert!(looked > 25, "{looked} plans have dives to run");
}
