//! The rules: each looks at a plan and says what is wrong, where, why, and what would mend it.
//!
//! One rule is one file, `src/rules/<family>/<slug>.rs`, with its page beside it, and a folder of small plans that
//! must and must not raise it under `tests/rules/<slug>/`. [`TABLE`] lists them all.

mod context;
pub mod contingency;
pub mod dives;
pub mod exposure;
mod fix;
pub mod language;
pub mod mix;
mod policy;
mod rule;
pub mod runs;
pub mod say;
pub mod settings;
mod sink;
pub mod supply;
mod table;
pub mod team;
pub mod unit;

pub use policy::{Settled, apply_policy};

pub use context::{Context, LastDive};
pub use rule::{ANY_FILE, ANY_STATUS, Family, FixAvailability, READY, Rule, RuleStatus, TO_DIVE};
pub use sink::{Dives, Fact, Lacking, Looked, Sink};
pub use table::{TABLE, find};

/// Lets every rule look at a file.
pub fn look(context: &Context<'_>) -> Looked {
    let mut looked = Looked::default();
    for rule in TABLE.iter().filter(|rule| rule.looks_at(context.plan)) {
        looked.rules.push(rule.slug);
        (rule.look)(context, &mut Sink::new(rule, &mut looked));
    }
    looked
}
