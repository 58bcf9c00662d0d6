//! The figures of a cylinder, a unit and a diver, each with its working: what a hover shows.
//!
//! They hold for a plan's day and place where there is one, else for the last records at sea level, and say which.

mod cylinder;
mod diver;
pub(crate) mod leg;
mod unit;

use std::borrow::Cow;
use std::fmt::Write as _;

use jiff::civil::Date;

use crate::CAUTION;
use crate::findings::Step;
use crate::forecast::dives::{self, DiverDive};
use crate::forecast::{Day, Neighbour, Simulated, SimulationCache};
use crate::physics::litres::FREE_C;
use crate::physics::pressure::{ATMOSPHERE_BAR, Water};
use crate::plan::lower::ThingKind;
use crate::plan::{Carried, Dated, Limits, Plan, Scope, TeamMember, as_of};
use crate::source::Place;
use crate::source::clean::clean;

/// The figures of one thing.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Figures {
    /// The thing: `cylinder "S12-04"`.
    pub title: String,
    /// What the figures hold for.
    pub when: String,
    /// The figures, the most asked for first.
    pub rows: Vec<Figure>,
}

/// One figure.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Figure {
    /// What it is.
    pub label: String,
    /// Its value with its unit, rounded the safe way.
    pub value: String,
    /// How it was worked out, with all its digits; empty for what is merely written somewhere.
    pub working: Vec<Step>,
}

impl Figure {
    fn new(label: impl Into<String>, value: impl Into<String>) -> Figure {
        Figure { label: label.into(), value: value.into(), working: Vec::new() }
    }

    fn with_step(
        mut self,
        formula: impl Into<String>,
        numbers: impl Into<String>,
        result: impl Into<String>,
    ) -> Figure {
        self.working.push(Step { formula: formula.into(), numbers: numbers.into(), result: result.into() });
        self
    }
}

/// What figures are worked out for: a plan's day, water and limits, and a diver's part in a dive, as far as there are.
#[derive(Debug, Clone)]
pub(crate) struct Scene<'a> {
    scope: &'a Scope,
    plan: Option<&'a Plan>,
    limits: Limits,
    dive: Option<DiverDive<'a>>,
    carried: Option<&'a Carried>,
    /// The dive as it would go, where it is asked for and nothing lacks.
    simulated: Option<Simulated<'a>>,
}

impl<'a> Scene<'a> {
    /// The scene of a thing as it is named at `at`: in the plan's dive that it is named in, else in the first that takes
    /// it.
    pub(crate) fn of(scope: &'a Scope, plan: Option<&'a Plan>, kind: ThingKind, name: &str, at: &Place) -> Scene<'a> {
        let house = &scope.house.limits;
        let limits = plan.map_or_else(|| house.clone(), |plan| plan.limits.clone().or(house));
        let carried = |member: &'a TeamMember| {
            let named = |carried: &&Carried| carried.name.value == name;
            let here = member.cylinders.iter().filter(named).find(|carried| carried.name.place == *at);
            here.or_else(|| member.cylinders.iter().find(named))
        };
        let takes = |dive: &DiverDive<'a>| match kind {
            ThingKind::Cylinder => carried(dive.member).is_some(),
            ThingKind::Unit => dive.member.unit_name.as_ref().is_some_and(|unit| unit.value == name),
            ThingKind::Diver => dive.member.name.value == name,
            ThingKind::Canister | ThingKind::Site | ThingKind::Routine | ThingKind::Course => false,
        };
        let is_here =
            |dive: &DiverDive<'a>| dive.member.whole.file == at.file && dive.member.whole.span.contains(at.span);
        let all: Vec<DiverDive<'a>> = plan.map(dives::of).unwrap_or_default().into_iter().filter(takes).collect();
        let dive = all.iter().find(|dive| is_here(dive)).or(all.first()).copied();
        let carried = dive.and_then(|dive| carried(dive.member)).filter(|_| kind == ThingKind::Cylinder);
        Scene { scope, plan, limits, dive, carried, simulated: None }
    }

    /// The same with the dive run.
    #[must_use]
    pub(crate) fn with_runs(self, runs: &SimulationCache, earlier: &'a [Neighbour]) -> Scene<'a> {
        let day = self.plan.map(|plan| Day::of(self.scope, runs, plan, earlier));
        let simulated = day.zip(self.dive).and_then(|(day, dive)| day.dive(&dive).ok());
        Scene { simulated, ..self }
    }

    /// The figures of a thing; `None` where nothing in sight defines it, or none are known of its kind.
    pub(crate) fn figures(&self, kind: ThingKind, name: &str) -> Option<Figures> {
        let rows = match kind {
            ThingKind::Cylinder => cylinder::rows(self, self.scope.cylinders.get(name)?),
            ThingKind::Unit => unit::rows(self, self.scope.units.get(name)?),
            ThingKind::Diver => diver::rows(self, self.scope.divers.get(name)?),
            ThingKind::Canister | ThingKind::Site | ThingKind::Routine | ThingKind::Course => return None,
        };
        Some(Figures { title: format!("{kind} {name:?}"), when: self.when(), rows })
    }

    fn when(&self) -> String {
        let day = match self.plan_day() {
            Some(day) => format!("on {day}"),
            None => "by its last records, since nothing here says the day".to_owned(),
        };
        match &self.dive {
            Some(dive) => format!("{day}, dive {:?}, diver {:?}", dive.dive.name.value, dive.member.name.value),
            None => format!("{day}, at sea level, since no dive here takes it"),
        }
    }

    fn plan_day(&self) -> Option<Date> {
        self.plan?.on.as_ref().map(|on| on.value)
    }

    /// The record that holds: on the plan's day, else the last there is.
    fn record<'r, T>(&self, records: &'r [Dated<T>]) -> Option<&'r Dated<T>> {
        as_of(records, self.plan_day().unwrap_or(Date::MAX))
    }

    fn water(&self) -> Water {
        self.dive.map_or_else(|| Water::by_instrument(ATMOSPHERE_BAR), |dive| dive.water())
    }

    fn water_c(&self) -> f64 {
        self.dive.map_or(FREE_C, |dive| dive.water_c())
    }
}

