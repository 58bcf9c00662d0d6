//! `emergency-missing`: a plan that is ready says nothing of an emergency.

use crate::findings::{Level, Named, said};
use crate::rules::{Context, Family, READY, Rule, Sink};

/// The rule.
pub(crate) const RULE: Rule =
    Rule::new("emergency-missing", Family::Team, Level::Warning, include_str!("emergency_missing.md"), look)
        .safety()
        .at(READY);

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    let Some(plan) = context.plan.filter(|plan| !plan.dives.is_empty()) else { return };
    let emergency = plan.site.as_ref().and_then(|site| site.emergency.as_ref());
    let (place, lacking) = match emergency {
        None => (
            plan.site.as_ref().map_or(&plan.name.place, |site| &site.header),
            vec!["the chamber, its phone, the oxygen and the way there (`emergency`)"],
        ),
        Some(emergency) => {
            let mut lacking = Vec::new();
            if emergency.phone.is_none() {
                lacking.push("`phone=`");
            }
            if emergency.oxygen.is_empty() {
                lacking.push("`oxygen`");
            }
            if emergency.evacuation_min.is_none() {
                lacking.push("`evacuation`");
            }
            (emergency.place.as_ref().unwrap_or(&plan.name.place), lacking)
        }
    };
    if !lacking.is_empty() {
        let message = said!("nothing is said, for an emergency, of {lacking}", lacking = Named::with_commas(lacking));
        sink.find(RULE.finding(place.clone(), message));
    }
}
