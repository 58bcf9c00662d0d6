//! Every rule's page has the fixed headings, and its examples do what it says.

use leadsman::rules::{Rule, TABLE};

use super::cases::Case;
use super::{counts, findings, told, unsaved};

const HEADINGS: [&str; 5] = ["What", "Why it matters", "Example", "Mended", "Where the figure comes from"];

/// The part of a page under a heading.
fn part<'p>(page: &'p str, heading: &str) -> &'p str {
    let start = page.find(&format!("\n## {heading}\n")).unwrap_or_else(|| panic!("no heading {heading:?}"));
    let rest = &page[start + heading.len() + 5..];
    rest.find("\n## ").map_or(rest, |end| &rest[..end])
}

/// The files in a part: blocks fenced with `kdl` and, where it isn't a plan, the file's name.
fn files(part: &str) -> Vec<(String, String)> {
    let mut files = Vec::new();
    for block in part.split("\n```kdl").skip(1) {
        let (info, text) = block.split_once('\n').expect("a fence ends its line");
        let text = text.split("```").next().expect("a fence is closed");
        let name = if info.trim().is_empty() { "example.plan.kdl" } else { info.trim() };
        files.push((name.to_owned(), text.to_owned()));
    }
    files
}

#[test]
fn pages_have_the_fixed_headings() {
    for rule in TABLE {
        let headings: Vec<_> = rule.page.lines().filter_map(|line| line.strip_prefix("## ")).collect();
        assert_eq!(headings, HEADINGS, "{}", rule.slug);
        assert_eq!(rule.page.lines().next(), Some(&*format!("# {}", rule.slug)));
    }
}

/// Each page's example and its mended form, as cases of its rule.
pub fn cases() -> Vec<Case> {
    let forms = [("Example", "bad"), ("Mended", "good")];
    let each = TABLE.iter().flat_map(|rule| forms.map(|form| (rule, form)));
    each.map(|(rule, (heading, name))| {
        let (archive, files) = unsaved(&files(part(rule.page, heading)));
        Case { slug: rule.slug.to_owned(), name: format!("{name}, on its page"), archive, files }
    })
    .collect()
}

fn example(rule: &Rule) -> Result<(), String> {
    let (archive, ids) = unsaved(&files(part(rule.page, "Example")));
    let found = findings(&archive, &ids);
    let said: String = found.iter().map(|finding| told(&archive, finding)).collect();
    if !found.iter().any(|finding| finding.rule == rule.slug) {
        return Err(format!("{}: its example does not raise it; it says:\n{said}", rule.slug));
    }
    if found.iter().any(|finding| counts(finding) && finding.rule != rule.slug) {
        return Err(format!("{}: its example raises another rule too; it says:\n{said}", rule.slug));
    }
    let (archive, ids) = unsaved(&files(part(rule.page, "Mended")));
    let found = findings(&archive, &ids);
    let said: String = found.iter().map(|finding| told(&archive, finding)).collect();
    match found.iter().any(|finding| counts(finding) || finding.rule == rule.slug) {
        true => Err(format!("{}: its mended form still says:\n{said}", rule.slug)),
        false => Ok(()),
    }
}

#[test]
fn the_examples_do_what_the_pages_say() {
    let wrong: Vec<String> = TABLE.iter().filter_map(|rule| example(rule).err()).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