impl Figures {
    /// The figures in Markdown, with their working. Whoever shows them shows [`caution`] below.
    pub(crate) fn markdown(&self) -> String {
        let mut page = format!("**{}**, {}\n\n", escaped(&self.title), escaped(&self.when));
        for row in &self.rows {
            let _ = writeln!(page, "- {}: **{}**", escaped(&row.label), escaped(&row.value));
            page += &working(&row.working, "  ");
        }
        page
    }
}

/// The caution in Markdown, for the end of a page with figures.
pub(crate) fn caution() -> String {
    format!("*{CAUTION}*\n")
}

/// A working in Markdown, a list item a step.
pub(crate) fn working(steps: &[Step], indent: &str) -> String {
    let mut list = String::new();
    for step in steps {
        let (formula, numbers, result) = (escaped(&step.formula), escaped(&step.numbers), escaped(&step.result));
        let _ = writeln!(list, "{indent}- {formula}: {numbers} → {result}");
    }
    list
}

/// Text as Markdown prints it, whatever is in it: nothing in it is markup, leads anywhere, or can't be seen.
pub(crate) fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for (at, char) in text.char_indices() {
        let (before, after) = text.split_at(at);
        // Addresses are made links of by whoever shows the page, unless what makes them such is escaped.
        let leads = match char {
            ':' => after.starts_with(":/"),
            '.' => before.get(before.len().saturating_sub(3)..).is_some_and(|www| www.eq_ignore_ascii_case("www")),
            _ => char == '@',
        };
        match char {
            '\n' | '\r' => escaped.push(' '),
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '#' | '~' | '&' => escaped.extend(['\\', char]),
            _ if leads => escaped.extend(['\\', char]),
            _ => escaped.push(char),
        }
    }
    match clean(&escaped) {
        Cow::Borrowed(_) => escaped,
        // What is shown in the place of a character is in angle brackets.
        Cow::Owned(clean) => clean.replace("<U+", "\\<U+"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_a_text_is_markup_or_leads_anywhere() {
        assert_eq!(escaped("m³ at 1.5 bar: 3*4"), "m³ at 1.5 bar: 3\\*4");
        assert_eq!(escaped("https://a.b WWW.c x@y.z"), "https\\://a.b WWW\\.c x\\@y.z");
        assert_eq!(escaped("[a](b)\u{1b}[2J\u{202e}\n"), "\\[a\\](b)␛\\[2J\\<U+202E> ");
    }
}
