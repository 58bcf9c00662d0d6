//! Oxygen exposure: the clock of the central nervous system, pulmonary units, and how both add up over days.
//!
//! Partial pressures come in bar, as limits are compared in; the clocks run in atmospheres, as their tables are printed.

use super::pressure::ATMOSPHERE_BAR;
use super::roots;

/// Below this no exposure counts, atm.
pub const THRESHOLD_ATM: f64 = 0.5;
/// Minutes in which the clock halves, at the surface on air only (common practice, no source).
pub const CLOCK_HALVES_MIN: f64 = 90.0;

/// The oxygen pressure of the table's first row, atm; rows follow every 0.1 to 1.6.
const FIRST_ROW_ATM: f64 = 0.6;
const ROW_STEP_ATM: f64 = 0.1;

/// Greatest minutes of a single exposure at 0.6, 0.7 … 1.6 atm (NOAA Diving Manual, oxygen exposure table; 1.2 to 1.6
/// read in a copy, the rest from memory).
pub const SINGLE_MIN: [f64; 11] = [720.0, 570.0, 450.0, 360.0, 300.0, 240.0, 210.0, 180.0, 150.0, 120.0, 45.0];
/// Greatest minutes in 24 hours at 0.6, 0.7 … 1.6 atm (NOAA Diving Manual, oxygen exposure table, from memory).
pub const DAY_MIN: [f64; 11] = [720.0, 570.0, 450.0, 360.0, 300.0, 270.0, 240.0, 210.0, 180.0, 180.0, 150.0];

/// Greatest pulmonary units a day, as the average over that many days, for days 1–14 (Hamilton, Kenyon & Peterson,
/// REPEX, NOAA Technical Report 88-1B, 1988, from memory); 300 from then on.
pub const REPEX_A_DAY: [f64; 14] =
    [850.0, 700.0, 620.0, 525.0, 460.0, 420.0, 380.0, 350.0, 330.0, 310.0, 300.0, 300.0, 300.0, 300.0];

/// Which of the two NOAA limits a clock runs against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Clock {
    /// One exposure.
    Single,
    /// All exposures of 24 hours.
    Day,
}

impl Clock {
    fn minutes(self) -> &'static [f64; 11] {
        match self {
            Clock::Single => &SINGLE_MIN,
            Clock::Day => &DAY_MIN,
        }
    }

    /// The share of the limit used up a minute, 0–1 and above: linear between the rows in share a minute, from 0 at
    /// 0.5 atm to the first row, above 1.6 atm along the slope of the last two rows.
    pub fn per_min(self, po2_bar: f64) -> f64 {
        let (rate, _) = self.line(po2_bar / ATMOSPHERE_BAR);
        rate
    }

    /// The share used up while the partial pressure runs linearly from one value to another, exact.
    pub fn over(self, from_bar: f64, to_bar: f64, minutes: f64) -> f64 {
        let (a, b) = (from_bar / ATMOSPHERE_BAR, to_bar / ATMOSPHERE_BAR);
        let (low, high) = if a <= b { (a, b) } else { (b, a) };
        if minutes.is_nan() || minutes <= 0.0 || low.is_nan() || high.is_nan() || high <= THRESHOLD_ATM {
            return 0.0;
        }
        if low >= THRESHOLD_ATM && row_below(low) == row_below(high) {
            // One straight piece: the trapezium is exact.
            return minutes * 0.5 * (self.line(low).0 + self.line(high).0);
        }
        let per_atm = minutes / (high - low);
        let mut used = 0.0;
        let mut from = low.max(THRESHOLD_ATM);
        while from < high {
            let to = row_above(from).min(high);
            used += per_atm * (to - from) * 0.5 * (self.line(from).0 + self.line(to).0);
            from = to;
        }
        used
    }

    /// Rate and slope at a pressure in atm.
    fn line(self, po2_atm: f64) -> (f64, f64) {
        if po2_atm.is_nan() || po2_atm <= THRESHOLD_ATM {
            return (0.0, 0.0);
        }
        let table = self.minutes();
        let rate = |row: usize| table.get(row).map_or(0.0, |minutes| 1.0 / minutes);
        match row_below(po2_atm) {
            0 => {
                let slope = rate(0) / (FIRST_ROW_ATM - THRESHOLD_ATM);
                ((po2_atm - THRESHOLD_ATM) * slope, slope)
            }
            above => {
                // `above` is one more than the row at or below; the last piece goes on past the table.
                let row = above - 1;
                let slope = (rate(row + 1) - rate(row)) / ROW_STEP_ATM;
                (rate(row) + (po2_atm - row_atm(row)) * slope, slope)
            }
        }
    }

    /// The slope of the rate at a partial pressure, share a minute a bar: what bounds the error of a curve taken as its
    /// chord.
    pub fn slope_per_bar(self, po2_bar: f64) -> f64 {
        self.line(po2_bar / ATMOSPHERE_BAR).1 / ATMOSPHERE_BAR
    }
}

