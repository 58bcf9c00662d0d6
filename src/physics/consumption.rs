//! What open-circuit breathing takes, and how it goes with work.

/// Suit inflation, free litres a bar of descent (common practice, no source).
pub const SUIT_L_PER_BAR: f64 = 6.0;
/// Gas in a wing at depth, litres (common practice, no source).
pub const WING_L: f64 = 5.0;
/// Gas in a wing at the surface, litres (common practice, no source).
pub const WING_AT_SURFACE_L: f64 = 15.0;

/// Figures by work level where only some are written, as open-circuit gas by the oxygen used: the others lie on the line
/// between their neighbours, going with what all levels are known of; beyond the first and the last written, a figure
/// keeps that level's share of it. `None` where nothing is written, or a figure is not above 0.
pub fn levels_by<const N: usize>(gas_lpm: [Option<f64>; N], oxygen_lpm: [f64; N]) -> Option<[f64; N]> {
    let sane = |x: f64| x > 0.0 && x.is_finite();
    let known: Vec<(f64, f64)> = oxygen_lpm.iter().zip(gas_lpm).filter_map(|(o2, gas)| Some((*o2, gas?))).collect();
    let (first, last) = (*known.first()?, *known.last()?);
    if !known.iter().all(|(o2, gas)| sane(*o2) && sane(*gas)) || !oxygen_lpm.iter().all(|o2| sane(*o2)) {
        return None;
    }
    let at = |oxygen: f64| {
        if oxygen <= first.0 {
            return first.1 * oxygen / first.0;
        }
        if oxygen >= last.0 {
            return last.1 * oxygen / last.0;
        }
        known
            .iter()
            .zip(known.iter().skip(1))
            .find(|(low, high)| low.0 <= oxygen && oxygen <= high.0)
            .map_or(last.1, |(low, high)| low.1 + (high.1 - low.1) * (oxygen - low.0) / (high.0 - low.0))
    };
    let mut all = [0.0; N];
    for ((slot, oxygen), written) in all.iter_mut().zip(oxygen_lpm).zip(gas_lpm) {
        *slot = written.unwrap_or_else(|| at(oxygen));
    }
    Some(all)
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;

    #[test]
    fn levels_between_go_with_oxygen() {
        let gas = levels_by([Some(16.0), None, None, None, Some(60.0)], [0.7, 1.0, 1.5, 2.2, 3.0]);
        let Some(gas) = gas else { panic!("all levels") };
        assert!((gas[1] - (16.0 + 44.0 * 0.3 / 2.3)).abs() < 1e-12);
        assert_eq!((gas[0], gas[4]), (16.0, 60.0));
        let from_one = levels_by([None, Some(20.0), None], [0.5, 1.0, 2.0]);
        assert_eq!(from_one, Some([10.0, 20.0, 40.0]));
    }

    #[test]
    fn nothing_from_nothing() {
        assert_eq!(levels_by([None, None], [1.0, 2.0]), None);
        assert_eq!(levels_by([Some(f64::NAN), None], [1.0, 2.0]), None);
        assert_eq!(levels_by([Some(20.0), None], [0.0, 2.0]), None);
    }
}
