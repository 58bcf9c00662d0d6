//! A sentence and the values in it: made once, of one template, so that what is told and what programs go by are the same.

use std::fmt;
use std::ops::AddAssign;

use serde::de::Error as _;
use serde::ser::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value};

/// So many characters of a sentence, or of a value in it, are told.
const LONGEST: usize = 2000;

/// The values of a finding by name, as its sentence tells them: numbers rounded to the digits told, names as they are
/// written. A better sentence leaves them as they are, so what was accepted stays accepted.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Data(Map<String, Value>);

impl Data {
    /// The values, by name in the alphabet's order.
    pub fn values(&self) -> impl Iterator<Item = (&str, &Value)> {
        self.0.iter().map(|(name, value)| (&**name, value))
    }

    /// The value of a name.
    pub fn get(&self, name: &str) -> Option<&Value> {
        self.0.get(name)
    }

    /// The values that are no date: what one fact says of it on every day.
    pub(crate) fn without_days(&self) -> Data {
        let is_day = |value: &Value| value.as_str().is_some_and(|text| text.parse::<jiff::civil::Date>().is_ok());
        Data(
            self.0
                .iter()
                .filter(|(_, value)| !is_day(value))
                .map(|(name, value)| (name.clone(), value.clone()))
                .collect(),
        )
    }

    fn set(&mut self, name: &str, value: Value) {
        debug_assert!(!self.0.contains_key(name), "{name} is said twice");
        self.0.insert(name.to_owned(), value);
    }

    /// Takes in the values of a clause of that name.
    pub(crate) fn join(&mut self, name: &str, clause: &Data) {
        for (key, value) in &clause.0 {
            let mut key = key.clone();
            // Two moments of one sentence each have a minute; who is named twice is the same.
            while self.0.get(&key).is_some_and(|known| known != value) {
                key = format!("{name}_{key}");
            }
            self.0.insert(key, value.clone());
        }
    }
}

impl PartialOrd for Data {
    fn partial_cmp(&self, other: &Data) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Data {
    fn cmp(&self, other: &Data) -> std::cmp::Ordering {
        self.to_string().cmp(&other.to_string())
    }
}

impl fmt::Display for Data {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&serde_json::to_string(&self.0).unwrap_or_default())
    }
}

impl Serialize for Data {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if serializer.is_human_readable() {
            return self.0.serialize(serializer);
        }
        // Formats that don't say what stands in them can't tell a number from a text.
        serde_json::to_string(&self.0).map_err(S::Error::custom)?.serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for Data {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Data, D::Error> {
        if deserializer.is_human_readable() {
            return Ok(Data(Map::deserialize(deserializer)?));
        }
        let text = String::deserialize(deserializer)?;
        serde_json::from_str(&text).map(Data).map_err(D::Error::custom)
    }
}

/// A sentence with its values. `said!` makes it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Said {
    text: String,
    data: Data,
}

impl Said {
    /// A sentence of which the values are known: for `said!` alone.
    pub(crate) fn made(text: String, data: Data) -> Said {
        Said { text, data }
    }

    /// The sentence.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The values in it.
    pub fn data(&self) -> &Data {
        &self.data
    }

    /// The sentence with one more value, which its words leave out.
    #[must_use]
    pub(crate) fn with(mut self, name: &str, value: impl Datum) -> Said {
        value.put(name, &mut self.data);
        self
    }

    /// Whether it says nothing.
    pub(crate) fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// The sentence and its values, none longer than anybody would read: a name may be as long as its file, and no page
    /// is to hold it again.
    pub(super) fn into_parts(self) -> (String, Data) {
        let Said { text, mut data } = self;
        for (_, value) in &mut data.0 {
            if let Value::String(text) = value {
                *text = cut(std::mem::take(text));
            }
        }
        (cut(text), data)
    }
}

fn cut(mut text: String) -> String {
    if let Some((end, _)) = text.char_indices().nth(LONGEST) {
        text.truncate(end);
        text.push('…');
    }
    text
}

