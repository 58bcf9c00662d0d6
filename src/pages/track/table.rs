//! Tracks for people: a line an instant, what happens in between among them.

use std::io::{self, Write};

use textwrap::core::display_width;

use super::instant::Instant;
use super::{Tracks, margin_text, name, text, trouble, unending};
use crate::CAUTION;
use crate::forecast::Simulated;
use crate::pages::columns::{Column, Columns};
use crate::pages::{measured, titled};
use crate::physics::tolerance;
use crate::rules::say;
use crate::run::{Event, EventKind};
use crate::source::clean::clean;
use crate::words::Measures;

/// Writes tracks as tables no wider than `room`, as far as that can be, the caution below, its lines broken at `width`.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(
    out: &mut dyn Write,
    tracks: &Tracks<'_>,
    measures: Measures,
    width: usize,
    room: usize,
) -> io::Result<()> {
    for dive in &tracks.dives {
        one(out, tracks, dive, measures, room)?;
        writeln!(out)?;
    }
    if tracks.dives.iter().any(|dive| dive.ran.dive.home.stops.is_none()) {
        writeln!(out, "No gradient in the limits: no stops are worked out, and the way home goes straight up.")?;
    }
    writeln!(out, "{}", textwrap::fill(CAUTION, width.max(20)))
}

/// What stands for a figure that there is none of.
const NONE: &str = "–";

fn one(
    out: &mut dyn Write,
    tracks: &Tracks<'_>,
    dive: &Simulated<'_>,
    measures: Measures,
    room: usize,
) -> io::Result<()> {
    writeln!(out, "{}", titled(&dive.dive))?;
    let mut table = Table::of(dive, measures);
    let mut events = dive.events().into_iter().filter(|event| !is_of_pre_breathe(event)).peekable();
    let mut ceiling_beside_no_stop = false;
    for t_min in tracks.instants(dive) {
        while let Some(event) = events.next_if(|event| event.t_min < t_min - tolerance::INSTANT_MIN) {
            table.lines.push(Line::Remark(event.t_min, text(dive, event.kind)));
        }
        if let Some(instant) = Instant::at(dive, t_min) {
            ceiling_beside_no_stop |= instant
                .to_come
                .is_some_and(|ahead| ahead.ceiling_m > 0.0 && ahead.no_stop_min.is_some_and(|minutes| minutes >= 1.0));
            table.lines.push(Line::Figures(figures(dive, t_min, &instant, measures)));
        }
    }
    table.lines.extend(events.map(|event| Line::Remark(event.t_min, text(dive, event.kind))));
    table.write(out, room)?;
    if ceiling_beside_no_stop {
        writeln!(
            out,
            "  A ceiling beside minutes without stops is gone before a way up at the planned rate is there."
        )?;
    }
    let water = measured::temperature(dive.dive.water_c(), measures);
    writeln!(out, "  Pressures of cylinders are those at water temperature, {water}.")?;
    contingencies(out, dive, measures)?;
    match unending(dive) {
        Some(said) => writeln!(out, "{}", clean(&said)),
        None => Ok(()),
    }
}

/// Whether an event is of what the loop does on its way to where the dive begins with it.
fn is_of_pre_breathe(event: &Event) -> bool {
    let comes_up = matches!(
        event.kind,
        EventKind::OxygenLow | EventKind::OxygenRegained | EventKind::BelowFloor | EventKind::FloorRegained
    );
    comes_up && event.t_min < -tolerance::INSTANT_MIN
}

/// What comes of each trouble, from its worst moment.
fn contingencies(out: &mut dyn Write, dive: &Simulated<'_>, measures: Measures) -> io::Result<()> {
    let outcomes = dive.ran.outcomes();
    if outcomes.is_empty() {
        return Ok(());
    }
    // Its tissues and its loop are not those of the lines above.
    let feed = dive
        .ran
        .feed_off()
        .map_or_else(String::new, |share| format!(", with the constant feed {} % low", say::number(share * 100.0)));
    writeln!(out, "  Contingencies, each from its worst moment{feed}:")?;
    let words: Vec<String> = outcomes.iter().map(|outcome| clean(&trouble(dive, outcome)).into_owned()).collect();
    let widest = words.iter().map(|what| display_width(what)).max().unwrap_or(0);
    for (outcome, what) in outcomes.iter().zip(words) {
        let space = " ".repeat(widest.saturating_sub(display_width(&what)));
        let covered = if outcome.is_covered() { "covered" } else { "not covered" };
        let depth = measured::whole_depth(outcome.depth_m, measures);
        let (time, unit) = (say::run_time(outcome.t_min), measured::depth_unit(measures));
        let margin = margin_text(&outcome.margin, measures);
        writeln!(out, "  {what}{space}  {time:>6} at {depth:>2} {unit}  {covered:<11}  {margin}")?;
    }
    Ok(())
}

