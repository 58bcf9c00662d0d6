//! What a diver's tissues take over a stretch of dive.

use serde::Serialize;

use crate::physics::loop_gas::dry_bar;
use crate::physics::tissues::{Curve, Tissues, alveolar_bar};
use crate::physics::{Mix, roots};
use crate::run::{Along, Breath, ClockFloor};

/// Inert gas in a diver's body, and what of a way up is settled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Body {
    /// Nitrogen and helium in each compartment.
    pub tissues: Tissues,
    /// The first stop of the way up that the diver is on, metres: there the gradient is the low one. 0 where no stop was
    /// made yet, or the diver went below it again.
    pub first_stop_m: f64,
    /// A loop's oxygen counts for the tissues as this fraction at most: 1, or a loop's floor for a run that takes it to
    /// be there all dive.
    pub loop_o2_most: f64,
}

/// Inspired inert gas is followed to this while its fraction moves along a curve that has no closed form with the
/// tissues', bar. The tissues are off by no more.
pub const FOLLOWED_BAR: f64 = 1e-5;
/// No segment is cut into more pieces; the last takes what is left.
const PIECES: usize = 4000;

impl Body {
    /// A body long at rest on air under an ambient pressure, bar.
    pub fn at_rest(bar: f64) -> Body {
        Body { tissues: Tissues::at_rest(bar), first_stop_m: 0.0, loop_o2_most: 1.0 }
    }

    /// What it is after an interval at the surface on air, under its pressure in bar.
    #[must_use]
    pub fn after_surface(self, surface_bar: f64, minutes: f64) -> Body {
        Body { tissues: self.tissues.after_surface(surface_bar, minutes), first_stop_m: 0.0, ..self }
    }

    /// What it is after so many minutes of a stretch.
    ///
    /// The inert load takes a loop's oxygen as the lesser of what is simulated and what the set-point stands for.
    pub(in crate::run) fn after(&self, stretch: Along<'_>, minutes: f64) -> Body {
        if minutes <= 0.0 {
            return *self;
        }
        let inspired = Inspired { stretch, loop_o2_most: self.loop_o2_most };
        Body { tissues: inspired.taken_up(self.tissues, minutes), ..*self }
    }

    pub(in crate::run) fn is_sane(&self) -> bool {
        self.tissues.is_sane() && self.first_stop_m >= 0.0 && (0.0..=1.0).contains(&self.loop_o2_most)
    }
}

/// What a stretch gives to the lungs.
struct Inspired<'a> {
    stretch: Along<'a>,
    loop_o2_most: f64,
}

/// Which oxygen fraction counts.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Counts {
    /// The loop's own, or a cylinder's.
    Own,
    /// What the set-point stands for.
    SetPoint,
    /// The most that is to count.
    Most,
}

/// How a mix moves at a moment.
#[derive(Debug, Clone, Copy)]
struct Pace {
    /// With every further derivative a fraction's greatest grows by no more than this times its order, a minute.
    per_min: f64,
    /// The first derivative of a fraction is no more than this, a minute.
    slope: f64,
}

impl Pace {
    fn or(self, other: Pace) -> Pace {
        Pace { per_min: self.per_min.max(other.per_min), slope: self.slope.max(other.slope) }
    }

    /// How long a cubic through the course of `fraction·P` is within the bound: off by no more than `h⁴/1536` of the
    /// fourth derivative, which is at most `2·λ²·|F′|·(3·λ·P + 4·|P′|)`.
    fn followed_min(self, bar: f64, bar_per_min: f64) -> f64 {
        let fourth =
            2.0 * self.per_min * self.per_min * self.slope * (3.0 * self.per_min * bar + 4.0 * bar_per_min.abs());
        libm::sqrt(libm::sqrt(1536.0 * FOLLOWED_BAR / fourth))
    }
}

