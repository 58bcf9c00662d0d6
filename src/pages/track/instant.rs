//! What is true of a diver at an instant, as pages show it.

use crate::forecast::Simulated;
use crate::physics::{Mix, tolerance};
use crate::rules::mix::narcotic;
use crate::run::{Breath, Circuit, Exposure, Purpose, Segment, State, ToCome};

/// What is true of a diver at an instant.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Instant {
    /// All that is true.
    pub state: State,
    /// What body and absorbent have taken, from the plan's earlier dives too.
    pub exposure: Exposure,
    /// The partial pressure of oxygen that is breathed, bar.
    pub po2_bar: f64,
    /// What is breathed.
    pub mix: Mix,
    /// The depth at which air would be as narcotic as what is breathed, metres, by what the limits count.
    pub narcotic_m: f64,
    /// The depth at which air would have as much nitrogen, metres; `None` where helium is breathed.
    pub air_m: Option<f64>,
    /// The loop's oxygen, a fraction; `None` without a loop.
    pub loop_o2: Option<f64>,
    /// The cylinder that is breathed on open circuit; `None` on a loop.
    pub open_circuit: Option<usize>,
    /// What is fed to the loop, free litres a minute, make-up not among it; `None` on open circuit.
    pub feed_lpm: Option<f64>,
    /// What lies ahead; `None` where no stops are worked out, and before leaving the surface.
    pub to_come: Option<ToCome>,
    /// Rated minutes of absorbent that may still be used; `None` where nothing is known of it.
    pub absorbent_min: Option<f64>,
}

impl Instant {
    /// What is true at an instant; where something changes at that instant, what is true from then on.
    pub(crate) fn at(dive: &Simulated<'_>, t_min: f64) -> Option<Instant> {
        let segments = &dive.ran.track.segments;
        let after = segments.partition_point(|segment| segment.start.t_min <= t_min + tolerance::INSTANT_MIN);
        Instant::of(dive, segments.get(after.saturating_sub(1))?, t_min)
    }

    /// What is true when something ends at an instant: before anything changes there.
    pub(crate) fn ending(dive: &Simulated<'_>, t_min: f64) -> Option<Instant> {
        let segments = &dive.ran.track.segments;
        let after = segments.partition_point(|segment| segment.start.t_min < t_min - tolerance::INSTANT_MIN);
        Instant::of(dive, segments.get(after.saturating_sub(1))?, t_min)
    }

    fn of(dive: &Simulated<'_>, segment: &Segment, t_min: f64) -> Option<Instant> {
        let minutes = (t_min - segment.start.t_min).clamp(0.0, segment.minutes);
        let state = segment.at(minutes);
        let on_loop = !matches!(segment.regime.breath, Breath::Open(_));
        let fed = [Purpose::Feed, Purpose::PreBreathe, Purpose::Spill];
        // Oxygen is counted on the richer of order and analysis, as it is carried on to the next dive.
        let rich = dive.ran.rich_mix().at(t_min).exposure;
        let (clock, day, units) = (rich.clock, rich.day, rich.units);
        let exposure = Exposure { clock, day, units, ..state.exposure }.with(dive.carried);
        let mix = segment.mix_at(minutes);
        let counts = narcotic::counts(&dive.dive.plan.limits);
        let (depth_m, water) = (state.depth_m(), &state.water);
        let limit_min = dive.ran.dive.limits.absorbent_min;
        Some(Instant {
            narcotic_m: mix.equivalent_narcotic_depth_m(depth_m, water, counts).max(0.0),
            air_m: (mix.he <= 0.0).then(|| mix.equivalent_air_depth_m(depth_m, water).max(0.0)),
            mix,
            po2_bar: segment.po2_at(minutes),
            loop_o2: (dive.ran.dive.circuit.loop_l() > 0.0).then_some(state.breathed.o2),
            open_circuit: (!on_loop).then(|| cylinder_of(dive, state.source)).flatten(),
            feed_lpm: on_loop.then(|| fed.iter().map(|purpose| segment.lpm_at(minutes, *purpose)).sum()),
            absorbent_min: limit_min.is_finite().then(|| (limit_min - state.exposure.absorbent_min).max(0.0)),
            to_come: to_come(dive, segment, &state),
            exposure,
            state,
        })
    }

    /// What a cylinder's gauge shows, bar.
    pub(crate) fn gauge_bar(&self, cylinder: usize) -> Option<f64> {
        self.state.gauge_bar(cylinder)
    }
}

fn to_come(dive: &Simulated<'_>, segment: &Segment, state: &State) -> Option<ToCome> {
    let (_, leg) = dive.ran.track.legs.get(segment.leg)?;
    let (given, under_way) = (&dive.ran.dive, state.t_min >= 0.0 && state.depth_m() > 0.0);
    under_way.then(|| given.to_come(state, &given.sources(), given.home.ascent, leg.work)).flatten()
}

/// The cylinder that a source is open circuit from.
pub(crate) fn cylinder_of(dive: &Simulated<'_>, source: usize) -> Option<usize> {
    match (source.checked_sub(1), dive.ran.dive.circuit) {
        (None, Circuit::Open(open)) => Some(open.cylinder),
        (cylinder, _) => cylinder,
    }
}
