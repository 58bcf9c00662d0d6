//! Each diver's part in each dive of a plan: the facts that hold on the plan's day.

use jiff::civil::Date;

use super::Unknown;
use crate::findings::About;
use crate::physics::gas::Stored;
use crate::physics::litres::FREE_C;
use crate::physics::pressure::{FRESH_DENSITY, SALT_DENSITY, Water, surface_bar};
use crate::physics::{Mix, SetPoint};
use crate::plan::{
    Apparatus, ApparatusKind, ByWork, Carried, Course, Cylinder, Dated, Defined, Dive, Diver, Fill, GaugeReading, Leg,
    LegKind, Maybe, Plan, Role, SwitchTo, TeamMember, Training, Work, WrittenMix, as_of,
};
use crate::source::{FileId, Place, Placed};
use crate::words::{LimitName, OPEN};

/// One diver on one dive, an alternative dive included.
#[derive(Debug, Clone, Copy)]
pub struct DiverDive<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The dive.
    pub dive: &'a Dive,
    /// The diver's part in it.
    pub member: &'a TeamMember,
}

/// Every diver on every dive of a plan, alternatives after the dive they belong to.
pub fn of(plan: &Plan) -> Vec<DiverDive<'_>> {
    plan.dives.iter().flat_map(|first| of_dive(plan, first)).collect()
}

/// Every diver on one of a plan's dives and on its alternatives, which have its divers unless they name their own.
pub fn of_dive<'a>(plan: &'a Plan, first: &'a Dive) -> impl Iterator<Item = DiverDive<'a>> {
    std::iter::once(first).chain(&first.otherwise).flat_map(move |dive| {
        let divers = if dive.divers.is_empty() { &first.divers } else { &dive.divers };
        // A place that is still open is nobody's dive.
        let named = divers.iter().filter(|member| member.name.value != OPEN);
        named.map(move |member| DiverDive { plan, dive, member })
    })
}

/// What is in a cylinder on the plan's day.
#[derive(Debug, Clone, Copy)]
pub struct Gas<'a> {
    /// The cylinder as the diver carries it.
    pub carried: &'a Carried,
    /// The cylinder as it is defined.
    pub cylinder: &'a Defined<Cylinder>,
    /// The last fill on or before the day.
    pub fill: &'a Fill,
    /// The node that says the fill.
    pub fill_place: &'a Place,
    /// Its pressure as it was read since, where it was.
    pub read: Option<&'a Dated<GaugeReading>>,
    /// The mix with the least oxygen that it may be: what floor and decompression are held against.
    pub lean: &'a Placed<WrittenMix>,
    /// The mix with the most oxygen that it may be: what operating depth and oxygen clocks are held against.
    pub rich: &'a Placed<WrittenMix>,
}

impl<'a> DiverDive<'a> {
    /// What findings about it are about.
    pub fn about(&self) -> About {
        About {
            plan: Some(self.plan.file.clone()),
            dive: Some(self.dive.name.value.clone()),
            diver: Some(self.member.name.value.clone()),
        }
    }

    /// Where it stands: its plan, the dive and the diver's part in it, which may both stand in a template of several plans.
    pub(crate) fn id(&self) -> (FileId, Place, Place) {
        (self.plan.file.clone(), self.dive.header.clone(), self.member.header.clone())
    }

    /// The plan's day.
    pub fn day(&self) -> Option<Date> {
        self.plan.on.as_ref().map(|on| on.value)
    }

    /// The kind of apparatus; without a unit a diver is on open circuit. `None` where the unit is unknown or does not
    /// say.
    pub fn kind(&self) -> Option<ApparatusKind> {
        match (&self.member.unit_name, self.unit()) {
            (None, _) => Some(ApparatusKind::Open),
            (Some(_), unit) => unit.and_then(|unit| unit.thing.kind.as_ref()).map(|kind| kind.value),
        }
    }

