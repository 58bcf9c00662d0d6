//! Kit, lowered: things and the dated records under them.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use jiff::civil::Date;

use super::view::Node;
use crate::physics::litres::{Free, Stpd};
use crate::plan::{
    Apparatus, ApparatusKind, Battery, Bed, ByWork, Canister, Cell, Course, Cylinder, Dated, Defined, Diver, Fill,
    GaugeReading, Maybe, Practice, Reading, Routine, RoutineStep, Training, Work, WrittenMix,
};
use crate::source::Placed;
use crate::words::is_open;

/// A kind of thing that other files may add records to.
pub(super) trait Thing: Default {
    /// What a node says of the thing: records are put behind those that are there, other facts renewed.
    fn append(&mut self, node: &Node<'_>);
}

/// A thing as the node that defines it says.
pub(super) fn thing<T: Thing>(node: &Node<'_>) -> T {
    let mut thing = T::default();
    thing.append(node);
    thing
}

/// A thing with its name and place.
pub(super) fn defined<T>(node: &Node<'_>, thing: T) -> Arc<Defined<T>> {
    let is_usual = |child: &Node<'_>| child.yes("usual").is_some_and(|said| said.value);
    let usual = node.children().into_iter().filter(is_usual);
    let usual = usual.map(|child| Placed::new(child.name().into_owned(), child.header())).collect();
    Arc::new(Defined { name: node.name_or_empty(), header: node.header(), whole: node.whole().span, usual, thing })
}

/// A thing with its name and place, and nothing that is said of it.
pub(super) fn named<T: Thing>(node: &Node<'_>) -> Arc<Defined<T>> {
    let (name, header, whole) = (node.name_or_empty(), node.header(), node.whole().span);
    Arc::new(Defined { name, header, whole, usual: Vec::new(), thing: T::default() })
}

/// Takes a newer word where there is one.
fn renew<T>(old: &mut Option<T>, new: Option<T>) {
    if new.is_some() {
        *old = new;
    }
}

/// A dated record.
fn dated<T>(node: &Node<'_>, what: T) -> Dated<T> {
    Dated { on: node.date("on"), place: node.header(), what }
}

/// Records of a kind below a thing, in order.
fn records_of<'t, T>(nodes: impl Iterator<Item = Node<'t>>, what: impl Fn(&Node<'t>) -> T) -> Vec<Dated<T>> {
    nodes.map(|record| dated(&record, what(&record))).collect()
}

fn records<T>(node: &Node<'_>, name: &str, what: impl Fn(&Node<'_>) -> T) -> Vec<Dated<T>> {
    node.named(name).map(|record| dated(&record, what(&record))).collect()
}

fn unit_kind(node: &Node<'_>) -> Maybe<ApparatusKind> {
    let word = node.text("kind")?;
    let kind = ApparatusKind::ALL.into_iter().find(|kind| kind.word() == word.value)?;
    Some(Placed::new(kind, word.place))
}

/// A level of work, from a property `work=`.
pub(super) fn work(node: &Node<'_>) -> Maybe<Work> {
    let word = node.text("work")?;
    let work = Work::ALL.into_iter().find(|work| work.word() == word.value)?;
    Some(Placed::new(work, word.place))
}

impl Thing for Apparatus {
    fn append(&mut self, node: &Node<'_>) {
        renew(&mut self.kind, unit_kind(node));
        renew(&mut self.serial, node.text("serial"));
        renew(&mut self.model, node.text("model"));
        renew(&mut self.loop_l, node.child_number("loop"));
        if let Some(feed) = node.child("feed") {
            renew(&mut self.feed_constant_lpm, feed.number("constant"));
            renew(&mut self.feed_controlled_lpm, feed.number("controlled"));
            self.feed = Some(feed.header());
        }
        if let Some(make_up) = node.child("make-up") {
            renew(&mut self.make_up, make_up.yes_arg());
            renew(&mut self.make_up_max_lpm, make_up.number("max"));
        }
        renew(&mut self.inject_lpm, node.number("inject").or_else(|| node.child_number("inject")));
        if let Some(spill) = node.child("spill") {
            renew(&mut self.spill_ratio, spill.number("ratio"));
            renew(&mut self.spill_compensated, spill.yes("compensated"));
        }
        renew(&mut self.floor_percent, node.number_below("floor", "o2"));
        renew(&mut self.needs_percent, node.number_below("needs", "o2"));
        renew(&mut self.reach_depth_m, node.number_below("reach", "depth"));
        renew(&mut self.reach_deco_min, node.number_below("reach", "deco"));
        renew(&mut self.reach_coldest_c, node.number_below("reach", "coldest"));
        renew(&mut self.mouthpiece, node.child("mouthpiece").and_then(|lever| lever.role_or_none("open-circuit")));
        let moves_up = |bed: &Node<'_>| bed.yes("moves-up").is_some_and(|moves_up| moves_up.value);
        let bed = |bed: Node<'_>| Some(Bed { canister: bed.key_name()?, moves_up: moves_up(&bed) });
        let beds: Vec<Bed> = node.named("bed").filter_map(bed).collect();
        // An order is told whole: canisters that a later record names stand for those there were.
        if !beds.is_empty() {
            self.beds = beds;
        }
        let mut known: HashMap<String, Vec<usize>> = HashMap::new();
        for (index, cell) in node.named("cell").enumerate() {
            if index == 0 {
                for (at, cell) in self.cells.iter().enumerate() {
                    known.entry(cell.name.value.clone()).or_default().push(at);
                }
            }
            self.cell(&cell, &mut known);
        }
        self.calibrated.extend(records(node, "calibrated", |_| ()));
        self.flow.extend(records(node, "flow", |node| node.number_arg()));
        for battery in node.named("battery") {
            self.battery(&battery);
        }
        renew(&mut self.service_due, node.date_below("service", "due"));
        renew(&mut self.pre_breathe_min, node.child_number("pre-breathe"));
        renew(&mut self.checks_l, node.child_number("checks"));
    }
}

