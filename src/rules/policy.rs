//! What stands of what the rules said: the house's levels, waivers, and what could not be checked.

use std::collections::BTreeMap;

use super::{Context, Lacking, Looked, Rule, find};
use crate::findings::{Finding, Waived};
use crate::plan::{HouseLevel, Status, Waiver};
use crate::source::Place;

/// What a check of one file says, in document order.
#[derive(Debug, Clone, Default)]
pub struct Settled {
    /// The findings, waived ones included.
    pub findings: Vec<Finding>,
    /// The rules that looked, in the table's order.
    pub looked: Vec<&'static str>,
    /// The rules that lacked a fact, in order of name.
    pub lacking: Vec<&'static str>,
    /// Safety rules that the house has lowered, with its reason.
    pub lowered: Vec<String>,
}

/// Applies levels and waivers to what the rules said, and says itself what could not be checked and which waivers
/// are no good.
pub fn apply_policy(context: &Context<'_>, looked: Looked) -> Settled {
    let Looked { mut findings, lacking, rules } = looked;
    let not_checked = not_checked(context, &lacking, &findings);
    findings.extend(not_checked);
    let mut lowered = Vec::new();
    for level in &context.scope.house.levels {
        if let Some(said) = apply_level(level, &mut findings) {
            lowered.push(said);
        }
    }
    let used = apply_waivers(context, &mut findings);
    findings.extend(super::language::waiver_unused::errors(context, &used));
    findings.extend(super::language::waiver_refused::errors(context, &used));
    findings.sort_by(|a, b| {
        let key = |f: &Finding| (f.place.span.start, std::cmp::Reverse(f.level), f.place.span.end);
        key(a).cmp(&key(b)).then_with(|| a.rule.cmp(&b.rule)).then_with(|| a.message.cmp(&b.message))
    });
    findings.dedup();
    let mut lacking: Vec<_> = lacking.into_iter().map(|lacking| lacking.rule).collect();
    lacking.sort_unstable();
    lacking.dedup();
    Settled { findings, looked: rules, lacking, lowered }
}

/// One finding for each missing fact, with the rules that wait for it; only a plan that claims to be ready is held
/// to completeness.
fn not_checked(context: &Context<'_>, lacking: &[Lacking], findings: &[Finding]) -> Vec<Finding> {
    if context.plan.is_none_or(|plan| plan.status != Status::Ready) {
        return Vec::new();
    }
    // That no gradient is given is said once.
    let no_gradient = findings.iter().any(|finding| finding.rule == super::exposure::gradient_missing::RULE.slug);
    let mut facts: BTreeMap<(&Place, &str), Vec<&str>> = BTreeMap::new();
    for lacking in lacking.iter().filter(|lacking| !(no_gradient && lacking.fact == super::runs::GRADIENT)) {
        let rules = facts.entry((&lacking.place, &lacking.fact)).or_default();
        if !rules.contains(&lacking.rule) {
            rules.push(lacking.rule);
        }
    }
    let rule = &super::language::not_checked::RULE;
    facts
        .into_iter()
        .map(|((place, fact), rules)| {
            let rules = rules.join(", ");
            rule.finding(place.clone(), format!("not checked for want of {fact}: {rules}"))
        })
        .collect()
}

/// Sets the level of one rule's findings; says so when a safety rule is lowered.
fn apply_level(level: &HouseLevel, findings: &mut [Finding]) -> Option<String> {
    let rule = find(&level.rule)?;
    if is_refused(level, rule) {
        return None;
    }
    let lowers = level.level.value < rule.level;
    for finding in findings.iter_mut().filter(|finding| finding.rule == rule.slug && !(lowers && finding.stands)) {
        finding.level =
            if lowers { finding.level.min(level.level.value) } else { finding.level.max(level.level.value) };
    }
    let word = level.level.value.word();
    (lowers && rule.safety)
        .then(|| format!("{} is lowered to {word} by the house: {}", rule.slug, reason(level).unwrap_or_default()))
}

/// Whether a level that the house sets for a rule does nothing: it lowers what can't be, or does not say why it may.
pub(super) fn is_refused(level: &HouseLevel, rule: &Rule) -> bool {
    level.level.value < rule.level && (!rule.waivable || (rule.safety && reason(level).is_none()))
}

fn reason(level: &HouseLevel) -> Option<&str> {
    level.because.as_ref().map(|because| because.value.trim()).filter(|because| !because.is_empty())
}

/// What became of a waiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Use {
    /// It covers nothing.
    Nothing,
    /// All that it would cover can't be waived.
    Refused,
    /// It covers something.
    Covers,
}

/// Marks what the waivers in sight cover, and returns what became of the file's own ones.
fn apply_waivers(context: &Context<'_>, findings: &mut [Finding]) -> Vec<Use> {
    let mut used = vec![Use::Nothing; context.waivers.len()];
    for (waiver, used) in context.waivers.iter().zip(&mut used) {
        *used = cover(waiver, findings, |finding| covers(&waiver.scope, finding));
    }
    for waiver in context.scope.waivers.iter().filter(|waiver| waiver.place.file != *context.file) {
        cover(waiver, findings, |finding| covers(&waiver.scope, finding));
    }
    for waiver in context.scope.house.waivers.iter().filter(|waiver| waiver.place.file != *context.file) {
        cover(waiver, findings, |_| true);
    }
    used
}

/// Whether a finding stands in the waiver's scope, or is caused by something there.
fn covers(scope: &Place, finding: &Finding) -> bool {
    let inside = |place: &Place| place.file == scope.file && scope.span.contains(place.span);
    inside(&finding.place) || finding.related.iter().any(|related| inside(&related.place))
}

/// Marks the findings that a good waiver covers.
fn cover(waiver: &Waiver, findings: &mut [Finding], covers: impl Fn(&Finding) -> bool) -> Use {
    let Some(rule) = find(&waiver.rule).filter(|rule| rule.waivable) else { return Use::Nothing };
    let Some(because) = waiver.reason() else { return Use::Nothing };
    let mut used = Use::Nothing;
    for finding in findings.iter_mut().filter(|finding| finding.rule == rule.slug && covers(finding)) {
        if finding.stands {
            used = used.max(Use::Refused);
        } else {
            used = Use::Covers;
            finding.waived.get_or_insert_with(|| Waived { because: because.to_owned() });
        }
    }
    used
}
