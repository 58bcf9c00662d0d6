//! What may go wrong, one thing at a time.

use super::Buddy;
use crate::physics::{SetPoint, tolerance};
use crate::run::{Act, Circuit, Fade, Profile, Purpose, Scenario, State, Track, Way, WayOut, Work};

/// What may go wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Trouble {
    /// The controlled feed stays shut.
    ControlledFeedShut,
    /// The constant feed is shut.
    ConstantFeedShut,
    /// The make-up valve gives nothing.
    MakeUpLost,
    /// The controller holds its valve open.
    ControllerStuckOpen,
    /// The oxygen of a closed loop stays shut, its valve stuck or its cylinder gone.
    OxygenShut,
    /// It stays open.
    OxygenStuckOpen,
    /// The cylinder that feeds the loop is lost, and with it what the mouthpiece gives.
    SupplyLost,
    /// The same of a closed loop.
    DiluentLost,
    /// Two of a closed loop's three cells read high, so that all dive it is held lower than it is shown.
    CellsHigh,
    /// They read low, so that it is held higher.
    CellsLow,
    /// A deco cylinder of this number is lost.
    DecoLost(usize),
    /// One of several cylinders that are breathed from evenly is lost, the one of this number.
    TwinLost(usize),
    /// The diver who bails out is out of breath.
    Breathless,
    /// Five minutes of peak work on the loop, then heavy work.
    HardWork,
    /// The loop is full of water.
    LoopFlooded,
    /// A buddy breathes from the same gas on the way out.
    BuddyOnGas,
    /// The dive goes deeper by the plan's overrun.
    Deeper,
    /// It takes longer by it.
    Longer,
    /// Both.
    DeeperAndLonger,
}

impl Trouble {
    /// Those that a dive can meet, in the order in which they are told. `track` is the dive as it goes.
    pub(super) fn all(dive: &Profile, track: &Track) -> Vec<Trouble> {
        let each = |trouble: fn(usize) -> Trouble| (0..dive.cylinders.len()).map(trouble);
        let mut all = vec![
            Trouble::ControlledFeedShut,
            Trouble::ConstantFeedShut,
            Trouble::MakeUpLost,
            Trouble::ControllerStuckOpen,
            Trouble::OxygenShut,
            Trouble::OxygenStuckOpen,
            Trouble::SupplyLost,
            Trouble::DiluentLost,
            Trouble::CellsHigh,
            Trouble::CellsLow,
        ];
        all.extend(each(Trouble::DecoLost));
        all.extend(each(Trouble::TwinLost));
        all.extend([
            Trouble::Breathless,
            Trouble::HardWork,
            Trouble::LoopFlooded,
            Trouble::BuddyOnGas,
            Trouble::Deeper,
            Trouble::Longer,
            Trouble::DeeperAndLonger,
        ]);
        all.retain(|trouble| trouble.can_happen(dive, track));
        all
    }

    /// The names of all kinds, in the order in which they are told.
    pub const NAMES: [&str; 19] = [
        "controlled-feed-shut",
        "constant-feed-shut",
        "make-up-lost",
        "controller-stuck-open",
        "oxygen-shut",
        "oxygen-stuck-open",
        "supply-lost",
        "diluent-lost",
        "cells-high",
        "cells-low",
        "deco-lost",
        "twin-lost",
        "breathless",
        "hard-work",
        "loop-flooded",
        "buddy-on-gas",
        "deeper",
        "longer",
        "deeper-and-longer",
    ];

    /// The cylinder that is lost, where one is.
    pub const fn lost(self) -> Option<usize> {
        match self {
            Trouble::DecoLost(cylinder) | Trouble::TwinLost(cylinder) => Some(cylinder),
            _ => None,
        }
    }

