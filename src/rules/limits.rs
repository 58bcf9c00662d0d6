//! The limits that hold for a plan: its own word, else the house's, else what is usual.

use super::Context;
use crate::forecast::limits::{PO2_BAILOUT, PO2_DECO, PO2_WORKING};
use crate::plan::{Limits, Maybe, Plan, SPARE};
use crate::source::Place;

/// A limit and where it is set; nowhere if nobody sets it.
#[derive(Debug, Clone)]
pub struct Limit {
    /// The limit, in the unit its field carries.
    pub value: f64,
    /// Where it is set.
    pub place: Option<Place>,
}

/// The limit that a field holds for a plan, if anybody sets it.
pub fn set(context: &Context<'_>, plan: &Plan, field: impl Fn(&Limits) -> &Maybe<f64>) -> Option<Limit> {
    let said = field(&plan.limits).as_ref().or_else(|| field(&context.scope.house.limits).as_ref())?;
    Some(Limit { value: said.value, place: Some(said.place.clone()) })
}

/// The limit that a field holds for a plan, or the usual one.
pub fn or_usual(context: &Context<'_>, plan: &Plan, field: impl Fn(&Limits) -> &Maybe<f64>, usual: f64) -> Limit {
    set(context, plan, field).unwrap_or(Limit { value: usual, place: None })
}

/// The greatest PO2 at which a cylinder's gas may be breathed, by its role.
pub fn po2(context: &Context<'_>, plan: &Plan, role: &str) -> Limit {
    match role {
        "deco" => or_usual(context, plan, |limits| &limits.po2_deco, PO2_DECO),
        "bailout" | SPARE => or_usual(context, plan, |limits| &limits.po2_bailout, PO2_BAILOUT),
        _ => or_usual(context, plan, |limits| &limits.po2_working, PO2_WORKING),
    }
}
