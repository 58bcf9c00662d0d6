//! Settings for people.

use std::io::{self, Write};

use super::{Page, Where};
use crate::CAUTION;
use crate::pages::counted;
use crate::rules::say;
use crate::source::clean::clean;

/// Writes what a file is held to, its lines broken at `width` where they hold a sentence.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn write(out: &mut dyn Write, page: &Page<'_>, width: usize) -> io::Result<()> {
    let settings = &page.settings;
    let set = |place: &_| {
        let Where { path, line, column } = page.place(place);
        format!("{}:{line}:{column}", clean(&path))
    };
    writeln!(out, "{}\n\nLimits", clean(&page.name(&page.file)))?;
    let rows = settings.limits.iter().map(|limit| {
        let value = limit
            .value
            .as_ref()
            .map_or_else(|| "none".to_owned(), |value| limit.limit.said(value, |value| say::number(value).into()));
        let place = match &limit.place {
            Some(place) => set(place),
            None if limit.value.is_some() => "what is usual".to_owned(),
            None => "not set".to_owned(),
        };
        [limit.limit.words.trim_end_matches('=').to_owned(), value, place]
    });
    columns(out, &rows.collect::<Vec<_>>())?;
    writeln!(out, "\nLevels that the house sets")?;
    let levels: Vec<[String; 3]> = settings
        .rules
        .iter()
        .flat_map(|set| set.levels.iter().map(move |level| (set.rule, level)))
        .map(|(rule, (level, holds))| {
            let moved = match level.level.value < rule.level {
                _ if !holds => "does nothing".to_owned(),
                true => format!("at most {}", level.level.value.word()),
                false => format!("at least {}", level.level.value.word()),
            };
            let because =
                level.because.as_ref().map_or_else(String::new, |because| format!(": {}", clean(&because.value)));
            [rule.slug.to_owned(), moved, format!("{}{because}", set(&level.place))]
        })
        .collect();
    columns(out, &levels)?;
    let own = settings.rules.iter().filter(|set| set.levels.is_empty()).count();
    let own = counted(own, if levels.is_empty() { "rule" } else { "other rule" });
    writeln!(out, "  {own} with levels of their own, as `leadsman rules` lists them")?;
    writeln!(out, "\nWaivers in sight")?;
    let waivers: Vec<[String; 3]> = settings
        .waivers
        .iter()
        .map(|waiver| {
            let because = waiver
                .reason()
                .map_or_else(|| "does nothing: it gives no reason".to_owned(), |because| clean(because).into_owned());
            [clean(&waiver.rule).into_owned(), set(&waiver.place), because]
        })
        .collect();
    columns(out, &waivers)?;
    if waivers.is_empty() {
        writeln!(out, "  none")?;
    }
    match page.accepted() {
        0 => {}
        accepted => writeln!(out, "\n{} in this file", counted(accepted, "accepted finding"))?,
    }
    writeln!(out, "\n{}", textwrap::fill(CAUTION, width.max(20)))
}

fn columns(out: &mut dyn Write, rows: &[[String; 3]]) -> io::Result<()> {
    let wide = |column: usize| rows.iter().map(|row| textwrap::core::display_width(&row[column])).max().unwrap_or(0);
    let (first, second) = (wide(0), wide(1));
    for [one, two, three] in rows {
        writeln!(out, "  {one:<first$}  {two:<second$}  {three}")?;
    }
    Ok(())
}
