//! `endurance-short`: the gas that feeds the diver does not last the dive and the way home.

use super::steady::{Breathing, Kept, Short, Stretch, short, stretches};
use crate::findings::{Fix, FixKind, Level};
use crate::physics::loop_balance::Feed;
use crate::plan::{LegKind, UnitKind, Work};
use crate::rules::dives::{self, Gas, OneDive, fractions};
use crate::rules::limits::{self, RESERVE_BAR, UNUSABLE_BAR};
use crate::rules::mix::mix_below_minimum::{feed_at_most, metabolic_lpm};
use crate::rules::{Family, Look, Mends, Out, Rule, TO_DIVE, mend, mix, say};
use crate::source::Place;

/// The rule.
pub const RULE: Rule = Rule {
    slug: "endurance-short",
    family: Family::Supply,
    level: Level::Error,
    since: "0.1.0",
    mends: Mends::Sometimes,
    waivable: true,
    safety: true,
    statuses: TO_DIVE,
    page: include_str!("endurance_short.md"),
    look,
};

/// A fact that is missing, and what lacks it; nothing where another rule speaks of it.
type Missing = Option<(Place, String)>;

fn look(look: &Look<'_>, out: &mut Out<'_>) {
    for dive in dives::all(look) {
        if !matches!(dive.kind(), Some(UnitKind::Open | UnitKind::SemiClosed)) {
            continue;
        }
        let Some(carried) = dive.main_gas() else { continue };
        match dive.gas(carried).and_then(|gas| one(look, &dive, &gas, out)) {
            Ok(()) | Err(None) => {}
            Err(Some((place, fact))) => out.lacks(place, fact),
        }
    }
}

/// How the cylinder is used up while the dive goes as planned.
enum Use {
    /// Open circuit: what the diver breathes at the surface by work level.
    Open([f64; 5]),
    /// A loop: its feed, set-point, supply oxygen, the oxygen used by work level, its volume where a valve keeps it.
    Loop { feed: Feed, set_point: Option<f64>, supply_o2: f64, metabolic: [f64; 5], make_up_l: f64 },
}

impl Use {
    /// Free litres over the whole stretch and its first half.
    fn used_l(&self, dive: &OneDive<'_>, stretch: &Stretch) -> (f64, f64) {
        let water = dive.water();
        let middle = |share: f64| stretch.from_m + share * (stretch.to_m - stretch.from_m);
        let minutes = stretch.lasts_min;
        match self {
            Use::Open(lpm) => {
                // Depth is linear in time, so the pressure half-way through a part is the part's mean.
                let lpm = lpm[stretch.work as usize];
                let over = |share: f64| lpm * share * minutes * water.pressure_bar(middle(share / 2.0));
                (over(1.0), over(0.5))
            }
            Use::Loop { feed, set_point, supply_o2, metabolic, make_up_l } => {
                let v = metabolic[stretch.work as usize];
                let held = set_point.map_or(feed.constant_lpm, |point| feed.at_set_point_lpm(point, *supply_o2, v));
                let growth =
                    make_up_l * (water.pressure_bar(stretch.to_m) - water.pressure_bar(stretch.from_m)) / minutes;
                let whole = held.max(v + growth) * minutes;
                (whole, whole / 2.0)
            }
        }
    }
}

/// What a diver breathes on open circuit by work level: between rest and peak it goes with the oxygen used.
fn breathing(dive: &OneDive<'_>) -> Result<(Breathing, [f64; 5]), Missing> {
    let diver = dive.diver().ok_or(None)?;
    let lacks =
        |what: &str| Some((dive.member.name.place.clone(), format!("`gas {what}=` of diver {:?}", *dive.member.name)));
    let figure = |work: Work| diver.gas_lpm.at(work).map(|figure| figure.value).ok_or_else(|| lacks(work.word()));
    let breathing = Breathing { rest_lpm: figure(Work::Rest)?, peak_lpm: figure(Work::Peak)? };
    let mut by_work = [breathing.peak_lpm; 5];
    for work in Work::ALL {
        by_work[work as usize] = match figure(work) {
            Ok(said) => said,
            Err(_) => between(dive, &breathing, work),
        };
    }
    Ok((breathing, by_work))
}

/// The oxygen used by work level where a diver gives no figures, litres a minute: 0.6–1 at ease to 3 in hard work
/// (common practice, no source).
const USUAL_OXYGEN_LPM: [f64; 5] = [0.7, 1.0, 1.5, 2.2, 3.0];

fn between(dive: &OneDive<'_>, breathing: &Breathing, work: Work) -> f64 {
    let own = Work::ALL.map(|work| metabolic_lpm(dive, work).ok().map(|oxygen| oxygen.value));
    let oxygen = |work: Work| match own {
        [Some(_), .., Some(_)] => own[work as usize].unwrap_or(USUAL_OXYGEN_LPM[work as usize]),
        _ => USUAL_OXYGEN_LPM[work as usize],
    };
    let share = (oxygen(work) - oxygen(Work::Rest)) / (oxygen(Work::Peak) - oxygen(Work::Rest));
    let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 1.0 };
    breathing.rest_lpm + share * (breathing.peak_lpm - breathing.rest_lpm)
}

