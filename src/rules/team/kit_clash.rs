//! `kit-clash`: two divers take one cylinder or one unit on the same dive.

use std::collections::BTreeMap;

use crate::findings::Level;
use crate::plan::{NameUse, TeamMember};
use crate::rules::dives::OneDive;
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
