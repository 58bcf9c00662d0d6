//! Bad cases raise their rule, good ones don't; what a case says of itself holds.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;

use leadsman::archive::{Archive, Disk};
use leadsman::rules::TABLE;
use leadsman::source::FileId;

use super::{findings, folder, marks, told};

/// One case of one rule.
pub struct Case {
    pub slug: String,
    pub name: String,
    pub archive: Archive,
    pub files: Vec<FileId>,
}

impl Case {
    pub fn is_bad(&self) -> bool {
        self.name.starts_with("bad")
    }
}

/// Every case and the examples of every page, which are not kept twice.
pub fn all() -> Vec<Case> {
    let mut cases = kept();
    cases.extend(super::pages::cases());
    cases
}

/// Every case that has files of its own, in path order.
pub fn kept() -> Vec<Case> {
    let mut cases = Vec::new();
    for rule in sorted(folder()).into_iter().filter(|path| path.is_dir()) {
        let slug = rule.file_name().unwrap().to_string_lossy().into_owned();
        for path in sorted(rule.clone()) {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if name.ends_with(".snap") || name.ends_with(".snap.new") {
                continue;
            }
            assert!(name.starts_with("bad") || name.starts_with("good"), "{slug}/{name} is neither bad nor good");
            let (root, files) = match path.is_dir() {
                true => (path.clone(), None),
                false => (rule.clone(), Some(vec![FileId::new(&name)])),
            };
            let archive = Archive::open(Arc::new(Disk), &root);
            let files = files.unwrap_or_else(|| archive.walk(&[]));
            cases.push(Case { slug: slug.clone(), name, archive, files });
        }
    }
    cases
}

fn sorted(folder: PathBuf) -> Vec<PathBuf> {
    let mut paths: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

#[test]
fn every_rule_has_a_bad_and_a_good_case() {
    let cases = kept();
    let having = |prefix| -> BTreeSet<&str> {
        cases.iter().filter(|case| case.name.starts_with(prefix)).map(|case| case.slug.as_str()).collect()
    };
    let rules: BTreeSet<&str> = TABLE.iter().map(|rule| rule.slug).collect();
    assert_eq!(having("bad"), rules, "rules and folders with a bad case");
    assert_eq!(having("good"), rules, "rules and folders with a good case");
}

#[test]
fn bad_cases_raise_their_rule_and_good_ones_do_not() {
    let mut wrong = Vec::new();
    for case in kept() {
        let found = findings(&case.archive, &case.files);
        let raised: Vec<_> = found.iter().filter(|finding| finding.rule == case.slug).collect();
        if raised.is_empty() == case.is_bad() {
            let all: String = found.iter().map(|finding| told(&case.archive, finding)).collect();
            wrong.push(format!("{}/{} said:\n{all}", case.slug, case.name));
        }
        for why in marks::wrong(&case.archive, &case.files, &raised) {
            wrong.push(format!("{}/{}: {why}", case.slug, case.name));
        }
        if case.is_bad() {
            let said: String = raised.iter().map(|finding| told(&case.archive, finding)).collect();
            insta::with_settings!({
                snapshot_path => &folder().join(&case.slug), prepend_module_to_snapshot => false, omit_expression => true
            }, {
                insta::assert_snapshot!(case.name.trim_end_matches(".kdl"), said);
            });
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
