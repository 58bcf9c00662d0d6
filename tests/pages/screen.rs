//! What a person sees at a terminal.

use leadsman::CAUTION;
use leadsman::pages::Sheet;
use leadsman::pages::screen::{Drawing, write};

use super::sheet;

fn drawn(sheet: &Sheet, width: usize, colour: bool) -> String {
    let mut out = Vec::new();
    write(&mut out, sheet, Drawing { width, colour }).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn findings_are_drawn_under_their_values() {
    insta::assert_snapshot!(drawn(&sheet(), 100, false));
}

#[test]
fn a_narrow_terminal_is_kept_to() {
    insta::assert_snapshot!(drawn(&sheet(), 60, false));
}
