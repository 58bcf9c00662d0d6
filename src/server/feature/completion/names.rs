//! Names of what is in sight, and paths of what may be used.

use std::collections::BTreeSet;

use tower_lsp::ls_types::CompletionItemKind;

use super::Offer;
use crate::archive::relative;
use crate::forecast::dives::deepest_breathed;
use crate::forecast::dives::{self, DiverDive, fractions};
use crate::forecast::limits;
use crate::physics::tolerance;
use crate::plan::{Carried, Plan, Role, Scope, Status, as_of};
use crate::rules::say;
use crate::server::documents::Here;
use crate::source::{FileId, Place, Placed, Span};
use crate::syntax::{NodeId, Tree, Value, quoted};
use crate::words::FileKind;

fn named(name: &str, detail: String) -> Offer {
    Offer { text: quoted(name), detail, ..Offer::new(name, CompletionItemKind::REFERENCE) }
}

/// The things in sight that a value of a node may name.
pub(super) fn of(here: &Here<'_>, tree: &Tree, node: NodeId, value: &str) -> Vec<Offer> {
    let (scope, plan) = (here.archive.scope(&here.file), here.archive.plan(&here.file));
    let word = tree.name(node).text.to_string();
    let parent = tree.parent(node).map(|parent| tree.name(parent).text.to_string());
    let below = |name: &str| parent.as_deref() == Some(name);
    let plain = |names: Vec<&String>| names.into_iter().map(|name| named(name, String::new())).collect();
    match (&*word, value) {
        ("diver", "unit") => scope.units.values().map(|unit| named(&unit.name.value, kind_of(&unit.thing))).collect(),
        ("diver", role) if Role::of_word(role).is_some() => {
            cylinders(here, &scope, plan.as_deref(), node, tree, Role::of_word(role))
        }
        ("cylinder", "name") if below("diver") => {
            let role = tree.entries(node).find(|entry| entry.key.as_ref().is_some_and(|key| key.text == "role"));
            let role = role.and_then(|role| match role.value {
                Value::Text(role) => Role::of_word(&role),
                _ => None,
            });
            let of = tree.parent(node).unwrap_or(node);
            cylinders(here, &scope, plan.as_deref(), of, tree, role)
        }
        ("cylinder", "name") if below("dived") => plain(scope.cylinders.keys().collect()),
        ("diver", "name") if below("dive") || below("otherwise") => plain(scope.divers.keys().collect()),
        ("dived" | "prepared", "diver") => plain(scope.divers.keys().collect()),
        ("switch", _) => plan.as_deref().map(|plan| switches(plan, &here.file, tree.span(node))).unwrap_or_default(),
        ("cylinder", "with") | ("bail-out" | "off-loop" | "on-loop", "who") => plain(scope.divers.keys().collect()),
        ("prepared", "routine") => plain(scope.routines.keys().collect()),
        ("site", _) if below("plan") => plain(scope.sites.keys().collect()),
        ("bed", "name") => plain(scope.canisters.keys().collect()),
        ("record", _) => {
            let all = scope.units.keys().chain(scope.canisters.keys()).chain(scope.cylinders.keys());
            plain(all.chain(scope.divers.keys()).collect())
        }
        _ => Vec::new(),
    }
}

/// What a leg may go over to: the roles and the cylinders of its dive.
fn switches(plan: &Plan, file: &FileId, leg: Span) -> Vec<Offer> {
    let here = |place: &Place| place.file == *file && place.span.contains(Span::at(leg.start));
    let dive = dives::of(plan).into_iter().find(|dive| here(&dive.dive.whole));
    let carried: Vec<&Carried> = dive.iter().flat_map(|dive| dive.team()).flat_map(|diver| &diver.cylinders).collect();
    let roles: BTreeSet<Role> = carried.iter().map(|carried| carried.role.value).collect();
    let roles = roles.into_iter().map(|role| named(role.word(), String::new()));
    let mut seen = BTreeSet::new();
    let cylinders = carried.into_iter().filter(|carried| seen.insert(carried.name.value.clone()));
    roles.chain(cylinders.map(|carried| named(&carried.name.value, carried.role.value.word().to_owned()))).collect()
}

