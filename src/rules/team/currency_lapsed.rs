//! `currency-lapsed`: a diver has not dived apparatus of the kind for months.

use std::collections::BTreeSet;

use jiff::civil::Date;
use jiff::{Span, Unit};

use crate::findings::{Level, Wording, said};
use crate::forecast::dives::DiverDive;
use crate::plan::{ApparatusKind, Diver, Maybe};
use crate::rules::dives;
use crate::rules::{Context, Family, LastDive, Rule, Sink};
use crate::source::Place;
use crate::words::LimitName;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("currency-lapsed", Family::Team, Level::Warning, include_str!("currency_lapsed.md"), look).safety();

/// A day on which the diver dived or was trained.
struct Last<'a> {
    on: Date,
    place: &'a Place,
    how: How,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum How {
    /// By a record of the diver's.
    Recorded,
    /// By a plan that was dived.
    Planned,
    /// It is the day of a training.
    Trained,
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let mut told = BTreeSet::new();
    for dive in dives::all(context) {
        let (Some(diver), Some(kind), Some(day)) = (dive.diver(), dive.kind(), dive.day()) else { continue };
        // A student is current once the course is over.
        if dive.taught().is_none() && told.insert((&dive.member.name.value, kind, dive.model())) {
            one(context, &dive, diver, kind, day, sink);
        }
    }
}

fn one(
    context: &Context<'_>,
    dive: &DiverDive<'_>,
    diver: &Diver,
    kind: ApparatusKind,
    day: Date,
    sink: &mut Sink<'_>,
) {
    let said = dive.plan.limits.held(LimitName::CurrencyMonths);
    let who = &dive.member.name;
    let is_his =
        |last: &&LastDive| last.diver == who.value && last.kind == kind && last.model.as_deref() == dive.model();
    let planned = context.practised.iter().find(is_his);
    let on_record = !diver.dived.is_empty() || planned.is_some();
    if said.place.is_none() && !on_record {
        return;
    }
    // Who was never trained for it, or on no day that is told, is another rule's.
    let planned = planned.map(|last| Last { on: last.on, place: &last.place, how: How::Planned });
    let Some(last) = last(dive, diver, day).into_iter().chain(planned).max_by_key(|last| last.on) else { return };
    let months = said.value;
    let since = day.checked_sub(Span::new().months(months as i32)).unwrap_or(Date::MIN);
    if last.on >= since {
        return;
    }
    if !on_record {
        sink.lacks(who.place.clone(), format!("`dived kind={} on=` of diver {:?}", kind.word(), who.value));
        return;
    }
    let (name, what) = (&who.value, dive.phrase(kind));
    let lately = match last.how {
        How::Trained => said!(
            "{diver} is not on record to have dived {what} since the training on {trained_on}",
            trained_on = last.on,
            diver = name,
            what = Wording(&what)
        ),
        How::Recorded | How::Planned => {
            said!("{diver} last dived {what} on {last_on}", last_on = last.on, diver = name, what = Wording(&what))
        }
    };
    let message = said!(
        "{lately}, {ago} before the dive: {most} are the most",
        ago = Wording(&between(last.on, day)),
        most = Wording(&counted(months as i64, "month")),
        lately
    )
    .with("on", day)
    .with("months", months as i64);
    let message = dives::with_model(dive, message);
    let mut finding = RULE.finding(last.place.clone(), message).with_about(dive.about());
    finding.about.dive = None;
    let what = if last.how == How::Trained { "the training" } else { "the last dive" };
    let mut finding = dives::caused(context, finding, last.place, &who.place, what);
    if let Some(on) = &dive.plan.on {
        finding = finding.with_related(on.place.clone(), "the day of the dive");
    }
    if let Some(place) = said.place {
        finding = finding.with_related(place, "the limit");
    }
    sink.find(finding);
}

/// The last day up to the plan's on which the diver dived the dive's apparatus or was trained for it.
fn last<'a>(dive: &DiverDive<'_>, diver: &'a Diver, day: Date) -> Option<Last<'a>> {
    let counts = |kind: &Maybe<ApparatusKind>, model: &Maybe<String>| {
        let model = model.as_ref().map(|model| model.value.as_str());
        kind.as_ref().is_some_and(|kind| dive.is_practised_by(kind.value, model))
    };
    let dived = diver.dived.iter().filter(|record| counts(&record.what.kind, &record.what.model));
    let trained = diver.trained.iter().filter(|record| counts(&record.what.kind, &record.what.model));
    let dived = dived.map(|record| (&record.on, How::Recorded));
    let trained = trained.map(|record| (&record.on, How::Trained));
    let all = trained.chain(dived).filter_map(|(on, how)| {
        on.as_ref().filter(|on| on.value <= day).map(|on| Last { on: on.value, place: &on.place, how })
    });
    // On the day of a training the diver dived.
    all.max_by_key(|last| last.on)
}

/// Calendar time between two days, as a sentence says it.
fn between(from: Date, to: Date) -> String {
    let span = from.until((Unit::Month, to)).unwrap_or_default();
    let months = counted(i64::from(span.get_months()), "month");
    match span.get_days() {
        0 => months,
        days => format!("{months} and {}", counted(i64::from(days), "day")),
    }
}

fn counted(number: i64, one: &str) -> String {
    format!("{number} {one}{}", if number == 1 { "" } else { "s" })
}