fn row_atm(row: usize) -> f64 {
    FIRST_ROW_ATM + ROW_STEP_ATM * row as f64
}

/// Which straight piece a pressure above the threshold lies on: 0 below the first row, `n` from row `n − 1` up; the last
/// one has no end.
fn row_below(po2_atm: f64) -> usize {
    let rows = SINGLE_MIN.len();
    // A hair is added so that a row's own pressure falls on the piece that starts there.
    let place = (po2_atm - FIRST_ROW_ATM) / ROW_STEP_ATM + 1.0 + 1e-9;
    if place >= 1.0 { (place as usize).min(rows - 1) } else { 0 }
}

/// The end of the straight piece that starts at or holds a pressure.
fn row_above(po2_atm: f64) -> f64 {
    let piece = row_below(po2_atm);
    if piece >= SINGLE_MIN.len() - 1 { f64::INFINITY } else { row_atm(piece) }
}

/// What is left of a clock after minutes at the surface on air.
pub fn clock_after_surface(clock: f64, minutes: f64) -> f64 {
    clock * libm::exp2(-minutes.max(0.0) / CLOCK_HALVES_MIN)
}

/// Pulmonary units a minute: `((PO₂ − 0.5)/0.5)^(5/6)` in atm; 1 a minute at 1 atm, none at or below 0.5 (UPTD; the
/// exponent is printed as 0.833 and stands for 5/6).
pub fn units_per_min(po2_bar: f64) -> f64 {
    let above = over_threshold(po2_bar);
    if above > 0.0 { libm::pow(above, 5.0 / 6.0) } else { 0.0 }
}

/// Pulmonary units while the partial pressure runs linearly from one value to another: the integral of
/// [`units_per_min`] in closed form, `6/11·t/(u₁ − u₀)·(u₁^(11/6) − u₀^(11/6))` with `u = (PO₂ − 0.5)/0.5`, the part
/// below the threshold left out.
pub fn units_over(from_bar: f64, to_bar: f64, minutes: f64) -> f64 {
    let (a, b) = (over_threshold(from_bar), over_threshold(to_bar));
    let (low, high) = if a <= b { (a, b) } else { (b, a) };
    if minutes.is_nan() || minutes <= 0.0 || low.is_nan() || high.is_nan() || high <= 0.0 {
        return 0.0;
    }
    let width = high - low;
    if width < 1e-2 * low {
        // The closed form would lose its digits to cancellation: Gauss's rule on three points, off by less than
        // 1e-16 of the sum at this width.
        let (middle, half) = (0.5 * (low + high), 0.5 * width);
        let node = half * 0.774_596_669_241_483_4;
        let at = |u: f64| libm::pow(u, 5.0 / 6.0);
        return minutes * (5.0 * (at(middle - node) + at(middle + node)) + 8.0 * at(middle)) / 18.0;
    }
    let power = |u: f64| if u > 0.0 { libm::pow(u, 11.0 / 6.0) } else { 0.0 };
    minutes * 6.0 / 11.0 / width * (power(high) - power(low))
}

fn over_threshold(po2_bar: f64) -> f64 {
    (po2_bar / ATMOSPHERE_BAR - THRESHOLD_ATM) / THRESHOLD_ATM
}

/// What a stretch of breathing adds to the clocks and the pulmonary units.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Dose {
    /// Share of the single-exposure limit.
    pub single: f64,
    /// Share of the limit for 24 hours.
    pub day: f64,
    /// Pulmonary units.
    pub units: f64,
}

