//! `absorbent-rating-implausible`: a canister is rated for more than its absorbent can bind.

use super::{of_unit, taken};
use crate::findings::{Level, said};
use crate::physics::absorbent::{PLAUSIBLE_L_PER_KG, claimed_l_per_kg};
use crate::physics::tolerance;
use crate::rules::{Context, Family, Rule, Sink, say};

/// The rule.
pub(crate) const RULE: Rule = Rule::new(
    "absorbent-rating-implausible",
    Family::Unit,
    Level::Warning,
    include_str!("absorbent_rating_implausible.md"),
    look,
)
.safety();

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        for name in unit.thing.beds.iter().map(|bed| &bed.canister) {
            let Some(canister) = context.scope.canisters.get(&name.value) else { continue };
            let (rated, co2, kg) = (&canister.thing.rated_min, &canister.thing.rated_co2, &canister.thing.absorbent_kg);
            let (Some(rated), Some(co2), Some(kg)) = (rated, co2, kg) else {
                let facts = [
                    ("`absorbent=`", kg.is_none()),
                    ("`rated minutes=`", rated.is_none()),
                    ("`rated co2=`", co2.is_none()),
                ];
                for (fact, _) in facts.iter().filter(|(_, missing)| *missing) {
                    sink.lacks(name.place.clone(), format!("{fact} of canister {:?}", name.value));
                }
                continue;
            };
            let Some(claimed) = claimed_l_per_kg(rated.value, co2.value, kg.value) else { continue };
            if claimed <= PLAUSIBLE_L_PER_KG + tolerance::WRITTEN {
                continue;
            }
            let numbers = [rated.value, co2.value.0, kg.value].map(say::number);
            let message = said!(
                "canister {canister:?} of unit {unit:?} is rated {rated} min at {co2} L/min of carbon dioxide, {claimed} L for each of its {kg} kg: more \
                 than {most} can't be right",
                canister = name.value,
                unit = unit.name.value,
                rated = numbers[0],
                co2 = numbers[1],
                claimed = say::number(say::up(claimed, 1.0)),
                kg = numbers[2],
                most = say::number(PLAUSIBLE_L_PER_KG)
            );
            let place = &rated.place;
            let finding = of_unit(context, &dive, unit, RULE.finding(place.clone(), message), place, "the rating");
            let finding = finding
                .with_related(co2.place.clone(), "at this output")
                .with_related(kg.place.clone(), "with so much absorbent");
            let [rated, co2, kg] = numbers;
            sink.find(finding.with_step("minutes·CO2/kg", format!("{rated}·{co2}/{kg}"), format!("{claimed:.1} L/kg")));
        }
    }
}
