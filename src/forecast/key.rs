//! What is given, as one row of words: the same row exactly for the same run.

use super::{CylinderInput, DiveInput};
use crate::physics::loop_balance::Feed;
use crate::physics::tissues::Gradients;
use crate::physics::{Mix, Water};
use crate::run::{
    Act, Ascent, Body, Circuit, Closed, Exposure, Filled, Home, Leg, Limits, Open, Passive, Scrubber, SemiClosed,
    Stops, Trials, WayOut, Why, Work,
};

/// Names what is given. Compared word by word, so that no two different dives are ever taken for one.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Key(Box<[u64]>);

impl Key {
    pub fn of(given: &DiveInput) -> Key {
        let mut row = Row(Vec::with_capacity(64 + 8 * given.legs.len() + 16 * given.cylinders.len()));
        row.given(given);
        Key(row.0.into())
    }
}

/// Every value is taken apart without `..`, so that a new one can't be forgotten here.
struct Row(Vec<u64>);

impl Row {
    fn number(&mut self, number: f64) {
        self.0.push(number.to_bits());
    }

    fn numbers(&mut self, numbers: &[f64]) {
        self.0.extend(numbers.iter().map(|number| number.to_bits()));
    }

    fn count(&mut self, count: usize) {
        self.0.push(count as u64);
    }

    fn maybe(&mut self, number: Option<f64>) {
        self.count(usize::from(number.is_some()));
        self.number(number.unwrap_or(0.0));
    }

    fn given(&mut self, given: &DiveInput) {
        let DiveInput {
            water: Water { surface_bar, bar_per_m },
            circuit,
            feed_tolerance,
            set_point,
            pre_breathe_min,
            checks_l,
            inflates,
            cylinders,
            rest,
            legs,
            carried: Exposure { clock, day, units, absorbent_min, co2_l, body, clocks_stopped },
            home,
            limits,
            others,
        } = given;
        self.numbers(&[*surface_bar, *bar_per_m, *feed_tolerance, *pre_breathe_min, *checks_l]);
        self.numbers(&[*clock, *day, *units, *absorbent_min, *co2_l]);
        self.count(usize::from(*clocks_stopped));
        self.count(usize::from(body.is_some()));
        if let Some(Body { tissues, first_stop_m, loop_o2_most }) = body {
            self.numbers(tissues.nitrogen_bar());
            self.numbers(tissues.helium_bar());
            self.numbers(&[*first_stop_m, *loop_o2_most]);
        }
        self.circuit(circuit);
        self.maybe(*set_point);
        self.count(inflates.map_or(0, |cylinder| cylinder + 1));
        self.work(*rest);
        self.limits(limits);
        self.home(home);
        self.count(cylinders.len());
        for cylinder in cylinders {
            self.bottle(cylinder);
        }
        self.count(legs.len());
        for leg in legs {
            self.leg(leg);
        }
        self.count(others.len());
        for other in others {
            self.given(other);
        }
    }

    fn circuit(&mut self, circuit: &Circuit) {
        match *circuit {
            Circuit::Open(Open { cylinder }) => {
                self.count(0);
                self.count(cylinder);
            }
            Circuit::SemiClosed(SemiClosed { loop_l, feed, make_up_lpm, supply, scrubber }) => {
                let Feed { constant_lpm, controlled_lpm } = feed;
                self.count(1);
                self.numbers(&[loop_l, constant_lpm, controlled_lpm, make_up_lpm]);
                self.count(supply);
                self.scrubber(scrubber);
            }
            Circuit::Passive(Passive { loop_l, ratio, compensated, supply, adds, scrubber }) => {
                self.count(2);
                self.numbers(&[loop_l, ratio]);
                self.count(usize::from(compensated) + 2 * usize::from(adds));
                self.count(supply);
                self.scrubber(scrubber);
            }
            Circuit::Closed(Closed { loop_l, inject_lpm, make_up_lpm, oxygen, diluent, scrubber }) => {
                self.count(3);
                self.numbers(&[loop_l, inject_lpm, make_up_lpm]);
                self.count(oxygen);
                self.count(diluent);
                self.scrubber(scrubber);
            }
        }
    }

