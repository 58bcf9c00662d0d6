//! Legs: what the divers do, in order.

use super::{Maybe, NameUse, Role, Work};
use crate::physics::SetPoint;
use crate::source::{Place, Placed};

/// What a leg asks for, with what its word can say.
#[derive(Debug, Clone, PartialEq)]
pub enum LegKind {
    /// Down to a depth.
    Descend {
        /// The depth, metres.
        depth_m: Maybe<f64>,
        /// How fast, metres a minute.
        rate: Maybe<f64>,
    },
    /// Some time at this depth.
    Stay {
        /// How long, minutes.
        minutes: Maybe<f64>,
        /// Until this run time, minutes.
        until_min: Maybe<f64>,
    },
    /// Up to a depth; without one, to the surface with worked-out stops.
    Ascend {
        /// The depth, metres.
        depth_m: Maybe<f64>,
        /// How fast, metres a minute.
        rate: Maybe<f64>,
    },
    /// A stop that the writer insists on.
    Stop {
        /// The depth, metres.
        depth_m: Maybe<f64>,
        /// How long, minutes.
        minutes: Maybe<f64>,
        /// How fast it is gone to, metres a minute.
        rate: Maybe<f64>,
    },
    /// To a depth over a time.
    Travel {
        /// The depth, metres.
        depth_m: Maybe<f64>,
        /// How long it takes, minutes.
        minutes: Maybe<f64>,
    },
    /// Another gas.
    Switch(Placed<SwitchTo>),
    /// A cylinder is left behind.
    Drop(NameUse),
    /// It is taken up again.
    Take(NameUse),
    /// Another set-point.
    SetPoint(Maybe<SetPoint>),
    /// A flush of the loop.
    Flush {
        /// With so many of its volumes.
        volumes: Maybe<f64>,
    },
    /// Off the loop for a while: a drill.
    OffLoop {
        /// How long, minutes.
        minutes: Maybe<f64>,
        /// Who; everyone unless said.
        who: Option<NameUse>,
    },
    /// Back on the loop.
    OnLoop {
        /// Who; everyone unless said.
        who: Option<NameUse>,
    },
    /// From here on open circuit.
    BailOut {
        /// Who; everyone unless said.
        who: Option<NameUse>,
    },
}

/// The gas that a leg goes over to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SwitchTo {
    /// That of a role: of several cylinders the richest that may be breathed there.
    Role(Role),
    /// That of the cylinder of this name.
    Cylinder(String),
}

impl SwitchTo {
    /// What a plan's text means: a role where it is the word of one, else a cylinder's name.
    pub fn of_text(text: &str) -> SwitchTo {
        Role::of_word(text).map_or_else(|| SwitchTo::Cylinder(text.to_owned()), SwitchTo::Role)
    }

    /// As a plan writes it.
    pub fn text(&self) -> &str {
        match self {
            SwitchTo::Role(role) => role.word(),
            SwitchTo::Cylinder(name) => name,
        }
    }
}

/// Which way a leg leads under something overhead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Farther in.
    In,
    /// Back out.
    Out,
}

/// A leg as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// What it asks for.
    pub kind: LegKind,
    /// The node's header.
    pub place: Place,
    /// Work.
    pub work: Maybe<Work>,
    /// Which way it leads under something overhead.
    pub way: Maybe<Way>,
    /// Under something overhead: minutes back to where the diver may go up, where that is known.
    pub exit_min: Maybe<f64>,
}

impl LegKind {
    /// The word that a plan uses.
    pub const fn word(&self) -> &'static str {
        match self {
            LegKind::Descend { .. } => "descend",
            LegKind::Stay { .. } => "stay",
            LegKind::Ascend { .. } => "ascend",
            LegKind::Stop { .. } => "stop",
            LegKind::Travel { .. } => "travel",
            LegKind::Switch(_) => "switch",
            LegKind::Drop(_) => "drop",
            LegKind::Take(_) => "take",
            LegKind::SetPoint(_) => "set-point",
            LegKind::Flush { .. } => "flush",
            LegKind::OffLoop { .. } => "off-loop",
            LegKind::OnLoop { .. } => "on-loop",
            LegKind::BailOut { .. } => "bail-out",
        }
    }
}

impl Leg {
    /// Whether it leads back out from under something overhead.
    pub fn leads_out(&self) -> bool {
        self.way.as_ref().is_some_and(|way| way.value == Way::Out)
    }

    /// The depth that it goes to or stops at, metres, where it says one.
    pub const fn depth_m(&self) -> Option<&Placed<f64>> {
        match &self.kind {
            LegKind::Descend { depth_m, .. }
            | LegKind::Ascend { depth_m, .. }
            | LegKind::Stop { depth_m, .. }
            | LegKind::Travel { depth_m, .. } => depth_m.as_ref(),
            _ => None,
        }
    }

    /// How fast it goes, metres a minute, where it says so.
    pub const fn rate(&self) -> Option<&Placed<f64>> {
        match &self.kind {
            LegKind::Descend { rate, .. } | LegKind::Ascend { rate, .. } | LegKind::Stop { rate, .. } => rate.as_ref(),
            _ => None,
        }
    }

    /// Whether it leads to the surface with worked-out stops.
    pub const fn is_way_home(&self) -> bool {
        matches!(self.kind, LegKind::Ascend { depth_m: None, .. })
    }

    /// The depth that it ends at, metres, seen from the one it begins at; `None` where it says none that it needs, or
    /// goes nowhere.
    pub fn ends_at_m(&self) -> Option<f64> {
        if self.is_way_home() { Some(0.0) } else { self.depth_m().map(|depth| depth.value) }
    }
}
