//! The rules: each looks at a plan and says what is wrong, where, why, and what would mend it.
//!
//! One rule is one file, `src/rules/<family>/<slug>.rs`, with its page beside it, and a folder of small plans that
//! must and must not raise it under `tests/rules/<slug>/`. [`TABLE`] lists them all.

pub mod contingency;
pub mod dives;
pub mod exposure;
mod fix;
pub mod inputs;
pub mod language;
pub mod limits;
pub mod mix;
mod policy;
pub mod runs;
pub mod say;
pub mod settings;
pub mod supply;
pub mod team;
pub mod unit;

pub use policy::{Settled, Use, apply_policy};

use std::cell::OnceCell;

use crate::findings::{Finding, Level};
use jiff::civil::Date;

use crate::plan::{ApparatusKind, Plan, Scope, Status, Waiver};
use crate::source::{FileId, Place, Span, Text};
use crate::syntax::Tree;
use crate::words::{FileKind, VocabularyError};

/// A family of rules, one of the catalogue's chapters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Family {
    Language,
    Mix,
    Supply,
    Exposure,
    Unit,
    Team,
    Archive,
    Contingency,
}

/// Whether a rule's findings come with fixes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FixAvailability {
    /// Never.
    None,
    /// Where one follows from the text or fits the plan.
    Sometimes,
    /// Always.
    Always,
}

/// How far a rule may be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RuleStatus {
    /// New: its level, its message and what it looks at may still change.
    Preview,
    /// What it says changes only with a word in the list of changes.
    Stable,
    /// Kept so that waivers and levels that name it still mean something; it will go.
    Deprecated,
}

/// A rule as the table knows it: [`Rule::new`] has what every rule says, the methods after it what is special of some.
#[derive(Debug)]
pub struct Rule {
    /// Its name, for ever.
    pub slug: &'static str,
    /// Its chapter.
    pub family: Family,
    /// Its level unless the house or the rule itself says another.
    pub level: Level,
    /// The version that brought it.
    pub since: &'static str,
    /// How far it may be relied on.
    pub status: RuleStatus,
    /// Whether its findings come with fixes.
    pub fixes: FixAvailability,
    /// Whether `allow` may waive it.
    pub waivable: bool,
    /// Whether lowering it needs a written reason.
    pub safety: bool,
    /// The statuses of a plan it looks at; empty for rules about text, which look at any file.
    pub statuses: &'static [Status],
    /// Its page, in Markdown.
    pub page: &'static str,
    /// What looks.
    pub look: fn(&Context<'_>, &mut Sink<'_>),
}

/// The version that brought the first rules.
const FIRST_VERSION: &str = "0.1.0";

impl Rule {
    /// A stable rule of the first version, without fixes, that anybody may lower or waive, for plans that are still to be
    /// dived. `page` is its page in Markdown, `look` what looks.
    pub const fn new(
        slug: &'static str,
        family: Family,
        level: Level,
        page: &'static str,
        look: fn(&Context<'_>, &mut Sink<'_>),
    ) -> Rule {
        Rule {
            slug,
            family,
            level,
            since: FIRST_VERSION,
            status: RuleStatus::Stable,
            fixes: FixAvailability::None,
            waivable: true,
            safety: false,
            statuses: TO_DIVE,
            page,
            look,
        }
    }

    /// The rule with findings that come with fixes.
    pub const fn fixes(self, fixes: FixAvailability) -> Rule {
        Rule { fixes, ..self }
    }

    /// The rule as one that the house lowers only with a written reason.
    pub const fn safety(self) -> Rule {
        Rule { safety: true, ..self }
    }

    /// The rule as one that nothing waives or lowers.
    pub const fn never_waived(self) -> Rule {
        Rule { waivable: false, ..self }
    }

    /// The rule for plans of some statuses; [`ANY_FILE`] for any file.
    pub const fn at(self, statuses: &'static [Status]) -> Rule {
        Rule { statuses, ..self }
    }

    /// The rule as one that a later version brought, and how far it may be relied on.
    pub const fn since(self, version: &'static str, status: RuleStatus) -> Rule {
        Rule { since: version, status, ..self }
    }
}

/// Everything a rule may look at: one file, what it means, and what its names mean.
#[derive(Debug)]
pub struct Context<'a> {
    /// The file.
    pub file: &'a FileId,
    /// Its kind.
    pub kind: FileKind,
    /// Its text.
    pub text: &'a Text,
    /// Its tree.
    pub tree: &'a Tree,
    /// What doesn't fit the vocabulary.
    pub errors: &'a [VocabularyError],
    /// What can't be resolved: names, uses, templates.
    pub links: &'a [ResolveError],
    /// The waivers that the file itself holds.
    pub waivers: &'a [Waiver],
    /// The plan, if the file holds one.
    pub plan: Option<&'a Plan>,
    /// What names mean here.
    pub scope: &'a Scope,
    /// The dives that were run of late.
    pub runs: &'a inputs::SimulationCache,
    /// The plans whose dives lie before this one's and leave something for it.
    pub earlier: &'a [inputs::Earlier],
    /// The other plans of the day that are ready and share a diver, a cylinder or a unit with this one.
    pub beside: &'a [inputs::Earlier],
    /// When each of the plan's divers last dived its kind of apparatus, as far as dived plans tell.
    pub practised: &'a [LastDive],
    /// The plan's dives as they would go, once a rule has asked for one.
    pub day: OnceCell<inputs::Day<'a>>,
}