impl Dose {
    /// The dose while the partial pressure runs linearly, exact.
    pub fn on_ramp(from_bar: f64, to_bar: f64, minutes: f64) -> Dose {
        Dose {
            single: Clock::Single.over(from_bar, to_bar, minutes),
            day: Clock::Day.over(from_bar, to_bar, minutes),
            units: units_over(from_bar, to_bar, minutes),
        }
    }

    /// The dose along a curve that rises or falls throughout `from_min…to_min` and bends, at each moment, like an
    /// exponential of that rate a minute.
    ///
    /// The curve is cut where it crosses a row of the tables, so that the rates are straight in between, and into spans
    /// of one time constant; each is summed by Gauss's rule on four points, which for an exponential is off by less than
    /// 1e-9 of its change. Where the curve leaves the threshold of 0.5 atm the units are off by less than 1e-3.
    pub fn along(
        from_min: f64,
        to_min: f64,
        curvature_per_min: impl Fn(f64) -> f64,
        po2_bar: impl Fn(f64) -> f64,
    ) -> Dose {
        /// No more spans: by then an exponential has died away, and a loop is breathed empty.
        const SPANS: u32 = 40;
        /// A curve this near to where it ends is taken as its chord, bar.
        const DIED_AWAY_BAR: f64 = 1e-10;
        let mut dose = Dose::default();
        let goal = (to_min, po2_bar(to_min));
        let mut at = (from_min, po2_bar(from_min));
        for _ in 1..SPANS {
            let next_min = at.0 + 1.0 / curvature_per_min(at.0);
            let inside = next_min < to_min;
            if !inside || (goal.1 - at.1).abs() < DIED_AWAY_BAR {
                break;
            }
            let next = (next_min, po2_bar(next_min));
            dose.add_span(at, next, &po2_bar);
            at = next;
        }
        dose.add_span(at, goal, &po2_bar);
        dose
    }

    fn add_span(&mut self, mut from: (f64, f64), to: (f64, f64), po2_bar: &impl Fn(f64) -> f64) {
        let edge_bar = |edge: usize| (THRESHOLD_ATM + ROW_STEP_ATM * edge as f64) * ATMOSPHERE_BAR;
        // The straight pieces end at 0.5, 0.6 … 1.6 atm.
        for edge in 0..=SINGLE_MIN.len() {
            let edge = edge_bar(if from.1 < to.1 { edge } else { SINGLE_MIN.len() - edge });
            let between = from.1 < edge && edge < to.1 || to.1 < edge && edge < from.1;
            if between && let Some(minutes) = roots::zero(from.0, to.0, |minutes| po2_bar(minutes) - edge) {
                self.add_straight(from, (minutes, edge), po2_bar);
                from = (minutes, edge);
            }
        }
        self.add_straight(from, to, po2_bar);
    }

    /// Adds a stretch on which the clocks' rates are straight lines.
    fn add_straight(&mut self, from: (f64, f64), to: (f64, f64), po2_bar: &impl Fn(f64) -> f64) {
        const NODES: [(f64, f64); 2] =
            [(0.339_981_043_584_856_3, 0.652_145_154_862_546_1), (0.861_136_311_594_052_6, 0.347_854_845_137_453_9)];
        let minutes = to.0 - from.0;
        if minutes.is_nan() || minutes <= 0.0 || from.1.max(to.1) <= THRESHOLD_ATM * ATMOSPHERE_BAR {
            return;
        }
        let (middle, half) = (0.5 * (from.0 + to.0), 0.5 * minutes);
        let (mut mean_bar, mut mean_units) = (0.0, 0.0);
        for (node, weight) in NODES {
            for at in [middle - half * node, middle + half * node] {
                let bar = po2_bar(at);
                mean_bar += 0.5 * weight * bar;
                mean_units += 0.5 * weight * units_per_min(bar);
            }
        }
        self.single += minutes * Clock::Single.per_min(mean_bar);
        self.day += minutes * Clock::Day.per_min(mean_bar);
        self.units += minutes * mean_units;
    }
}

impl std::ops::AddAssign for Dose {
    fn add_assign(&mut self, other: Dose) {
        self.single += other.single;
        self.day += other.day;
        self.units += other.units;
    }
}