    /// What happens, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Trouble::ControlledFeedShut => "with the controlled feed shut",
            Trouble::ConstantFeedShut => "with the constant feed shut",
            Trouble::MakeUpLost => "without make-up",
            Trouble::ControllerStuckOpen => "with the controller's valve stuck open",
            Trouble::OxygenShut => "with the oxygen shut or lost",
            Trouble::OxygenStuckOpen => "with the oxygen valve stuck open",
            Trouble::SupplyLost => "with the supply lost",
            Trouble::DiluentLost => "with the diluent lost",
            Trouble::CellsHigh => "with two cells reading a tenth high",
            Trouble::CellsLow => "with two cells reading a tenth low",
            Trouble::DecoLost(_) => "with a deco gas lost",
            Trouble::TwinLost(_) => "with one of the cylinders lost",
            Trouble::Breathless => "bailing out breathless",
            Trouble::HardWork => "after five minutes at peak and heavy work from then on",
            Trouble::LoopFlooded => "with the loop flooded",
            Trouble::BuddyOnGas => "with a buddy on the same gas",
            Trouble::Deeper => "going deeper by the overrun",
            Trouble::Longer => "staying longer by the overrun",
            Trouble::DeeperAndLonger => "going deeper and staying longer by the overrun",
        }
    }

    /// Whether it is the plan's own overrun, and not a single failure.
    pub const fn is_overrun(self) -> bool {
        matches!(self, Trouble::Deeper | Trouble::Longer | Trouble::DeeperAndLonger)
    }

    /// Whether it lasts the whole dive, which is dived with it from the start.
    pub(super) const fn is_of_the_dive(self) -> bool {
        self.is_overrun() || matches!(self, Trouble::CellsHigh | Trouble::CellsLow)
    }

    /// Whether a dive can meet it.
    pub(super) fn can_happen(self, dive: &Profile, track: &Track) -> bool {
        let trials = dive.home.trials;
        let semi_closed = match dive.circuit {
            Circuit::SemiClosed(unit) => Some(unit),
            _ => None,
        };
        let closed = matches!(dive.circuit, Circuit::Closed(_));
        let others = dive.home.way_out.iter().any(|cylinder| Some(*cylinder) != dive.circuit.feeds());
        match self {
            Trouble::ControlledFeedShut | Trouble::ControllerStuckOpen => {
                semi_closed.is_some_and(|unit| unit.feed.controlled_lpm > 0.0) && dive.set_point.is_some()
            }
            Trouble::ConstantFeedShut => semi_closed.is_some_and(|unit| unit.feed.constant_lpm > 0.0),
            Trouble::MakeUpLost => semi_closed.is_some_and(|unit| unit.make_up_lpm > 0.0),
            Trouble::HardWork => semi_closed.is_some() && trials.peak.oxygen_lpm > 0.0,
            Trouble::LoopFlooded => dive.circuit.is_loop(),
            Trouble::OxygenShut | Trouble::OxygenStuckOpen => closed,
            // As much as the plan asks for is asked of it: a loop without a set-point is held at none.
            Trouble::CellsHigh | Trouble::CellsLow => closed && dive.set_point.is_some(),
            // Without any other gas the feed and the way out are one, which is said as such.
            Trouble::SupplyLost => dive.circuit.is_loop() && others && !closed,
            Trouble::DiluentLost => closed && others,
            // On a loop that never goes over to it, its loss and the loop's are two failures.
            Trouble::DecoLost(cylinder) => {
                dive.home.deco.contains(&cylinder)
                    && (!dive.circuit.is_loop() || track.used_l(cylinder, Purpose::OpenCircuit) > 0.0)
            }
            Trouble::TwinLost(cylinder) => {
                let twin = |number: usize| dive.cylinders.get(number).and_then(|kit| kit.twins);
                let is_of = |number: usize| twin(number).is_some() && twin(number) == twin(cylinder);
                !dive.circuit.is_loop() && (0..dive.cylinders.len()).filter(|number| is_of(*number)).count() > 1
            }
            Trouble::Breathless => true,
            Trouble::BuddyOnGas => trials.buddy != Buddy::None,
            Trouble::Deeper => trials.deeper_m > 0.0,
            Trouble::Longer => trials.longer_min > 0.0,
            Trouble::DeeperAndLonger => trials.deeper_m > 0.0 && trials.longer_min > 0.0,
        }
    }

    /// What it takes at once.
    pub(super) fn strike(self, now: &mut State) {
        if let Trouble::TwinLost(cylinder) = self {
            now.run_dry(cylinder);
        }
    }

    /// What it does to a loop that is breathed.
    pub(super) fn takes_over(self, now: &mut State) {
        if self == Trouble::OxygenStuckOpen {
            now.set_point = Some(SetPoint::Bar(OPEN_BAR));
        }
    }

    /// The way out with it.
    pub(super) fn way_out(self, dive: &Profile, out: &WayOut) -> WayOut {
        let twice = |work: Work| Work { gas_lpm: 2.0 * work.gas_lpm, ..work };
        match self {
            Trouble::Breathless => {
                let trials = &dive.home.trials;
                let gas_lpm = out.problem.gas_lpm.max(trials.breathless_lpm);
                WayOut {
                    problem: Work { gas_lpm, ..out.problem },
                    problem_min: out.problem_min.max(trials.breathless_min),
                    fade: Some(Fade { from_lpm: gas_lpm, minutes: trials.fades_min }),
                    ..*out
                }
            }
            Trouble::BuddyOnGas => {
                let mut shared = *out;
                shared.problem = twice(out.problem);
                shared.ascent.work = twice(out.ascent.work);
                shared.divers = 2.0 * out.divers;
                shared
            }
            _ => *out,
        }
    }
}

