//! Laying one word over another: limits and sites, fact by fact.

use super::{Limits, Maybe, Site};

/// Which way a limit grows looser.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Looser {
    /// A greater value allows more.
    Greater,
    /// A smaller value allows more.
    Smaller,
}

/// One of the limits.
#[derive(Debug)]
pub struct Limit {
    /// How a plan writes it: `po2 deco=`.
    pub words: &'static str,
    /// Its inside unit, as printed behind a number.
    pub unit: &'static str,
    /// Which way it grows looser.
    pub looser: Looser,
    /// Its value.
    pub of: fn(&Limits) -> &Maybe<f64>,
}

impl Limit {
    /// Whether `value` allows more than `bound`.
    pub fn is_looser(&self, value: f64, bound: f64) -> bool {
        match self.looser {
            Looser::Greater => value > bound,
            Looser::Smaller => value < bound,
        }
    }
}

const fn limit(words: &'static str, unit: &'static str, looser: Looser, of: fn(&Limits) -> &Maybe<f64>) -> Limit {
    Limit { words, unit, looser, of }
}

impl Limits {
    /// Every limit.
    pub const ALL: &[Limit] = &[
        limit("gradient low=", "%", Looser::Greater, |limits| &limits.gradient_low),
        limit("gradient high=", "%", Looser::Greater, |limits| &limits.gradient_high),
        limit("po2 working=", "bar", Looser::Greater, |limits| &limits.po2_working),
        limit("po2 deco=", "bar", Looser::Greater, |limits| &limits.po2_deco),
        limit("po2 bailout=", "bar", Looser::Greater, |limits| &limits.po2_bailout),
        limit("po2 least=", "bar", Looser::Smaller, |limits| &limits.po2_least),
        limit("reserve", "bar", Looser::Smaller, |limits| &limits.reserve_gauge_bar),
        limit("unusable", "bar", Looser::Smaller, |limits| &limits.unusable_gauge_bar),
        limit("overrun depth=", "m", Looser::Smaller, |limits| &limits.overrun_depth_m),
        limit("overrun time=", "min", Looser::Smaller, |limits| &limits.overrun_min),
        limit("depth", "m", Looser::Greater, |limits| &limits.depth_m),
        limit("deco", "min", Looser::Greater, |limits| &limits.deco_min),
        limit("shallowest-stop", "m", Looser::Smaller, |limits| &limits.shallowest_stop_m),
        limit("band", "%", Looser::Smaller, |limits| &limits.band_percent),
        limit("react", "min", Looser::Smaller, |limits| &limits.react_min),
        limit("currency months=", "months", Looser::Greater, |limits| &limits.currency_months),
        limit("supervision students=", "students", Looser::Greater, |limits| &limits.supervision_students),
    ];

    /// These limits, and another's wherever these say nothing.
    #[must_use]
    pub fn or(self, other: &Limits) -> Limits {
        Limits {
            place: self.place.or_else(|| other.place.clone()),
            gradient_low: self.gradient_low.or_else(|| other.gradient_low.clone()),
            gradient_high: self.gradient_high.or_else(|| other.gradient_high.clone()),
            po2_working: self.po2_working.or_else(|| other.po2_working.clone()),
            po2_deco: self.po2_deco.or_else(|| other.po2_deco.clone()),
            po2_bailout: self.po2_bailout.or_else(|| other.po2_bailout.clone()),
            po2_least: self.po2_least.or_else(|| other.po2_least.clone()),
            reserve_gauge_bar: self.reserve_gauge_bar.or_else(|| other.reserve_gauge_bar.clone()),
            unusable_gauge_bar: self.unusable_gauge_bar.or_else(|| other.unusable_gauge_bar.clone()),
            overrun_depth_m: self.overrun_depth_m.or_else(|| other.overrun_depth_m.clone()),
            overrun_min: self.overrun_min.or_else(|| other.overrun_min.clone()),
            depth_m: self.depth_m.or_else(|| other.depth_m.clone()),
            deco_min: self.deco_min.or_else(|| other.deco_min.clone()),
            shallowest_stop_m: self.shallowest_stop_m.or_else(|| other.shallowest_stop_m.clone()),
            band_percent: self.band_percent.or_else(|| other.band_percent.clone()),
            react_min: self.react_min.or_else(|| other.react_min.clone()),
            currency_months: self.currency_months.or_else(|| other.currency_months.clone()),
            supervision_students: self.supervision_students.or_else(|| other.supervision_students.clone()),
        }
    }
}

impl Site {
    /// This site's facts, and another's wherever this one says nothing. Its name and header stay its own.
    #[must_use]
    pub fn or(self, other: &Site) -> Site {
        let depth_by = self.depth_by.or_else(|| other.depth_by.clone());
        Site {
            name: self.name,
            header: self.header,
            water: self.water.or_else(|| other.water.clone()),
            density: self.density.or_else(|| other.density.clone()),
            altitude_m: self.altitude_m.or_else(|| other.altitude_m.clone()),
            surface_bar: self.surface_bar.or_else(|| other.surface_bar.clone()),
            temperature_c: self.temperature_c.or_else(|| other.temperature_c.clone()),
            depth_by_line: depth_by.as_ref().is_some_and(|by| by.value == "line"),
            depth_by,
            depth_m: self.depth_m.or_else(|| other.depth_m.clone()),
            emergency: self.emergency.or_else(|| other.emergency.clone()),
        }
    }
}
