//! What a rule may look at.

use std::cell::OnceCell;

use jiff::civil::Date;

use super::RuleInfo;
use crate::forecast::dives::DiverDive;
use crate::forecast::{Day, Missing, Neighbour, Simulated, SimulationCache, Timeline};
use crate::plan::{ApparatusKind, Plan, ResolveError, Scope, Waiver};
use crate::source::{FileId, Place, Span, Text};
use crate::syntax::Tree;
use crate::words::{FileKind, MOST_ERRORS, VocabularyError};

/// Everything a rule may look at: one file, what it means, and what its names mean.
#[derive(Debug)]
pub(crate) struct Context<'a> {
    /// What is known of every rule that there is.
    pub rules: &'a [&'static RuleInfo],
    /// The rule of a slug, or of one that it had before.
    pub find: fn(&str) -> Option<&'static RuleInfo>,
    /// The file.
    pub file: &'a FileId,
    /// Its kind.
    pub kind: FileKind,
    /// Its text.
    pub text: &'a Text,
    /// Its tree.
    pub tree: &'a Tree,
    /// The trees of other files, for fixes that change them.
    pub trees: &'a dyn Trees,
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
    pub runs: &'a SimulationCache,
    /// The plans whose dives lie before this one's and leave something for it.
    pub earlier: &'a [Neighbour],
    /// The other plans of the day that are ready and share a diver, a cylinder or a unit with this one.
    pub beside: &'a [Neighbour],
    /// When each of the plan's divers last dived its kind of apparatus, as far as dived plans tell.
    pub practised: &'a [LastDive],
    /// The plan's dives as they would go, once a rule has asked for one.
    pub day: OnceCell<Day<'a>>,
    /// When they are, and those around them, once a rule has asked.
    pub timeline: OnceCell<Timeline<'a>>,
    /// Which fixes are wanted.
    pub fixes: Fixes,
}

/// Whoever has the trees of an archive's files.
pub(crate) trait Trees: std::fmt::Debug {
    /// The tree of a file, if it can be read.
    fn tree(&self, file: &FileId) -> Option<Tree>;
}

impl Context<'_> {
    /// Whether the text has more errors than are said one by one.
    pub(crate) fn is_uncounted(&self) -> bool {
        self.tree.more_errors() > 0 || self.errors.len() >= MOST_ERRORS
    }
}

/// Which fixes are wanted with findings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fixes {
    /// Those that are at hand: nobody looks at them yet.
    AtHand,
    /// Those as well for which dives are tried, since somebody asked.
    Searched,
}

/// A dive that a plan of the archive tells was dived.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LastDive {
    /// Who dived.
    pub diver: String,
    /// With what kind of apparatus.
    pub kind: ApparatusKind,
    /// For whoever takes which model of it.
    pub model: Option<String>,
    /// On what day.
    pub on: Date,
    /// The plan's header.
    pub place: Place,
}

impl Context<'_> {
    /// The rule of a slug, if there is one.
    pub(crate) fn rule(&self, slug: &str) -> Option<&'static RuleInfo> {
        (self.find)(slug)
    }

    /// Whether dives may be tried for the sake of a fix.
    pub(crate) fn searches_fixes(&self) -> bool {
        self.fixes == Fixes::Searched
    }

    /// A place in the file looked at.
    pub(crate) fn here(&self, span: Span) -> Place {
        Place::new(self.file.clone(), span)
    }
}

impl<'a> Context<'a> {
    /// A diver's dive as it would go, with what the dives before it leave behind; or the facts without which nobody can
    /// say.
    ///
    /// # Errors
    /// The facts that are lacking; none where another rule speaks of the cause.
    pub(crate) fn simulate(&self, dive: &DiverDive<'a>) -> Result<Simulated<'a>, Vec<Missing>> {
        self.the_day().dive(dive)
    }

    /// Another dive in a dive's place, with what the dives before leave behind: what a fix would make of it.
    ///
    /// # Errors
    /// The facts that lack of either; none where another rule speaks of the cause.
    pub(crate) fn simulate_instead<'b>(
        &self,
        dive: &DiverDive<'_>,
        other: &DiverDive<'b>,
    ) -> Result<Simulated<'b>, Vec<Missing>> {
        self.the_day().instead(self.scope, self.runs, dive, other)
    }

    /// When the plan's dives are, those before them and those beside them.
    pub(crate) fn timeline(&self) -> &Timeline<'a> {
        self.timeline.get_or_init(|| self.the_day().timeline(self.runs, self.beside))
    }

    fn the_day(&self) -> &Day<'a> {
        self.day.get_or_init(|| {
            self.plan.map(|plan| Day::of(self.scope, self.runs, plan, self.earlier)).unwrap_or_default()
        })
    }
}