impl fmt::Display for Said {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

impl AddAssign for Said {
    /// Goes on with another sentence; a value of the same name is kept beside the first.
    fn add_assign(&mut self, more: Said) {
        self.text += &more.text;
        self.data.join("more", &more.data);
    }
}

/// Words of a sentence that are no value: they may be said otherwise without anything being another.
#[derive(Clone, Copy)]
pub(crate) struct Wording<'a>(pub &'a str);

impl fmt::Debug for Wording<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(self.0, f)
    }
}

impl fmt::Display for Wording<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.0)
    }
}

/// A number as it is told, rounded and with no more digits than it needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Told(String);

impl Told {
    /// A number by its digits; words in its place are told as they are.
    pub(crate) fn new(text: String) -> Told {
        Told(text)
    }
}

impl fmt::Display for Told {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl From<&str> for Said {
    /// A sentence without a value.
    fn from(text: &str) -> Said {
        Said { text: text.to_owned(), data: Data::default() }
    }
}

impl From<String> for Said {
    /// A sentence of which no value is known.
    fn from(text: String) -> Said {
        Said { text, data: Data::default() }
    }
}

impl From<Said> for String {
    fn from(said: Said) -> String {
        said.text
    }
}

impl PartialEq<&str> for Told {
    fn eq(&self, other: &&str) -> bool {
        self.0 == *other
    }
}

impl From<Told> for String {
    fn from(told: Told) -> String {
        told.0
    }
}

/// Names in a row, as a sentence has them.
#[derive(Debug, Clone)]
pub(crate) struct Named {
    names: Vec<String>,
    text: String,
}

impl Named {
    /// Names, and the words they are told in.
    pub(crate) fn new(names: Vec<String>, text: String) -> Named {
        Named { names, text }
    }

    /// Whether it has none.
    pub(crate) fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// Names with a comma between each two.
    /// The first names, with a comma between each two, and how many more there are.
    pub(crate) fn the_first(names: impl IntoIterator<Item = impl Into<String>>, most: usize) -> Named {
        let names: Vec<String> = names.into_iter().map(Into::into).collect();
        let text = match names.len().saturating_sub(most) {
            0 => names.join(", "),
            more => format!("{} and {more} more", names.iter().take(most).cloned().collect::<Vec<_>>().join(", ")),
        };
        Named { text, names }
    }

    pub(crate) fn with_commas(names: impl IntoIterator<Item = impl Into<String>>) -> Named {
        let names: Vec<String> = names.into_iter().map(Into::into).collect();
        Named { text: names.join(", "), names }
    }
}

impl Named {
    /// Names in quotes, with a comma between each two.
    pub(crate) fn quoted(names: Vec<String>) -> Named {
        let text: Vec<String> = names.iter().map(|name| format!("{name:?}")).collect();
        Named { text: text.join(", "), names }
    }
}

impl fmt::Display for Named {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

/// What may stand in a sentence, and as what it comes into the data.
pub(crate) trait Datum {
    /// Brings the value into the data under a name.
    fn put(&self, name: &str, data: &mut Data);

    /// The values of a clause, which come in after the sentence's own.
    fn clause(&self) -> Option<&Data> {
        None
    }
}

impl<T: Datum + ?Sized> Datum for &T {
    fn put(&self, name: &str, data: &mut Data) {
        (**self).put(name, data);
    }

    fn clause(&self) -> Option<&Data> {
        (**self).clause()
    }
}

impl Datum for str {
    fn put(&self, name: &str, data: &mut Data) {
        data.set(name, self.into());
    }
}

impl Datum for String {
    fn put(&self, name: &str, data: &mut Data) {
        data.set(name, self.as_str().into());
    }
}

impl Datum for Told {
    fn put(&self, name: &str, data: &mut Data) {
        let number = self.0.parse::<serde_json::Number>().ok();
        data.set(name, number.map_or_else(|| self.0.as_str().into(), Value::Number));
    }
}

impl Datum for Named {
    fn put(&self, name: &str, data: &mut Data) {
        data.set(name, self.names.clone().into());
    }
}

impl Datum for Wording<'_> {
    fn put(&self, _: &str, _: &mut Data) {}
}

impl Datum for Said {
    fn put(&self, _: &str, _: &mut Data) {}