impl Inspired<'_> {
    /// The mix that counts after minutes, and why.
    fn at(&self, minutes: f64) -> (Mix, Counts) {
        let bar = self.stretch.bar_at(minutes);
        let breath = &self.stretch.regime.breath;
        let mix = breath.mix_at(minutes, bar);
        if let Breath::Open(_) = breath {
            return (mix, Counts::Own);
        }
        let set_point = match self.stretch.regime.clock_floor {
            ClockFloor::None => f64::INFINITY,
            floor => floor.po2_bar(bar) / bar,
        };
        // What is at the set-point to rounding is neither above nor below it.
        let most = self.loop_o2_most.min(set_point);
        if mix.o2 <= most + 1e-12 {
            return (mix, Counts::Own);
        }
        let he = if mix.o2 < 1.0 { mix.he * (1.0 - most) / (1.0 - mix.o2) } else { 0.0 };
        (Mix { o2: most, he }, if set_point <= self.loop_o2_most { Counts::SetPoint } else { Counts::Most })
    }

    /// What is inspired of nitrogen and helium after minutes, bar.
    fn bar_at(&self, minutes: f64) -> (f64, f64) {
        alveolar_bar(self.at(minutes).0, self.stretch.bar_at(minutes))
    }

    fn taken_up(&self, tissues: Tissues, minutes: f64) -> Tissues {
        let ((start, why), (end, why_then)) = (self.at(0.0), self.at(minutes));
        let (from_bar, to_bar) = (self.stretch.bar_at(0.0), self.stretch.bar_at(minutes));
        let same = start == end && why == why_then;
        if same && self.stays_between(why) {
            return tissues.after(start, from_bar, to_bar, minutes);
        }
        if from_bar == to_bar
            && (why, why_then) == (Counts::Own, Counts::Own)
            && let Some((per_min, settled)) = self.settling()
        {
            let ((n2, he), (n2_settled, he_settled)) = (self.bar_at(0.0), alveolar_signed(settled, from_bar));
            let curve = |start, settled| Curve::Settling { start, settled, per_min };
            return tissues.along(&curve(n2, n2_settled), &curve(he, he_settled), minutes);
        }
        self.piecewise(tissues, minutes)
    }

    /// Whether a mix that is the same at both ends of the stretch is so in between.
    fn stays_between(&self, why: Counts) -> bool {
        let breath = &self.stretch.regime.breath;
        match why {
            Counts::Own => self.pace(0.0).slope == 0.0,
            // The fraction of a fed loop goes one way only, so it counts at most as much throughout.
            _ => matches!(breath, Breath::Loop { .. }) || self.pace(0.0).slope == 0.0,
        }
    }

    /// How fast a loop at one depth whose gas neither grows nor shrinks settles, and where.
    fn settling(&self) -> Option<(f64, Mix)> {
        match self.stretch.regime.breath {
            Breath::Loop { balance, he_lpm, .. }
                if balance.gain_lpm == 0.0 && balance.gain_lpm_per_min == 0.0 && balance.wash_lpm > 0.0 =>
            {
                let mix = Mix { o2: balance.oxygen_lpm / balance.wash_lpm, he: he_lpm / balance.wash_lpm };
                // Where the loop's oxygen ends before that, the closed form ends with the stretch.
                Some((balance.wash_lpm / balance.litres, mix))
            }
            Breath::Spilling { spill, supply_he, .. } if spill.spill_lpm_per_bar > 0.0 && !spill.gone => {
                let spilled = spill.spill_lpm_per_bar * dry_bar(spill.bar);
                let o2 = spill.supply_o2 - spill.metabolic_lpm * (1.0 - spill.supply_o2) / spilled;
                let he = supply_he + spill.metabolic_lpm * supply_he / spilled;
                Some((spill.spill_lpm_per_bar / spill.free_l_per_bar, Mix { o2, he }))
            }
            _ => None,
        }
    }

    /// How what counts moves after minutes.
    fn pace(&self, minutes: f64) -> Pace {
        let (bar, rate) = (self.stretch.bar_at(minutes), self.stretch.bar_per_min);
        let breath = &self.stretch.regime.breath;
        let own = breath.pace(minutes, bar, rate);
        let squeeze = 2.0 * rate.abs() / bar;
        match self.at(minutes).1 {
            Counts::Own => own,
            counts => {
                // Its helium keeps its proportion to nitrogen while oxygen is counted as less.
                let mix = breath.mix_at(minutes, bar);
                let helium = if mix.he > 0.0 { 2.0 * own.slope / (1.0 - mix.o2).max(1e-3) } else { 0.0 };
                let on_bar =
                    counts == Counts::SetPoint && matches!(self.stretch.regime.clock_floor, ClockFloor::Bar(_));
                let held = if on_bar { squeeze } else { 0.0 };
                Pace { per_min: 2.0 * own.per_min + held, slope: helium + held }
            }
        }
    }

    /// By cubics, each short enough to follow the course within [`FOLLOWED_BAR`].
    fn piecewise(&self, mut tissues: Tissues, minutes: f64) -> Tissues {
        let rate = self.stretch.bar_per_min;
        let mut from = 0.0;
        for piece in 0..PIECES {
            let left = minutes - from;
            let pace = self.pace(from);
            let follows =
                |pace: Pace| pace.followed_min(self.stretch.bar_at(from).max(self.stretch.bar_at(minutes)), rate);
            let mut lasts = left;
            if piece + 1 < PIECES {
                let fits = follows(pace);
                lasts = if fits < left { fits } else { left };
                // The bound must hold at the piece's end as well.
                while lasts > 1e-6 && lasts > 1.2 * follows(pace.or(self.pace(from + lasts))) {
                    lasts *= 0.5;
                }
                lasts = self.up_to_change(from, lasts);
            }
            let at = |share: f64| self.bar_at(from + share * lasts);
            let points = [at(0.0), at(0.25), at(0.75), at(1.0)];
            let (nitrogen, helium) = (Curve::Through(points.map(|p| p.0)), Curve::Through(points.map(|p| p.1)));
            tissues = tissues.along(&nitrogen, &helium, lasts);
            from += lasts;
            if from >= minutes {
                break;
            }
        }
        tissues
    }

    /// A piece up to where another oxygen fraction counts, if that comes within it.
    fn up_to_change(&self, from: f64, lasts: f64) -> f64 {
        let stretch = self.stretch;
        if self.at(from).1 == self.at(from + lasts).1 {
            return lasts;
        }
        let over = |minutes: f64| {
            let bar = stretch.bar_at(from + minutes);
            let own = stretch.regime.breath.o2_at(from + minutes, bar);
            let set_point = match stretch.regime.clock_floor {
                ClockFloor::None => f64::INFINITY,
                floor => floor.po2_bar(bar) / bar,
            };
            own - self.loop_o2_most.min(set_point)
        };
        roots::zero(0.0, lasts, over).filter(|change| *change > 1e-7).unwrap_or(lasts)
    }
}

