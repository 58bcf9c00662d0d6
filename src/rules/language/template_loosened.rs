//! `template-loosened`: a plan allows more than the template it starts from, or than the house.

use crate::findings::{Finding, Fix, FixKind, Level, said};
use crate::physics::tolerance;
use crate::plan::Plan;
use crate::rules::{Context, Family, FixAvailability, Rule, Sink, fix, say};
use crate::source::Placed;
use crate::words::{LIMITS, LimitDef};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("template-loosened", Family::Language, Level::Warning, include_str!("template_loosened.md"), look)
        .fixes(FixAvailability::Sometimes)
        .safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan else { return };
    for limit in LIMITS {
        let template = plan.template_limits.as_ref().and_then(|limits| limits.set(limit.name));
        let house = context.scope.house.limits.set(limit.name);
        let held = plan.limits.set(limit.name);
        let (template, house, held) = (template.as_ref(), house.as_ref(), held.as_ref());
        let own = held.filter(|value| value.place.file == *context.file);
        let looser = |bound: &Placed<f64>, value: f64| {
            limit.is_looser(value, bound.value) && (value - bound.value).abs() > tolerance::WRITTEN
        };
        let found = match own {
            // Of the two that a value passes, the stricter is the one it is mended to.
            Some(value) => {
                let bounds = [(template, "the template"), (house, "the house")];
                let passed = bounds.into_iter().filter_map(|(bound, whose)| Some((bound?, whose)));
                let passed = passed.filter(|(bound, _)| looser(bound, value.value));
                let strictest = passed.reduce(|a, b| if limit.is_looser(a.0.value, b.0.value) { b } else { a });
                strictest.map(|(bound, whose)| loosened(context, limit, value, bound, whose))
            }
            None => template
                .filter(|template| held.is_none_or(|held| looser(template, held.value)))
                .and_then(|template| dropped(context, plan, limit, template)),
        };
        if let Some(found) = found {
            sink.find(found);
        }
    }
}

/// A value of the plan's that allows more than a bound.
fn loosened(context: &Context<'_>, limit: &LimitDef, value: &Placed<f64>, bound: &Placed<f64>, whose: &str) -> Finding {
    let (words, unit) = (limit.words, limit.unit());
    let (now, was) = (say::number(value.value), say::number(bound.value));
    let message =
        said!("`{words}` {now} {unit} allows more than the {was} {unit} of {whose}", words, now, unit, was, whose);
    let finding =
        RULE.finding(value.place.clone(), message).with_related(bound.place.clone(), format!("{whose}'s limit"));
    let fix =
        fix::metric(context, &value.place, bound.value, Some(unit).filter(|unit| ["m", "min", "bar"].contains(unit)));
    match fix {
        Some(edit) => finding.with_fix(Fix {
            title: format!("hold to {was} {unit}"),
            kind: FixKind::Suggested,
            edits: vec![edit],
        }),
        None => finding,
    }
}

/// A limit of the template's that is gone because the plan's own node has taken the place of the one that says it.
fn dropped(context: &Context<'_>, plan: &Plan, limit: &LimitDef, template: &Placed<f64>) -> Option<Finding> {
    let place = plan.limits.place.as_ref().filter(|place| place.file == *context.file)?;
    let word = limit.node;
    let (words, value, unit) = (limit.words, say::number(template.value), limit.unit());
    let message = said!(
        "the plan's `{word}` takes the place of the template's whole, and the template's `{words}` {value} {unit} is gone",
        word,
        words,
        value,
        unit
    );
    Some(RULE.finding(place.clone(), message).with_related(template.place.clone(), "the template's limit"))
}