    fn clause(&self) -> Option<&Data> {
        Some(&self.data)
    }
}

macro_rules! whole_numbers {
    ($($kind:ty)*) => {$(
        impl Datum for $kind {
            fn put(&self, name: &str, data: &mut Data) {
                data.set(name, (*self).into());
            }
        }
    )*};
}

whole_numbers!(usize u32 u64 i8 i16 i32 i64);

/// Makes types texts of the data, as they are displayed.
macro_rules! texts {
    ($($kind:ty)*) => {$(
        impl $crate::findings::Datum for $kind {
            fn put(&self, name: &str, data: &mut $crate::findings::Data) {
                $crate::findings::Datum::put(&self.to_string(), name, data);
            }
        }
    )*};
}

texts!(jiff::civil::Date jiff::civil::Time crate::source::FileId std::borrow::Cow<'_, str>);

/// A sentence with its values: `said!("{who} is fit until {until}", who = …, until = …)`. Every value in the template is
/// listed, so that it comes into the data; a local of the same name needs no `=`. What is wording and no value is a
/// [`Wording`], and a clause that has values of its own a [`Said`].
macro_rules! said {
    ($text:literal $(, $name:ident $(= $value:expr)?)* $(,)?) => {
        // A match, so that no value's name hides what the next one is made of.
        match ($($crate::findings::value!($name $(= $value)?),)*) {
            ($($name,)*) => {
                #[allow(unused_mut)]
                let mut data = $crate::findings::Data::default();
                $($crate::findings::Datum::put($name, stringify!($name), &mut data);)*
                $(if let Some(clause) = $crate::findings::Datum::clause($name) {
                    data.join(stringify!($name), clause);
                })*
                $crate::findings::Said::made(format!($text $(, $name = $name)*), data)
            }
        }
    };
}

/// One value of a sentence.
macro_rules! value {
    ($name:ident) => {
        &$name
    };
    ($name:ident = $value:expr) => {
        &$value
    };
}

pub(crate) use {said, texts, value};

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn a_sentence_and_its_values_are_made_at_once() {
        let depth = Told::new("30.5".to_owned());
        let moment = said!("{minute} min into the dive", minute = 12usize);
        let verb = Wording("falls");
        let said = said!("unit {unit:?} {verb} to {depth} m, {moment}", unit = "ssb-2", depth, verb, moment);
        assert_eq!(said.text(), "unit \"ssb-2\" falls to 30.5 m, 12 min into the dive");
        assert_eq!(said.data().to_string(), r#"{"depth":30.5,"minute":12,"unit":"ssb-2"}"#);
    }

    #[test]
    fn a_clause_with_a_value_of_the_same_name_keeps_both() {
        let before = said!("{minute} min", minute = 3usize);
        let mut said = said!("at {minute} min, {before} later", minute = 12usize, before);
        said += said!("; {minute} in all", minute = 15usize);
        assert_eq!(said.data().to_string(), r#"{"before_minute":3,"minute":12,"more_minute":15}"#);
    }

    #[test]
    fn words_in_the_place_of_a_number_are_a_text() {
        let said = said!("{po2} bar", po2 = Told::new("less than 0.01".to_owned()));
        assert_eq!(said.data().get("po2"), Some(&Value::from("less than 0.01")));
    }

    #[test]
    fn data_reads_the_same_from_json_and_from_bytes() {
        let names = Named::with_commas(vec!["a".to_owned(), "b".to_owned()]);
        let data = said!("{names} {least} {on}", names, least = Told::new("0.18".to_owned()), on = "2027-05-15").data;
        assert_eq!(serde_json::from_str::<Data>(&serde_json::to_string(&data).unwrap()).unwrap(), data);
        assert_eq!(postcard::from_bytes::<Data>(&postcard::to_allocvec(&data).unwrap()).unwrap(), data);
    }

    #[test]
    fn nothing_is_longer_than_anybody_reads() {
        let name = "ü".repeat(5000);
        let (text, data) = said!("diver {name}", name).into_parts();
        assert_eq!(text.chars().count(), LONGEST + 1);
        assert_eq!(data.get("name").unwrap().as_str().unwrap().chars().count(), LONGEST + 1);
    }
}
