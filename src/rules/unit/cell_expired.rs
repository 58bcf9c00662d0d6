//! `cell-expired`: an oxygen cell is older than its maker, or its making, allows on the day of the dive.

use jiff::ToSpan;
use jiff::civil::Date;

use super::{named, of_unit, taken};
use crate::findings::Level;
use crate::physics::cells::MONTHS_FROM_MAKING;
use crate::plan::{ApparatusKind, Cell, Life};
use crate::rules::{Context, Family, Rule, Sink};
use crate::source::Place;

/// The rule.
pub const RULE: Rule =
    Rule::new("cell-expired", Family::Unit, Level::Error, include_str!("cell_expired.md"), look).safety();

/// The last day on which a cell may be dived, why, and where that is said. `None` where neither its life nor its making
/// is known.
pub fn ends(cell: &Cell) -> Option<(Date, String, &Place)> {
    let by_life = cell.fitted.as_ref().zip(cell.life.as_ref()).and_then(|(fitted, life)| {
        let (span, said) = match life.value {
            Life::Months(months) => (months.months(), format!("{months} months")),
            Life::Days(days) => (days.days(), format!("{days} days")),
        };
        let end = fitted.value.checked_add(span).ok()?;
        Some((end, format!("{said} from fitting on {}", fitted.value), &fitted.place))
    });
    let by_making = cell.made.as_ref().and_then(|made| {
        let end = made.value.checked_add(MONTHS_FROM_MAKING.months()).ok()?;
        Some((end, format!("{MONTHS_FROM_MAKING} months from making on {}", made.value), &made.place))
    });
    [by_life, by_making].into_iter().flatten().min_by_key(|(end, ..)| *end)
}

fn look(context: &Context<'_>, sink: &mut Sink<'_>) {
    for (dive, unit) in taken(context) {
        let Some(day) = dive.day() else { continue };
        if unit.thing.kind.as_ref().is_none_or(|kind| kind.value == ApparatusKind::Open) {
            continue;
        }
        for cell in &unit.thing.cells {
            let whose = format!("cell {:?} of unit {:?}", *cell.name, unit.name.value);
            match ends(cell) {
                None => sink.lacks(named(&dive, unit).clone(), format!("`fitted=` and `life=` of {whose}")),
                Some((end, why, place)) if end < day => {
                    let message = format!("{whose} ended on {end}, {why}: the dive is on {day}");
                    let finding = RULE.finding(place.clone(), message);
                    let mut finding = of_unit(context, &dive, unit, finding, place, "the cell");
                    if let Some(on) = &dive.plan.on {
                        finding = finding.with_related(on.place.clone(), "the day of the dive");
                    }
                    sink.find(finding.with_step("end = start + life", why, end.to_string()));
                }
                Some(_) => {}
            }
        }
    }
}
