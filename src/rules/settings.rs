//! What a file is held to, and where that is set.

use super::policy::is_refused;
use super::{Rule, TABLE};
use crate::plan::{HouseLevel, Limits, Plan, Scope, Waiver};
use crate::source::Place;
use crate::words::vocabulary;

/// What a file is held to.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Every limit, in the vocabulary's order.
    pub limits: Vec<LimitSet>,
    /// Every rule, in the table's order, with the levels that the house sets for it.
    pub rules: Vec<RuleSet>,
    /// The waivers that may cover something: the file's own, the house's, and those of the files in sight.
    pub waivers: Vec<Waiver>,
}

/// A limit.
#[derive(Debug, Clone)]
pub struct LimitSet {
    /// As a plan writes it: `po2 deco=`.
    pub words: &'static str,
    /// What it is measured in.
    pub unit: &'static str,
    /// What holds, if anything does.
    pub value: Option<f64>,
    /// Where it is set; nowhere where it is what is usual, or not set.
    pub place: Option<Place>,
}

/// A rule.
#[derive(Debug, Clone)]
pub struct RuleSet {
    /// The rule with its own level.
    pub rule: &'static Rule,
    /// The levels that the house sets for it, in order, and whether each may.
    pub levels: Vec<(HouseLevel, bool)>,
}

impl Settings {
    /// Of a file that sees `scope`, holds `plan` or none, and has waivers of its own.
    pub fn of(scope: &Scope, plan: Option<&Plan>, own: &[Waiver]) -> Settings {
        let house = &scope.house;
        let said = |of: fn(&Limits) -> &crate::plan::Maybe<f64>| {
            let own = plan.and_then(|plan| of(&plan.limits).as_ref());
            own.or_else(|| of(&house.limits).as_ref())
        };
        let limits = Limits::ALL.iter().map(|limit| {
            let said = said(limit.of);
            LimitSet {
                words: limit.words,
                unit: limit.unit,
                value: said.map(|said| said.value).or_else(|| usual(limit.words)),
                place: said.map(|said| said.place.clone()),
            }
        });
        let rules = TABLE.iter().map(|rule| {
            let levels =
                house.levels.iter().filter(|level| super::find(&level.rule).is_some_and(|of| of.slug == rule.slug));
            RuleSet { rule, levels: levels.map(|level| (level.clone(), !is_refused(level, rule))).collect() }
        });
        let mut waivers: Vec<Waiver> = own.to_vec();
        for waiver in house.waivers.iter().chain(&scope.waivers) {
            if !waivers.iter().any(|known| known.place == waiver.place) {
                waivers.push(waiver.clone());
            }
        }
        Settings { limits: limits.collect(), rules: rules.collect(), waivers }
    }
}

/// What holds of a limit that nobody sets, if anything does, by the vocabulary.
fn usual(words: &str) -> Option<f64> {
    let (name, prop) = words.split_once(' ').map_or((words, None), |(name, prop)| (name, prop.strip_suffix('=')));
    let row = vocabulary().find(|row| row.name == name && row.below.contains(&"limits"))?;
    let value = match prop {
        Some(prop) => row.prop(prop),
        None => row.arg(0),
    };
    value?.default?.parse().ok()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::forecast::limits::{PO2_BAILOUT, PO2_DECO, PO2_WORKING, RESERVE_BAR, UNUSABLE_BAR};

    #[test]
    fn every_limit_of_the_vocabulary_is_shown() {
        let values = vocabulary().filter(|row| row.below.contains(&"limits")).flat_map(|row| {
            let props = row.props.iter().map(move |prop| format!("{} {}=", row.name, prop.name));
            row.args.iter().map(move |_| row.name.to_owned()).chain(props)
        });
        let known: Vec<&str> = Limits::ALL.iter().map(|limit| limit.words).collect();
        assert_eq!(values.collect::<Vec<_>>(), known);
    }

    /// What the vocabulary tells a writer holds unless said is what the rules go by.
    #[test]
    fn what_is_usual_is_what_the_rules_take() {
        let run = crate::run::Limits::default();
        let taken = [
            ("po2 working=", PO2_WORKING),
            ("po2 deco=", PO2_DECO),
            ("po2 bailout=", PO2_BAILOUT),
            ("po2 least=", run.least_bar),
            ("reserve", RESERVE_BAR),
            ("unusable", UNUSABLE_BAR),
            ("shallowest-stop", crate::forecast::SHALLOWEST_STOP_M),
            ("band", run.band_o2 * 100.0),
            ("currency months=", crate::rules::team::currency_lapsed::USUAL_MONTHS),
        ];
        for (words, taken) in taken {
            assert_eq!(usual(words), Some(taken), "{words}");
        }
    }
}
