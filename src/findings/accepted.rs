//! What an archive was found to have when checks of it began, and was left so: the file of accepted findings.

use serde::{Deserialize, Serialize};

use super::Level;
use crate::source::FileId;

/// The name of the file, in an archive's root.
pub(crate) const ACCEPTED: &str = "leadsman.accepted.json";

/// The version of the file's shape.
const VERSION: u32 = 1;

/// No archive has so many findings at one node.
const MOST: usize = 1_000_000;

/// Accepted findings, in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Accepted {
    /// The findings, sorted, none twice.
    pub entries: Vec<Entry>,
}

/// Findings of one rule at one node. It is known by names and by the node's own text, so that lines may move, and by the
/// numbers that its message tells: whoever changes the node, or makes a dive deeper elsewhere, hears of it again.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// The file, from the root.
    pub path: FileId,
    /// The nodes around it from the outside in, each by its word and its name: `dive "morning"`.
    pub names: Vec<String>,
    /// The node's own word and entries, with single spaces between them.
    pub text: String,
    /// The rule's slug.
    pub rule: String,
    /// The numbers of the message, in their order.
    pub numbers: String,
    /// The gravest level that is accepted.
    pub level: Level,
    /// How many findings, at least 1.
    pub count: usize,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Page {
    version: u32,
    #[serde(rename = "caution")]
    _caution: Option<String>,
    accepted: Vec<Entry>,
}

impl Accepted {
    /// Reads the file's text.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub(crate) fn read(text: &str) -> Result<Accepted, String> {
        let page: Page = serde_json::from_str(text).map_err(|error| error.to_string())?;
        if page.version != VERSION {
            return Err(format!("is of version {}, and this leadsman reads version {VERSION}", page.version));
        }
        let mut entries = page.accepted;
        if let Some(entry) = entries.iter().find(|entry| entry.count == 0 || entry.count > MOST) {
            return Err(format!("has a `count` of {}; 1 to {MOST} can be meant", entry.count));
        }
        entries.sort();
        // Two branches may each have brought one: as many as the one with more are there.
        entries.dedup_by(|later, earlier| {
            let same = Entry { count: earlier.count, ..later.clone() } == *earlier;
            if same {
                earlier.count = later.count;
            }
            same
        });
        Ok(Accepted { entries })
    }

    /// The file's text: an entry a line, so that changes to it are easy to read and to merge.
    pub(crate) fn to_text(&self, caution: &str) -> String {
        let lines: Vec<String> = self.entries.iter().map(|entry| format!("    {}", plain(entry))).collect();
        let entries = if lines.is_empty() { String::new() } else { format!("\n{}\n  ", lines.join(",\n")) };
        format!("{{\n  \"version\": {VERSION},\n  \"caution\": {},\n  \"accepted\": [{entries}]\n}}\n", plain(caution))
    }

    /// The numbers of a message, in their order.
    pub(crate) fn numbers(message: &str) -> String {
        let numbers = message.split(|c: char| !c.is_ascii_digit() && c != '.');
        let numbers: Vec<&str> =
            numbers.map(|number| number.trim_matches('.')).filter(|number| !number.is_empty()).collect();
        numbers.join(" ")
    }

    /// How many findings they are.
    pub(crate) fn count(&self) -> usize {
        self.entries.iter().map(|entry| entry.count).sum()
    }
}

/// A value as JSON on one line; texts and numbers always have one.
fn plain(value: &(impl Serialize + ?Sized)) -> String {
    serde_json::to_string(value).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    fn entry(path: &str, count: usize) -> Entry {
        Entry {
            path: FileId::new(path),
            names: vec!["plan \"Shelf\"".to_owned()],
            text: "descend \"18\"".to_owned(),
            rule: "descent-fast".to_owned(),
            numbers: "28 20".to_owned(),
            level: Level::Warning,
            count,
        }
    }

    #[test]
    fn what_is_written_reads_the_same() {
        for entries in [vec![], vec![entry("a.plan.kdl", 2)], vec![entry("a.plan.kdl", 2), entry("b.plan.kdl", 1)]] {
            let accepted = Accepted { entries };
            let text = accepted.to_text("Take care.");
            assert_eq!(Accepted::read(&text), Ok(accepted.clone()), "{text}");
            assert_eq!(text.lines().filter(|line| line.contains("\"rule\"")).count(), accepted.entries.len());
        }
    }

    #[test]
    fn numbers_are_those_of_the_message() {
        let message = "supply \"S12-04\" has 29.6 % oxygen on 2027-05-15, at 1:05: 31 is the least.";
        assert_eq!(Accepted::numbers(message), "12 04 29.6 2027 05 15 1 05 31");
        assert_eq!(Accepted::numbers("no dive. None..."), "");
    }

    #[test]
    fn what_does_not_read_is_said() {
        assert!(Accepted::read("{").is_err());
        assert!(Accepted::read("{\"version\":2,\"accepted\":[]}").unwrap_err().contains("version 2"));
        let negative = Accepted { entries: vec![entry("a.plan.kdl", 7)] }.to_text("").replace(":7", ":-7");
        assert!(Accepted::read(&negative).is_err(), "{negative}");
        for count in [0, usize::MAX] {
            let text = Accepted { entries: vec![entry("a.plan.kdl", count)] }.to_text("");
            assert!(Accepted::read(&text).unwrap_err().contains("`count`"));
        }
    }

    #[test]
    fn what_two_branches_bring_is_one() {
        let entries =
            vec![entry("a.plan.kdl", 1), entry("a.plan.kdl", 3), entry("b.plan.kdl", 1), entry("a.plan.kdl", 1)];
        let read = Accepted::read(&Accepted { entries }.to_text("")).unwrap();
        assert_eq!(read.entries, [entry("a.plan.kdl", 3), entry("b.plan.kdl", 1)]);
    }
}