/// As [`alveolar_bar`], of a mix that a curve tends to but need not reach.
fn alveolar_signed(mix: Mix, bar: f64) -> (f64, f64) {
    let dry = bar - crate::physics::tissues::WATER_VAPOUR_BAR;
    (mix.n2() * dry, mix.he * dry)
}

impl Breath {
    /// How its mix moves after minutes, at an ambient pressure in bar and its rate.
    fn pace(&self, minutes: f64, bar: f64, bar_per_min: f64) -> Pace {
        let squeeze = 2.0 * bar_per_min.abs() / bar;
        match self {
            Breath::Open(_) => Pace { per_min: 0.0, slope: 0.0 },
            Breath::Loop { balance, he, he_lpm } => {
                let litres = balance.litres_at(minutes).max(1e-9);
                let gain = balance.gain_lpm + balance.gain_lpm_per_min * minutes;
                let helium = (he_lpm - balance.wash_lpm * balance.inert_at(minutes, *he, *he_lpm)) / litres;
                let steady = balance.oxygen_lpm - balance.wash_lpm * balance.o2 == 0.0;
                let oxygen = if steady { 0.0 } else { balance.o2_per_min_at(minutes) };
                let still = *he == 0.0 && *he_lpm == 0.0;
                let slope = oxygen.abs() + if still { 0.0 } else { helium.abs() };
                Pace { per_min: (balance.wash_lpm.abs() + gain.abs()) / litres, slope }
            }
            Breath::Spilling { spill, supply_he, .. } => {
                if spill.gone {
                    return Pace { per_min: squeeze, slope: squeeze };
                }
                let dry = dry_bar(bar);
                let per_min = spill.spill_lpm_per_bar / spill.free_l_per_bar + 2.0 * bar_per_min.abs() / dry;
                let mix = self.mix_at(minutes, bar);
                let settles = spill.metabolic_lpm / (spill.spill_lpm_per_bar * dry);
                let apart = (mix.o2 - spill.supply_o2).abs() + (mix.he - supply_he).abs() + 2.0 * settles.min(1.0);
                Pace { per_min, slope: per_min * apart }
            }
            Breath::Held { start, volume, he_share, po2_bar } => {
                let litres = volume.litres_at(minutes, bar, start, *po2_bar).max(1e-9);
                let swells = match volume {
                    super::Volume::Venting(_) => 0.0,
                    super::Volume::Filling(gain_lpm) => gain_lpm.abs() / litres,
                    super::Volume::Short(inert_lpm) => {
                        inert_lpm.abs() / litres + 2.0 * bar_per_min.abs() / (bar - po2_bar).max(1e-6)
                    }
                };
                let moves = start.he > 0.0 || *he_share > 0.0;
                let helium = if moves { (1.0 + he_share) * swells + he_share * squeeze } else { 0.0 };
                Pace { per_min: squeeze + 2.0 * swells, slope: squeeze + helium }
            }
        }
    }
}
