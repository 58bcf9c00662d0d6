//! What names mean: definitions of the files in sight, with the records that other files add.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::kit::Thing;
use super::{Node, ParsedFile};
use crate::plan::{Defined, House, Scope};

/// The scope that some files make, the nearest first: of two definitions of one name the nearer holds. Records are
/// put behind a thing's own, in the order of the files.
pub fn scope(files: &[Arc<ParsedFile>], house: House) -> Scope {
    let mut scope = Scope { house: Arc::new(house), ..Scope::default() };
    for word in files {
        define(&mut scope.units, &word.units);
        define(&mut scope.canisters, &word.canisters);
        define(&mut scope.cylinders, &word.cylinders);
        define(&mut scope.divers, &word.divers);
        define(&mut scope.sites, &word.sites);
        define(&mut scope.routines, &word.routines);
        define(&mut scope.courses, &word.courses);
        scope.waivers.extend(word.waivers.iter().cloned());
    }
    for word in files {
        for record in word.records.iter().map(|id| Node::new(&word.source, *id)) {
            let Some(name) = record.key_name() else { continue };
            append(&mut scope.units, &name.value, &record);
            append(&mut scope.canisters, &name.value, &record);
            append(&mut scope.cylinders, &name.value, &record);
            append(&mut scope.divers, &name.value, &record);
        }
    }
    scope
}

fn define<T>(things: &mut BTreeMap<String, Arc<Defined<T>>>, more: &[Arc<Defined<T>>]) {
    for thing in more.iter().filter(|thing| !thing.name.value.is_empty()) {
        things.entry(thing.name.value.clone()).or_insert_with(|| thing.clone());
    }
}

fn append<T: Thing + Clone>(things: &mut BTreeMap<String, Arc<Defined<T>>>, name: &str, record: &Node<'_>) {
    if let Some(thing) = things.get_mut(name) {
        Arc::make_mut(thing).thing.append(record);
    }
}