impl Scenario for Trouble {
    fn name(&self) -> &'static str {
        match self {
            Trouble::ControlledFeedShut => "controlled-feed-shut",
            Trouble::ConstantFeedShut => "constant-feed-shut",
            Trouble::MakeUpLost => "make-up-lost",
            Trouble::ControllerStuckOpen => "controller-stuck-open",
            Trouble::OxygenShut => "oxygen-shut",
            Trouble::OxygenStuckOpen => "oxygen-stuck-open",
            Trouble::SupplyLost => "supply-lost",
            Trouble::DiluentLost => "diluent-lost",
            Trouble::CellsHigh => "cells-high",
            Trouble::CellsLow => "cells-low",
            Trouble::DecoLost(_) => "deco-lost",
            Trouble::TwinLost(_) => "twin-lost",
            Trouble::Breathless => "breathless",
            Trouble::HardWork => "hard-work",
            Trouble::LoopFlooded => "loop-flooded",
            Trouble::BuddyOnGas => "buddy-on-gas",
            Trouble::Deeper => "deeper",
            Trouble::Longer => "longer",
            Trouble::DeeperAndLonger => "deeper-and-longer",
        }
    }

    fn worsen(&self, dive: &Profile) -> Profile {
        let mut worse = dive.clone();
        let trials = dive.home.trials;
        if let Circuit::SemiClosed(unit) = &mut worse.circuit {
            match self {
                Trouble::ControlledFeedShut => unit.feed.controlled_lpm = 0.0,
                Trouble::ConstantFeedShut => unit.feed.constant_lpm = 0.0,
                Trouble::MakeUpLost => unit.make_up_lpm = 0.0,
                Trouble::ControllerStuckOpen => {
                    unit.feed.constant_lpm += unit.feed.controlled_lpm;
                    unit.feed.controlled_lpm = 0.0;
                }
                _ => {}
            }
        }
        if let Circuit::Closed(unit) = &mut worse.circuit {
            match self {
                Trouble::OxygenShut => unit.inject_lpm = 0.0,
                // Whatever it is shown, the loop is below what it is asked for.
                Trouble::OxygenStuckOpen => worse.set_point = Some(SetPoint::Bar(OPEN_BAR)),
                Trouble::DiluentLost => unit.make_up_lpm = 0.0,
                _ => {}
            }
        }
        match self {
            Trouble::CellsHigh => worse = held_at(worse, 1.0 / (1.0 + CELLS_OFF)),
            Trouble::CellsLow => worse = held_at(worse, 1.0 / (1.0 - CELLS_OFF)),
            Trouble::SupplyLost | Trouble::DiluentLost => {
                worse.home.way_out.retain(|cylinder| Some(*cylinder) != dive.circuit.feeds());
            }
            Trouble::DecoLost(lost) => {
                worse.home.way_out.retain(|cylinder| cylinder != lost);
                worse.home.planned.retain(|cylinder| cylinder != lost);
            }
            Trouble::Deeper => return worse.alike(|dive| deepen(dive, trials.deeper_m)),
            Trouble::Longer => return worse.alike(|dive| lengthen(dive, trials.longer_min)),
            Trouble::DeeperAndLonger => {
                return worse.alike(|dive| {
                    deepen(dive, trials.deeper_m);
                    lengthen(dive, trials.longer_min);
                });
            }
            _ => {}
        }
        worse
    }
}

