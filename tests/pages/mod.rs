//! Pages drawn from findings made by hand, so that what is tested is the drawing alone.

pub mod json;
mod screen;

use std::path::Path;
use std::sync::Arc;

use leadsman::archive::{Archive, LeftOut, Memory, Report};
use leadsman::findings::{About, Finding, Fix, FixKind, Level, Waived};
use leadsman::pages::{Checked, Sheet};
use leadsman::rules::{Dives, Fact};
use leadsman::source::{Edit, FileId, Place, Span};

/// A plan with what makes drawing hard: a byte-order mark, Windows line ends, tabs, wide and combining characters.
pub const PLAN: &str = "\u{feff}plan \"Süd-Wand\" on=\"2027-05-15\" // 2 m³, 18 °C\r\n\
    dive \"Frühtauchgang 😀\" {\r\n\
    \t\tdiver \"Inés\" cylinder=\"S12-03\" // 水\r\n\
    \t\tleg depth=(m)31.5\ttime=(min)25\r\n\
    }\r\n";
pub const KIT: &str = "cylinder \"S12-03\" size=(L)12 {\n    fill o2=0.36 on=\"2027-05-14\"\n}\n";

pub fn place(file: &str, text: &str, part: &str) -> Place {
    let start = text.find(part).unwrap_or_else(|| panic!("no {part:?}")) as u32;
    Place::new(FileId::new(file), Span::new(start, start + part.len() as u32))
}

pub fn archive() -> Archive {
    let memory = Memory::new()
        .file("/club/plans/south.plan.kdl", PLAN)
        .file("/club/kit/cylinders.kit.kdl", KIT)
        .file("/club/leadsman.kdl", "");
    Archive::open(Arc::new(memory), Path::new("/club"))
}

/// Findings of every level, some of several files, one waived.
pub fn report() -> Report {
    let plan = |part: &str| place("plans/south.plan.kdl", PLAN, part);
    let kit = |part: &str| place("kit/cylinders.kit.kdl", KIT, part);
    let file = FileId::new("plans/south.plan.kdl");
    let about =
        About { plan: Some(file.clone()), dive: Some("Frühtauchgang 😀".into()), diver: Some("Inés".into()) };
    let deep = Finding::new(
        "mod-exceeded",
        Level::Error,
        plan("(m)31.5"),
        "Inés breathes 36 % at 31.5 m from minute 2: PO2 1.49 bar, more than the 1.4 bar that the house allows",
    )
    .with_related(plan("\"S12-03\""), "of this cylinder")
    .with_related(kit("0.36"), "its mix")
    .with_step("PO2 = F·P", "0.36·4.1438", "1.4918 bar")
    .with_step("depth = (limit/F − Ps)/k", "(1.4/0.36 − 1.0133)/0.09807", "29.32 m")
    .with_fix(Fix {
        title: "go no deeper than 29 m".into(),
        kind: FixKind::Suggested,
        edits: vec![Edit { place: plan("(m)31.5"), text: "(m)29".into() }],
    })
    .with_about(about);
    let unused = Finding::new("not-checked", Level::Warning, plan("dive \"Früh"), "not checked for want of `water`: x");
    let mut waived = Finding::new("wall-known", Level::Note, plan("Süd-Wand"), "the wall is known for its current");
    waived.waived = Some(Waived { because: "slack water at that hour".into(), by: Vec::new() });
    let end = Finding::new(
        "missing-value",
        Level::Warning,
        Place::new(file.clone(), Span::at(PLAN.len() as u32)),
        "the plan ends without a briefing",
    );
    Report {
        files: vec![(FileId::new("kit/cylinders.kit.kdl"), vec![]), (file, vec![waived, unused, deep, end])],
        rules_looked: 21,
        lacking: vec![Fact {
            place: plan("dive \"Früh"),
            fact: "`water`".into(),
            rules: vec!["mod-exceeded", "po2-low"],
        }],
        dives: Dives { planned: 2, simulated: 1 },
        left_out: vec![(FileId::new("plans/old.plan.kdl"), LeftOut::Ignored)],
        lowered: vec!["cell-expired is lowered to warning by the house: cells are on order".into()],
        ..Report::default()
    }
}

pub fn sheet() -> Sheet {
    Sheet::new(vec![Checked { archive: archive(), report: report() }], Path::new("/club/plans"))
}

/// One finding over one text, for odd texts and odd places.
pub fn odd(text: &[u8], start: u32, end: u32) -> Sheet {
    let file = FileId::new("odd.plan.kdl");
    let host = Memory::new().file("/club/odd.plan.kdl", text);
    let finding = Finding::new("syntax", Level::Error, Place::new(file.clone(), Span::new(start, end)), "odd");
    let report = Report { files: vec![(file, vec![finding])], ..Report::default() };
    let archive = Archive::open(Arc::new(host), Path::new("/club"));
    Sheet::new(vec![Checked { archive, report }], Path::new("/club"))
}
