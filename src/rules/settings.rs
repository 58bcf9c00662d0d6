//! What a file is held to, and where that is set.

use super::policy::is_refused;
use super::{Rule, TABLE};
use crate::plan::{HouseLevel, Plan, Scope, Waiver};
use crate::source::Place;
use crate::words::{Amount, LIMITS, LimitDef};

/// What a file is held to.
#[derive(Debug, Clone)]
pub(crate) struct Settings {
    /// Every limit, in the vocabulary's order.
    pub limits: Vec<LimitSet>,
    /// Every rule, in the table's order, with the levels that the house sets for it.
    pub rules: Vec<RuleSet>,
    /// The waivers that may cover something: the file's own, the house's, and those of the files in sight.
    pub waivers: Vec<Waiver>,
}

/// A limit.
#[derive(Debug, Clone)]
pub(crate) struct LimitSet {
    /// Its row.
    pub limit: &'static LimitDef,
    /// What holds, if anything does.
    pub value: Option<Amount>,
    /// Where it is set; nowhere where it is what is usual, or not set.
    pub place: Option<Place>,
}

/// A rule.
#[derive(Debug, Clone)]
pub(crate) struct RuleSet {
    /// The rule with its own level.
    pub rule: &'static Rule,
    /// The levels that the house sets for it, in order, and whether each may.
    pub levels: Vec<(HouseLevel, bool)>,
}

impl Settings {
    /// Of a file that sees `scope`, holds `plan` or none, and has waivers of its own.
    pub(crate) fn of(scope: &Scope, plan: Option<&Plan>, own: &[Waiver]) -> Settings {
        let house = &scope.house;
        // A plan's limits are laid over the house's already.
        let held = plan.map_or(&house.limits, |plan| &plan.limits);
        let limits = LIMITS.iter().map(|limit| {
            let place = held.said(limit.name).map(|said| said.place.clone());
            LimitSet { limit, value: held.amount(limit.name), place }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::LimitName;

    /// What a run takes unasked is what the table says is usual.
    #[test]
    fn what_is_usual_is_what_a_run_takes() {
        let (run, trials) = (crate::run::Limits::default(), crate::run::Trials::default());
        let taken = [
            (LimitName::Po2Working, run.greatest_bar),
            (LimitName::Po2Least, run.least_bar),
            (LimitName::Band, run.band_o2 * 100.0),
            (LimitName::React, crate::run::REACT_MIN),
            (LimitName::BreathlessMinutes, trials.breathless_min),
            (LimitName::BreathlessGas, trials.breathless_lpm),
            (LimitName::BreathlessFades, trials.fades_min),
            (LimitName::AscentRate, crate::run::ASCENT_RATE),
            (LimitName::Grid, crate::run::GRID_M),
        ];
        for (name, taken) in taken {
            assert_eq!(name.def().usual.amount(), Some(Amount::Number(taken)), "{name:?}");
        }
    }
}
