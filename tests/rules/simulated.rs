//! A dive is simulated, or somebody says why: for every diver of every dive of a plan that is no template there is a run, or a
//! finding of at least a warning in its file.

use std::path::Path;
use std::sync::Arc;

use leadsman::archive::{Archive, Change, Disk};
use leadsman::findings::{Finding, Level};
use leadsman::forecast::Day;
use leadsman::plan::Status;
use leadsman::rules::{Family, find};
use leadsman::source::{FileId, Text};
use leadsman::syntax::Tree;
use proptest::prelude::*;
use proptest::sample::Index;

use super::cases::all;

/// The first dive of a file's plan that is neither run nor spoken of.
fn silent(archive: &Archive, file: &FileId) -> Option<String> {
    let plan = archive.plan(file)?;
    if matches!(plan.status, Status::Template | Status::Dived) {
        return None;
    }
    let (scope, earlier) = (archive.scope(file), archive.earlier(file));
    let day = Day::of(&scope, archive.runs(), &plan, &earlier);
    let (dive, _) = day.iter().find(|(_, found)| found.is_err())?;
    // A defect of the text, a fact that lacks, or a word on this dive.
    let speaks = |finding: &Finding| {
        find(&finding.rule).is_some_and(|rule| rule.family == Family::Language)
            // A fill is no dive's own.
            || finding.rule == "mix-impossible"
            || finding.about.dive.as_ref() == Some(&dive.dive.name.value)
    };
    let told = archive.findings(file).iter().any(|finding| finding.level > Level::Note && speaks(finding));
    (!told).then(|| format!("dive {:?} of {:?}", dive.dive.name.value, dive.member.name.value))
}

#[test]
fn every_case_is_simulated_or_spoken_of() {
    let mut wrong = Vec::new();
    for case in all() {
        for file in &case.files {
            wrong
                .extend(silent(&case.archive, file).map(|what| format!("{}/{}: {file}: {what}", case.slug, case.name)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A plan of the club with some of its nodes and entries taken out, or their values changed for one another.
fn mutated(text: &str, takes: &[(Index, Index)]) -> String {
    let mut text = text.to_owned();
    for (which, what) in takes {
        let tree = Tree::parse(&text);
        let nodes: Vec<_> = tree.nodes().collect();
        if nodes.is_empty() {
            break;
        }
        let node = nodes[which.index(nodes.len())];
        let entries: Vec<_> = tree.entries(node).collect();
        let pick = what.index(entries.len() + 1);
        let span = match entries.get(pick) {
            Some(entry) => entry.span,
            None => tree.span(node),
        };
        text.replace_range(span.range(), "");
    }
    text
}

proptest! {
    #![proptest_config(crate::seed::properties(200))]

    #[test]
    fn what_is_left_of_a_plan_is_simulated_or_spoken_of(
        plan in prop::sample::select(vec!["plans/saturday.plan.kdl", "plans/guest.plan.kdl", "plans/sunday.plan.kdl"]),
        takes in prop::collection::vec((any::<Index>(), any::<Index>()), 1..4),
    ) {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
        let archive = Archive::open(Arc::new(Disk), &root);
        let file = FileId::new(plan);
        let text = mutated(archive.text(&file).unwrap().as_str(), &takes);
        let archive = archive.with(&[Change::Open(file.clone(), Text::new(&text))]);
        prop_assert!(silent(&archive, &file).is_none(), "{:?}\n{text}", silent(&archive, &file));
    }

    #[test]
    fn what_is_left_of_the_kit_is_spoken_of(
        kit in prop::sample::select(vec!["kit/units.kit.kdl", "kit/cylinders.kit.kdl", "crew.kit.kdl"]),
        takes in prop::collection::vec((any::<Index>(), any::<Index>()), 1..4),
    ) {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
        let archive = Archive::open(Arc::new(Disk), &root);
        let text = mutated(archive.text(&FileId::new(kit)).unwrap().as_str(), &takes);
        let archive = archive.with(&[Change::Open(FileId::new(kit), Text::new(&text))]);
        for plan in ["plans/saturday.plan.kdl", "plans/guest.plan.kdl"] {
            let silent = silent(&archive, &FileId::new(plan));
            prop_assert!(silent.is_none(), "{plan}: {silent:?}\n{text}");
        }
    }
}
