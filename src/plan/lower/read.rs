//! Reading a node's values by the vocabulary's word for them, units converted.

use jiff::civil::{Date, Time};

use super::view::{Node, Said};
use crate::plan::{Life, Maybe, NameUse, Role};
use crate::source::Placed;
use crate::words::{Amount, ValueDef, water_litres};

impl<'t> Node<'t> {
    /// An argument, read as the vocabulary says.
    fn read_arg(&self, index: usize) -> Maybe<Amount> {
        let said = self.arg(index)?;
        read(&said, self.word()?.arg(index)?)
    }

    /// A property, read as the vocabulary says.
    fn read_prop(&self, key: &str) -> Maybe<Amount> {
        let said = self.prop(key)?;
        read(&said, self.word()?.prop(key)?)
    }

    /// The first argument as whatever it is; a number is finite.
    pub(super) fn amount_arg(&self) -> Maybe<Amount> {
        self.read_arg(0).filter(is_finite)
    }

    /// A property as whatever it is; a number is finite.
    pub(super) fn amount(&self, key: &str) -> Maybe<Amount> {
        self.read_prop(key).filter(is_finite)
    }

    /// The first argument as a number.
    pub(super) fn number_arg(&self) -> Maybe<f64> {
        self.number_arg_at(0)
    }

    /// An argument as a number.
    pub(super) fn number_arg_at(&self, index: usize) -> Maybe<f64> {
        number(self.read_arg(index)?)
    }

    /// A property as a number.
    pub(super) fn number(&self, key: &str) -> Maybe<f64> {
        number(self.read_prop(key)?)
    }

    /// The number that a child's first argument gives.
    pub(super) fn child_number(&self, child: &str) -> Maybe<f64> {
        self.child(child)?.number_arg()
    }

    /// The number that a child's property gives.
    pub(super) fn number_below(&self, child: &str, key: &str) -> Maybe<f64> {
        self.child(child)?.number(key)
    }

    /// A property as a date.
    pub(super) fn date(&self, key: &str) -> Maybe<Date> {
        let read = self.read_prop(key)?;
        read.value.date().map(|date| Placed::new(date, read.place))
    }

    /// The date that a child's property gives.
    pub(super) fn date_below(&self, child: &str, key: &str) -> Maybe<Date> {
        self.child(child)?.date(key)
    }

    /// A property as a time of day.
    pub(super) fn time(&self, key: &str) -> Maybe<Time> {
        let read = self.read_prop(key)?;
        read.value.time().map(|time| Placed::new(time, read.place))
    }

    /// A property as a text, a name or a word.
    pub(super) fn text(&self, key: &str) -> Maybe<String> {
        text(self.read_prop(key)?)
    }

    /// An argument as a text, a name or a word.
    pub(super) fn text_arg(&self, index: usize) -> Maybe<String> {
        text(self.read_arg(index)?)
    }

    /// A property as a role.
    pub(super) fn role(&self, key: &str) -> Maybe<Role> {
        role(self.text(key)?)
    }

    /// A property as a role, or as `none`.
    pub(super) fn role_or_none(&self, key: &str) -> Maybe<Option<Role>> {
        let said = self.text(key)?;
        if said.value == "none" { Some(Placed::new(None, said.place)) } else { role(said).map(|said| said.map(Some)) }
    }

    /// A property as a yes or no.
    pub(super) fn yes(&self, key: &str) -> Maybe<bool> {
        yes(self.read_prop(key)?)
    }

    /// The first argument as a yes or no.
    pub(super) fn yes_arg(&self) -> Maybe<bool> {
        yes(self.read_arg(0)?)
    }

    /// A life in calendar time: `life=`.
    pub(super) fn life(&self) -> Maybe<Life> {
        let read = self.read_prop("life")?;
        let life = match read.value {
            Amount::Months(months) => Life::Months(months),
            Amount::Days(days) => Life::Days(days),
            _ => return None,
        };
        Some(Placed::new(life, read.place))
    }

    /// A cylinder's water volume, litres: `size=`, one named by its free gas at its working pressure, which is also
    /// what emergency oxygen is filled to.
    pub(super) fn size_l(&self) -> Maybe<f64> {
        let read = self.read_prop("size")?;
        let size_l = match read.value {
            Amount::Number(size_l) => size_l,
            Amount::FreeGas(free_l) => {
                let working = self.number("working").or_else(|| self.number("pressure"))?;
                Some(water_litres(free_l, working.value)).filter(|size_l| size_l.is_finite() && *size_l > 0.0)?
            }
            _ => return None,
        };
        Some(Placed::new(size_l, read.place))
    }

    /// The first argument as a name; an empty one at the header where there is none, so that what lacks only its name
    /// is still looked at.
    pub(super) fn name_or_empty(&self) -> NameUse {
        self.key_name().unwrap_or_else(|| Placed::new(String::new(), self.header()))
    }
}

/// A value by the vocabulary's word for it. One that can't be meant is as good as unread.
fn read(said: &Said<'_>, word: &ValueDef) -> Maybe<Amount> {
    let amount = word.read(&said.entry, said.layer.source.measures).ok()?;
    Some(Placed::new(amount, said.place()))
}

fn is_finite(read: &Placed<Amount>) -> bool {
    read.value.number().is_none_or(f64::is_finite)
}

fn number(read: Placed<Amount>) -> Maybe<f64> {
    let number = read.value.number().filter(|number| number.is_finite())?;
    Some(Placed::new(number, read.place))
}

fn text(read: Placed<Amount>) -> Maybe<String> {
    match read.value {
        Amount::Text(text) => Some(Placed::new(text, read.place)),
        _ => None,
    }
}

fn role(said: Placed<String>) -> Maybe<Role> {
    Some(Placed::new(Role::of_word(&said.value)?, said.place))
}

fn yes(read: Placed<Amount>) -> Maybe<bool> {
    read.value.yes().map(|yes| Placed::new(yes, read.place))
}