/// The greatest pulmonary units in all over that many days in a row, by REPEX; day 0 counts as day 1.
pub fn units_allowed(days: usize) -> f64 {
    let day = days.max(1);
    REPEX_A_DAY.get(day - 1).copied().unwrap_or(300.0) * day as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rates_meet_at_the_rows() {
        for (row, minutes) in SINGLE_MIN.iter().enumerate() {
            let bar = row_atm(row) * ATMOSPHERE_BAR;
            assert!((Clock::Single.per_min(bar) * minutes - 1.0).abs() < 1e-9, "row {row}");
        }
        assert_eq!(Clock::Single.per_min(0.5 * ATMOSPHERE_BAR), 0.0);
        // Above the table along the last slope: (1/45 − 1/120)/0.1 an atmosphere.
        let above = Clock::Single.per_min(1.7 * ATMOSPHERE_BAR);
        assert!((above - (2.0 / 45.0 - 1.0 / 120.0)).abs() < 1e-9);
    }

    #[test]
    fn a_ramp_is_the_sum_of_its_moments() {
        for clock in [Clock::Single, Clock::Day] {
            for (from, to) in [
                (0.2, 1.9),
                (1.9, 0.2),
                (0.4, 0.45),
                (0.4, 0.55),
                (0.58, 0.3),
                (1.31, 1.32),
                (0.7, 0.7),
                (1.01325 * 0.6, 1.01325),
            ] {
                let steps = 200_000;
                let sum: f64 = (0..steps)
                    .map(|i| clock.per_min(from + (to - from) * (f64::from(i) + 0.5) / f64::from(steps)))
                    .sum();
                let exact = clock.over(from, to, 30.0);
                let summed = sum * 30.0 / f64::from(steps);
                assert!((exact - summed).abs() < 1e-8, "{from}…{to}: {exact} {summed}");
            }
        }
    }

    #[test]
    fn units_on_a_nearly_level_ramp_join_on() {
        for from in [0.6, 1.0, 1.6] {
            let wide = units_over(from, from + 0.004, 10.0);
            let narrow = units_over(from, from + 0.002, 5.0) + units_over(from + 0.002, from + 0.004, 5.0);
            assert!((wide - narrow).abs() < 1e-11, "{from}: {wide} {narrow}");
            assert!((units_over(from, from, 10.0) - 10.0 * units_per_min(from)).abs() < 1e-12);
        }
    }

    #[test]
    fn a_curve_is_the_sum_of_its_moments() {
        // A loop that falls from 36 % to 24 % at 4 bar, and one that rises through the threshold.
        for (start, end, per_min) in [(1.44, 0.96, 0.2), (0.3, 1.5, 0.1), (1.9, 0.4, 1.0)] {
            let po2 = |minutes: f64| end + (start - end) * libm::exp(-per_min * minutes);
            let dose = Dose::along(0.0, 40.0, |_| per_min, po2);
            let steps = 400_000;
            let h = 40.0 / f64::from(steps);
            let mut summed = Dose::default();
            for i in 0..steps {
                let bar = po2(h * (f64::from(i) + 0.5));
                summed += Dose {
                    single: h * Clock::Single.per_min(bar),
                    day: h * Clock::Day.per_min(bar),
                    units: h * units_per_min(bar),
                };
            }
            assert!((dose.single - summed.single).abs() < 1e-7, "{dose:?} {summed:?}");
            assert!((dose.day - summed.day).abs() < 1e-7, "{dose:?} {summed:?}");
            assert!((dose.units - summed.units).abs() < 1e-3, "{dose:?} {summed:?}");
        }
    }

    #[test]
    fn hostile_numbers_expose_nobody() {
        for bar in [f64::NAN, f64::NEG_INFINITY, -1.0, 0.0] {
            assert_eq!(Clock::Single.per_min(bar), 0.0);
            assert_eq!(Clock::Single.over(bar, bar, 10.0), 0.0);
            assert_eq!(units_per_min(bar), 0.0);
            assert_eq!(units_over(bar, bar, 10.0), 0.0);
        }
        assert_eq!(Clock::Single.over(1.0, 1.2, f64::NAN), 0.0);
        assert!(units_over(0.0, 1e9, 1.0).is_finite());
    }

    #[test]
    fn repex_totals() {
        assert_eq!(units_allowed(0), 850.0);
        assert_eq!(units_allowed(3), 1860.0);
        assert_eq!(units_allowed(20), 6000.0);
    }
}