impl Apparatus {
    /// A cell: one more if the node says that one was fitted on another day, else more readings of the one of that name.
    /// `known` has the indices of those there are, by name.
    fn cell(&mut self, node: &Node<'_>, known: &mut HashMap<String, Vec<usize>>) {
        let name = node.name_or_empty();
        let readings = records(node, "reading", |reading| Reading {
            air_mv: reading.number("air"),
            oxygen_mv: reading.number("oxygen"),
            oxygen_bar: reading.number("pressure"),
        });
        let fitted = node.date("fitted");
        let known = known.entry(name.value.clone()).or_default();
        let day = |fitted: &Maybe<Date>| fitted.as_ref().map(|fitted| fitted.value);
        let same = known
            .iter()
            .copied()
            .find(|at| fitted.is_some() && self.cells.get(*at).is_some_and(|cell| day(&cell.fitted) == day(&fitted)));
        if let Some(cell) = same.and_then(|at| self.cells.get_mut(at)) {
            renew(&mut cell.made, node.date("made"));
            renew(&mut cell.life, node.life());
            cell.readings.extend(readings);
            return;
        }
        if fitted.is_some() || known.is_empty() {
            known.push(self.cells.len());
            let (made, life) = (node.date("made"), node.life());
            self.cells.push(Cell { name, fitted, made, life, place: node.header(), readings });
            return;
        }
        for reading in readings {
            let day = reading.on.as_ref().map(|on| on.value);
            let then = known.iter().copied().max_by_key(|at| then_fitted(&self.cells[*at], day));
            if let Some(cell) = then.and_then(|at| self.cells.get_mut(at)) {
                cell.readings.push(reading);
            }
        }
    }

    /// The unit as it was on a day: of cells that took each other's place, the one then fitted. `None` where nothing
    /// was ever replaced.
    pub(in crate::plan) fn on(&self, day: Date) -> Option<Apparatus> {
        let mut then: BTreeMap<&str, &Cell> = BTreeMap::new();
        for cell in &self.cells {
            let other = then.entry(&cell.name.value).or_insert(cell);
            if then_fitted(cell, Some(day)) >= then_fitted(other, Some(day)) {
                *other = cell;
            }
        }
        if then.len() == self.cells.len() {
            return None;
        }
        let cells =
            self.cells.iter().filter(|cell| then.get(&*cell.name.value).is_some_and(|then| then.place == cell.place));
        Some(Apparatus { cells: cells.cloned().collect(), ..self.clone() })
    }

    /// A battery, or more charges of the one of that name.
    fn battery(&mut self, node: &Node<'_>) {
        let name = node.name_or_empty();
        let (least, lasts) = (node.number("least"), node.number("lasts"));
        let charges = records(node, "charge", |node| node.number_arg());
        match self.batteries.iter_mut().find(|battery| battery.name.value == name.value) {
            Some(battery) => {
                renew(&mut battery.least_percent, least);
                renew(&mut battery.lasts_min, lasts);
                battery.charges.extend(charges);
            }
            None => self.batteries.push(Battery {
                name,
                least_percent: least,
                lasts_min: lasts,
                place: node.header(),
                charges,
            }),
        }
    }
}

