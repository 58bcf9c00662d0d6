//! The limits: one row each.
//!
//! A row says the whole of a limit: how it is written, what it takes, what is usual where nobody sets it and who says so,
//! and which way it is stricter. The vocabulary's words, lowering, merging with the house's and the template's, what a
//! loosened template says, and `--show-settings` follow from it.

use super::{DAY_MIN, DEEPEST_M, NODE, WORK, value};
use crate::words::{Amount, Either, Measures, NodeDef, Quantity, ValueDef};

/// A limit that a house or a plan can set.
#[derive(Debug)]
pub struct LimitDef {
    /// What code calls it.
    pub name: LimitName,
    /// How a plan writes it: `po2 deco=`.
    pub words: &'static str,
    /// The word below `limits` that says it.
    pub node: &'static str,
    /// Whether it is a property of that word; else it is its argument.
    pub is_prop: bool,
    /// The argument or property.
    pub value: ValueDef,
    /// Which way it is stricter.
    pub stricter: Stricter,
    /// What holds where nobody sets it.
    pub usual: Usual,
    /// What it counts, where its quantity has no unit.
    pub counts: &'static str,
}

/// Which way a limit grows stricter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stricter {
    /// A greater value allows less: it is a least.
    Greater,
    /// A smaller value allows less: it is a most.
    Smaller,
    /// Neither way: it says how a thing is counted, or is no number.
    Neither,
}

/// What holds of a limit that nobody sets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Usual {
    /// This number, in the limit's inside unit, as who says.
    Number(f64, &'static str),
    /// This word, as who says.
    Word(&'static str, &'static str),
    /// What holds of another limit, and why.
    As(LimitName, &'static str),
    /// Nothing, and why.
    Nothing(&'static str),
}

impl Usual {
    /// What holds, as a plan would say it.
    pub fn amount(self) -> Option<Amount> {
        match self {
            Usual::Number(number, _) => Some(Amount::Number(number)),
            Usual::Word(word, _) => Some(Amount::Text(word.to_owned())),
            Usual::As(..) | Usual::Nothing(_) => None,
        }
    }
}

impl LimitDef {
    /// Whether `value` allows more than `bound`.
    pub fn is_looser(&self, value: f64, bound: f64) -> bool {
        match self.stricter {
            Stricter::Greater => value < bound,
            Stricter::Smaller => value > bound,
            Stricter::Neither => false,
        }
    }

    /// What is printed behind its number; empty where it is a word.
    pub fn unit(&self) -> &'static str {
        match (self.value.quantity, self.value.quantity.bare_unit(Measures::Metric)) {
            (Quantity::Percent, _) => "%",
            (Quantity::Rate, _) => "m/min",
            (_, Some(unit)) => unit.name,
            (_, None) => self.counts,
        }
    }

    /// A value of it as a sentence says it: the number by `number`, with its unit.
    pub fn said(&self, value: &Amount, number: fn(f64) -> String) -> String {
        match (value.number(), self.unit()) {
            (Some(value), "") => number(value),
            (Some(value), unit) => format!("{} {unit}", number(value)),
            (None, _) => match value.yes() {
                Some(yes) => if yes { "yes" } else { "no" }.to_owned(),
                None => value.text().unwrap_or_default().to_owned(),
            },
        }
    }

    /// The number that holds where nobody sets it, nor the limit that it goes by. Where nothing is usual, the one that binds nothing: no least is 0, no
    /// most is infinite.
    pub fn usual_number(&self) -> f64 {
        match (self.usual, self.stricter) {
            (Usual::Number(number, _), _) => number,
            (_, Stricter::Smaller) => f64::INFINITY,
            (_, Stricter::Greater | Stricter::Neither) => 0.0,
        }
    }
}

impl LimitName {
    /// Its row.
    pub fn def(self) -> &'static LimitDef {
        // The rows stand in the order of the names, both being made from one list.
        &LIMITS[self as usize]
    }
}

