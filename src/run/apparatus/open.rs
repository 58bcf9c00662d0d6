//! Open circuit: each breath is fresh and lost.

use serde::Serialize;

use crate::physics::{Mix, tolerance};
use crate::run::{Breath, Breathing, Crossing, Draw, Draws, EventKind, Leg, Purpose, Regime, State};

/// Breathing a cylinder's gas straight from it, or what stands in a unit's mouthpiece once its lever is thrown.
///
/// What is breathed is counted on past an empty cylinder, so that a run says how much was lacking.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Open {
    /// The cylinder.
    pub cylinder: usize,
}

impl Open {
    /// The number that open circuit from a cylinder has among a dive's sources: the apparatus is number 0.
    pub fn source(cylinder: usize) -> usize {
        cylinder + 1
    }
}

impl Breathing for Open {
    fn regime(&self, now: &State, leg: &Leg) -> Regime {
        let mix = now.kit.get(self.cylinder).map_or(Mix { o2: 0.0, he: 0.0 }, |cylinder| cylinder.mix);
        let gas_lpm = leg.work.gas_lpm;
        let mut draws = Draws::none();
        let had: Vec<(usize, f64)> =
            now.together(self.cylinder).map(|cylinder| (cylinder, now.to_be_had_l(cylinder))).collect();
        let all_l: f64 = had.iter().map(|(_, litres)| litres).sum();
        // Of several a breath comes from the fuller one, so each gives its share of what there is and all end together.
        // Where nothing is left what is lacking is one's alone.
        let shares = had.into_iter().filter(|(_, litres)| *litres > 0.0 && all_l > tolerance::LITRES);
        let mut shares: Vec<(usize, f64)> = shares.map(|(cylinder, litres)| (cylinder, litres / all_l)).collect();
        if shares.is_empty() {
            shares.push((self.cylinder, 1.0));
        }
        for (cylinder, share) in shares {
            let lpm = share * gas_lpm;
            draws.push(Draw::growing(cylinder, Purpose::OpenCircuit, lpm * now.bar, lpm * now.bar_per_min));
        }
        Regime::of(Breath::Open(mix), draws)
    }

    fn open_circuit(&self) -> Option<usize> {
        Some(self.cylinder)
    }

    fn cross(&self, _now: &mut State, _event: Crossing) -> Option<EventKind> {
        None
    }
}