fn kind_of(unit: &crate::plan::Apparatus) -> String {
    unit.kind.as_ref().map(|kind| kind.value.word().to_owned()).unwrap_or_default()
}

/// Cylinders for a role: those whose mix may be breathed where the dive breathes it first, free ones before those that are
/// taken already.
fn cylinders(
    here: &Here<'_>,
    scope: &Scope,
    plan: Option<&Plan>,
    diver: NodeId,
    tree: &Tree,
    role: Option<Role>,
) -> Vec<Offer> {
    let span = tree.span(diver);
    let own = |dive: &DiverDive<'_>| {
        let place: &Place = &dive.member.header;
        place.file == here.file && span.contains(Span::at(place.span.start))
    };
    let dive = plan.map(dives::of).unwrap_or_default().into_iter().find(own);
    let taken: BTreeSet<&str> = plan
        .map(dives::of)
        .unwrap_or_default()
        .iter()
        .flat_map(|dive| &dive.member.cylinders)
        .map(|carried| carried.name.value.as_str())
        .collect();
    let day = plan.and_then(|plan| plan.on.as_ref()).map(|on| on.value);
    let mut found: Vec<(bool, bool, Offer)> = Vec::new();
    for cylinder in scope.cylinders.values() {
        let name = &cylinder.name.value;
        let size = cylinder.thing.size_l.as_ref().map(|size| format!("{} L", say::number(size.value)));
        let fill = day.and_then(|day| as_of(&cylinder.thing.fills, day)).map(|fill| &fill.what);
        let bar =
            fill.and_then(|fill| fill.gauge_bar.as_ref()).map(|gauge| format!("{} bar", say::number(gauge.value)));
        let mix = fill.and_then(|fill| fill.analysed.as_ref().or(fill.nominal.as_ref()));
        let mix = mix.map(|mix| format!("{} % oxygen", say::number(mix.o2_percent)));
        let fits = dive.as_ref().zip(role).is_none_or(|(dive, role)| {
            let carried = Carried {
                role: Placed::new(role, cylinder.name.place.clone()),
                name: cylinder.name.clone(),
                cylinder: Some(cylinder.clone()),
                with: None,
            };
            let Some(depth) = deepest_breathed(dive, role) else { return true };
            let limit = limits::po2(&dive.plan.limits, role).value;
            let bar = dive.water().pressure_bar(depth.value);
            dive.gas(&carried).is_ok_and(|gas| fractions(gas.rich).o2 * bar <= limit + tolerance::PO2_BAR)
        });
        let detail = [size, mix, bar].into_iter().flatten().collect::<Vec<_>>().join(", ");
        let detail = if fits { detail } else { format!("{detail}: not at this depth") };
        found.push((!fits, taken.contains(name.as_str()), named(name, detail)));
    }
    found.sort_by_key(|(unfit, taken, _)| (*unfit, *taken));
    found.into_iter().map(|(.., offer)| offer).collect()
}

/// Paths to the archive's other files: templates to start from, else kit to use.
pub(super) fn paths(here: &Here<'_>, templates: bool) -> Vec<Offer> {
    let archive = &here.archive;
    let fits = |file: &&crate::source::FileId| {
        let kind = archive.kind(file);
        **file != here.file
            && if templates {
                kind == FileKind::Plan
                    && archive
                        .word(file)
                        .is_some_and(|word| word.plan.is_some() && word.status == Some(Status::Template))
            } else {
                kind == FileKind::Kit
            }
    };
    let files = archive.walk(&[]);
    let offer = |file: &crate::source::FileId| {
        let path = relative(&here.file, file);
        Offer { text: quoted(&path), ..Offer::new(path, CompletionItemKind::FILE) }
    };
    files.iter().filter(fits).map(offer).collect()
}