/// Two cells may be off by so much and still agree with each other, a share of what they read (common practice, no source).
const CELLS_OFF: f64 = 0.1;
/// What no loop is ever at, bar.
const OPEN_BAR: f64 = 1e3;

/// A dive whose set-points are all so many times what they are.
fn held_at(mut dive: Profile, times: f64) -> Profile {
    let other = |point: SetPoint| match point {
        SetPoint::Fraction(o2) => SetPoint::Fraction(o2 * times),
        SetPoint::Bar(po2_bar) => SetPoint::Bar(po2_bar * times),
    };
    dive.set_point = dive.set_point.map(other);
    for leg in &mut dive.legs {
        if let Act::SetPoint(point) = leg.act {
            leg.act = Act::SetPoint(other(point));
        }
    }
    dive
}

/// The deepest place of a dive, metres.
fn deepest_m(dive: &Profile) -> f64 {
    dive.legs.iter().map(|leg| leg.to_m).fold(0.0, f64::max)
}

fn deepen(dive: &mut Profile, by_m: f64) {
    let deepest = deepest_m(dive);
    let mut at_m = 0.0;
    for leg in &mut dive.legs {
        let was_m = leg.to_m;
        let deeper = was_m >= deepest - tolerance::DEPTH_M;
        // A leg that leads to or from the deepest place goes further at its own rate.
        let change = (was_m - at_m).abs();
        let from_deepest = at_m >= deepest - tolerance::DEPTH_M;
        if change > 0.0 && deeper != from_deepest {
            leg.lasts_min *= (change + by_m) / change;
        }
        if deeper {
            leg.to_m += by_m;
        }
        at_m = was_m;
    }
}

/// The longest stay at the deepest place takes longer; one of a way in takes longer back out as well.
fn lengthen(dive: &mut Profile, by_min: f64) {
    let deepest = deepest_m(dive);
    let mut at_m = 0.0;
    let mut longest: Option<(usize, f64)> = None;
    for (number, leg) in dive.legs.iter().enumerate() {
        let stays = at_m >= deepest - tolerance::DEPTH_M && leg.to_m >= deepest - tolerance::DEPTH_M;
        let leads_out = matches!(leg.way, Some(Way::Out(_)));
        if stays && !leads_out && leg.lasts_min > longest.map_or(0.0, |(_, minutes)| minutes) {
            longest = Some((number, leg.lasts_min));
        }
        at_m = leg.to_m;
    }
    let Some((number, _)) = longest else { return };
    let mut from_there = dive.legs.iter_mut().skip(number);
    let Some(longer) = from_there.next() else { return };
    longer.lasts_min += by_min;
    if longer.way != Some(Way::In(None)) {
        return;
    }
    let out = from_there.find_map(|leg| match leg.way {
        Some(Way::Out(undoes)) if undoes > 0.0 && leg.lasts_min > 0.0 => Some((leg, undoes)),
        _ => None,
    });
    if let Some((leg, undoes)) = out {
        leg.lasts_min += by_min / undoes;
    }
}
