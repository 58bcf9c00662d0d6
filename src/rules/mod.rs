//! The rules: each looks at a plan and says what is wrong, where, why, and what would mend it.
//!
//! One rule is one file, `src/rules/<family>/<slug>.rs`, with its page beside it, and a folder of small plans that
//! must and must not raise it under `tests/rules/<slug>/`. [`TABLE`] lists them all.

mod context;
pub(crate) mod contingency;
pub(crate) mod dives;
pub(crate) mod exposure;
mod fix;
pub(crate) mod language;
pub(crate) mod mix;
mod policy;
mod rule;
mod rule_info;
pub(crate) mod runs;
pub(crate) mod say;
pub(crate) mod settings;
mod sink;
pub(crate) mod supply;
mod table;
pub(crate) mod team;
pub(crate) mod unit;
pub(crate) mod usual;

pub(crate) use policy::{Settled, apply_policy};

pub(crate) use context::{Context, Fixes, LastDive, Trees};
pub use rule::Rule;
pub(crate) use rule::{ANY_FILE, READY};
pub use rule_info::{Family, FixAvailability, RuleInfo, RuleStatus};
pub use sink::{Dives, Fact};
pub(crate) use sink::{Lacking, Looked, Sink};
pub use table::{TABLE, find};
pub(crate) use table::{info, infos};

/// Lets every rule look at a file.
pub(crate) fn look(context: &Context<'_>) -> Looked {
    let mut looked = Looked::default();
    for rule in TABLE.iter().filter(|rule| rule.looks_at(context.plan)) {
        looked.rules.push(rule.slug);
        (rule.look)(context, &mut Sink::new(rule.slug, &mut looked));
    }
    looked
}