fn usage(dive: &OneDive<'_>, gas: &Gas<'_>, open: [f64; 5], stretches: &[Stretch]) -> Result<Use, Missing> {
    if dive.kind() == Some(UnitKind::Open) {
        return Ok(Use::Open(open));
    }
    let unit = dive.unit().ok_or(None)?;
    let mut metabolic = [0.0; 5];
    for stretch in stretches {
        metabolic[stretch.work as usize] = metabolic_lpm(dive, stretch.work)?.value;
    }
    let keeps = unit.thing.make_up.as_ref().is_some_and(|make_up| make_up.value);
    let volume = unit.thing.loop_l.as_ref().map(|volume| volume.value);
    let lacks = || Some((unit.name.place.clone(), format!("the `loop` volume of unit {:?}", unit.name.value)));
    Ok(Use::Loop {
        feed: feed_at_most(dive)?,
        set_point: dive.member.set_point.as_ref().map(|point| point.value / 100.0),
        supply_o2: fractions(gas.lean).o2,
        metabolic,
        make_up_l: if keeps { volume.ok_or_else(lacks)? } else { 0.0 },
    })
}

/// Everything that decides how long a cylinder lasts, so that it can be asked again with a leg changed.
struct Question<'a> {
    dive: OneDive<'a>,
    content_l: f64,
    kept: Kept,
    usage: Use,
    breathing: Breathing,
}

impl Question<'_> {
    fn ask(&self, stretches: &[Stretch]) -> Option<Short> {
        let water = self.dive.water();
        let used = |stretch: &Stretch| self.usage.used_l(&self.dive, stretch);
        short(stretches, self.content_l, self.kept, used, |depth| self.breathing.home_l(&water, depth))
    }
}

/// Free litres that the cylinders carried for an emergency give to the way home.
fn others_l(look: &Look<'_>, dive: &OneDive<'_>) -> Result<f64, Missing> {
    let unusable = limits::or_usual(look, dive.plan, |limits| &limits.unusable_gauge_bar, UNUSABLE_BAR).value;
    let mut sum = 0.0;
    for carried in dive.cylinders("bailout") {
        let gas = dive.gas(carried)?;
        let content = content_l(dive, &gas)?;
        sum += (content - gas.free_l_in_water(dive, unusable).unwrap_or(content)).max(0.0);
    }
    Ok(sum)
}

fn content_l(dive: &OneDive<'_>, gas: &Gas<'_>) -> Result<f64, Missing> {
    let cylinder = &gas.cylinder;
    let what = match (&cylinder.thing.size_l, &gas.fill.gauge_bar) {
        (None, _) => "`size=`",
        (_, None) => "the pressure of the fill",
        _ => return gas.content_free_l(dive).ok_or(None),
    };
    Err(Some((gas.carried.name.place.clone(), format!("{what} of cylinder {:?}", cylinder.name.value))))
}