impl Thing for Canister {
    fn append(&mut self, node: &Node<'_>) {
        renew(&mut self.absorbent_kg, node.number("absorbent"));
        if let Some(rated) = node.child("rated") {
            renew(&mut self.rated_min, rated.number("minutes"));
            renew(&mut self.rated_co2, rated.number("co2").map(|co2| co2.map(Stpd)));
            renew(&mut self.rated_c, rated.number("temperature"));
        }
        self.packed.extend(records(node, "packed", |_| ()));
        self.used.extend(records(node, "used", |node| node.number_arg()));
    }
}

impl Thing for Cylinder {
    fn append(&mut self, node: &Node<'_>) {
        renew(&mut self.working_gauge_bar, node.number("working"));
        renew(&mut self.size_l, node.size_l());
        let made = |fill: &Node<'_>| fill.arg(0).is_none_or(|said| !is_open(&said.entry.value));
        self.gauges.extend(records(node, "gauge", |read| GaugeReading {
            gauge_bar: read.number_arg(),
            temperature_c: read.number("temperature"),
        }));
        // A fill that is still to be made is no record.
        self.fills.extend(records_of(node.named("fill").filter(made), |fill| Fill {
            gauge_bar: fill.number_arg(),
            temperature_c: fill.number("temperature"),
            by: fill.text("by"),
            nominal: mix(fill, "o2", "he", 0.0),
            analysed: mix(fill, "analysed", "analysed-he", fill.number("he").map_or(0.0, |ordered| ordered.value)),
            helium_analysed: fill.prop("analysed-he").is_some(),
            analysed_on: fill.date("analysed-on"),
            analysed_by: fill.text("analysed-by"),
        }));
        renew(&mut self.test_due, node.date_below("test", "due"));
        renew(&mut self.clean_due, node.date_below("clean", "due"));
    }
}

/// Orders cells of one place in a unit by how well they fit a day: those fitted by then before those that come later, the
/// last fitted first.
fn then_fitted(cell: &Cell, day: Option<Date>) -> (bool, Option<Date>) {
    let fitted = cell.fitted.as_ref().map(|fitted| fitted.value);
    (day.is_none() || fitted <= day, fitted)
}

/// A mix from two properties, placed at the oxygen.
fn mix(node: &Node<'_>, o2: &str, he: &str, unsaid_he: f64) -> Maybe<WrittenMix> {
    let o2 = node.number(o2)?;
    // Helium that is written but can't be read must not become a mix without helium.
    let he_percent = match node.prop(he) {
        Some(_) => node.number(he)?.value,
        None => unsaid_he,
    };
    Some(o2.map(|o2_percent| WrittenMix { o2_percent, he_percent }))
}

impl Thing for Diver {
    fn append(&mut self, node: &Node<'_>) {
        self.trained.extend(records(node, "trained", |trained| Training {
            kind: unit_kind(trained),
            depth_m: trained.number("depth"),
            deco_min: trained.number("deco"),
            teaches: trained.yes("teaches"),
            model: trained.text("model"),
        }));
        self.dived
            .extend(records(node, "dived", |dived| Practice { kind: unit_kind(dived), model: dived.text("model") }));
        if let Some(gas) = node.child("gas") {
            self.gas = by_work(&gas, Free);
            // What a diver measured on an easy dive is light work.
            let light = &mut self.gas.levels[Work::Light as usize];
            *light = light.take().or_else(|| gas.number("sac").map(|figure| figure.map(Free)));
        }
        if let Some(oxygen) = node.child("oxygen") {
            self.oxygen = by_work(&oxygen, Stpd);
        }
        renew(&mut self.fit_until, node.date_below("fit", "until"));
        if let Some(lives) = node.child("lives") {
            renew(&mut self.lives_altitude_m, lives.number("altitude"));
            renew(&mut self.lives_since, lives.date("since"));
        }
    }
}

fn by_work<T>(node: &Node<'_>, flow: impl Fn(f64) -> T) -> ByWork<T> {
    let level = |work: Work| node.number(work.word()).map(|figure| figure.map(&flow));
    ByWork { place: Some(node.header()), levels: Work::ALL.map(level) }
}

/// A routine as the node that defines it says.
/// A course as one node says it.
pub(super) fn course(node: &Node<'_>) -> Course {
    Course { depth_m: node.number("depth"), deco_min: node.number("deco") }
}

pub(super) fn routine(node: &Node<'_>) -> Routine {
    let steps = node.named("step").map(|step| RoutineStep {
        name: step.name_or_empty(),
        text: step.text_arg(1),
        from: step.number("from"),
        to: step.number("to"),
    });
    Routine { steps: steps.collect() }
}
