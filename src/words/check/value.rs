//! One value against its word.

use std::collections::HashSet;
use std::sync::LazyLock;

use super::{Walk, dates, fixes};
use crate::findings::{FixKind, Told, Wording, said};
use crate::syntax::{self, Entry, Value};
use crate::words::prose::{list, number};
use crate::words::{
    NodeDef, Quantity, UnitError, ValueDef, ValueError, VocabularyErrorKind, VocabularyFix, near, vocabulary,
};

impl Walk<'_> {
    /// Says what doesn't fit in one value.
    pub(super) fn value(&mut self, node: &NodeDef, word: &ValueDef, entry: &Entry<'_>) {
        // The syntax has spoken of it.
        if self.has_error(entry.span) {
            return;
        }
        match word.read(entry, self.measures) {
            Ok(_) | Err(ValueError::Unit(UnitError::Unreadable | UnitError::Open)) => {}
            Err(ValueError::Unit(UnitError::Unit)) => self.unit(node, word, entry),
            Err(ValueError::Unit(UnitError::Bare)) => {
                let written = self.written(entry);
                let message = said!(
                    "{value} takes {takes}; {written} has no unit",
                    value = label(node, word),
                    takes = Wording(&self.takes(word)),
                    written
                );
                let fixes =
                    vec![VocabularyFix::write(entry.value_span, &format!("(months){written}"), FixKind::Suggested)];
                self.error(VocabularyErrorKind::UnitMismatch, entry.value_span, message, fixes);
            }
            Err(ValueError::Unit(UnitError::Date)) => self.date(node, word, entry),
            Err(ValueError::Unit(UnitError::Type)) => self.wrong_type(node, word, entry),
            Err(ValueError::Range(number)) => self.out_of_range(node, word, entry, number),
        }
    }

    fn written(&self, entry: &Entry<'_>) -> String {
        self.tree.text()[entry.value_span.range()].to_owned()
    }

    fn takes(&self, word: &ValueDef) -> String {
        word.quantity.takes(self.measures)
    }

    /// An annotation that doesn't fit.
    fn unit(&mut self, node: &NodeDef, word: &ValueDef, entry: &Entry<'_>) {
        let Some(annotation) = &entry.annotation else { return };
        let name = annotation.text.as_ref();
        let units = word.quantity.units();
        let written = |unit: &str| format!("({unit})");
        let mut fixes: Vec<VocabularyFix> = Vec::new();
        let mut message = match is_known_unit(name) {
            true => said!(
                "{value} takes {takes}: ({name}) is a unit of something else",
                value = label(node, word),
                takes = Wording(&self.takes(word)),
                name
            ),
            false => said!(
                "{value} takes {takes}: ({name}) is no unit of it",
                value = label(node, word),
                takes = Wording(&self.takes(word)),
                name
            ),
        };
        let meant = word.quantity.unit_meant(name).map(|unit| unit.name);
        let meant = meant.or_else(|| match is_known_unit(name) {
            true => None,
            false => near::nearest(name, units.iter().map(|unit| unit.name)),
        });
        if let Some(unit) = meant {
            message = said!("({name}) is written ({unit}) here", name, unit = Wording(unit));
            fixes.push(VocabularyFix::write(annotation.span, &written(unit), FixKind::Safe));
        } else if units.is_empty() {
            message = said!(
                "{value} takes {takes} and no unit",
                value = label(node, word),
                takes = Wording(&self.takes(word))
            );
            fixes.push(VocabularyFix::new("take the unit out", FixKind::Suggested, annotation.span, ""));
        } else {
            let fits = |annotation: Option<&str>| {
                let mut entry = entry.clone();
                entry.annotation =
                    annotation.map(|unit| crate::syntax::Word { text: unit.to_owned().into(), span: entry.value_span });
                word.read(&entry, self.measures).is_ok()
            };
            let bare = word.quantity.bare_unit(self.measures).map(|unit| unit.name);
            if fits(None) {
                let unit = word.quantity.unit_words(self.measures);
                let title = if unit.is_empty() { "take the unit out".to_owned() } else { format!("take it as {unit}") };
                fixes.push(VocabularyFix::new(title, FixKind::Suggested, annotation.span, ""));
            }
            let other = units.iter().find(|unit| Some(unit.name) != bare && fits(Some(unit.name)));
            if let Some(other) = other {
                fixes.push(VocabularyFix::write(annotation.span, &written(other.name), FixKind::Suggested));
            }
            message += said!(
                "; its units are {units}",
                units = Wording(&list(units.iter().map(|unit| written(unit.name)), "and"))
            );
        }
        self.error(VocabularyErrorKind::UnitMismatch, annotation.span, message, fixes);
    }

    /// A date or time of day that is none.
    fn date(&mut self, node: &NodeDef, word: &ValueDef, entry: &Entry<'_>) {
        let Value::Text(text) = &entry.value else { return };
        let mut message = said!(
            "{value} takes {takes}; {text:?} is not one",
            value = label(node, word),
            takes = Wording(&self.takes(word)),
            text
        );
        let meant: Vec<(String, FixKind)> = match word.quantity {
            Quantity::Date => {
                dates::date_meant(text).into_iter().map(|(date, kind)| (date.to_string(), kind)).collect()
            }
            _ => dates::time_meant(text).map(|(time, kind)| (dates::written_time(time), kind)).into_iter().collect(),
        };
        if let Some(why) = dates::no_such_day(text).filter(|_| word.quantity == Quantity::Date) {
            message = said!("{text:?} is no date: {why}", text, why = Wording(&why));
        }
        let fix = |(text, kind): (String, _)| VocabularyFix::write(entry.value_span, &syntax::written(&text), kind);
        self.error(VocabularyErrorKind::DateInvalid, entry.value_span, message, meant.into_iter().map(fix).collect());
    }

    /// A value of another type than its word takes.
    fn wrong_type(&mut self, node: &NodeDef, word: &ValueDef, entry: &Entry<'_>) {
        let written = self.written(entry);
        let message = said!(
            "{value} takes {takes}; {is} is not one",
            value = label(node, word),
            takes = Wording(&self.takes(word)),
            is = shown(&entry.value, &written)
        );
        let fix = self.meant(word, entry, &written);
        let fix = fix.map(|(text, kind)| VocabularyFix::write(entry.value_span, &text, kind));
        self.error(VocabularyErrorKind::WrongType, entry.value_span, message, fix.into_iter().collect());
    }

    /// What a value of the wrong type was meant to be.
    fn meant(&self, word: &ValueDef, entry: &Entry<'_>, written: &str) -> Option<(String, FixKind)> {
        match (word.quantity, &entry.value) {
            (Quantity::OneOf(words), Value::Text(text)) => {
                near::nearest(text, words.iter().copied()).map(|word| (word.to_owned(), near::kind(text, word)))
            }
            (Quantity::YesNo, Value::Text(text)) => match text.to_lowercase().as_str() {
                "yes" | "y" | "true" => Some(("yes".to_owned(), FixKind::Safe)),
                "no" | "n" | "false" => Some(("no".to_owned(), FixKind::Safe)),
                _ => None,
            },
            (
                Quantity::Name | Quantity::Text | Quantity::Path,
                Value::Integer(_) | Value::Float(_) | Value::Bool(_),
            ) => Some((syntax::written(written), FixKind::Safe)),
            (Quantity::Date, Value::Integer(number)) => {
                let digits = number.to_string();
                let date = jiff::civil::Date::strptime("%Y%m%d", &digits).ok().filter(|_| digits.len() == 8)?;
                Some((syntax::written(&date.to_string()), FixKind::Suggested))
            }
            (Quantity::Time, Value::Integer(number)) => {
                let (time, kind) = dates::time_meant(&number.to_string())?;
                Some((syntax::written(&dates::written_time(time)), kind))
            }
            (quantity, Value::Text(text)) if takes_number(quantity) => {
                let (number, kind) = fixes::number_meant(text, quantity, self.measures)?;
                // A unit in the text and one before it can't both hold.
                if entry.annotation.is_some() && number.starts_with('(') { None } else { Some((number, kind)) }
            }
            _ => None,
        }
    }

    /// A value that can be read, but not be meant.
    fn out_of_range(&mut self, node: &NodeDef, word: &ValueDef, entry: &Entry<'_>, inside: f64) {
        let written = &self.tree.text()[entry.span.range()];
        let written =
            entry.key.as_ref().map_or(written, |key| written[key.span.len() as usize..].trim_start_matches([' ', '=']));
        if word.quantity == Quantity::Date {
            let message = said!(
                "{value} is the year {inside}: no plan or record is of that time",
                value = label(node, word),
                inside = Told::new(inside.to_string())
            );
            return self.error(VocabularyErrorKind::OutOfRange, entry.value_span, message, Vec::new());
        }
        let range = word.range_words(self.measures).unwrap_or_default();
        let mut message = match &entry.annotation {
            Some(_) => {
                let unit = word
                    .quantity
                    .units()
                    .first()
                    .map_or("", |_| word.quantity.unit_words(crate::words::Measures::Metric));
                said!(
                    "{value} takes {range}; {written}, {inside} {unit}, can't be meant",
                    value = label(node, word),
                    inside = Wording(&number(inside)),
                    range = Wording(&range),
                    written,
                    unit = Wording(unit)
                )
            }
            None => said!(
                "{value} takes {range}; {written} can't be meant",
                value = label(node, word),
                range = Wording(&range),
                written
            ),
        };
        let mut fixes = Vec::new();
        let may = !node.fact || word.asked;
        if word.quantity == Quantity::Percent && inside > 0.0 && inside <= 1.0 {
            let percent = fixes::as_percent(inside);
            message = said!(
                "{value} takes percent, and {written} is a fraction: {percent} was meant",
                value = label(node, word),
                written,
                percent = Wording(&percent)
            );
            // What was measured is for who measured it to say.
            if may && word.range.is_none_or(|(least, most)| percent.parse().is_ok_and(|p| (least..=most).contains(&p)))
            {
                fixes.push(VocabularyFix::write(entry.value_span, &percent, FixKind::Suggested));
            }
        } else if entry.annotation.is_none()
            && let Some(unit) = self.other_unit(word, entry)
        {
            let text = format!("({unit}){}", self.written(entry));
            message += said!(" unless it is {text}", text = Wording(&text));
            fixes.push(VocabularyFix::write(entry.value_span, &text, FixKind::Suggested));
        }
        self.error(VocabularyErrorKind::OutOfRange, entry.value_span, message, fixes);
    }

    /// The first unit by which a bare value could be meant after all.
    fn other_unit(&self, word: &ValueDef, entry: &Entry<'_>) -> Option<&'static str> {
        let bare = word.quantity.bare_unit(self.measures)?.name;
        let units = word.quantity.units().iter().filter(|unit| unit.name != bare);
        let fits = |unit: &&crate::words::Unit| {
            let mut entry = entry.clone();
            entry.annotation = Some(crate::syntax::Word { text: unit.name.into(), span: entry.value_span });
            word.read(&entry, self.measures).is_ok()
        };
        units.into_iter().find(fits).map(|unit| unit.name)
    }
}

/// How a message calls a value.
fn label(node: &NodeDef, word: &ValueDef) -> String {
    match node.prop(word.name) {
        Some(_) => format!("`{}=` of `{}`", word.name, node.name),
        None if node.args.len() == 1 => format!("`{}`", node.name),
        None => format!("the {} of `{}`", word.name, node.name),
    }
}

/// How a message shows a value of the wrong type.
fn shown(value: &Value<'_>, written: &str) -> String {
    match value {
        Value::Text(text) => format!("{text:?}"),
        _ => written.to_owned(),
    }
}

fn takes_number(quantity: Quantity) -> bool {
    !quantity.units().is_empty() && !matches!(quantity, Quantity::Date | Quantity::Time)
        || matches!(quantity, Quantity::Number | Quantity::Count)
}

/// Whether any quantity of the language has a unit of this name.
fn is_known_unit(name: &str) -> bool {
    static UNITS: LazyLock<HashSet<&str>> = LazyLock::new(|| {
        let values = vocabulary().flat_map(|word| word.args.iter().chain(word.props));
        values.flat_map(|value| value.quantity.units()).map(|unit| unit.name).collect()
    });
    UNITS.contains(name)
}
