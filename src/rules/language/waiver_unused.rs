//! `waiver-unused`: an `allow` that covers no finding.

use crate::findings::Level;
use crate::rules::{ANY_FILE, Family, FixAvailability, Rule};

/// The rule. What it says is known only once all others have spoken, so `waivers::unused` says it then.
pub(crate) const RULE: Rule =
    Rule::new("waiver-unused", Family::Language, Level::Warning, include_str!("waiver_unused.md"), |_, _| {})
        .fixes(FixAvailability::Always)
        .never_waived()
        .at(ANY_FILE);
