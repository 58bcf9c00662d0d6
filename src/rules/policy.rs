//! What stands of what the rules said: the house's levels, waivers, and what could not be checked.

use std::collections::BTreeMap;

use super::language::waivers::{self, Use};
use super::usual;
use super::{Context, Dives, Fact, Lacking, Looked, RuleInfo, dives};
use crate::findings::{Finding, Named, Waived, said};
use crate::plan::{HouseLevel, Status, Waiver};
use crate::source::Place;

/// What a check of one file says, in document order.
#[derive(Debug, Clone, Default)]
pub(crate) struct Settled {
    /// The findings, waived ones included.
    pub findings: Vec<Finding>,
    /// The rules that looked, in the table's order.
    pub looked: Vec<&'static str>,
    /// The facts that rules lacked, in document order.
    pub lacking: Vec<Fact>,
    /// How many of the plan's dives were simulated.
    pub dives: Dives,
    /// Safety rules that the house has lowered, with its reason.
    pub lowered: Vec<String>,
    /// Whether there is more in the text than was looked for.
    pub uncounted: bool,
}

/// Applies levels and waivers to what the rules said, and says itself what could not be checked and which waivers
/// are no good.
pub(crate) fn apply_policy(context: &Context<'_>, looked: Looked) -> Settled {
    let Looked { mut findings, lacking, rules } = looked;
    let lacking = facts(lacking);
    let not_checked = not_checked(context, &lacking, &findings);
    findings.extend(not_checked);
    let mut lowered = Vec::new();
    for level in &context.scope.house.levels {
        if let Some(said) = apply_level(context, level, &mut findings) {
            lowered.push(said);
        }
    }
    let used = apply_waivers(context, &mut findings);
    let rule = |slug| context.rule(slug);
    findings.extend(rule("waiver-unused").into_iter().flat_map(|rule| waivers::unused(rule, context, &used)));
    findings.extend(rule("waiver-refused").into_iter().flat_map(|rule| waivers::refused(rule, context, &used)));
    findings.sort_by(|a, b| {
        let key = |f: &Finding| (f.place.span.start, std::cmp::Reverse(f.level), f.place.span.end);
        key(a).cmp(&key(b)).then_with(|| a.rule.cmp(&b.rule)).then_with(|| a.message.cmp(&b.message))
    });
    findings.dedup();
    Settled { findings, looked: rules, lacking, dives: dives_of(context), lowered, uncounted: context.is_uncounted() }
}

/// What rules lacked, each fact once.
fn facts(lacking: Vec<Lacking>) -> Vec<Fact> {
    let mut facts: BTreeMap<(Place, String), Vec<&'static str>> = BTreeMap::new();
    for Lacking { place, fact, rule } in lacking {
        let rules = facts.entry((place, fact)).or_default();
        if !rules.contains(&rule) {
            rules.push(rule);
        }
    }
    facts.into_iter().map(|((place, fact), rules)| Fact { place, fact, rules }).collect()
}

/// How many of a plan's dives were simulated, of those that are still to be dived.
fn dives_of(context: &Context<'_>) -> Dives {
    if context.plan.is_none_or(|plan| matches!(plan.status, Status::Template | Status::Dived)) {
        return Dives::default();
    }
    let all = dives::all(context);
    let simulated = all.iter().filter(|dive| context.simulate(dive).is_ok()).count();
    Dives { planned: all.len(), simulated }
}

/// So many rules that wait for a fact are told; JSON and the page of the finding have them all.
const MOST_RULES: usize = 3;

/// One finding for each missing fact, with the rules that wait for it; only a plan that claims to be ready is held
/// to completeness.
fn not_checked(context: &Context<'_>, lacking: &[Fact], findings: &[Finding]) -> Vec<Finding> {
    if context.plan.is_none_or(|plan| plan.status != Status::Ready) {
        return Vec::new();
    }
    let Some(rule) = context.rule("not-checked") else { return Vec::new() };
    // That no gradient is given is said once.
    let no_gradient = findings.iter().any(|finding| finding.rule == "gradient-missing");
    let told = lacking.iter().filter(|lacking| !(no_gradient && lacking.fact == super::runs::GRADIENT));
    let said = |Fact { place, fact, rules }: &Fact| {
        let finding = rule.finding(
            place.clone(),
            said!(
                "{fact} is not said; not checked without it: {rules}",
                rules = Named::the_first(rules.iter().copied(), MOST_RULES),
                fact
            ),
        );
        match usual::figures(context, place, fact) {
            Some(fix) => finding.with_fix(fix),
            None => finding,
        }
    };
    told.map(said).collect()
}

/// Sets the level of one rule's findings; says so when a safety rule is lowered.
fn apply_level(context: &Context<'_>, level: &HouseLevel, findings: &mut [Finding]) -> Option<String> {
    let rule = context.rule(&level.rule)?;
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
pub(super) fn is_refused(level: &HouseLevel, rule: &RuleInfo) -> bool {
    level.level.value < rule.level && (!rule.waivable || (rule.safety && reason(level).is_none()))
}

fn reason(level: &HouseLevel) -> Option<&str> {
    level.because.as_ref().map(|because| because.value.trim()).filter(|because| !because.is_empty())
}

/// Marks what the waivers in sight cover, and returns what became of the file's own ones.
fn apply_waivers(context: &Context<'_>, findings: &mut [Finding]) -> Vec<Use> {
    let mut used = vec![Use::Nothing; context.waivers.len()];
    for (waiver, used) in context.waivers.iter().zip(&mut used) {
        *used = cover(context, waiver, findings, |finding| covers(&waiver.scope, finding));
    }
    for waiver in context.scope.waivers.iter().filter(|waiver| waiver.place.file != *context.file) {
        cover(context, waiver, findings, |finding| covers(&waiver.scope, finding));
    }
    for waiver in context.scope.house.waivers.iter().filter(|waiver| waiver.place.file != *context.file) {
        cover(context, waiver, findings, |_| true);
    }
    used
}

/// Whether a finding stands in the waiver's scope, or is caused by something there.
fn covers(scope: &Place, finding: &Finding) -> bool {
    let inside = |place: &Place| place.file == scope.file && scope.span.contains(place.span);
    inside(&finding.place) || finding.related.iter().any(|related| inside(&related.place))
}

/// Marks the findings that a good waiver covers.
fn cover(context: &Context<'_>, waiver: &Waiver, findings: &mut [Finding], covers: impl Fn(&Finding) -> bool) -> Use {
    let Some(rule) = context.rule(&waiver.rule).filter(|rule| rule.waivable) else { return Use::Nothing };
    let Some(because) = waiver.reason() else { return Use::Nothing };
    let mut used = Use::Nothing;
    for finding in findings.iter_mut().filter(|finding| finding.rule == rule.slug && covers(finding)) {
        if finding.stands {
            used = used.max(Use::Refused);
        } else {
            used = Use::Covers;
            let waived = finding.waived.get_or_insert_with(|| Waived { because: because.to_owned(), by: Vec::new() });
            waived.by.push(waiver.place.clone());
        }
    }
    used
}