/// A word below `limits` whose values are those of its rows. One that is made of properties of which none must be there
/// wants at least one of them.
const fn word(
    name: &'static str,
    args: &'static [ValueDef],
    props: &'static [ValueDef],
    names: &'static [&'static str],
) -> NodeDef {
    let mut needed = !args.is_empty();
    let mut at = 0;
    while at < props.len() {
        needed |= props[at].required;
        at += 1;
    }
    let either = if needed { None } else { Some(Either::AtLeast(names)) };
    NodeDef { id: name, name, below: &["limits"], args, props, either, ..NODE }
}

const fn with_usual(value: ValueDef, written: Option<&'static str>) -> ValueDef {
    ValueDef { default: written, ..value }
}

/// Said by the trade, by no one in particular.
const COMMON: &str = "common practice, no source";

macro_rules! usual {
    (nothing, $why:expr) => {
        Usual::Nothing($why)
    };
    (as $other:ident, $why:expr) => {
        Usual::As(LimitName::$other, $why)
    };
    (word $word:literal, $source:expr) => {
        Usual::Word($word, $source)
    };
    ($number:literal, $source:expr) => {
        Usual::Number($number as f64, $source)
    };
}

macro_rules! written {
    (nothing, $why:expr) => {
        None
    };
    (as $other:ident, $why:expr) => {
        None
    };
    (word $word:literal, $source:expr) => {
        Some($word)
    };
    ($number:literal, $source:expr) => {
        Some(stringify!($number))
    };
}

