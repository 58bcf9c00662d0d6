//! Gas that several divers of a dive take from one cylinder, because the plan says they share it.

use std::collections::BTreeSet;

use super::{Gathered, Missing, given as given_alone};
use crate::forecast::carryover::Before;
use crate::forecast::dives::DiverDive;
use crate::plan::{Scope, TeamMember};

/// What is given of a diver's dive, with what is given of those who share its gas.
pub(crate) fn given<'a, 'l>(
    scope: &Scope,
    dive: &DiverDive<'a>,
    before: &dyn Fn(&DiverDive<'a>) -> Before<'l>,
) -> Result<Gathered<'a>, Vec<Missing>> {
    let mut gathered = given_alone(scope, dive, &before(dive))?;
    let others = sharers(dive);
    if others.is_empty() {
        return Ok(gathered);
    }
    let team: Vec<&TeamMember> = others.iter().map(|other| other.member).chain([dive.member]).collect();
    let names: BTreeSet<&str> = team.iter().flat_map(|one| team.iter().flat_map(|other| one.shares(other))).collect();
    let number = |gathered: &mut Gathered<'a>| {
        for (carried, input) in gathered.kit.iter().zip(&mut gathered.given.cylinders) {
            input.common = names.iter().position(|name| *name == carried.name.value);
        }
    };
    number(&mut gathered);
    for other in &others {
        let mut other = given_alone(scope, other, &before(other))?;
        number(&mut other);
        gathered.given.others.push(other.given);
    }
    Ok(gathered)
}

/// Those whose gas hangs together with a diver's, by one shared cylinder or several, in the order of the dive.
fn sharers<'a>(dive: &DiverDive<'a>) -> Vec<DiverDive<'a>> {
    let team = dive.team();
    let mut reached: Vec<&TeamMember> = vec![dive.member];
    let mut from = 0;
    while let Some(one) = reached.get(from).copied() {
        for other in team {
            let known = reached.iter().any(|known| known.name.value == other.name.value);
            if !known && one.shares(other).next().is_some() {
                reached.push(other);
            }
        }
        from += 1;
    }
    let is_reached = |member: &&TeamMember| reached.iter().skip(1).any(|other| other.header == member.header);
    team.iter().filter(is_reached).map(|member| DiverDive { member, ..*dive }).collect()
}
