//! `waiver-refused`: an `allow`, or a lowered level, for a rule that can't be waived or that there isn't.

use crate::findings::{Finding, Fix, FixKind, Level};
use crate::plan::Waiver;
use crate::rules::{Family, Look, Mends, Out, Rule, TABLE, Use, find, mend};
use crate::source::{Edit, Place, Placed};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "waiver-refused",
    family: Family::Language,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: false,
    safety: true,
    statuses: &[],
    page: include_str!("waiver_refused.md"),
    look,
};

fn look(at: &Look<'_>, out: &mut Out<'_>) {
    for waiver in at.waivers {
        match find(&waiver.rule) {
            None => unknown(at, (&waiver.rule, &waiver.place, "waiver"), "waives", out),
            Some(rule) if !rule.waivable => {
                let message = format!("{} can't be waived: change the plan until it is no longer raised", rule.slug);
                let fix = mend::take_out(at, &waiver.place, "waiver", FixKind::Safe);
                out.find(RULE.finding(waiver.rule.place.clone(), message).with_fix(fix));
            }
            Some(_) => {}
        }
    }
    for level in at.scope.house.levels.iter().filter(|level| level.place.file == *at.file) {
        match find(&level.rule) {
            None => unknown(at, (&level.rule, &level.place, "level"), "sets the level of", out),
            Some(rule) if !rule.waivable && level.level.value < rule.level => {
                let message = format!("{} can't be lowered: it stays {}", rule.slug, rule.level.word());
                let fix = mend::take_out(at, &level.place, "level", FixKind::Safe);
                out.find(RULE.finding(level.level.place.clone(), message).with_fix(fix));
            }
            Some(_) => {}
        }
    }
}

/// The findings about waivers that meet only what can't be waived, though their rule can.
pub fn faults(at: &Look<'_>, used: &[Use]) -> Vec<Finding> {
    let refused = at.waivers.iter().zip(used).filter(|(_, used)| **used == Use::Refused);
    let said = |waiver: &Waiver| format!("{} can't be waived here: it is past what any waiver may cover", *waiver.rule);
    let finding = |waiver: &Waiver| {
        let fix = mend::take_out(at, &waiver.place, "waiver", FixKind::Safe);
        RULE.finding(waiver.rule.place.clone(), said(waiver)).with_fix(fix)
    };
    refused.map(|(waiver, _)| finding(waiver)).collect()
}

fn unknown(at: &Look<'_>, (slug, node, what): (&Placed<String>, &Place, &str), does: &str, out: &mut Out<'_>) {
    let mut finding =
        RULE.finding(slug.place.clone(), format!("{does} {:?}, but there is no rule of that name", **slug));
    let nearest = words::nearest(slug, TABLE.iter().map(|rule| rule.slug));
    if let Some(nearest) = nearest {
        finding.message = format!("{}: did you mean {:?}?", finding.message, nearest);
        finding = finding.with_fix(Fix {
            title: format!("write {:?}", nearest),
            kind: FixKind::Suggested,
            edits: vec![Edit { place: slug.place.clone(), text: format!("{:?}", nearest) }],
        });
    }
    out.find(finding.with_fix(mend::take_out(at, node, what, FixKind::Suggested)));
}
