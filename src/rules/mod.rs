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
pub mod limits;
pub mod mix;
mod policy;
mod rule;
pub mod runs;
pub mod say;
pub mod settings;
mod sink;
pub mod supply;
pub mod team;
pub mod unit;

pub use policy::{Settled, Use, apply_policy};

pub use context::{Context, LastDive};
pub use rule::{ANY_FILE, ANY_STATUS, Family, FixAvailability, READY, Rule, RuleStatus, TO_DIVE};
pub use sink::{Lacking, Looked, Sink};

/// Lets every rule look at a file.
pub fn look(context: &Context<'_>) -> Looked {
    let mut looked = Looked::default();
    for rule in TABLE.iter().filter(|rule| rule.looks_at(context.plan)) {
        looked.rules.push(rule.slug);
        (rule.look)(context, &mut Sink::new(rule, &mut looked));
    }
    looked
}

/// The rule of a slug; a slug that was renamed finds the rule's new name.
pub fn find(slug: &str) -> Option<&'static Rule> {
    let slug = RENAMED.iter().find(|(old, _)| *old == slug).map_or(slug, |(_, new)| new);
    TABLE.iter().find(|rule| rule.slug == slug)
}

/// Old slugs and the ones that took their place; a line here stays for ever.
const RENAMED: &[(&str, &str)] = &[];

/// Every rule, in the catalogue's order.
pub static TABLE: &[Rule] = &[
    language::syntax::RULE,
    language::unknown_word::RULE,
    language::misplaced::RULE,
    language::missing_value::RULE,
    language::wrong_type::RULE,
    language::unit_mismatch::RULE,
    language::out_of_range::RULE,
    language::duplicate_name::RULE,
    language::duplicate_property::RULE,
    language::unresolved_name::RULE,
    language::unused_definition::RULE,
    language::use_cycle::RULE,
    language::use_outside::RULE,
    language::template_gap::RULE,
    language::template_loosened::RULE,
    language::waiver_without_reason::RULE,
    language::waiver_unused::RULE,
    language::waiver_refused::RULE,
    language::date_invalid::RULE,
    language::not_checked::RULE,
    mix::mix_below_minimum::RULE,
    mix::set_point_unreachable::RULE,
    mix::loop_below_floor::RULE,
    mix::ascent_hypoxia::RULE,
    mix::mod_exceeded::RULE,
    mix::po2_low::RULE,
    mix::po2_high::RULE,
    mix::no_mix_fits::RULE,
    mix::diluent_too_rich::RULE,
    mix::gas_dense::RULE,
    mix::narcosis_deep::RULE,
    mix::analysis_missing::RULE,
    mix::analysis_stale::RULE,
    mix::analysis_differs::RULE,
    mix::mix_impossible::RULE,
    mix::counterdiffusion::RULE,
    mix::switch_too_deep::RULE,
    supply::endurance_short::RULE,
    supply::bailout_short::RULE,
    supply::turn_pressure::RULE,
    supply::descent_outruns_make_up::RULE,
    supply::overfilled::RULE,
    supply::underfilled::RULE,
    supply::bailout_not_independent::RULE,
    supply::bailout_hypoxic::RULE,
    supply::reserve_missing::RULE,
    supply::shared_ascent_short::RULE,
    supply::bailout_mod::RULE,
    exposure::never_surfaces::RULE,
    exposure::depth_exceeded::RULE,
    exposure::oxygen_clock::RULE,
    exposure::oxygen_units::RULE,
    exposure::ascent_fast::RULE,
    exposure::descent_fast::RULE,
    exposure::gradient_missing::RULE,
    exposure::interval_short::RULE,
    exposure::reverse_profile::RULE,
    exposure::altitude_not_acclimatised::RULE,
    exposure::no_stop_exceeded::RULE,
    exposure::decompression_long::RULE,
    exposure::ceiling_broken::RULE,
    exposure::stop_missing::RULE,
    exposure::flight_too_soon::RULE,
    unit::cell_expired::RULE,
    unit::cell_weak::RULE,
    unit::cell_disagrees::RULE,
    unit::cell_current_limited::RULE,
    unit::cell_unproven::RULE,
    unit::cells_too_few::RULE,
    unit::cells_same_age::RULE,
    unit::calibration_stale::RULE,
    unit::feed_flow_unmeasured::RULE,
    unit::feed_flow_off::RULE,
    unit::battery_low::RULE,
    unit::absorbent_short::RULE,
    unit::absorbent_order::RULE,
    unit::absorbent_old::RULE,
    unit::absorbent_rating_implausible::RULE,
    unit::cold_outside_unit::RULE,
    unit::pre_breathe_missing::RULE,
    unit::service_due::RULE,
    unit::cylinder_test_due::RULE,
    unit::oxygen_clean_due::RULE,
    unit::unit_incomplete::RULE,
    team::training_short::RULE,
    team::rates_inconsistent::RULE,
    team::fitness_expired::RULE,
    team::currency_lapsed::RULE,
    team::supervision_ratio::RULE,
    team::kit_clash::RULE,
    team::buddy_mismatch::RULE,
    team::emergency_missing::RULE,
    team::emergency_oxygen_short::RULE,
    team::preparation_open::RULE,
    team::preparation_order::RULE,
    team::preparation_stale::RULE,
    team::preparation_out_of_range::RULE,
    contingency::contingency_uncovered::RULE,
];
