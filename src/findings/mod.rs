//! What a check says: data only.
//!
//! A [`Finding`] names its rule, the place that causes it, what happens in words and numbers, how the numbers
//! were worked out, and what would mend it. Nothing here computes, reads or prints.

mod accepted;
mod said;

pub use accepted::Entry;
pub(crate) use accepted::{ACCEPTED, Accepted};
pub use said::{Data, Said};
pub(crate) use said::{Datum, Named, Told, Wording, said, texts, value};

use serde::{Deserialize, Serialize};

use crate::source::{Edit, FileId, Place};

/// How grave a finding is, in rising order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// Worth knowing.
    Note,
    /// A margin is gone or a duty is open.
    Warning,
    /// The plan breaks a limit.
    Error,
}

impl Level {
    /// The word that pages print.
    pub const fn word(self) -> &'static str {
        match self {
            Level::Note => "note",
            Level::Warning => "warning",
            Level::Error => "error",
        }
    }
}

/// What one rule found at one place.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Finding {
    /// The rule's slug, `kebab-case`.
    pub rule: String,
    /// How grave, after the house's own levels are applied.
    pub level: Level,
    /// What happens, when and where in the dive, the number against its limit. One sentence or two, no line break.
    pub message: String,
    /// The values that the message tells, by name: what it is known by, however it is worded.
    pub data: Data,
    /// The value that a person would change.
    pub place: Place,
    /// The value that causes it, where that stands in another file than its place.
    pub cause: Option<Place>,
    /// Other places that take part, with a word each.
    pub related: Vec<Related>,
    /// How the numbers were worked out, step by step.
    pub working: Vec<Step>,
    /// What would mend it; the first is the one recommended.
    pub fixes: Vec<Fix>,
    /// The dive and diver it is about, where it is about one.
    pub about: About,
    /// The waiver that covers it, if one does.
    pub waived: Option<Waived>,
    /// Whether it was accepted as it was when checks of the archive began, in the file of accepted findings.
    pub accepted: bool,
    /// Whether the place is something that has no use and may be greyed out.
    pub unused: bool,
    /// Whether it can be neither waived nor lowered, though its rule can.
    pub stands: bool,
}

impl Finding {
    /// A finding with nothing but its message and the values in it; the rest is added by the `with_…` methods.
    pub fn new(rule: &str, level: Level, place: Place, said: impl Into<Said>) -> Finding {
        let (message, data) = said.into().into_parts();
        Finding {
            rule: rule.to_owned(),
            level,
            message,
            data,
            place,
            cause: None,
            related: Vec::new(),
            working: Vec::new(),
            fixes: Vec::new(),
            about: About::default(),
            waived: None,
            accepted: false,
            unused: false,
            stands: false,
        }
    }

    /// Says something else in the place of its message.
    pub(crate) fn say(&mut self, said: Said) {
        (self.message, self.data) = said.into_parts();
    }

    /// Goes on with its message.
    pub(crate) fn say_more(&mut self, more: Said) {
        let mut said = Said::made(std::mem::take(&mut self.message), std::mem::take(&mut self.data));
        said += more;
        self.say(said);
    }

    /// Whether neither a waiver nor the file of accepted findings covers it.
    pub fn counts(&self) -> bool {
        self.waived.is_none() && !self.accepted
    }

    /// Adds a related place.
    #[must_use]
    pub fn with_related(mut self, place: Place, message: impl Into<String>) -> Finding {
        self.related.push(Related { place, message: message.into() });
        self
    }

    /// Adds a step of the working.
    #[must_use]
    pub fn with_step(
        mut self,
        formula: impl Into<String>,
        numbers: impl Into<String>,
        result: impl Into<String>,
    ) -> Finding {
        self.working.push(Step { formula: formula.into(), numbers: numbers.into(), result: result.into() });
        self
    }

    /// Adds a fix.
    #[must_use]
    pub fn with_fix(mut self, fix: Fix) -> Finding {
        self.fixes.push(fix);
        self
    }

    /// Says which dive and diver it is about.
    #[must_use]
    pub fn with_about(mut self, about: About) -> Finding {
        self.about = about;
        self
    }
}

/// Another place that takes part in a finding.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Related {
    /// Where.
    pub place: Place,
    /// What it has to do with the finding, in a few words.
    pub message: String,
}

/// One step of a working.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Step {
    /// The formula in the trade's symbols: `Fs = F + V(1 − F)/Q`.
    pub formula: String,
    /// The formula with its numbers put in.
    pub numbers: String,
    /// What comes out, with its unit and all its digits.
    pub result: String,
}

/// Whether a fix follows from what is written or is a proposal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum FixKind {
    /// Follows from the rest: a unit, a spelling, an order.
    Safe,
    /// A mix, a depth, a time that fits: for a person to agree to.
    Suggested,
}

/// One way to mend a finding. Never touches a measured, dated or signed fact.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Fix {
    /// What it does, in the imperative: `use cylinder "S12-07"`.
    pub title: String,
    /// Safe or suggested.
    pub kind: FixKind,
    /// What it replaces; the edits of one fix never overlap.
    pub edits: Vec<Edit>,
}

/// The dive and the diver a finding is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub struct About {
    /// The plan file.
    pub plan: Option<FileId>,
    /// The dive's name.
    pub dive: Option<String>,
    /// The diver's name.
    pub diver: Option<String>,
}

/// The waiver that covers a finding.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Waived {
    /// The written reason.
    pub because: String,
    /// The waivers themselves, where there are several: whose reason is written, and any other that covers it too.
    pub by: Vec<Place>,
}
