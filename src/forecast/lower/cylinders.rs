//! A diver's cylinders as the run numbers them.

use super::{CylinderInput, Lacks, Unknown};
use crate::forecast::carryover::Before;
use crate::forecast::dives::{DiverDive, fractions};
use crate::forecast::limits;
use crate::physics::tolerance;
use crate::plan::{Carried, Role};
use crate::run::Filled;
use crate::words::LimitName;

/// The cylinders of which enough is known, in the order they are taken, each with how it is carried.
#[derive(Debug)]
pub(super) struct Kit<'a> {
    pub carried: Vec<&'a Carried>,
    pub inputs: Vec<CylinderInput>,
    /// Those of which something is lacking.
    unknown: Vec<(&'a Carried, Unknown)>,
}

impl<'a> Kit<'a> {
    /// The number of a cylinder.
    pub(super) fn number(&self, carried: &Carried) -> Option<usize> {
        self.carried.iter().position(|other| other.is_at(carried))
    }

    /// The number of the first cylinder of a role that the dive can't be run without.
    pub(super) fn needed(&self, dive: &DiverDive<'a>, role: Role, lacks: &mut Lacks) -> Option<usize> {
        let Some(first) = dive.cylinders(role).next() else {
            lacks.need(&dive.member.name.place, format!("a `{role}` cylinder of diver {:?}", *dive.member.name));
            return None;
        };
        self.known(first, lacks)
    }

    /// The number of a cylinder; what is lacking of it is needed.
    pub(super) fn known(&self, carried: &Carried, lacks: &mut Lacks) -> Option<usize> {
        let unknown = self.unknown.iter().find(|(other, _)| other.is_at(carried));
        if let Some((_, unknown)) = unknown {
            lacks.take::<()>(Err(unknown.clone()));
        }
        self.number(carried)
    }

    /// The number of the cylinder that fills suit and wing: the one that feeds the diver unless the plan says another.
    pub(super) fn inflates(&self, dive: &DiverDive<'a>, lacks: &mut Lacks) -> Option<usize> {
        match &dive.member.inflates {
            Some(role) => role.value.and_then(|role| self.needed(dive, role, lacks)),
            None => dive.main_gas().and_then(|main| self.number(main)),
        }
    }

    /// The first of the cylinders that are breathed from evenly with one, where there are several: `back` cylinders of one mix,
    /// side by side.
    fn twins(&self, number: usize) -> Option<usize> {
        let alike = |a: &CylinderInput, b: &CylinderInput| {
            let (a, b) = (a.filled.mix, b.filled.mix);
            (a.o2 - b.o2).abs() <= ALIKE && (a.he - b.he).abs() <= ALIKE
        };
        let one = self.inputs.get(number)?;
        let is_back = |number: usize| self.carried.get(number).is_some_and(|carried| carried.role.value == Role::Back);
        let all = self.inputs.iter().enumerate();
        let with: Vec<usize> =
            all.filter(|(other, input)| is_back(*other) && alike(one, input)).map(|(other, _)| other).collect();
        (is_back(number) && with.len() > 1).then(|| with[0])
    }

    /// The cylinder that stands for those breathed from evenly with one.
    pub(super) fn head(&self, number: usize) -> usize {
        self.inputs.get(number).and_then(|input| input.twins).unwrap_or(number)
    }

    /// Of a role's cylinders the richest that may be breathed at an ambient pressure, else the leanest.
    pub(super) fn best(&self, dive: &DiverDive<'a>, role: Role, bar: f64, lacks: &mut Lacks) -> Option<usize> {
        // One that nothing is known of might be the one.
        for carried in dive.cylinders(role) {
            self.known(carried, lacks)?;
        }
        let o2 = |number: &usize| self.inputs.get(*number).map_or(0.0, |input| input.rich.o2);
        let by_oxygen = |a: &usize, b: &usize| o2(a).total_cmp(&o2(b));
        let all = || dive.cylinders(role).filter_map(|carried| self.number(carried));
        let limit = limits::po2(&dive.plan.limits, role).value;
        let breathable = all().filter(|number| o2(number) * bar <= limit + tolerance::PO2_BAR);
        breathable.max_by(by_oxygen).or_else(|| all().min_by(by_oxygen)).map(|number| self.head(number))
    }
}

/// The cylinders of a diver. What is lacking of one is lacking of the dive only once it is breathed from.
pub(super) fn of<'a>(dive: &DiverDive<'a>, before: &Before<'_>, lacks: &mut Lacks) -> Kit<'a> {
    let mut kit = Kit { carried: Vec::new(), inputs: Vec::new(), unknown: Vec::new() };
    for carried in &dive.member.cylinders {
        match input(dive, carried, before.used_l(&carried.name.value)) {
            Ok(input) => {
                kit.carried.push(carried);
                kit.inputs.push(input);
            }
            Err(unknown) => {
                lacks.optional.extend(unknown.clone().missing());
                kit.unknown.push((carried, unknown));
            }
        }
    }
    // Whoever says by name which of several is breathed breathes from one at a time.
    if kit.carried.iter().any(|carried| carried.role.value == Role::Back && dive.is_switched_to_by_name(carried)) {
        return kit;
    }
    let numbers: Vec<Option<usize>> = (0..kit.inputs.len()).map(|number| kit.twins(number)).collect();
    for (input, twins) in kit.inputs.iter_mut().zip(numbers) {
        input.twins = twins;
    }
    kit
}

/// Mixes of cylinders that are breathed from evenly are no farther apart, a fraction of oxygen or helium.
const ALIKE: f64 = 0.01;

fn input(dive: &DiverDive<'_>, carried: &Carried, used_l: f64) -> Result<CylinderInput, Unknown> {
    let gas = dive.gas(carried)?;
    let name = &gas.cylinder.name.value;
    let lacks = |what: &str| Unknown::lacks(&carried.name.place, format!("{what} of cylinder {name:?}"));
    let size = gas.cylinder.thing.size_l.as_ref().ok_or_else(|| lacks("`size=`"))?;
    let gauge = gas.gauge_bar().ok_or_else(|| lacks("the pressure of the `fill`"))?;
    let held = &dive.plan.limits;
    let (unusable, reserve) = (held.value(LimitName::Unusable), held.value(LimitName::Reserve));
    let role = carried.role.value;
    // Only what feeds the diver on the way is held to a reserve.
    let kept = role.feeds();
    Ok(CylinderInput {
        filled: Filled {
            size_l: size.value,
            mix: fractions(gas.lean),
            gauge_bar: gauge.value,
            read_c: gas.read_c(dive),
            water_c: dive.water_c(),
            surface_bar: dive.water().surface_bar,
            reserve_bar: if kept { reserve.max(unusable) } else { unusable },
            unusable_bar: unusable,
            greatest_po2_bar: limits::po2(held, role).value,
        },
        rich: fractions(gas.rich),
        used_l,
        common: None,
        twins: None,
    })
}
