//! What may happen on a dive.

/// Something that happened at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// When, minutes since leaving the surface.
    pub t_min: f64,
    /// What.
    pub kind: EventKind,
}

/// What may happen. Cylinders are numbered as in the kit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EventKind {
    /// The loop came to its set-point.
    SetPointReached,
    /// The controlled feed is full open and can't hold the set-point.
    ValveSaturated,
    /// The injector gives all it can and can't hold the set-point.
    InjectorSaturated,
    /// The loop was flushed.
    Flushed,
    /// The loop is full of gas again.
    LoopFull,
    /// The loop is too short of gas to breathe from.
    LoopShort,
    /// No oxygen is left in the loop.
    OxygenGone,
    /// The loop's oxygen fell below the floor.
    BelowFloor,
    /// The loop's oxygen rose to the floor.
    FloorRegained,
    /// The partial pressure of oxygen fell below the least.
    OxygenLow,
    /// The partial pressure of oxygen rose to the least.
    OxygenRegained,
    /// The partial pressure of oxygen fell to where a diver may faint.
    Faint,
    /// The partial pressure of oxygen rose over the greatest.
    OxygenHigh,
    /// The partial pressure of oxygen fell back to the greatest.
    OxygenHighOver,
    /// A cylinder came down to its reserve.
    CylinderReserve(usize),
    /// A cylinder gives no more gas.
    CylinderEmpty(usize),
    /// Depth now allows a cylinder's mix to be breathed.
    MixBreathable(usize),
    /// Depth no longer allows a cylinder's mix to be breathed.
    MixUnbreathable(usize),
    /// The usable absorbent is used up.
    AbsorbentSpent,
    /// The oxygen clock of a single exposure is at its limit.
    ClockSpent,
}

impl EventKind {
    /// Its name in outputs that machines read.
    pub const fn slug(self) -> &'static str {
        match self {
            EventKind::SetPointReached => "set-point-reached",
            EventKind::ValveSaturated => "valve-saturated",
            EventKind::InjectorSaturated => "injector-saturated",
            EventKind::Flushed => "flushed",
            EventKind::LoopFull => "loop-full",
            EventKind::LoopShort => "loop-short",
            EventKind::OxygenGone => "oxygen-gone",
            EventKind::BelowFloor => "below-floor",
            EventKind::FloorRegained => "floor-regained",
            EventKind::OxygenLow => "oxygen-low",
            EventKind::OxygenRegained => "oxygen-regained",
            EventKind::Faint => "faint",
            EventKind::OxygenHigh => "oxygen-high",
            EventKind::OxygenHighOver => "oxygen-high-over",
            EventKind::CylinderReserve(_) => "cylinder-reserve",
            EventKind::CylinderEmpty(_) => "cylinder-empty",
            EventKind::MixBreathable(_) => "mix-breathable",
            EventKind::MixUnbreathable(_) => "mix-unbreathable",
            EventKind::AbsorbentSpent => "absorbent-spent",
            EventKind::ClockSpent => "clock-spent",
        }
    }
}
