//! What formatting promises, of every file there is and of any text.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use leadsman::archive::{Archive, Memory};
use leadsman::format::changes;
use leadsman::syntax::{TokenKind, Tree};
use proptest::prelude::*;

use super::formatted;
use crate::syntax::{generated, official, whatever};

/// What is no white space, in order.
fn pieces(text: &str) -> Vec<(TokenKind, String)> {
    let tree = Tree::parse(text);
    let stays = |kind: TokenKind| !matches!(kind, TokenKind::Space | TokenKind::Newline);
    tree.tokens().filter(|(kind, _)| stays(*kind)).map(|(kind, span)| (kind, text[span.range()].to_owned())).collect()
}

/// Everything that holds of formatting a text by itself.
#[track_caller]
fn holds(text: &str) {
    let tree = Tree::parse(text);
    let changes = changes(&tree);
    let mut before = 0;
    for (span, new) in &changes {
        let old = text.get(span.range()).unwrap_or_else(|| panic!("{span:?} cuts {text:?}"));
        assert!(before <= span.start && old != new, "{changes:?} of {text:?}");
        assert!(old.chars().chain(new.chars()).all(char::is_whitespace), "{changes:?} of {text:?}");
        before = span.end;
    }
    let after = formatted(text);
    assert_eq!(pieces(text), pieces(&after), "of {text:?}");
    assert_eq!(formatted(&after), after, "again, of {text:?}");
    let kinds = |tree: &Tree| tree.errors().iter().map(|error| error.kind).collect::<Vec<_>>();
    let now = Tree::parse(&after);
    assert_eq!(kinds(&tree), kinds(&now), "of {text:?}");
    if tree.errors().is_empty() {
        let names = |tree: &Tree| {
            tree.nodes().map(|node| (tree.depth(node), tree.name(node).text.into_owned())).collect::<Vec<_>>()
        };
        assert_eq!(names(&tree), names(&now), "of {text:?}");
    }
}

/// Whatever the blanks were, the same comes of them.
#[track_caller]
fn forgets_blanks(text: &str) {
    if Tree::parse(text).errors().is_empty() && !text.contains(['\\', '/', '\r']) && !text.contains("\"\"\"") {
        let wider = text.replace(' ', "   ").replace('\n', "  \n");
        if pieces(&wider) == pieces(text) {
            assert_eq!(formatted(&wider), formatted(text));
        }
    }
}

/// All plans, kit and house files below a folder of the project, by their paths.
fn files(folder: &str) -> BTreeMap<PathBuf, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (mut ahead, mut files) = (vec![root.join(folder)], BTreeMap::new());
    while let Some(folder) = ahead.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                ahead.push(path);
            } else if path.extension().is_some_and(|extension| extension == "kdl") {
                let text = String::from_utf8_lossy(&std::fs::read(&path).unwrap()).into_owned();
                files.insert(path, text);
            }
        }
    }
    files
}

#[test]
fn every_file_of_ours_and_every_official_case_keeps_what_it_says() {
    let ours: Vec<String> = files("examples").into_values().chain(files("tests/rules").into_values()).collect();
    assert!(ours.len() > 300, "{}", ours.len());
    ours.iter().for_each(|text| holds(text));
    official::inputs().iter().for_each(|(_, text)| holds(text));
}

/// What is found in the files of an archive: rules and sentences, file by file.
fn found(files: &BTreeMap<PathBuf, String>) -> Vec<(String, Vec<(String, String)>)> {
    let host = files.iter().fold(Memory::new(), |host, (path, text)| host.file(path, text.as_bytes()));
    let root = files.keys().next().unwrap().parent().unwrap();
    let archive = Archive::open(Arc::new(host), root);
    let report = archive.check(&archive.walk(&[]), &|| ());
    let told = |findings: &[leadsman::findings::Finding]| {
        let mut told: Vec<_> = findings.iter().map(|finding| (finding.rule.clone(), finding.message.clone())).collect();
        told.sort();
        told
    };
    report.files.iter().map(|(file, findings)| (file.to_string(), told(findings))).collect()
}

#[test]
fn what_is_found_is_the_same_before_and_after() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut archives: BTreeMap<PathBuf, BTreeMap<PathBuf, String>> = BTreeMap::new();
    for (path, text) in files("tests/rules").into_iter().chain(files("examples")) {
        let below = path.strip_prefix(root).unwrap().components().take(3).collect::<PathBuf>();
        let archive = if below.starts_with("examples") { root.join("examples") } else { root.join(below) };
        archives.entry(archive).or_default().insert(path, text);
    }
    let mut changed = 0;
    for files in archives.values() {
        let after: BTreeMap<PathBuf, String> =
            files.iter().map(|(path, text)| (path.clone(), formatted(text))).collect();
        changed += usize::from(after != *files);
        assert_eq!(found(files), found(&after));
    }
    assert!(archives.len() > 80 && changed > 20, "{changed} of {}", archives.len());
}

proptest! {
    #![proptest_config(ProptestConfig { max_shrink_iters: 2_000, ..crate::seed::properties(512) })]

    #[test]
    fn a_valid_document_keeps_what_it_says(text in generated::document()) {
        holds(&text);
        forgets_blanks(&text);
    }

    #[test]
    fn any_text_keeps_what_it_says(text in whatever::pieces()) {
        holds(&text);
    }
}
