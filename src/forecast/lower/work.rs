//! What work costs a diver: oxygen, and gas on open circuit.

use crate::forecast::Unknown;
use crate::forecast::dives::{DiverDive, at_work};
use crate::physics::consumption::levels_by;
use crate::physics::litres::{Free, Stpd};
use crate::plan::Work;
use crate::source::Placed;

/// The oxygen used by work level where a diver gives no figures: 0.6–1 at ease to 3 in hard work
/// (common practice, no source).
pub(crate) const USUAL_OXYGEN: [Stpd; 5] = [Stpd(0.7), Stpd(1.0), Stpd(1.5), Stpd(2.2), Stpd(3.0)];

/// The oxygen that a diver uses at a work level, and where it is written: the level's own figure,
/// or the next harder one's.
///
/// # Errors
/// The fact that is lacking; none where another rule speaks of it.
pub(crate) fn oxygen(dive: &DiverDive<'_>, work: Work) -> Result<Placed<Free>, Unknown> {
    let diver = dive.diver().ok_or(Unknown::SaidElsewhere)?;
    let lacks = || {
        let fact = format!("`oxygen {}=` of diver {:?}", work.word(), *dive.member.name);
        Unknown::lacks(&dive.member.name.place, fact)
    };
    let said = at_work(&diver.oxygen, work).ok_or_else(lacks)?;
    Ok(said.map(Stpd::free))
}

/// What a diver breathes on open circuit at the surface by work level, free litres a minute: levels that are not written
/// go with the oxygen used, the diver's own as far as it is written, and by it, in the usual proportions, where it is not.
///
/// # Errors
/// The fact that is lacking; none where another rule speaks of it.
pub(crate) fn gas_lpm(dive: &DiverDive<'_>) -> Result<[f64; 5], Unknown> {
    let diver = dive.diver().ok_or(Unknown::SaidElsewhere)?;
    let written = Work::ALL.map(|work| diver.gas.at(work).map(|figure| figure.value.0));
    let own = Work::ALL.map(|work| diver.oxygen.at(work).map(|figure| figure.value.0));
    let usual = USUAL_OXYGEN.map(|oxygen| oxygen.0);
    let oxygen = levels_by(own, usual).unwrap_or(usual);
    levels_by(written, oxygen).ok_or_else(|| {
        if written.iter().any(Option::is_some) {
            return Unknown::SaidElsewhere;
        }
        Unknown::lacks(&dive.member.name.place, format!("`gas rest=` and `peak=` of diver {:?}", *dive.member.name))
    })
}
