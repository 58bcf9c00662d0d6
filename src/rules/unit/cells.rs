//! What is known of a unit's oxygen cells.

use jiff::ToSpan;
use jiff::civil::Date;

use super::last_readings;
use crate::findings::{Said, said};
use crate::forecast::dives::DiverDive;
use crate::physics::cells::{LINEARITY_ERROR, MONTHS_FROM_MAKING, linearity};
use crate::plan::{Cell, Life};
use crate::source::Place;

/// Whether a cell's own last readings are so far from a line that nothing it shows can be believed.
pub(crate) fn is_off(dive: &DiverDive<'_>, cell: &Cell) -> bool {
    let read = last_readings(dive, cell);
    read.and_then(|(air, oxygen)| linearity(air.value, oxygen.value)).is_some_and(|off| off.abs() >= LINEARITY_ERROR)
}

/// The last day on which a cell may be dived, why, and where that is said. `None` where neither its life nor its making
/// is known.
pub(crate) fn ends(cell: &Cell) -> Option<(Date, Said, &Place)> {
    let by_life = cell.fitted.as_ref().zip(cell.life.as_ref()).and_then(|(fitted, life)| {
        let (span, said) = match life.value {
            Life::Months(months) => (months.months(), said!("{months} months", months)),
            Life::Days(days) => (days.days(), said!("{days} days", days)),
        };
        let end = fitted.value.checked_add(span).ok()?;
        Some((end, said!("{life} from fitting on {fitted}", life = said, fitted = fitted.value), &fitted.place))
    });
    let by_making = cell.made.as_ref().and_then(|made| {
        let end = made.value.checked_add(MONTHS_FROM_MAKING.months()).ok()?;
        Some((
            end,
            said!("{months} months from making on {made}", months = MONTHS_FROM_MAKING, made = made.value),
            &made.place,
        ))
    });
    [by_life, by_making].into_iter().flatten().min_by_key(|(end, ..)| *end)
}