    /// The model of that apparatus, where its unit says one.
    pub fn model(&self) -> Option<&'a str> {
        self.unit().and_then(|unit| unit.thing.model.as_ref()).map(|model| model.value.as_str())
    }

    /// That apparatus as a sentence names it, its model included.
    pub fn phrase(&self, kind: ApparatusKind) -> String {
        let model = self.model().map(|model| format!(", model {model:?},")).unwrap_or_default();
        format!("{}{model}", kind.phrase())
    }

    /// Whether a dive with such apparatus is practice for this one: it is of its kind, and of its model where both say one.
    pub fn is_practised_by(&self, kind: ApparatusKind, model: Option<&str>) -> bool {
        self.kind() == Some(kind) && model.is_none_or(|other| self.model().is_none_or(|own| own == other))
    }

    /// The unit, if the diver has one that is defined.
    pub fn unit(&self) -> Option<&'a Defined<Apparatus>> {
        self.member.unit.as_deref()
    }

    /// The diver, if defined.
    pub fn diver(&self) -> Option<&'a Diver> {
        self.member.diver.as_deref().map(|diver| &diver.thing)
    }

    /// Everyone on the dive; an alternative has the divers of the dive it stands for unless it names its own.
    pub fn team(&self) -> &'a [TeamMember] {
        if !self.dive.divers.is_empty() {
            return &self.dive.divers;
        }
        let stands_for = |first: &&Dive| first.otherwise.iter().any(|other| other.name.value == self.dive.name.value);
        self.plan.dives.iter().find(stands_for).map_or(&[], |first| &first.divers)
    }

    /// The legs that hold for this diver.
    pub fn legs(&self) -> &'a [Leg] {
        if self.member.legs.is_empty() { &self.dive.legs } else { &self.member.legs }
    }

    /// How hard the diver works on a leg.
    pub fn work(&self, leg: &Leg) -> Work {
        let unsaid = if leg.is_way_home() { LimitName::WorkHome } else { LimitName::WorkLegs };
        let said = leg.work.as_ref().or(self.member.work.as_ref());
        said.map_or_else(|| self.plan.limits.work(unsaid), |work| work.value)
    }

    /// The hardest work that any leg asks for. On the way down or up it counts only where it is said: what takes a
    /// minute or two settles nothing.
    pub fn hardest(&self) -> Work {
        let counts = |leg: &&Leg| leg.work.is_some() || stays(leg);
        self.legs()
            .iter()
            .filter(counts)
            .map(|leg| self.work(leg))
            .max()
            .unwrap_or_else(|| self.plan.limits.work(LimitName::WorkLegs))
    }

    /// The deepest depth that any leg says, where it is said.
    pub fn deepest(&self) -> Option<&'a Placed<f64>> {
        let depths = self.legs().iter().filter_map(|leg| leg.depth_m());
        depths.fold(None, |deepest: Option<&Placed<f64>>, depth| match deepest {
            Some(deepest) if deepest.value >= depth.value => Some(deepest),
            _ => Some(depth),
        })
    }

    /// The greatest set-point in force at the deepest place of the dive, where it is said: the one that the diver arrives
    /// with, or one that is set while there. One in force on the way down alone is none.
    pub fn set_point_at_depth(&self) -> Option<&'a Placed<SetPoint>> {
        let deepest_m = self.deepest()?.value;
        let bar = self.water().pressure_bar(deepest_m);
        let mut point = self.member.set_point.as_ref();
        let mut greatest: Option<&Placed<SetPoint>> = None;
        let (mut there, mut arrived) = (false, None);
        for leg in self.legs() {
            if let LegKind::SetPoint(said) = &leg.kind {
                point = said.as_ref();
            }
            if let Some(depth) = leg.depth_m() {
                there = depth.value >= deepest_m;
                arrived = point.filter(|_| there).or(arrived);
            }
            // Whoever sets another before anything else is done there never was there with the first.
            let stays = there && leg.depth_m().is_none() && !matches!(leg.kind, LegKind::SetPoint(_));
            let more = |point: &&Placed<SetPoint>| {
                greatest.is_none_or(|greatest| point.value.fraction_at(bar) > greatest.value.fraction_at(bar))
            };
            if stays && !matches!(leg.kind, LegKind::Ascend { .. }) {
                greatest = point.filter(more).or(greatest);
            }
        }
        greatest.or(arrived)
    }

    /// What a person would change about the oxygen that is breathed: the set-point where a loop has one, else the main
    /// gas.
    pub fn oxygen_is_set_at(&self) -> &'a Place {
        let point = self.member.set_point.as_ref().filter(|_| self.kind() != Some(ApparatusKind::Open));
        let gas = || self.main_gas().map(|carried| &carried.name.place);
        point.map(|point| &point.place).or_else(gas).unwrap_or(&self.member.name.place)
    }

    /// The course that the diver is a student of on this dive: one that the plan names, under an instructor of the dive who is
    /// trained to teach the student's kind of apparatus.
    pub fn taught(&self) -> Option<&'a Defined<Course>> {
        let is = |member: &TeamMember, role: &str| member.role.as_ref().is_some_and(|said| said.value == role);
        let course = self.plan.taught.as_deref()?;
        let teaches = |member: &TeamMember| {
            let mut trained = member.diver.iter().flat_map(|diver| &diver.thing.trained);
            let to_teach = |training: &Training| training.teaches.as_ref().is_some_and(|said| said.value);
            is(member, "instructor") && trained.any(|training| self.is_covered_by(training) && to_teach(&training.what))
        };
        (is(self.member, "student") && self.team().iter().any(teaches)).then_some(course)
    }

    /// Whether a training, the diver's own or that of who teaches them, is for the apparatus that the diver takes, on the day
    /// of the dive. One for a model is for that model alone, one that names none for every unit of the kind.
    pub fn is_covered_by(&self, training: &Dated<Training>) -> bool {
        let (Some(kind), Some(day)) = (self.kind(), self.day()) else { return false };
        training.what.kind.as_ref().is_some_and(|trained| trained.value == kind)
            && training.what.model.as_ref().is_none_or(|trained| self.model() == Some(&trained.value))
            && training.on.as_ref().is_some_and(|on| on.value <= day)
    }

    /// The pressure at the surface, and how it grows with depth. A plan that says no altitude is at sea level.
    pub fn water(&self) -> Water {
        let site = self.plan.site.as_ref();
        let given = site.and_then(|site| site.surface_bar.as_ref()).map(|surface| surface.value);
        let altitude = site.and_then(|site| site.altitude_m.as_ref()).map_or(0.0, |altitude| altitude.value);
        let surface = given.unwrap_or_else(|| surface_bar(altitude));
        match site.filter(|site| site.depth_by_line) {
            None => Water::by_instrument(surface),
            Some(site) => {
                let fresh = site.water.as_ref().is_some_and(|water| water.value == "fresh");
                let density = site.density.as_ref().map(|density| density.value);
                Water::by_line(surface, density.unwrap_or(if fresh { FRESH_DENSITY } else { SALT_DENSITY }))
            }
        }
    }

    /// The water's temperature; that of a filling room where the site says none.
    pub fn water_c(&self) -> f64 {
        self.plan.site.as_ref().and_then(|site| site.temperature_c.as_ref()).map_or(FREE_C, |water| water.value)
    }

    /// The cylinders of a role, in the order they are named.
    pub fn cylinders(&self, role: Role) -> impl Iterator<Item = &'a Carried> {
        self.member.cylinders.iter().filter(move |carried| carried.role.value == role)
    }

    /// What is in a cylinder on the day; `Err` names the fact that is missing and the place that lacks it. An
    /// impossible mix counts as missing, since its own rule speaks of it.
    pub fn gas(&self, carried: &'a Carried) -> Result<Gas<'a>, Unknown> {
        // A name that nothing defines, and a plan without a day, have rules of their own.
        let (Some(cylinder), Some(day)) = (carried.cylinder.as_deref(), self.day()) else {
            return Err(Unknown::SaidElsewhere);
        };
        let lacks =
            |what: &str| Unknown::lacks(&carried.name.place, format!("{what} of cylinder {:?}", cylinder.name.value));
        let Some(Dated { what: fill, place, on }) = as_of(&cylinder.thing.fills, day) else {
            return Err(lacks("a `fill` on or before the day"));
        };
        let mixes = [fill.analysed.as_ref(), fill.nominal.as_ref()];
        let by_oxygen = |a: &&Placed<WrittenMix>, b: &&Placed<WrittenMix>| a.o2_percent.total_cmp(&b.o2_percent);
        let (Some(lean), Some(rich)) =
            (mixes.into_iter().flatten().min_by(by_oxygen), mixes.into_iter().flatten().max_by(by_oxygen))
        else {
            return Err(lacks("the mix (`o2=`)"));
        };
        if !fractions(lean).is_possible() || !fractions(rich).is_possible() {
            return Err(Unknown::SaidElsewhere);
        }
        let since = |read: &&Dated<GaugeReading>| {
            let (read, filled) = (read.on.as_ref().map(|on| on.value), on.as_ref().map(|on| on.value));
            read >= filled
        };
        let read = as_of(&cylinder.thing.gauges, day).filter(since);
        Ok(Gas { carried, cylinder, fill, fill_place: place, read, lean, rich })
    }

    /// The deepest depth at which the legs breathe what answers to `is`: the main gas from the start, others from the leg
    /// that switches to them.
    fn deepest_on(&self, is: impl Fn(&SwitchTo) -> bool) -> Option<&'a Placed<f64>> {
        let main = SwitchTo::Role(self.main_gas()?.role.value);
        let mut source = &main;
        let (mut depth, mut deepest): (Option<&Placed<f64>>, Option<&Placed<f64>>) = (None, None);
        for leg in self.legs() {
            if let LegKind::Switch(to) = &leg.kind {
                source = &to.value;
            }
            depth = leg.depth_m().or(depth);
            if is(source) && depth.is_some_and(|depth| deepest.is_none_or(|deepest| deepest.value < depth.value)) {
                deepest = depth;
            }
        }
        deepest
    }

    /// Whether the legs say this cylinder by its name, among others of its role.
    pub fn is_switched_to_by_name(&self, carried: &Carried) -> bool {
        let by_name = |to: &SwitchTo| matches!(to, SwitchTo::Cylinder(_)) && carried.is_meant_by(to);
        self.legs().iter().any(|leg| matches!(&leg.kind, LegKind::Switch(to) if by_name(&to.value)))
    }

    /// The cylinders that a switch may mean.
    pub fn switched_to(&self, to: &SwitchTo) -> Vec<&'a Carried> {
        self.member.cylinders.iter().filter(|carried| carried.is_meant_by(to)).collect()
    }

    /// The first cylinder that feeds the loop, or the back cylinder on open circuit.
    pub fn main_gas(&self) -> Option<&'a Carried> {
        let role = Role::feeding(self.kind()?).first()?;
        self.member.cylinders.iter().find(|carried| carried.role.value == *role)
    }
}

