//! `not-checked`: a plan that claims to be ready leaves out a fact that a rule needs.

use crate::findings::Level;
use crate::rules::{Family, FixAvailability, Rule};

/// The rule. What it says is gathered from what the others lacked, once all have spoken.
pub(crate) const RULE: Rule =
    Rule::new("not-checked", Family::Language, Level::Warning, include_str!("not_checked.md"), |_, _| {})
        .safety()
        .fixes(FixAvailability::Sometimes)
        .at(&[crate::plan::Status::Ready]);