fn figures(dive: &Simulated<'_>, t_min: f64, instant: &Instant, measures: Measures) -> Vec<String> {
    let state = &instant.state;
    let or_none = |figure: Option<crate::findings::Told>| figure.map_or_else(|| NONE.to_owned(), String::from);
    let source = instant.open_circuit.map_or("loop", |cylinder| name(dive, cylinder));
    let ahead = instant.to_come;
    let mut line = vec![
        say::run_time(t_min).into(),
        match measures {
            Measures::Metric => format!("{:.1}", state.depth_m().max(0.0)),
            Measures::Imperial => measured::depth(state.depth_m(), measures).into(),
        },
        source.to_owned(),
        or_none(instant.loop_o2.map(say::percent_had)),
        say::po2(instant.po2_bar).into(),
        measured::whole_depth(instant.narcotic_m, measures).into(),
        or_none(instant.feed_lpm.map(say::tenths)),
        or_none(ahead.map(|ahead| measured::depth(ahead.ceiling_m, measures))),
        or_none(ahead.and_then(|ahead| ahead.no_stop_min).map(say::minutes_had)),
        or_none(ahead.and_then(|ahead| ahead.to_surface_min).map(|minutes| say::number(say::up(minutes, 1.0)))),
        say::clock_percent(instant.exposure.clock).into(),
        say::units(instant.exposure.units).into(),
        or_none(instant.absorbent_min.map(say::minutes_had)),
    ];
    line.extend(
        (0..dive.kit.len())
            .map(|cylinder| or_none(instant.gauge_bar(cylinder).map(|bar| measured::pressure(bar, measures)))),
    );
    line
}

/// A line of a table.
enum Line {
    /// What is true at an instant, a cell a column.
    Figures(Vec<String>),
    /// What happens, and when.
    Remark(f64, String),
}

/// The columns: numbers to the right, what is breathed to the left.
struct Table {
    heads: Vec<String>,
    units: Vec<String>,
    lines: Vec<Line>,
}

/// The column of what is breathed.
const BREATHING: usize = 2;

/// Heads and units of the columns but the cylinders', and when they are spared, as of [`Column`].
const COLUMNS: [(&str, &str, u8); 13] = [
    ("run", "min:s", 0),
    ("depth", "m", 0),
    ("breathing", "", 2),
    ("loop O2", "%", 4),
    ("PO2", "bar", 0),
    ("END", "m", 7),
    ("feed", "L/min", 8),
    ("ceiling", "m", 3),
    ("no stop", "min", 5),
    ("to surface", "min", 3),
    ("CNS", "%", 6),
    ("OTU", "", 9),
    ("absorbent", "min left", 7),
];

impl Table {
    fn of(dive: &Simulated<'_>, measures: Measures) -> Table {
        let names = || dive.kit.iter().map(|carried| carried.name.value.to_string());
        let heads = COLUMNS.iter().map(|(head, ..)| (*head).to_owned()).chain(names());
        let unit = |unit: &str| if unit == "m" { measured::depth_unit(measures) } else { unit }.to_owned();
        let units = COLUMNS.iter().map(|(_, own, _)| unit(own));
        let units = units.chain(names().map(|_| measured::pressure_unit(measures).to_owned()));
        Table { heads: heads.collect(), units: units.collect(), lines: Vec::new() }
    }

    /// Writes the columns that say something, as many as there is room for.
    fn write(&self, out: &mut dyn Write, room: usize) -> io::Result<()> {
        let rows: Vec<&Vec<String>> = self
            .lines
            .iter()
            .filter_map(|line| match line {
                Line::Figures(cells) => Some(cells),
                Line::Remark(..) => None,
            })
            .collect();
        let columns = self.heads.iter().zip(&self.units).enumerate().map(|(at, (head, unit))| Column {
            head: head.clone(),
            unit: unit.clone(),
            cells: rows.iter().map(|cells| cells.get(at).cloned().unwrap_or_default()).collect(),
            is_text: at == BREATHING,
            spared: COLUMNS.get(at).map_or(0, |(.., spared)| *spared),
        });
        let columns = columns.filter(|column| column.cells.iter().any(|cell| cell != NONE));
        let columns = Columns::fitted(columns.collect(), room);
        columns.write_heads(out)?;
        let mut row = 0..rows.len();
        for one in &self.lines {
            match one {
                Line::Figures(_) => columns.write_row(out, row.next().unwrap_or_default())?,
                Line::Remark(t_min, said) => {
                    let time = String::from(say::run_time(*t_min));
                    let space = " ".repeat(columns.first_wide().saturating_sub(display_width(&time)));
                    let begins = format!("  {space}{time}  · ");
                    let indent = " ".repeat(display_width(&begins));
                    let options = textwrap::Options::new(room.max(indent.len() + 20))
                        .initial_indent(&begins)
                        .subsequent_indent(&indent);
                    writeln!(out, "{}", textwrap::fill(&clean(said), options))?;
                }
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_narrow_page_loses_columns_and_no_line_is_wider() {
        let cells = |what: &str| (0..COLUMNS.len() + 2).map(|column| format!("{column}{what}")).collect::<Vec<_>>();
        let names = ["S12-04".to_owned(), "S7-11".to_owned()];
        let heads = COLUMNS.iter().map(|(head, ..)| (*head).to_owned()).chain(names);
        let mut empty = cells("");
        empty[6] = NONE.to_owned();
        let lines = vec![
            Line::Figures(empty.clone()),
            Line::Remark(3.0, "the controlled feed is fully open and does not hold the set-point".to_owned()),
            Line::Figures(empty),
        ];
        let table = Table { heads: heads.collect(), units: cells("u"), lines };
        let written = |room: usize| {
            let mut out = Vec::new();
            table.write(&mut out, room).map(|()| String::from_utf8(out).unwrap_or_default()).unwrap_or_default()
        };
        let whole = written(usize::MAX);
        assert!(whole.contains("OTU") && !whole.contains("feed  "), "a column that says nothing is left out: {whole}");
        for room in 50..160 {
            let page = written(room);
            assert!(page.lines().all(|line| display_width(line) <= room), "{room}: {page}");
            assert!(["run", "depth", "S12-04"].iter().all(|head| page.contains(head)), "{page}");
        }
    }
}