    fn scrubber(&mut self, Scrubber { quotient, rated_co2_lpm }: Scrubber) {
        self.number(quotient);
        self.maybe(rated_co2_lpm);
    }

    fn bottle(&mut self, CylinderInput { filled, rich, used_l, common }: &CylinderInput) {
        let Filled {
            size_l,
            mix,
            gauge_bar,
            read_c,
            water_c,
            surface_bar,
            reserve_bar,
            unusable_bar,
            greatest_po2_bar,
        } = *filled;
        self.mix(mix);
        self.mix(*rich);
        self.numbers(&[size_l, gauge_bar, read_c, water_c, surface_bar, reserve_bar, unusable_bar, greatest_po2_bar]);
        self.number(*used_l);
        self.count(common.map_or(0, |common| common + 1));
    }

    fn mix(&mut self, Mix { o2, he }: Mix) {
        self.numbers(&[o2, he]);
    }

    fn work(&mut self, Work { oxygen_lpm, gas_lpm }: Work) {
        self.numbers(&[oxygen_lpm, gas_lpm]);
    }

    fn leg(&mut self, Leg { to_m, lasts_min, work, why, act, stops }: &Leg) {
        self.numbers(&[*to_m, *lasts_min]);
        self.count(usize::from(*stops));
        self.work(*work);
        match *why {
            Why::PreBreathe => self.count(0),
            Why::Stop => self.count(1),
            Why::WayHome => self.count(2),
            Why::BailOut => self.count(3),
            Why::Switch => self.count(4),
            Why::Asked(number) => self.count(5 + number),
        }
        let (what, number) = match *act {
            Act::None => (0, 0.0),
            Act::Breathe(source) => (4 + source, 0.0),
            Act::SetPoint(set_point) => (1, set_point),
            Act::Flush(volumes) => (2, volumes),
            Act::Check(cylinder, litres) => {
                self.count(cylinder);
                (3, litres)
            }
        };
        self.count(what);
        self.number(number);
    }

    fn home(&mut self, Home { stops, fewest_stops, planned, way_out, ascent, out, deco, spare, trials }: &Home) {
        self.count(usize::from(stops.is_some()) + 2 * usize::from(*fewest_stops));
        if let Some(Stops { gradients: Gradients { low, high }, shallowest_m }) = *stops {
            self.numbers(&[low, high, shallowest_m]);
        }
        for cylinders in [planned, way_out, deco, spare] {
            self.count(cylinders.len());
            cylinders.iter().for_each(|cylinder| self.count(*cylinder));
        }
        let Trials { react_min, deeper_m, longer_min, peak, heavy } = *trials;
        self.numbers(&[react_min, deeper_m, longer_min]);
        self.work(peak);
        self.work(heavy);
        self.ascent(*ascent);
        self.count(usize::from(out.is_some()));
        if let Some(WayOut { problem_min, problem, ascent }) = *out {
            self.number(problem_min);
            self.work(problem);
            self.ascent(ascent);
        }
    }

    fn ascent(&mut self, Ascent { rate_m_per_min, work }: Ascent) {
        self.number(rate_m_per_min);
        self.work(work);
    }

    fn limits(&mut self, limits: &Limits) {
        let Limits {
            floor_o2,
            band_o2,
            least_bar,
            faint_bar,
            greatest_bar,
            absorbent_min,
            longest_min,
            segments,
            end_only,
        } = *limits;
        self.numbers(&[floor_o2, band_o2, least_bar, faint_bar, greatest_bar, absorbent_min, longest_min]);
        self.count(segments);
        self.count(usize::from(end_only));
    }
}
