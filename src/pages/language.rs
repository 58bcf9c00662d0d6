//! The words of the language and of the trade, for people.

use std::io::{self, Write};

use textwrap::Options;

use crate::CAUTION;
use crate::rules::TABLE;
use crate::words::trade::{TERMS, Term};
use crate::words::{Measures, NodeDef, vocabulary, words_of};

/// What `explain` may be asked about beside rules: the words of a name, and the trade's.
#[derive(Debug)]
pub(crate) struct Meant {
    /// The language's words of that name: one name may mean different things at different places.
    pub words: Vec<&'static NodeDef>,
    /// The properties of that name, each with the words that take it.
    pub properties: Vec<(&'static NodeDef, &'static crate::words::ValueDef)>,
    /// The trade's.
    pub term: Option<&'static Term>,
}

impl Meant {
    /// What a name means.
    pub(crate) fn by(name: &str) -> Meant {
        let name = name.trim_end_matches('=');
        let words: Vec<&'static NodeDef> = vocabulary().filter(|word| word.name == name).collect();
        let properties = vocabulary().filter_map(|word| Some((word, word.prop(name)?))).collect();
        Meant { words, properties, term: crate::words::trade::find(name) }
    }

    /// Whether it means nothing.
    pub(crate) fn is_empty(&self) -> bool {
        self.words.is_empty() && self.properties.is_empty() && self.term.is_none()
    }
}

/// Every name that `explain` knows beside the rules'.
pub(crate) fn names() -> impl Iterator<Item = &'static str> {
    let words = vocabulary().flat_map(|word| std::iter::once(word.name).chain(word.props.iter().map(|prop| prop.name)));
    words.chain(TERMS.iter().flat_map(|term| std::iter::once(term.name).chain(term.also.iter().copied())))
}

/// Writes what a name means.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn page(out: &mut dyn Write, meant: &Meant, width: usize) -> io::Result<()> {
    if let Some(term) = meant.term {
        told(out, term, width)?;
        writeln!(out)?;
    }
    for word in &meant.words {
        written(out, word, width)?;
        writeln!(out)?;
    }
    // One property of many words is told once.
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for (word, prop) in &meant.properties {
        let said = format!("{} ({})", prop.meaning, prop.takes(Measures::Metric));
        match told.iter_mut().find(|(other, _)| *other == said) {
            Some((_, words)) if words.contains(&word.name) => {}
            Some((_, words)) => words.push(word.name),
            None => told.push((said, vec![word.name])),
        }
    }
    for (said, words) in told {
        let name = meant.properties.first().map_or("", |(_, prop)| prop.name);
        writeln!(out, "{}", filled(&format!("{name}= on the line of {}", words.join(", ")), "", width))?;
        writeln!(out, "{}\n", filled(&said, "  ", width))?;
    }
    cautioned(out, width)
}

/// Writes the whole language as one page, in the order of its description.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn whole(out: &mut dyn Write, width: usize) -> io::Result<()> {
    for word in vocabulary() {
        written(out, word, width)?;
        writeln!(out)?;
    }
    writeln!(out, "Words of the trade\n")?;
    for term in TERMS {
        told(out, term, width)?;
    }
    writeln!(out)?;
    cautioned(out, width)
}

/// Lists all that `explain` knows: the language's words, the trade's, and the rules by number.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn list(out: &mut dyn Write, width: usize) -> io::Result<()> {
    let mut words: Vec<&str> = vocabulary().map(|word| word.name).collect();
    words.sort_unstable();
    words.dedup();
    writeln!(out, "Words of the language\n{}\n", filled(&words.join(", "), "  ", width))?;
    let terms: Vec<&str> = TERMS.iter().map(|term| term.name).collect();
    writeln!(out, "Words of the trade\n{}\n", filled(&terms.join(", "), "  ", width))?;
    let said = format!(
        "{} rules: `leadsman rules` lists them. `leadsman explain NAME` says what a word or a rule means, `leadsman explain --search \
         TEXT` finds one, `leadsman explain --all` is the whole language on a page.",
        TABLE.len()
    );
    writeln!(out, "{}\n", filled(&said, "", width))?;
    cautioned(out, width)
}

/// Lists what has a text in its name or its meaning; whether there is any.
///
/// # Errors
/// Whatever keeps `out` from being written to.
pub(crate) fn search(out: &mut dyn Write, text: &str, width: usize) -> io::Result<bool> {
    let text = text.to_lowercase();
    let has = |parts: &[&str]| parts.iter().any(|part| part.to_lowercase().contains(&text));
    let mut found: Vec<(String, String)> = Vec::new();
    for word in vocabulary() {
        let values = || word.args.iter().chain(word.props);
        if has(&[word.name, word.meaning]) || values().any(|value| has(&[value.name, value.meaning])) {
            found.push((word.name.to_owned(), format!("{} {}", word.meaning, place(word))));
        }
    }
    found.extend(
        TERMS
            .iter()
            .filter(|term| has(&[term.name, term.meaning]) || term.also.iter().any(|also| has(&[also])))
            .map(|term| (term.name.to_owned(), term.meaning.to_owned())),
    );
    for rule in TABLE {
        let summary = super::rules::summary(rule);
        if has(&[rule.slug, &summary]) {
            found.push((rule.slug.to_owned(), summary));
        }
    }
    for (name, meaning) in &found {
        writeln!(out, "{name}")?;
        writeln!(out, "{}", filled(meaning, "  ", width))?;
    }
    if !found.is_empty() {
        writeln!(out)?;
        cautioned(out, width)?;
    }
    Ok(!found.is_empty())
}

fn place(word: &NodeDef) -> String {
    format!("({})", word.belongs())
}

/// A word of the language: how it is written, what it means, what it takes and what stands below it.
fn written(out: &mut dyn Write, word: &'static NodeDef, width: usize) -> io::Result<()> {
    writeln!(out, "{}", word.usage())?;
    writeln!(out, "{}", filled(&format!("{} It stands {}.", word.meaning, word.belongs()), "  ", width))?;
    for arg in word.args {
        let said = format!("{}: {} ({})", arg.name, arg.meaning, arg.takes(Measures::Metric));
        writeln!(out, "{}", filled(&said, "    ", width))?;
    }
    for prop in word.props {
        let said = format!("{}=: {} ({})", prop.name, prop.meaning, prop.takes(Measures::Metric));
        writeln!(out, "{}", filled(&said, "    ", width))?;
    }
    let below: Vec<&str> = words_of(word).map(|below| below.name).filter(|name| *name != "allow").collect();
    if !below.is_empty() {
        writeln!(out, "{}", filled(&format!("In its braces: {}", below.join(", ")), "    ", width))?;
    }
    Ok(())
}

fn told(out: &mut dyn Write, term: &Term, width: usize) -> io::Result<()> {
    let also = if term.also.is_empty() { String::new() } else { format!(" (also: {})", term.also.join(", ")) };
    writeln!(out, "{}{also}", term.name)?;
    writeln!(out, "{}", filled(term.meaning, "  ", width))?;
    writeln!(out, "{}", filled(&format!("See: {}", term.see.join(", ")), "  ", width))
}

fn filled(text: &str, indent: &str, width: usize) -> String {
    let text = text.replace('`', "");
    textwrap::fill(&text, Options::new(width.max(40)).initial_indent(indent).subsequent_indent(indent))
}

fn cautioned(out: &mut dyn Write, width: usize) -> io::Result<()> {
    writeln!(out, "{}", textwrap::fill(CAUTION, width.max(20)))
}
