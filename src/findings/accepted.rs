//! What an archive was found to have when checks of it began, and was left so: the file of accepted findings.

use serde::{Deserialize, Serialize};

use super::{Data, Level};
use crate::source::FileId;

/// The name of the file, in an archive's root.
pub(crate) const ACCEPTED: &str = "leadsman.accepted.json";

/// The version of the file's shape that is written.
const VERSION: u32 = 2;

/// The version that knew a finding by the numbers of its sentence.
const BY_NUMBERS: u32 = 1;

/// No archive has so many findings at one node.
const MOST: usize = 1_000_000;

/// Accepted findings, in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Accepted {
    /// The findings, sorted, none twice.
    pub entries: Vec<Entry>,
}

/// Findings of one rule at one node. It is known by names and by the node's own text, so that lines may move, and by the
/// values that its message tells, so that it may be worded better: whoever changes the node, or makes a dive deeper
/// elsewhere, hears of it again.
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
    /// The values that the message tells; `None` in an entry of a file of the first version.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub data: Option<Data>,
    /// The numbers of the message, in their order: in an entry of a file of the first version, until its file is accepted
    /// anew.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub numbers: Option<String>,
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
        let page: Page = serde_json::from_str(text).map_err(|error| format!("can't be understood: {error}"))?;
        if !(BY_NUMBERS..=VERSION).contains(&page.version) {
            return Err(format!("is of version {}, and this leadsman reads {BY_NUMBERS} and {VERSION}", page.version));
        }
        let mut entries = page.accepted;
        let of_old = page.version == BY_NUMBERS;
        let whole = |entry: &&Entry| match (&entry.data, &entry.numbers) {
            (Some(_), None) => !of_old,
            (None, Some(_)) => true,
            _ => false,
        };
        if let Some(entry) = entries.iter().find(|entry| !whole(entry)) {
            let Entry { path, rule, .. } = entry;
            return Err(format!("says of {rule} in {path} neither its `data` nor its `numbers`, or both"));
        }
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
            data: Some(serde_json::from_str(r#"{"rate":28,"fastest":20}"#).unwrap()),
            numbers: None,
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
    fn a_file_of_the_first_version_is_read() {
        let text = r#"{"version":1,"accepted":[{"path":"a.plan.kdl","names":[],"text":"descend \"18\"","rule":"descent-fast",
            "numbers":"28 20","level":"warning","count":2}]}"#;
        let read = Accepted::read(text).unwrap();
        assert_eq!(read.entries.first().unwrap().numbers.as_deref(), Some("28 20"));
        // What could not be looked at anew is kept as it was.
        assert_eq!(Accepted::read(&read.to_text("")), Ok(read));
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
        assert!(Accepted::read("{\"version\":3,\"accepted\":[]}").unwrap_err().contains("version 3"));
        let both = Entry { numbers: Some("28 20".to_owned()), ..entry("a.plan.kdl", 1) };
        let neither = Entry { data: None, ..entry("a.plan.kdl", 1) };
        for wrong in [both, neither] {
            let text = Accepted { entries: vec![wrong] }.to_text("");
            assert!(Accepted::read(&text).unwrap_err().contains("descent-fast in a.plan.kdl"), "{text}");
        }
        let mixed =
            Accepted { entries: vec![entry("a.plan.kdl", 1)] }.to_text("").replace("\"version\": 2", "\"version\": 1");
        assert!(Accepted::read(&mixed).is_err(), "{mixed}");
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