impl<'a> Gas<'a> {
    /// Free litres in the cylinder, from its gauge at the temperature it was read at; `None` where
    /// size or pressure is not known.
    pub fn content_free_l(&self, dive: &DiverDive<'_>) -> Option<f64> {
        self.free_l(dive, self.gauge_bar()?.value, self.read_c(dive))
    }

    /// Its pressure as it was last known before the dive: as it was read since the fill, else the fill's own.
    pub fn gauge_bar(&self) -> Option<&'a Placed<f64>> {
        self.read.and_then(|read| read.what.gauge_bar.as_ref()).or(self.fill.gauge_bar.as_ref())
    }

    /// Where its pressure is known from, and what that is.
    pub fn known_from(&self) -> (&'a Place, &'static str) {
        self.read.map_or((self.fill_place, "the fill"), |read| (&read.place, "its pressure as read"))
    }

    /// The temperature at which the pressure was read, °C: what the limits say of filling, unless the record says its own.
    pub fn read_c(&self, dive: &DiverDive<'_>) -> f64 {
        let of_fill = self.fill.temperature_c.as_ref();
        let said = self.read.map_or(of_fill, |read| read.what.temperature_c.as_ref()).map(|read| read.value);
        said.unwrap_or_else(|| dive.plan.limits.value(LimitName::FillingTemperature))
    }

    fn free_l(&self, dive: &DiverDive<'_>, gauge_bar: f64, temperature_c: f64) -> Option<f64> {
        let size = self.cylinder.thing.size_l.as_ref()?.value;
        Stored::new(fractions(self.lean), temperature_c)?.free_l(size, gauge_bar, dive.water().surface_bar)
    }
}