macro_rules! limits {
    ($(
        $node:literal { $meaning:literal $(, $field:ident: $held:expr)* }
            $(arg $arg:ident $arg_name:literal, $arg_quantity:expr, $arg_meaning:literal, [$($arg_more:tt)*], $arg_stricter:ident, $arg_usual:tt $(, $arg_counts:literal)?;)*
            $(prop $prop:ident $prop_name:literal, $prop_quantity:expr, $prop_meaning:literal, [$($prop_more:tt)*], $prop_stricter:ident, $prop_usual:tt $(, $prop_counts:literal)?;)*
    )*) => {
        /// The limits that can be set.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum LimitName {
            $(
                $(#[doc = concat!("`", $node, "`: ", $arg_meaning)] $arg,)*
                $(#[doc = concat!("`", $node, " ", $prop_name, "=`: ", $prop_meaning)] $prop,)*
            )*
        }

        /// Every limit, in the order of the vocabulary.
        pub static LIMITS: &[LimitDef] = &[$(
            $(LimitDef {
                name: LimitName::$arg,
                words: $node,
                node: $node,
                is_prop: false,
                value: with_usual(value($arg_name, $arg_quantity, $arg_meaning)$($arg_more)*, written!$arg_usual),
                stricter: Stricter::$arg_stricter,
                usual: usual!$arg_usual,
                counts: concat!($($arg_counts)?),
            },)*
            $(LimitDef {
                name: LimitName::$prop,
                words: concat!($node, " ", $prop_name, "="),
                node: $node,
                is_prop: true,
                value: with_usual(value($prop_name, $prop_quantity, $prop_meaning)$($prop_more)*, written!$prop_usual),
                stricter: Stricter::$prop_stricter,
                usual: usual!$prop_usual,
                counts: concat!($($prop_counts)?),
            },)*
        )*];

        /// The words that say them.
        pub(crate) static ROWS: &[NodeDef] = &[$(
            NodeDef {
                meaning: $meaning,
                $($field: $held,)*
                ..word(
                    $node,
                    &[$(with_usual(value($arg_name, $arg_quantity, $arg_meaning)$($arg_more)*, written!$arg_usual)),*],
                    &[$(with_usual(value($prop_name, $prop_quantity, $prop_meaning)$($prop_more)*, written!$prop_usual)),*],
                    &[$($prop_name),*],
                )
            },
        )*];
    };
}

// A word and what it means, then a row for each of its arguments and properties: what code calls the limit; its name;
// what it takes and means; its range and whether the word wants it; which way it is stricter; what is usual and by whom,
// or why nothing is; and what it counts, where its quantity has no unit.
limits! {
    "gradient" {
        "Gradient factors: how much of the overpressure that the tissues are held to tolerate may be used, at the first \
         stop and at the surface.",
        order: Some(("low", "high"))
    }
    prop GradientLow "low", Quantity::Percent, "At the first stop, percent.", [.needed().within(5.0, 100.0)], Smaller, (nothing, "how much risk to take is the divers' own to say");
    prop GradientHigh "high", Quantity::Percent, "At the surface, percent.", [.needed().within(5.0, 100.0)], Smaller, (nothing, "how much risk to take is the divers' own to say");

    "po2" { "Oxygen partial pressures, bar." }
    prop Po2Working "working", Quantity::Partial, "The greatest on the loop and on the back gas.", [.within(0.5, 2.0)], Smaller, (1.4, COMMON);
    prop Po2Supply "supply", Quantity::Partial, "The greatest of the mix that feeds a loop, should the mouthpiece give it: the house alone may raise it over `working`, and nobody over `bailout`.", [.within(0.5, 2.0)], Smaller, (as Po2Working, "what stands in the mouthpiece is breathed at work");
    prop Po2Deco "deco", Quantity::Partial, "The greatest on stops.", [.within(0.5, 2.0)], Smaller, (1.6, COMMON);
    prop Po2Bailout "bailout", Quantity::Partial, "The greatest of bailout gas.", [.within(0.5, 2.0)], Smaller, (1.6, COMMON);
    prop Po2Least "least", Quantity::Partial, "The least of anything breathed.", [.within(0.16, 0.5)], Greater, (0.18, COMMON);

    "reserve" { "The pressure left in a cylinder that feeds a loop when the dive ends." }
    arg Reserve "pressure", Quantity::Gauge, "Bar.", [.needed().within(0.0, 250.0)], Greater, (50, COMMON);

    "unusable" { "The pressure below which no gas can be had from a cylinder." }
    arg Unusable "pressure", Quantity::Gauge, "Bar.", [.needed().within(0.0, 100.0)], Greater, (20, COMMON);

    "overrun" { "The plan must also hold this much deeper, this much longer, and both." }
    prop OverrunDepth "depth", Quantity::Depth, "Metres deeper.", [.within(0.0, 50.0)], Greater, (nothing, "no plan is held to it unasked");
    prop OverrunTime "time", Quantity::Duration, "Minutes longer.", [.within(0.0, 120.0)], Greater, (nothing, "no plan is held to it unasked");

    "depth" { "The deepest that a dive may go.", id: "limits depth" }
    arg Depth "depth", Quantity::Depth, "Metres.", [.needed().within(1.0, DEEPEST_M)], Smaller, (nothing, "the site, the unit and the training say how deep");

    "deco" { "The longest total of decompression stops; 0 allows none.", id: "limits deco" }
    arg Deco "minutes", Quantity::Duration, "Minutes.", [.needed().within(0.0, DAY_MIN)], Smaller, (nothing, "the unit and the training say how long");

    "shallowest-stop" { "The depth of the last stop." }
    arg ShallowestStop "depth", Quantity::Depth, "Metres.", [.needed().within(2.0, 9.0)], Greater, (3, COMMON);

    "grid" { "The depths that stops are made at: multiples of this, down to the last stop." }
    arg Grid "depth", Quantity::Depth, "Metres.", [.needed().within(1.0, 6.1)], Neither, (3, COMMON);

    "ascent" { "How fast the way up is where no leg says it." }
    prop AscentRate "rate", Quantity::Rate, "Metres a minute.", [.within(1.0, 30.0)], Neither, (9, COMMON);
    prop AscentLast "last", Quantity::Rate, "Metres a minute over the last metres, where that is slower.", [.within(0.5, 30.0)], Neither, (as AscentRate, "the way up is one speed where nobody says more");
    prop AscentWithin "within", Quantity::Depth, "So many metres those are.", [.within(1.0, 30.0)], Neither, (6, COMMON);

    "descent" { "How fast the way down is where no leg says it." }
    prop DescentRate "rate", Quantity::Rate, "Metres a minute.", [.needed().within(1.0, 60.0)], Neither, (15, COMMON);

    "work" { "How hard a diver works where neither a leg nor the diver's line says it.", id: "limits work" }
    prop WorkLegs "legs", Quantity::OneOf(WORK), "On a leg.", [], Neither, (word "moderate", COMMON);
    prop WorkHome "home", Quantity::OneOf(WORK), "On the worked-out way home.", [], Neither, (word "light", COMMON);

    "absorbent" { "How much of the first bed is counted on." }
    prop AbsorbentShare "share", Quantity::Percent, "Percent of its rated minutes.", [.within(10.0, 100.0)], Smaller, (66.7, COMMON);
    prop AbsorbentGuard "guard", Quantity::Duration, "The least minutes that the second bed has left, at no more than its rated output.", [.within(0.0, 600.0)], Greater, (nothing, "the second bed counts as guard, however fresh it is");

    "safety-stop" { "A stop on every way up that needs none, for the diver's and the way out's gas as well; the time without stops is that of a direct way up." }
    arg SafetyStop "depth", Quantity::Depth, "The stop's depth, metres.", [.needed().within(2.0, 9.0)], Neither, (nothing, "not every dive has one");
    prop SafetyStopMinutes "minutes", Quantity::Duration, "How long it is.", [.within(1.0, 15.0)], Greater, (3, COMMON);

    "band" { "How far a controlled loop's oxygen swings to either side of its set-point." }
    arg Band "points", Quantity::Number, "Points of percent.", [.needed().within(0.0, 10.0)], Greater, (1, COMMON), "%";

    "react" { "How long after an alarm a diver leaves the loop; on a closed one, whose PO2 is looked at every minute, 1 where nobody says it." }
    arg React "minutes", Quantity::Duration, "Minutes.", [.needed().within(0.0, 15.0)], Greater, (3, COMMON);

    "exit" { "The way back out from under something overhead: a cave, a wreck, ice." }
    prop ExitPace "pace", Quantity::Number, "How fast it is swum against the way in: 0.8 where it takes longer, as against a current.", [.within(0.1, 3.0)], Smaller, (1, COMMON), "of the way in";
    prop ExitShare "share", Quantity::Percent, "The percentage of the gas breathed on open circuit that is for going in.", [.within(5.0, 60.0)], Smaller, (nothing, "how much is kept for the way out is the divers' and the house's own to say");

    "narcosis" { "How narcotic a gas may be." }
    prop NarcosisDepth "depth", Quantity::Depth, "As much as air is at so many metres.", [.within(20.0, 100.0)], Smaller, (40, COMMON);
    prop NarcosisCounts "counts", Quantity::OneOf(&["oxygen", "nitrogen"]), "Whether oxygen counts as nitrogen does, or nitrogen alone.", [], Neither, (word "oxygen", COMMON);

    "density" { "How dense a gas may be, grams a litre at 0 °C, on the loop and on open circuit.", order: Some(("easy", "most")) }
    prop DensityEasy "easy", Quantity::Number, "Up to here it is easy to breathe.", [.within(1.0, 20.0)], Smaller, (5.2, "Anthony and Mitchell 2016"), "g/L";
    prop DensityMost "most", Quantity::Number, "Beyond it nobody should be.", [.within(1.0, 20.0)], Smaller, (6.2, "Anthony and Mitchell 2016"), "g/L";

    "cns" { "How far the oxygen clocks may run.", order: Some(("warn", "most")) }
    prop CnsWarn "warn", Quantity::Percent, "Percent of the limit at which it is told.", [.within(10.0, 100.0)], Smaller, (80, COMMON);
    prop CnsMost "most", Quantity::Percent, "Percent of the limit that is too much.", [.within(10.0, 100.0)], Smaller, (100, "NOAA Diving Manual: the limit itself");

    "stress" { "How a diver in trouble breathes on open circuit: at depth until the problem is solved, then on the way up." }
    prop StressMinutes "minutes", Quantity::Duration, "Minutes at depth.", [.within(0.0, 15.0)], Greater, (2, COMMON);
    prop StressAt "at", Quantity::OneOf(WORK), "As hard as at this work.", [], Neither, (word "peak", COMMON);
    prop StressUp "up", Quantity::Number, "On the way up, so many times what is breathed at rest.", [.within(1.0, 5.0)], Greater, (1.5, COMMON), "× rest";

    "breathless" { "How a diver who bails out of breath breathes." }
    prop BreathlessMinutes "minutes", Quantity::Duration, "Minutes at depth.", [.within(0.0, 15.0)], Greater, (2, COMMON);
    prop BreathlessFades "fades", Quantity::Duration, "On the way up it falls evenly to that of a diver under stress, within so many minutes.", [.within(0.0, 30.0)], Greater, (5, COMMON);
    prop BreathlessGas "gas", Quantity::Flow, "Free litres a minute at the surface, until the problem is solved.", [.within(20.0, 200.0)], Greater, (75, COMMON);

    "analysis" { "Who analyses what is breathed." }
    prop AnalysisOwn "own", Quantity::YesNo, "Whether each diver is to have analysed their own gas.", [.needed()], Neither, (nothing, "who analyses is the house's own to say");

    "overfill" { "How far over its working pressure a cylinder may be filled.", order: Some(("note", "most")) }
    prop OverfillNote "note", Quantity::Percent, "Up to so many percent it is a note.", [.within(0.0, 20.0)], Smaller, (3, COMMON);
    prop OverfillMost "most", Quantity::Percent, "Up to so many percent a warning, beyond it an error.", [.within(0.0, 20.0)], Smaller, (10, COMMON);

    "filling" { "How cylinders are filled where a fill does not say it." }
    prop FillingTemperature "temperature", Quantity::Temperature, "The temperature at which a fill's pressure was read, °C.", [.within(-20.0, 60.0)], Neither, (20, COMMON);

    "currency" {
        "How long ago a diver may have last dived a unit of the dive's kind. Where it is said, each diver's dives are to be \
         on record."
    }
    prop CurrencyMonths "months", Quantity::Count, "Calendar months.", [.needed().within(1.0, 120.0)], Smaller, (6, COMMON), "months";

    "supervision" { "How many students there may be to each instructor of a dive." }
    prop SupervisionStudents "students", Quantity::Count, "Students to one instructor.", [.needed().within(1.0, 20.0)], Smaller, (nothing, "each course sets its own"), "students";
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn each_name_leads_to_its_own_row() {
        assert!(LIMITS.iter().all(|limit| limit.name.def().words == limit.words));
    }

    /// Nothing is held to a number that nobody can ask after.
    #[test]
    fn each_limit_says_what_is_usual_and_by_whom_or_why_nothing_is() {
        for limit in LIMITS {
            let (Usual::Number(_, reason) | Usual::Word(_, reason) | Usual::As(_, reason) | Usual::Nothing(reason)) =
                limit.usual;
            assert!(reason.len() > 5, "{}", limit.words);
            let written = match limit.usual {
                Usual::Number(number, _) => Some(number.to_string()),
                Usual::Word(word, _) => Some(word.to_owned()),
                Usual::Nothing(_) => None,
                Usual::As(other, _) => {
                    assert!(!matches!(other.def().usual, Usual::As(..)), "{}", limit.words);
                    None
                }
            };
            assert_eq!(limit.value.default.map(str::to_owned), written, "{}", limit.words);
        }
    }

    #[test]
    fn each_limit_can_be_printed_and_compared() {
        for limit in LIMITS {
            let is_word = matches!(limit.value.quantity, Quantity::OneOf(_) | Quantity::YesNo);
            assert_eq!(limit.unit().is_empty(), is_word, "{}", limit.words);
            assert!(!is_word || limit.stricter == Stricter::Neither, "{}", limit.words);
            assert!(is_word || limit.value.range.is_some(), "{}", limit.words);
        }
    }

    #[test]
    fn a_word_has_one_argument_at_most() {
        assert!(ROWS.iter().all(|row| row.args.len() <= 1));
    }
}
