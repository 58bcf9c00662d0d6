//! The invented club's archive: ready plans say nothing above a note, flawed ones say what they are there for.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use leadsman::archive::{Archive, Disk};
use leadsman::findings::Level;

fn root() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/examples"))
}

#[test]
fn ready_plans_kit_and_templates_raise_nothing_above_a_note() {
    let archive = Archive::open(Arc::new(Disk), root());
    let files = archive.walk(&[]);
    let (flawed, sound): (Vec<_>, Vec<_>) = files.into_iter().partition(|file| file.as_str().starts_with("flawed/"));
    assert!(flawed.len() >= 4 && sound.len() >= 6, "{flawed:?} {sound:?}");
    let mut above = Vec::new();
    for file in &sound {
        above.extend(archive.findings(file).into_iter().filter(|finding| finding.level > Level::Note));
    }
    assert!(above.is_empty(), "{above:#?}");
}

/// What a flawed plan's check prints on paper: no colour, the width of a page.
fn screen(name: &str) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_leadsman"))
        .current_dir(root())
        .args(["check", "--format", "screen", &format!("flawed/{name}.plan.kdl")])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", String::from_utf8_lossy(&output.stderr));
    let screen = String::from_utf8(output.stdout).unwrap();
    assert!(screen.split_whitespace().collect::<Vec<_>>().join(" ").contains(leadsman::CAUTION));
    screen
}

#[test]
fn the_wrong_cylinders_are_seen() {
    insta::assert_snapshot!(screen("wrong-cylinders"));
}

#[test]
fn the_spare_unit_is_seen() {
    insta::assert_snapshot!(screen("spare-unit"));
}

#[test]
fn a_dive_too_deep_is_seen() {
    insta::assert_snapshot!(screen("too-deep"));
}

#[test]
fn the_slips_of_a_tired_hand_are_seen() {
    insta::assert_snapshot!(screen("seven-in-the-morning"));
}