/// Whether a leg keeps the diver at work for a while.
fn stays(leg: &Leg) -> bool {
    matches!(leg.kind, LegKind::Stay { .. } | LegKind::Stop { .. } | LegKind::Travel { .. } | LegKind::OffLoop { .. })
}

/// A mix as fractions.
pub fn fractions(mix: &WrittenMix) -> Mix {
    Mix::from_percent(mix.o2_percent, mix.he_percent)
}

/// A figure by work level: the level's own, or the next harder one that is written, which is never on the rash side.
pub fn at_work<T: Clone>(figures: &ByWork<T>, work: Work) -> Maybe<T> {
    Work::ALL[work as usize..].iter().find_map(|level| figures.at(*level)).cloned()
}

/// The deepest depth at which the gas of a role may be breathed on a dive: what feeds the loop or is carried for an
/// emergency, anywhere; what is switched to, where the legs breathe it.
pub fn deepest_breathed<'a>(dive: &DiverDive<'a>, role: Role) -> Option<&'a Placed<f64>> {
    let of_role = |to: &SwitchTo| match to {
        SwitchTo::Role(other) => *other == role,
        SwitchTo::Cylinder(_) => dive.switched_to(to).iter().any(|carried| carried.role.value == role),
    };
    if is_breathed_anywhere(role) { dive.deepest() } else { dive.deepest_on(of_role) }
}