/// A dive that a plan of the archive tells was dived.
#[derive(Debug, Clone, PartialEq)]
pub struct LastDive {
    /// Who dived.
    pub diver: String,
    /// With what kind of apparatus.
    pub kind: ApparatusKind,
    /// On what day.
    pub on: Date,
    /// The plan's header.
    pub place: Place,
}

/// Something that the archive could not resolve. A rule of the Language family turns it into a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct ResolveError {
    /// Which rule raises it.
    pub kind: ResolveErrorKind,
    /// How grave it is.
    pub level: Level,
    /// Where.
    pub place: Place,
    /// What is wrong.
    pub message: String,
    /// Other places that take part.
    pub related: Vec<(Place, String)>,
    /// What could stand there instead, likeliest first, as text to write.
    pub instead: Vec<String>,
    /// The path of a file that would mend it if this one used it.
    pub bring: Option<String>,
}

/// The kinds of resolve error.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ResolveErrorKind {
    /// A name that nothing in sight defines.
    UnresolvedName,
    /// A definition in a plan that nothing uses.
    UnusedDefinition,
    /// Files that use each other in a ring, or templates that do.
    UseCycle,
    /// A path out of the root, or to nothing.
    UseOutside,
    /// Two files in sight define one name.
    DuplicateName,
}

/// Where a rule puts what it says.
#[derive(Debug)]
pub struct Sink<'a> {
    rule: &'a Rule,
    looked: &'a mut Looked,
}

/// A fact that a rule needs and doesn't find.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Lacking {
    /// Where the fact would stand, or what lacks it.
    pub place: Place,
    /// The fact, as a writer would add it: `` `needs o2=` of unit "fen-3" ``.
    pub fact: String,
    /// The rule that could not look.
    pub rule: &'static str,
}

/// What all rules said of one file, before waivers and the house's levels.
#[derive(Debug, Default)]
pub struct Looked {
    /// What they found, in the table's order.
    pub findings: Vec<Finding>,
    /// What they could not look at.
    pub lacking: Vec<Lacking>,
    /// The rules that looked.
    pub rules: Vec<&'static str>,
}

impl Rule {
    /// A finding of this rule at its own level.
    pub fn finding(&self, place: Place, message: impl Into<String>) -> Finding {
        Finding::new(self.slug, self.level, place, message)
    }

    /// Whether the rule looks at a file at all: rules about text look at any, the others at plans of their statuses.
    pub fn looks_at(&self, plan: Option<&Plan>) -> bool {
        self.statuses.is_empty() || plan.is_some_and(|plan| self.statuses.contains(&plan.status))
    }
}

impl Context<'_> {
    /// A place in the file looked at.
    pub fn here(&self, span: Span) -> Place {
        Place::new(self.file.clone(), span)
    }
}

impl Sink<'_> {
    /// Says a finding.
    pub fn find(&mut self, finding: Finding) {
        debug_assert_eq!(finding.rule, self.rule.slug);
        self.looked.findings.push(finding);
    }

    /// Says that a fact is missing, so that this rule could not look at something.
    pub fn lacks(&mut self, place: Place, fact: impl Into<String>) {
        self.looked.lacking.push(Lacking { place, fact: fact.into(), rule: self.rule.slug });
    }
}

/// Lets every rule look at a file.
pub fn look(context: &Context<'_>) -> Looked {
    let mut looked = Looked::default();
    for rule in TABLE.iter().filter(|rule| rule.looks_at(context.plan)) {
        looked.rules.push(rule.slug);
        (rule.look)(context, &mut Sink { rule, looked: &mut looked });
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

/// Statuses of plans that are still to be dived, templates among them.
pub const TO_DIVE: &[Status] = &[Status::Template, Status::Draft, Status::Ready];

/// No plan's statuses: for rules about text, which look at any file.
pub const ANY_FILE: &[Status] = &[];

/// Plans that claim to be ready: for duties that only the day itself can fulfil.
pub const READY: &[Status] = &[Status::Ready];

/// Every status: for rules that look at what a plan is, not at what it does.
pub const ANY_STATUS: &[Status] = &[Status::Template, Status::Draft, Status::Ready, Status::Dived];

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
