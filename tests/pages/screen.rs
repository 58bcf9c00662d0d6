//! What a person sees at a terminal.

use leadsman::CAUTION;
use leadsman::archive::Report;
use leadsman::findings::{Finding, Level};
use leadsman::pages::screen::{Drawing, write};
use leadsman::pages::{Checked, Sheet};
use proptest::prelude::*;

use super::{archive, odd, place, sheet};

fn drawn(sheet: &Sheet, width: usize, colour: bool) -> String {
    let mut out = Vec::new();
    write(&mut out, sheet, Drawing { width, colour, ..Drawing::default() }).unwrap();
    String::from_utf8(out).unwrap()
}

/// The drawing of one finding over a text, without the lines below it.
fn drawing(text: &str, start: u32, end: u32) -> String {
    let all = drawn(&odd(text.as_bytes(), start, end), 60, false);
    let lines = all.lines().skip_while(|line| !line.contains("╭─["));
    lines.take_while(|line| !line.contains('╰')).collect::<Vec<_>>().join("\n")
}

#[test]
fn findings_are_drawn_under_their_values() {
    insta::assert_snapshot!(drawn(&sheet(), 100, false));
}

#[test]
fn a_narrow_terminal_is_kept_to() {
    insta::assert_snapshot!(drawn(&sheet(), 60, false));
}

#[test]
fn colours_are_only_where_asked_for() {
    let plain = drawn(&sheet(), 100, false);
    let coloured = drawn(&sheet(), 100, true);
    assert!(!plain.contains('\u{1b}') && coloured.contains("\u{1b}[31m"));
}

#[test]
fn the_end_of_a_text_is_a_place() {
    assert_eq!(drawing("", 0, 0), "   ╭─[odd.plan.kdl:1:1]\n 1 │ \n   · ▲");
    assert_eq!(drawing("\u{feff}", 3, 3), "   ╭─[odd.plan.kdl:1:1]\n 1 │ \n   · ▲");
    assert_eq!(drawing("abc", 3, 3), "   ╭─[odd.plan.kdl:1:4]\n 1 │ abc\n   ·    ▲");
    assert_eq!(drawing("abc\r\n", 5, 5), "   ╭─[odd.plan.kdl:2:1]\n 1 │ abc\n 2 │ \n   · ▲");
    assert_eq!(drawing("abc", 90, 99), "   ╭─[odd.plan.kdl:1:4]\n 1 │ abc\n   ·    ▲");
}

#[test]
fn what_spans_lines_is_drawn_on_the_first() {
    assert_eq!(drawing("ab {\r\n c\r\n}\r\n", 0, 12), "   ╭─[odd.plan.kdl:1:1]\n 1 │ ab {\n   · ────\n 2 │  c");
    assert_eq!(drawing("ab\rcd\r", 1, 5), "   ╭─[odd.plan.kdl:1:2]\n 1 │ ab\n   ·  ─\n 2 │ cd");
}

#[test]
fn columns_are_those_that_are_seen() {
    assert_eq!(drawing("\té水\u{301}x", 8, 9), "   ╭─[odd.plan.kdl:1:5]\n 1 │     é水\u{301}x\n   ·        ─");
    assert_eq!(drawing("\u{feff}é x", 6, 7), "   ╭─[odd.plan.kdl:1:3]\n 1 │ é x\n   ·   ─");
    // What is hidden is shown, and counted with all its columns.
    assert_eq!(drawing("\u{1b}\u{202e}x", 4, 5), "   ╭─[odd.plan.kdl:1:3]\n 1 │ ␛<U+202E>x\n   ·          ─");
}

#[test]
fn a_long_line_is_cut_around_the_place() {
    let text = format!("{}xyz{}", "a".repeat(5_000_000), "b".repeat(5_000_000));
    let drawing = drawing(&text, 5_000_000, 5_000_003);
    let lines: Vec<&str> = drawing.lines().collect();
    assert_eq!(lines[0], "   ╭─[odd.plan.kdl:1:5000001]");
    assert!(lines[1].starts_with(" 1 │ …aaaa") && lines[1].ends_with("bbb…"), "{drawing}");
    let column = |line: &str, part: char| line.chars().position(|c| c == part).unwrap();
    assert_eq!(column(lines[1], 'x'), column(lines[2], '─'));
    assert!(lines.iter().all(|line| line.chars().count() <= 60), "{drawing}");
}

#[test]
fn many_related_places_are_counted() {
    let at = place("plans/south.plan.kdl", super::PLAN, "31.5");
    let mut finding = Finding::new("made-up", Level::Note, at.clone(), "made up");
    for number in 0..30 {
        finding = finding.with_related(at.clone(), format!("place {number}"));
    }
    let report = Report { files: vec![(at.file.clone(), vec![finding])], ..Report::default() };
    let said = drawn(&Sheet::new(vec![Checked { archive: archive(), report }], "/club".as_ref()), 80, false);
    assert!(said.contains("and 22 more places take part") && said.contains("place 7") && !said.contains("place 8"));
}

#[test]
fn the_width_holds_for_what_is_said_of_places() {
    let at = place("plans/south.plan.kdl", super::PLAN, "time=(min)25");
    let words = "a long word about the place ".repeat(8);
    let finding = Finding::new("made-up", Level::Note, at.clone(), words.clone()).with_related(at.clone(), words);
    let report = Report { files: vec![(at.file.clone(), vec![finding])], ..Report::default() };
    let said = drawn(&Sheet::new(vec![Checked { archive: archive(), report }], "/club".as_ref()), 80, false);
    for line in said.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

proptest! {
    #![proptest_config(crate::seed::properties(300))]

    #[test]
    fn whatever_the_text_and_the_place_it_is_drawn(
        text in "(\\PC|[\\x00-\\x1f\u{80}-\u{9f}\u{202a}-\u{202e}]|\r\n|[a\n\t水é\u{301}\u{feff}😀]){0,60}",
        start in 0u32..90,
        len in 0u32..30,
        width in 0usize..200,
        colour: bool,
    ) {
        let said = drawn(&odd(text.as_bytes(), start, start + len), width, colour);
        let squeezed = said.split_whitespace().collect::<Vec<_>>().join(" ");
        prop_assert!(squeezed.contains(CAUTION));
        prop_assert!(said.contains("╭─[") && said.contains("odd.plan.kdl:"), "no drawing: {}", said);
        let raw = |c: char| (c.is_control() && c != '\n' && !(colour && c == '\u{1b}')) || ('\u{202a}'..='\u{202e}').contains(&c);
        prop_assert!(!said.contains(raw), "{:?}", said);
    }
}