/// The same of one cylinder: of one whose role others have, too, where the legs say it by its name or by its role.
pub fn deepest_breathed_from<'a>(dive: &DiverDive<'a>, carried: &Carried) -> Option<&'a Placed<f64>> {
    if is_breathed_anywhere(carried.role.value) {
        dive.deepest()
    } else {
        dive.deepest_on(|to| carried.is_meant_by(to))
    }
}

/// Whether what is carried as a role may have to be breathed at any depth.
const fn is_breathed_anywhere(role: Role) -> bool {
    matches!(role, Role::Back | Role::Supply | Role::Diluent | Role::Bailout | Role::Spare)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Limits;
    use crate::words::vocabulary;

    /// What the words promise of a leg that says no rate is what it is run with.
    #[test]
    fn rate_unsaid_is_what_the_words_say() {
        let (down, up) = (LimitName::DescentRate, LimitName::AscentRate);
        for (leg, rate) in [("descend", down), ("ascend", up), ("stop", up)] {
            let rate = rate.def().usual_number();
            let word = vocabulary().find(|word| word.name == leg).and_then(|word| word.prop("rate"));
            assert_eq!(word.and_then(|word| word.default), Some(&*rate.to_string()), "{leg}");
        }
    }

    /// What the words promise of a leg that says no work is what it is run with.
    #[test]
    fn work_unsaid_is_what_the_words_say() {
        let legs = ["descend", "stay", "ascend", "stop", "travel"];
        let mut looked = 0;
        for word in vocabulary().filter(|word| legs.contains(&word.name)) {
            let Some(work) = word.prop("work") else { continue };
            assert_eq!(work.default, Some(Limits::default().work(LimitName::WorkLegs).word()), "{}", word.name);
            if word.name == "ascend" {
                assert!(
                    word.meaning.contains(&format!("in {} work", Limits::default().work(LimitName::WorkHome).word())),
                    "{}",
                    word.meaning
                );
            }
            looked += 1;
        }
        assert_eq!(looked, legs.len());
    }
}
