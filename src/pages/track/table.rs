//! Tracks for people: a line an instant, what happens in between among them.

use std::io::{self, Write};

use textwrap::core::display_width;

use super::instant::Instant;
use super::{Tracks, margin_text, name, text, trouble, unending};
use crate::CAUTION;
use crate::forecast::Simulated;
use crate::physics::tolerance;
use crate::rules::say;
use crate::source::clean::clean;

/// Writes tracks as tables, the caution below, its lines broken at `width`.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(out: &mut dyn Write, tracks: &Tracks<'_>, width: usize) -> io::Result<()> {
    for dive in &tracks.dives {
        one(out, tracks, dive)?;
        writeln!(out)?;
    }
    if tracks.dives.iter().any(|dive| dive.ran.dive.home.stops.is_none()) {
        writeln!(out, "No gradient in the limits: no stops are worked out, and the way home goes straight up.")?;
    }
    writeln!(out, "{}", textwrap::fill(CAUTION, width.max(20)))
}

/// What stands for a figure that there is none of.
const NONE: &str = "–";

fn one(out: &mut dyn Write, tracks: &Tracks<'_>, dive: &Simulated<'_>) -> io::Result<()> {
    let member = dive.dive.member;
    let unit = member.unit_name.as_ref().map_or("open circuit".to_owned(), |unit| format!("unit {:?}", unit.value));
    let title = format!("dive {:?}, diver {:?}, {unit}", dive.dive.dive.name.value, member.name.value);
    writeln!(out, "{}", clean(&title))?;
    let table = Table::of(dive);
    writeln!(out, "{}", table.line(&table.heads))?;
    writeln!(out, "{}", table.line(&table.units))?;
    let mut events = dive.events().into_iter().peekable();
    let mut ceiling_beside_no_stop = false;
    for t_min in tracks.instants(dive) {
        while let Some(event) = events.next_if(|event| event.t_min < t_min - tolerance::INSTANT_MIN) {
            writeln!(out, "{}", table.remark(event.t_min, &text(dive, event.kind)))?;
        }
        if let Some(instant) = Instant::at(dive, t_min) {
            ceiling_beside_no_stop |= instant
                .to_come
                .is_some_and(|ahead| ahead.ceiling_m > 0.0 && ahead.no_stop_min.is_some_and(|minutes| minutes >= 1.0));
            writeln!(out, "{}", table.line(&figures(dive, t_min, &instant)))?;
        }
    }
    for event in events {
        writeln!(out, "{}", table.remark(event.t_min, &text(dive, event.kind)))?;
    }
    if ceiling_beside_no_stop {
        writeln!(
            out,
            "  A ceiling beside minutes without stops is gone before a way up at the planned rate is there."
        )?;
    }
    contingencies(out, dive)?;
    match unending(dive) {
        Some(said) => writeln!(out, "{}", clean(&said)),
        None => Ok(()),
    }
}

/// What comes of each trouble, from its worst moment.
fn contingencies(out: &mut dyn Write, dive: &Simulated<'_>) -> io::Result<()> {
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
        let (time, depth) = (say::run_time(outcome.t_min), say::number(say::up(outcome.depth_m, 1.0)));
        writeln!(out, "  {what}{space}  {time:>6} at {depth:>2} m  {covered:<11}  {}", margin_text(&outcome.margin))?;
    }
    Ok(())
}

fn figures(dive: &Simulated<'_>, t_min: f64, instant: &Instant) -> Vec<String> {
    let state = &instant.state;
    let or_none = |figure: Option<crate::findings::Told>| figure.map_or_else(|| NONE.to_owned(), String::from);
    let source = instant.open_circuit.map_or("loop", |cylinder| name(dive, cylinder));
    let ahead = instant.to_come;
    let mut line = vec![
        say::run_time(t_min).into(),
        format!("{:.1}", state.depth_m().max(0.0)),
        source.to_owned(),
        or_none(instant.loop_o2.map(say::percent_had)),
        say::po2(instant.po2_bar).into(),
        say::number(say::up(instant.narcotic_m, 1.0)).into(),
        or_none(instant.feed_lpm.map(say::tenths)),
        or_none(ahead.map(|ahead| say::number(say::up(ahead.ceiling_m, 0.1)))),
        or_none(ahead.and_then(|ahead| ahead.no_stop_min).map(say::minutes_had)),
        or_none(ahead.and_then(|ahead| ahead.to_surface_min).map(|minutes| say::number(say::up(minutes, 1.0)))),
        say::clock_percent(instant.exposure.clock).into(),
        say::units(instant.exposure.units).into(),
        or_none(instant.absorbent_min.map(say::minutes_had)),
    ];
    line.extend((0..dive.kit.len()).map(|cylinder| or_none(instant.gauge_bar(cylinder).map(say::pressure_had))));
    line
}

/// The columns: numbers to the right, the source to the left.
struct Table {
    heads: Vec<String>,
    units: Vec<String>,
    widths: Vec<usize>,
}

/// The column of the source.
const SOURCE: usize = 2;

impl Table {
    fn of(dive: &Simulated<'_>) -> Table {
        let names = || dive.kit.iter().map(|carried| clean(&carried.name.value).into_owned());
        let mut heads = [
            "run",
            "depth",
            "source",
            "loop O2",
            "PO2",
            "END",
            "feed",
            "ceiling",
            "no stop",
            "home",
            "clock",
            "units",
            "absorbent",
        ]
        .map(String::from)
        .to_vec();
        let mut units = ["min:s", "m", "", "%", "bar", "m", "L/min", "m", "min", "min", "%", "UPTD", "min left"]
            .map(String::from)
            .to_vec();
        heads.extend(names());
        units.extend(names().map(|_| "bar".to_owned()));
        let least = [7, 5, 4, 5, 4, 3, 5, 4, 4, 4, 4, 4, 4];
        let widths = heads.iter().zip(&units).enumerate().map(|(column, (head, unit))| {
            let least = least.get(column).copied().unwrap_or(3);
            let sources = names().map(|name| display_width(&name)).max().filter(|_| column == SOURCE);
            least.max(display_width(head)).max(display_width(unit)).max(sources.unwrap_or(0))
        });
        Table { widths: widths.collect(), heads, units }
    }

    fn line(&self, cells: &[String]) -> String {
        let mut line = String::new();
        for (column, (cell, width)) in cells.iter().zip(&self.widths).enumerate() {
            let cell = clean(cell);
            let space = " ".repeat(width.saturating_sub(display_width(&cell)));
            line += "  ";
            line += &if column == SOURCE { format!("{cell}{space}") } else { format!("{space}{cell}") };
        }
        line.trim_end().to_owned()
    }

    fn remark(&self, t_min: f64, said: &str) -> String {
        let time = String::from(say::run_time(t_min));
        let width = self.widths.first().copied().unwrap_or(0);
        let space = " ".repeat(width.saturating_sub(display_width(&time)));
        format!("  {space}{time}  · {}", clean(said))
    }
}
