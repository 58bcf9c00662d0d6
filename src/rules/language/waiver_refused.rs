//! `waiver-refused`: an `allow`, or a lowered level, for a rule that can't be waived or that there isn't.

use crate::findings::{Fix, FixKind, Level, Wording, said};
use crate::rules::{ANY_FILE, Context, Family, FixAvailability, Rule, Sink, fix};
use crate::source::{Edit, Place, Placed};
use crate::words;

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("waiver-refused", Family::Language, Level::Error, include_str!("waiver_refused.md"), look)
        .fixes(FixAvailability::Sometimes)
        .never_waived()
        .safety()
        .at(ANY_FILE);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for waiver in context.waivers {
        match context.rule(&waiver.rule) {
            None => unknown(context, (&waiver.rule, &waiver.place, "waiver"), "waives", sink),
            Some(rule) if !rule.waivable => {
                let message =
                    said!("{rule} can't be waived: change the plan until it is no longer raised", rule = rule.slug);
                let fix = fix::take_out(context.text, &waiver.place, "waiver", FixKind::Safe);
                sink.find(RULE.finding(waiver.rule.place.clone(), message).with_fix(fix));
            }
            Some(_) => {}
        }
    }
    for level in context.scope.house.levels.iter().filter(|level| level.place.file == *context.file) {
        match context.rule(&level.rule) {
            None => unknown(context, (&level.rule, &level.place, "level"), "sets the level of", sink),
            Some(rule) if !rule.waivable && level.level.value < rule.level => {
                let message =
                    said!("{rule} can't be lowered: it stays {level}", rule = rule.slug, level = rule.level.word());
                let fix = fix::take_out(context.text, &level.place, "level", FixKind::Safe);
                sink.find(RULE.finding(level.level.place.clone(), message).with_fix(fix));
            }
            Some(_) => {}
        }
    }
}

fn unknown(
    context: &Context<'_>,
    (slug, node, what): (&Placed<String>, &Place, &str),
    does: &str,
    sink: &mut Sink<'_>,
) {
    let mut finding = RULE
        .finding(slug.place.clone(), said!("{does} {rule:?}, but there is no rule of that name", rule = **slug, does));
    let nearest = words::nearest(slug, context.rules.iter().map(|rule| rule.slug));
    if let Some(nearest) = nearest {
        finding.say_more(said!(": did you mean {nearest:?}?", nearest = Wording(nearest)));
        finding = finding.with_fix(Fix {
            title: format!("write {:?}", nearest),
            kind: FixKind::Suggested,
            edits: vec![Edit { place: slug.place.clone(), text: format!("{:?}", nearest) }],
        });
    }
    sink.find(finding.with_fix(fix::take_out(context.text, node, what, FixKind::Suggested)));
}
