//! Laying one site's words over another's, fact by fact.

use super::Site;

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
