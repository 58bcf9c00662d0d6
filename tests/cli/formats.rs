//! What each format carries.

use crate::pages::json::is_as_published;

use super::{DATE, Folder, GOOD, is_honest, leadsman};

#[test]
fn every_format_carries_the_caution_and_says_nothing_is_fine() {
    let folder = Folder::new(&[("good.plan.kdl", GOOD), ("date.plan.kdl", DATE)]);
    for format in ["screen", "line", "json"] {
        for path in [".", "good.plan.kdl"] {
            is_honest(&folder.run(&["check", "--format", format, path]));
        }
    }
}

#[test]
fn what_is_written_as_json_is_as_published() {
    let folder = Folder::new(&[("good.plan.kdl", GOOD), ("date.plan.kdl", DATE)]);
    let examples = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    for (place, path) in [(folder.root(), "."), (folder.root(), "good.plan.kdl"), (&*examples, ".")] {
        let output = leadsman(place).args(["check", "--format=json", path]).output().unwrap();
        is_as_published(&serde_json::from_slice(&output.stdout).unwrap());
    }
}

#[test]
fn the_screen_ends_with_the_numbers() {
    let ran = Folder::new(&[("date.plan.kdl", DATE)]).run(&["check"]);
    assert!(ran.out.contains("1 finding (1 error) in 2 files"), "{ran:?}");
    assert!(ran.out.contains("╭─[date.plan.kdl:1:17]"), "{ran:?}");
}

#[test]
fn a_line_is_path_line_column_level_rule_message() {
    let ran = Folder::new(&[("date.plan.kdl", DATE)]).run(&["check", "--format=line"]);
    let first = ran.out.lines().next().unwrap();
    assert!(first.starts_with("date.plan.kdl:1:17: error syntax: "), "{first}");
}

#[test]
fn nothing_is_coloured_that_is_no_terminal() {
    let folder = Folder::new(&[("date.plan.kdl", DATE)]);
    let ran = folder.run(&["check"]);
    assert!(!ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'), "{ran:?}");
}

/// `script` of util-linux gives a terminal; where it is missing there is none to be had.
#[cfg(target_os = "linux")]
#[test]
fn a_terminal_is_coloured_unless_no_colour_is_asked_for() {
    use std::process::Command;
    let folder = Folder::new(&[("date.plan.kdl", DATE)]);
    let on_terminal = |set: &[(&str, &str)]| {
        let run = format!("{} check", env!("CARGO_BIN_EXE_leadsman"));
        let mut command = Command::new("script");
        command.args(["-qec", &run, "/dev/null"]).current_dir(folder.root());
        command.env_remove("NO_COLOR").env("TERM", "xterm-256color").envs(set.iter().copied());
        command.stdin(std::process::Stdio::null());
        command.output().ok().map(|output| String::from_utf8_lossy(&output.stdout).into_owned())
    };
    let Some(plain) = on_terminal(&[]) else { return };
    assert!(plain.contains("\u{1b}[31m"), "{plain:?}");
    for set in [[("NO_COLOR", "1")], [("TERM", "dumb")]] {
        let said = on_terminal(&set).unwrap();
        assert!(said.contains("date.plan.kdl") && !said.contains("\u{1b}["), "{said:?}");
    }
    assert!(on_terminal(&[("NO_COLOR", "")]).unwrap().contains("\u{1b}[31m"));
}

#[test]
fn nothing_in_a_plan_reaches_the_terminal_raw() {
    let text = "plan \"\u{1b}[2J\u{202e}gnorw\u{9b}31m\" on=\"2027-05-15\" satus=\"\u{7}\u{2066}\"\n";
    let folder = Folder::new(&[("odd.plan.kdl", text)]);
    for format in ["screen", "line", "json"] {
        let ran = folder.run(&["check", "--format", format]);
        let raw = |c: &char| {
            (c.is_control() && *c != '\n') || matches!(*c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
        };
        assert_eq!(ran.out.chars().find(raw), None, "{format}: {:?}", ran.out);
        assert_eq!(ran.code, Some(1), "{ran:?}");
    }
}

#[test]
fn a_name_with_control_characters_is_shown_harmless() {
    let folder = Folder::new(&[("a\u{1b}[31mb.plan.kdl", DATE)]);
    let ran = folder.run(&["check", "--format=line"]);
    assert!(ran.out.starts_with("a␛[31mb.plan.kdl:1:"), "{ran:?}");
    let output = leadsman(folder.root()).args(["check", "gone\u{1b}[31m"]).output().unwrap();
    assert!(!String::from_utf8(output.stderr).unwrap().contains('\u{1b}'));
}
