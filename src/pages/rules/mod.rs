//! The rules themselves: the list of them, and the page that each one has.

pub(crate) mod json;
pub(crate) mod screen;

use crate::plan::Status;
use crate::rules::{FixAvailability, Rule};

/// A rule's page, taken apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Page {
    /// What it says in one sentence.
    pub summary: String,
    /// Its parts, each a heading with what stands under it, in Markdown.
    pub parts: Vec<(String, String)>,
}

impl Page {
    /// The page of a rule.
    pub(crate) fn of(rule: &Rule) -> Page {
        let mut page = Page { summary: String::new(), parts: Vec::new() };
        let mut fenced = false;
        for line in rule.page.lines().skip(1) {
            fenced ^= line.starts_with("```");
            match line.strip_prefix("## ").filter(|_| !fenced) {
                Some(heading) => page.parts.push((heading.to_owned(), String::new())),
                None => {
                    let text = page.parts.last_mut().map_or(&mut page.summary, |(_, text)| text);
                    text.push_str(line);
                    text.push('\n');
                }
            }
        }
        page.summary = page.summary.split_whitespace().collect::<Vec<_>>().join(" ");
        for (_, text) in &mut page.parts {
            *text = text.trim_matches('\n').to_owned();
        }
        page
    }
}

/// Whether a rule's findings come with fixes, in a word.
fn fixes(rule: &Rule) -> &'static str {
    match rule.fixes {
        FixAvailability::None => "never",
        FixAvailability::Sometimes => "sometimes",
        FixAvailability::Always => "always",
    }
}

/// The statuses of the plans that a rule looks at; none for rules that look at any file.
fn statuses(rule: &Rule) -> Vec<&'static str> {
    let word = |status: &Status| match status {
        Status::Template => "template",
        Status::Draft => "draft",
        Status::Ready => "ready",
        Status::Dived => "dived",
    };
    rule.statuses.iter().map(word).collect()
}

/// A rule in a sentence.
pub(crate) fn summary(rule: &Rule) -> String {
    Page::of(rule).summary.clone()
}
