//! What the body and the absorbent take over a dive.

use serde::Serialize;

use crate::physics::oxygen::{Dose, clock_after_surface};
use crate::run::{Along, Body};

/// What the body and the absorbent have taken up to an instant.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Exposure {
    /// The oxygen clock of a single exposure, a share of its limit.
    pub clock: f64,
    /// Its sum over 24 hours, a share of that limit.
    pub day: f64,
    /// Pulmonary units.
    pub units: f64,
    /// Rated minutes of absorbent.
    pub absorbent_min: f64,
    /// Carbon dioxide given to it, free litres.
    pub co2_l: f64,
    /// Inert gas in the body; `None` where nobody asks for it, so that a run need not follow it.
    pub body: Option<Body>,
    /// Whether oxygen's clocks and units stand still: for runs that are only asked about gas and tissues.
    pub clocks_stopped: bool,
}

impl Exposure {
    /// What it is after so many minutes of a stretch.
    ///
    /// Partial pressures for the clocks are the greater of what is simulated and what the set-point stands for.
    pub(in crate::run) fn after(&self, stretch: Along<'_>, minutes: f64) -> Exposure {
        let dose = if self.clocks_stopped { Dose::default() } else { dose(stretch, minutes) };
        Exposure {
            clock: self.clock + dose.single,
            day: self.day + dose.day,
            units: self.units + dose.units,
            absorbent_min: self.absorbent_min + stretch.regime.absorbent_per_min * minutes,
            co2_l: self.co2_l + stretch.regime.co2_lpm * minutes,
            body: self.body.map(|body| body.after(stretch, minutes)),
            clocks_stopped: self.clocks_stopped,
        }
    }

    /// This on top of what was taken before. Its tissues, where it has any, already hold what they held before.
    #[must_use]
    pub fn with(self, before: Exposure) -> Exposure {
        Exposure {
            clock: self.clock + before.clock,
            day: self.day + before.day,
            units: self.units + before.units,
            absorbent_min: self.absorbent_min + before.absorbent_min,
            co2_l: self.co2_l + before.co2_l,
            body: self.body.or(before.body),
            clocks_stopped: self.clocks_stopped,
        }
    }

    /// What is left of it after an interval at the surface on air: the clock halves every 90 minutes, the rest stays.
    /// Dropping what is older than 24 hours from `day` is the caller's. Tissues are no longer known: for them
    /// [`Exposure::rested`] needs the pressure.
    #[must_use]
    pub fn after_surface(self, minutes: f64) -> Exposure {
        Exposure { clock: clock_after_surface(self.clock, minutes), body: None, ..self }
    }

    /// What is left of it after an interval at the surface on air under a pressure in bar, tissues as well.
    #[must_use]
    pub fn rested(self, surface_bar: f64, minutes: f64) -> Exposure {
        let body = self.body.map(|body| body.after_surface(surface_bar, minutes));
        Exposure { body, ..self.after_surface(minutes) }
    }
}

fn dose(stretch: Along<'_>, minutes: f64) -> Dose {
    let floor = stretch.regime.clock_floor;
    let breath = &stretch.regime.breath;
    let counted = |at: f64| {
        let bar = stretch.bar_at(at);
        (breath.o2_at(at, bar) * bar).max(floor.po2_bar(bar))
    };
    let curvature = |at: f64| breath.curvature_per_min(at);
    let (start_bar, end_bar) = (stretch.bar_at(0.0), stretch.bar_at(minutes));
    let (start, end) = (counted(0.0), counted(minutes));
    // Where the floor counts at both ends and where the curve turns it counts throughout: a loop crosses its set-point only at an event, and may
    // be off it by rounding there.
    let counts = |counted: f64, bar: f64| counted <= floor.po2_bar(bar) * (1.0 + 1e-9);
    let turn = breath.turning(start_bar, stretch.bar_per_min, minutes);
    let on_floor = counts(start, start_bar)
        && counts(end, end_bar)
        && turn.is_none_or(|turn| counts(counted(turn), stretch.bar_at(turn)));
    if on_floor || curvature(0.0) == 0.0 {
        if let super::ClockFloor::Bar(po2) = floor
            && stretch.bar_per_min != 0.0
        {
            // Where ambient pressure no longer allows the set-point the line has a kink.
            let kink = (po2 - start_bar) / stretch.bar_per_min;
            if kink > 0.0 && kink < minutes {
                return join(Dose::on_ramp(start, counted(kink), kink), counted(kink), end, minutes - kink);
            }
        }
        return Dose::on_ramp(start, end, minutes);
    }
    let mut dose = Dose::default();
    let mut from = 0.0;
    for to in turn.into_iter().chain([minutes]) {
        dose += Dose::along(from, to, curvature, counted);
        from = to;
    }
    dose
}

fn join(mut first: Dose, from_bar: f64, to_bar: f64, minutes: f64) -> Dose {
    first += Dose::on_ramp(from_bar, to_bar, minutes);
    first
}