fn one(look: &Look<'_>, dive: &OneDive<'_>, gas: &Gas<'_>, out: &mut Out<'_>) -> Result<(), Missing> {
    let content_l = content_l(dive, gas)?;
    let (breathing, open) = breathing(dive)?;
    let way = stretches(dive);
    let usage = usage(dive, gas, open, &way)?;
    let reserve = limits::or_usual(look, dive.plan, |limits| &limits.reserve_gauge_bar, RESERVE_BAR);
    let unusable = limits::or_usual(look, dive.plan, |limits| &limits.unusable_gauge_bar, UNUSABLE_BAR);
    let in_water = |bar: f64| gas.free_l_in_water(dive, bar).ok_or(None);
    let loops = dive.kind() != Some(UnitKind::Open);
    // On open circuit the gas breathed is the way home; on a loop it is if the mouthpiece gives it.
    let gives =
        !loops || dive.unit().is_some_and(|unit| unit.thing.mouthpiece.as_ref().is_some_and(|m| m.value == "supply"));
    let kept = Kept {
        always_l: if loops { in_water(reserve.value)? } else { 0.0 },
        unusable_l: in_water(unusable.value)?,
        others_l: if gives { others_l(look, dive)? } else { f64::INFINITY },
    };
    let question = Question { dive: *dive, content_l, kept, usage, breathing };
    let Some(found) = question.ask(&way) else { return Ok(()) };
    let whole: f64 = way.iter().map(|stretch| stretch.lasts_min).sum();
    let gauge = |litres: f64| gas.gauge_in_water_bar(dive, litres.max(0.0)).unwrap_or(0.0);
    let (left, must) = (gauge(found.holds_l), found.home_l.max(kept.always_l));
    let why = if found.home_l > kept.always_l {
        format!("the way home from {} m takes what is left", say::number(say::up(found.depth_m, 1.0)))
    } else {
        format!("the reserve of {} bar is reached", say::number(reserve.value))
    };
    let message = format!(
        "{} {:?} lasts {} of {} min: at {} bar {why}",
        gas.carried.role.value,
        gas.cylinder.name.value,
        say::minutes_had(found.at_min),
        say::number(say::up(whole, 1.0)),
        say::pressure_needed(left),
    );
    let mut finding = RULE.finding(gas.carried.name.place.clone(), message).with_about(dive.about());
    if let Some(leg) = dive.legs().get(found.leg) {
        finding = finding.with_related(leg.place.clone(), "here it runs short");
    }
    finding = finding.with_related(gas.fill_place.clone(), "the fill");
    if let Some(place) = reserve.place.filter(|_| found.home_l <= kept.always_l) {
        finding = finding.with_related(place, "the reserve");
    }
    let used = content_l - found.holds_l;
    finding = finding
        .with_step(
            "content, real gas",
            format!("{} in the cylinder as filled", gas.cylinder.name.value),
            format!("{content_l:.1} free L"),
        )
        .with_step("used by then", format!("{:.2} min of the plan", found.at_min), format!("{used:.1} free L"))
        .with_step(
            "kept = max(reserve, way home + unusable − other gas)",
            format!("max({:.1}, {:.1})", kept.always_l, found.home_l),
            format!("{must:.1} free L"),
        )
        .with_step("pressure left, in the water", format!("{:.1} free L", found.holds_l), format!("{left:.2} bar"));
    finding.fixes.extend(shorter_stay(look, &question));
    finding.fixes.extend(mend::another_cylinder(look, dive, gas.carried, |other| {
        let enough = other.content_free_l(dive).is_some_and(|content| content > content_l);
        enough
            && mix::suits(look, dive, other)
            && question.with_content(dive, other).is_some_and(|q| q.ask(&way).is_none())
    }));
    out.find(finding);
    Ok(())
}

impl<'a> Question<'a> {
    /// The same with another cylinder's content and what must be kept in it.
    fn with_content(&self, dive: &OneDive<'a>, gas: &Gas<'_>) -> Option<Question<'a>> {
        // The kept litres go with size: the same gauge readings in the other cylinder.
        let size = gas.cylinder.thing.size_l.as_ref()?.value;
        let now = dive.main_gas().and_then(|carried| dive.gas(carried).ok())?.cylinder.thing.size_l.as_ref()?.value;
        let scale = size / now;
        let kept = Kept { always_l: self.kept.always_l * scale, unusable_l: self.kept.unusable_l * scale, ..self.kept };
        let usage = match &self.usage {
            Use::Open(lpm) => Use::Open(*lpm),
            Use::Loop { feed, set_point, metabolic, make_up_l, .. } => Use::Loop {
                feed: *feed,
                set_point: *set_point,
                supply_o2: fractions(gas.lean).o2,
                metabolic: *metabolic,
                make_up_l: *make_up_l,
            },
        };
        Some(Question { dive: *dive, content_l: gas.content_free_l(dive)?, kept, usage, breathing: self.breathing })
    }
}

/// Suggests the longest whole minutes for the longest stay with which the cylinder lasts.
fn shorter_stay(look: &Look<'_>, question: &Question<'_>) -> Option<Fix> {
    let dive = &question.dive;
    let way = stretches(dive);
    let is_stay = |stretch: &&Stretch| {
        dive.legs().get(stretch.leg).is_some_and(|leg| leg.kind == LegKind::Stay && leg.minutes.is_some())
    };
    let longest = way.iter().filter(is_stay).max_by(|a, b| a.lasts_min.total_cmp(&b.lasts_min))?;
    let minutes = dive.legs().get(longest.leg)?.minutes.as_ref()?;
    let fits = |minutes: f64| {
        let mut way = way.clone();
        let cut = longest.lasts_min - minutes;
        for stretch in &mut way {
            if stretch.leg == longest.leg {
                stretch.lasts_min = minutes;
            } else if stretch.from_min > longest.from_min {
                stretch.from_min -= cut;
            }
        }
        question.ask(&way).is_none()
    };
    // Lasting is monotone in the stay, so the longest that fits is found by halving.
    let (mut fitting, mut over) = (0.0, say::up(longest.lasts_min, 1.0));
    while over - fitting > 1.0 {
        let middle = ((fitting + over) / 2.0_f64).floor();
        if fits(middle) { fitting = middle } else { over = middle }
    }
    if fitting < 1.0 || !fits(fitting) {
        return None;
    }
    let edit = mend::metric(look, &minutes.place, fitting, None)?;
    Some(Fix { title: format!("stay {} min", say::number(fitting)), kind: FixKind::Suggested, edits: vec![edit] })
}
