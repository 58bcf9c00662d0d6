//! The house itself: rooms use only the rooms above them, files never use each other in a ring, rules stand alone.

mod broken;
mod graph;
mod paths;
mod sentences;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use graph::Graph;

/// The rooms in their order: each may use only those before it.
const ROOMS: [&str; 14] = [
    "source", "physics", "findings", "syntax", "format", "words", "plan", "run", "forecast", "rules", "archive",
    "pages", "server", "cli",
];

/// The one file that may name the rules' files, and its list of them.
const TABLE: (&str, &str) = ("rules/table.rs", "TABLE");

fn src() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

static HOUSE: LazyLock<Graph> = LazyLock::new(|| Graph::of_folder(&src()));

/// The room of a file, by its order.
fn room(file: &str) -> Option<usize> {
    ROOMS.iter().position(|room| file.split('/').next() == Some(room))
}

/// The arrows from a room to one below it.
fn against_the_order(graph: &Graph) -> Vec<String> {
    let below = |(from, to): &&(usize, usize)| match (room(&graph.files[*from]), room(&graph.files[*to])) {
        (Some(from), Some(to)) => to > from,
        _ => false,
    };
    graph.arrows.keys().filter(below).map(|arrow| graph.line(*arrow)).collect()
}

/// The arrows to a rule's file from any other file than the table's.
fn arrows_to_rules(graph: &Graph) -> Vec<String> {
    let rules: BTreeSet<usize> = graph.having("RULE").map(|(file, _)| file).collect();
    let barred = |(from, to): &&(usize, usize)| rules.contains(to) && graph.files[*from] != TABLE.0;
    graph.arrows.keys().filter(barred).map(|arrow| graph.line(*arrow)).collect()
}

/// What is wrong with where rules stand: `rules/<family>/<slug>.rs`, its page beside it, its cases in a folder of their
/// own, and one line in the table.
fn out_of_place(graph: &Graph, pages: &BTreeSet<String>, cases: &BTreeSet<String>) -> Vec<String> {
    let mut wrong = Vec::new();
    let table = graph.file(TABLE.0).map_or(&[][..], |file| graph.named_in(file, TABLE.1));
    let mut listed: BTreeMap<usize, usize> = BTreeMap::new();
    for file in table {
        *listed.entry(*file).or_default() += 1;
    }
    let (mut own_pages, mut own_cases) = (BTreeSet::new(), BTreeSet::new());
    for (file, slug) in graph.having("RULE") {
        let path = &graph.files[file];
        let (stem, slug) = (path.trim_end_matches(".rs"), slug.unwrap_or_default().to_owned());
        let name = stem.rsplit('/').next().unwrap_or_default().replace('_', "-");
        if name != slug || path.split('/').count() != 3 || room(path) != room(TABLE.0) {
            wrong.push(format!("{path}: holds the rule {slug:?}"));
        }
        match listed.get(&file) {
            Some(1) => {}
            count => wrong.push(format!("{path}: is {} times in the table", count.unwrap_or(&0))),
        }
        let page = format!("{stem}.md");
        if !pages.contains(&page) {
            wrong.push(format!("{path}: there is no {page}"));
        }
        if !cases.contains(&slug) {
            wrong.push(format!("{path}: there is no tests/rules/{slug}"));
        }
        own_pages.insert(page);
        own_cases.insert(slug);
    }
    wrong.extend(pages.difference(&own_pages).map(|page| format!("{page}: is no rule's")));
    wrong.extend(cases.difference(&own_cases).map(|slug| format!("tests/rules/{slug}: is no rule's")));
    wrong
}

/// The names of what lies in a folder, folders and files apart.
fn entries(folder: &Path, folders: bool) -> BTreeSet<String> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    let entries = entries.filter(|entry| entry.path().is_dir() == folders);
    entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect()
}

fn none(wrong: &[String]) {
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn rooms_use_only_rooms_above_them() {
    none(&against_the_order(&HOUSE));
}

#[test]
fn the_rooms_are_all_there_is() {
    assert_eq!(entries(&src(), true), ROOMS.iter().map(|room| (*room).to_owned()).collect());
}

/// Whether a file is the module that another one lies in: what it says is its folder's own vocabulary.
fn is_above(module: &str, file: &str) -> bool {
    let folder = module.strip_suffix("/mod.rs").or_else(|| module.strip_suffix(".rs")).unwrap_or(module);
    file.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/'))
}

#[test]
fn no_files_use_each_other_in_a_ring() {
    none(&HOUSE.rings(|from, to| !is_above(from, to) && !is_above(to, from)));
}

#[test]
fn no_rule_is_used_by_another_file() {
    none(&arrows_to_rules(&HOUSE));
}

#[test]
fn every_rule_has_its_place_its_page_and_its_cases() {
    let rules = src().join("rules");
    let mut pages = BTreeSet::new();
    for family in entries(&rules, true) {
        let files = entries(&rules.join(&family), false).into_iter().filter(|file| file.ends_with(".md"));
        pages.extend(files.map(|file| format!("rules/{family}/{file}")));
    }
    let cases = entries(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/rules"), true);
    none(&out_of_place(&HOUSE, &pages, &cases));
    assert!(HOUSE.having("RULE").count() > 90 && HOUSE.arrows.len() > 1000, "the sources were not read");
}
