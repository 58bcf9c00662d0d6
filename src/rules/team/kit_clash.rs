//! `kit-clash`: a cylinder or a unit is taken twice at the same time.

use std::collections::BTreeMap;

use super::overlaps::{self, Common, Timed};
use crate::findings::{About, Level};
use crate::plan::{NameUse, TeamMember};
use crate::rules::dives::{self, OneDive};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE};

/// The rule.
pub const RULE: Rule = Rule {
    slug: "kit-clash",
    family: Family::Team,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::None,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("kit_clash.md"),
    look,
};

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    on_one_dive(look, out);
    if look.beside.is_empty() && look.plan.is_none_or(|plan| plan.dives.len() < 2) {
        return;
    }
    let (own, beside) = (overlaps::own(look), overlaps::beside(look));
    for (number, dive) in own.iter().enumerate() {
        for other in own.get(..number).into_iter().flatten() {
            at_once(look, dive, other, out);
        }
        for other in &beside {
            at_once(look, dive, other, out);
        }
    }
}

/// What two dives have in common while both are under water.
fn at_once(look: &Look<'_>, dive: &Timed<'_>, other: &Timed<'_>, out: &mut Out<'_>) {
    let common = dive.common(other);
    let Some((first, more)) = common.split_first() else { return };
    match dive.overlaps(other) {
        Some(false) => return,
        Some(true) => {}
        None => {
            // Dives of one plan that say no times are dived one after the other.
            if other.plan.file != dive.plan.file {
                dive.says_lacking(out);
            }
            return;
        }
    }
    let of_plan = match other.plan.file == dive.plan.file {
        true => String::new(),
        false => format!(" of {:?}", other.plan.name.value),
    };
    let message = format!(
        "{} {} on dive {:?}{of_plan} too, {}: this dive goes {}",
        listed(&common),
        if more.is_empty() { "is" } else { "are" },
        other.dive.name.value,
        other.told(),
        dive.told()
    );
    // What the plan itself says rather than what its template does.
    let place = common.iter().map(|common| common.here).find(|place| place.file == *look.file).unwrap_or(first.here);
    let about =
        About { plan: Some(dive.plan.file.clone()), dive: Some(dive.dive.name.value.clone()), ..About::default() };
    let finding = RULE.finding(place.clone(), message).with_about(about);
    let mut finding = dives::said_at(look, dive.plan, finding, place);
    for common in std::iter::once(first).chain(more) {
        finding = finding.with_related(common.there.clone(), format!("{} on the other dive", common.what));
    }
    out.find(finding);
}

/// `Rowan, unit "fen-3" and cylinder "S12-04"`.
fn listed(common: &[Common<'_, '_>]) -> String {
    let names: Vec<&str> = common.iter().map(|common| &*common.what).collect();
    match names.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}

/// What two divers of one dive both take, or one takes twice.
fn on_one_dive(look: &Look<'_>, out: &mut Out<'_>) {
    let Some(plan) = look.plan else { return };
    for first in &plan.dives {
        for dive in std::iter::once(first).chain(&first.otherwise) {
            let mut taken: BTreeMap<(&str, &str), (&TeamMember, &NameUse)> = BTreeMap::new();
            for member in &dive.divers {
                let unit = member.unit_name.iter().map(|name| ("unit", name));
                let cylinders = member.cylinders.iter().map(|carried| ("cylinder", &carried.name));
                for (what, name) in unit.chain(cylinders) {
                    let Some((other, before)) = taken.insert((what, &*name.value), (member, name)) else { continue };
                    if what == "cylinder" && member.shares(other).any(|shared| shared == name.value) {
                        continue;
                    }
                    let one = OneDive { plan, dive, member };
                    let message = if other.name.value == member.name.value {
                        format!("{} takes {what} {:?} twice", *member.name, name.value)
                    } else {
                        format!("{} and {} both take {what} {:?}", *other.name, *member.name, name.value)
                    };
                    let finding = RULE.finding(name.place.clone(), message).with_about(one.about());
                    out.find(finding.with_related(before.place.clone(), "taken here before"));
                }
            }
        }
    }
}
