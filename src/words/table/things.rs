//! Canisters, cylinders, divers and routines, and the dated records under them.

use super::unit::{KIND, MODEL};
use super::{DAY_MIN, DEEPEST_M, HIGHEST_BAR, NODE, ON, RECORD, TOP, USUAL, value};
use crate::words::{Either, Key, NodeDef, Quantity, ValueDef};

const CANISTER: &[&str] = &["canister", "record"];
const CYLINDER: &[&str] = &["cylinder", "record"];
const DIVER: &[&str] = &["diver"];
const DIVER_OR_RECORD: &[&str] = &["diver", "record"];
const LEVELS: &[&str] = &["rest", "light", "moderate", "heavy", "peak"];
const GAS_LEVELS: &[&str] = &["rest", "sac", "light", "moderate", "heavy", "peak"];

const NAME: ValueDef = value("name", Quantity::Name, "What plans call it.").needed();

const fn gas(level: &'static str, meaning: &'static str) -> ValueDef {
    value(level, Quantity::Flow, meaning).within(2.0, 250.0)
}

const fn oxygen(level: &'static str, meaning: &'static str) -> ValueDef {
    value(level, Quantity::Uptake, meaning).within(0.1, 8.0)
}

pub(super) static ROWS: &[NodeDef] = &[
    NodeDef {
        id: "canister",
        name: "canister",
        meaning: "An absorbent canister and its dated records.",
        below: &[TOP],
        args: &[NAME],
        props: &[value("absorbent", Quantity::Mass, "Absorbent it holds, kilograms.").within(0.2, 15.0)],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "rated",
        name: "rated",
        meaning: "The maker's rating of one canister alone, at a carbon dioxide output and in water of a temperature.",
        below: &["canister"],
        props: &[
            USUAL,
            value("minutes", Quantity::Duration, "Minutes it lasts.").needed().within(5.0, DAY_MIN),
            value("co2", Quantity::Uptake, "Carbon dioxide it binds meanwhile, litres a minute.").within(0.2, 6.0),
            value("temperature", Quantity::Temperature, "Water temperature, °C.").within(-2.0, 40.0),
        ],
        ..NODE
    },
    NodeDef {
        id: "packed",
        name: "packed",
        meaning: "A day on which the canister was packed with fresh absorbent.",
        below: CANISTER,
        props: &[ON],
        ..RECORD
    },
    NodeDef {
        id: "used",
        name: "used",
        meaning: "Minutes that the absorbent had been used for since it was packed, as of that day.",
        below: CANISTER,
        args: &[value("minutes", Quantity::Duration, "Minutes.").needed().within(0.0, DAY_MIN)],
        props: &[ON],
        ..RECORD
    },
    NodeDef {
        id: "cylinder",
        name: "cylinder",
        meaning: "A cylinder and its dated records.",
        below: &[TOP],
        args: &[NAME],
        props: &[
            value(
                "size",
                Quantity::Size,
                "Water volume, litres; `(cuft)80` names it by the free gas it holds at its working pressure.",
            )
            .needed()
            .within(0.1, 60.0),
            value("working", Quantity::Gauge, "Working pressure, bar.").within(50.0, HIGHEST_BAR),
        ],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "fill",
        name: "fill",
        meaning: "A fill: its pressure, the mix that was asked for and what the analyser said.",
        below: CYLINDER,
        args: &[value("pressure", Quantity::Gauge, "Bar, as read after filling.").needed().within(0.0, HIGHEST_BAR)],
        props: &[
            ON,
            value("by", Quantity::Text, "Who filled it."),
            value("temperature", Quantity::Temperature, "The temperature at which the pressure was read, °C.")
                .within(-20.0, 60.0)
                .or("20"),
            value("o2", Quantity::Percent, "Oxygen asked for, percent.").within(1.0, 100.0).asked(),
            value("he", Quantity::Percent, "Helium asked for, percent.").within(0.0, 99.0).or("0").asked(),
            value("analysed", Quantity::Percent, "Oxygen analysed, percent.").within(1.0, 101.0),
            value("analysed-he", Quantity::Percent, "Helium analysed, percent.").within(0.0, 100.0),
            value("analysed-on", Quantity::Date, "The day of the analysis, where it isn't the fill's."),
            value("analysed-by", Quantity::Text, "Who analysed it."),
        ],
        ..RECORD
    },
    NodeDef {
        id: "gauge",
        name: "gauge",
        meaning: "The cylinder's pressure as it was read before a dive: it, and not the fill's, is what the dive begins with.",
        below: CYLINDER,
        args: &[value("pressure", Quantity::Gauge, "Bar.").needed().within(0.0, HIGHEST_BAR)],
        props: &[
            ON,
            value("temperature", Quantity::Temperature, "The temperature at which it was read, °C.")
                .within(-20.0, 60.0),
        ],
        ..RECORD
    },
    NodeDef {
        id: "test",
        name: "test",
        meaning: "When the cylinder's next pressure test falls due.",
        below: CYLINDER,
        props: &[value("due", Quantity::Date, "The day.").needed()],
        key: Key::Singleton,
        ..RECORD
    },
    NodeDef {
        id: "clean",
        name: "clean",
        meaning: "When the cylinder's next cleaning for oxygen service falls due.",
        below: CYLINDER,
        props: &[value("due", Quantity::Date, "The day.").needed()],
        key: Key::Singleton,
        ..RECORD
    },
    NodeDef {
        id: "diver",
        name: "diver",
        meaning: "A diver: training, consumption, fitness, and where the body comes from.",
        below: &[TOP],
        args: &[value("name", Quantity::Name, "What plans call the diver.").needed()],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "trained",
        name: "trained",
        meaning: "What the diver is trained for on one kind of apparatus.",
        below: DIVER_OR_RECORD,
        props: &[
            KIND.needed(),
            value("depth", Quantity::Depth, "Deepest, metres.").within(0.0, DEEPEST_M),
            value("deco", Quantity::Duration, "Longest total of stops, minutes; 0 allows none.").within(0.0, DAY_MIN),
            value("teaches", Quantity::YesNo, "Whether it is an instructor's, for teaching others."),
            MODEL,
            ON,
        ],
        ..RECORD
    },
    NodeDef {
        id: "diver dived",
        name: "dived",
        meaning: "A day on which the diver dived apparatus of a kind: what keeps a diver current on it.",
        below: DIVER_OR_RECORD,
        props: &[KIND.needed(), MODEL, ON],
        ..RECORD
    },
    NodeDef {
        id: "gas",
        name: "gas",
        meaning: "What the diver breathes on open circuit at the surface, free litres a minute, by how hard the work is. \
                  Levels between go with oxygen.",
        below: DIVER,
        props: &[
            USUAL,
            gas("rest", "At ease."),
            gas("sac", "As measured on an easy dive, which is light work."),
            gas("light", "In light work."),
            gas("moderate", "In moderate work."),
            gas("heavy", "In heavy work."),
            gas("peak", "In the hardest work that can be kept up for minutes."),
        ],
        either: Some(Either::AtLeast(GAS_LEVELS)),
        ..NODE
    },
    NodeDef {
        id: "oxygen",
        name: "oxygen",
        meaning: "The oxygen that the diver's body uses, litres a minute at standard temperature and pressure, dry \
                  (`(free)` says free litres), by how hard the work is. Depth doesn't change it.",
        below: DIVER,
        props: &[
            USUAL,
            oxygen("rest", "At ease."),
            oxygen("light", "In light work."),
            oxygen("moderate", "In moderate work."),
            oxygen("heavy", "In heavy work."),
            oxygen("peak", "In the hardest work that can be kept up for minutes."),
        ],
        either: Some(Either::AtLeast(LEVELS)),
        ..NODE
    },
    NodeDef {
        id: "fit",
        name: "fit",
        meaning: "Medical fitness to dive.",
        below: DIVER_OR_RECORD,
        props: &[value("until", Quantity::Date, "The last day it holds.").needed()],
        key: Key::Singleton,
        ..RECORD
    },
    NodeDef {
        id: "lives",
        name: "lives",
        meaning: "Where the body comes from: its tissues are at rest with the air there.",
        below: DIVER_OR_RECORD,
        props: &[
            value("altitude", Quantity::Altitude, "Height above the sea, metres.").within(-430.0, 6000.0).or("0"),
            value("since", Quantity::Date, "The day since which the diver is at the site's own altitude."),
        ],
        either: Some(Either::AtLeast(&["altitude", "since"])),
        ..NODE
    },
    NodeDef {
        id: "course",
        name: "course",
        meaning: "A course: how deep its students go, and how long their stops are, under an instructor who teaches it.",
        below: &[TOP],
        args: &[value("name", Quantity::Name, "What plans call the course.").needed()],
        props: &[
            value("depth", Quantity::Depth, "Deepest, metres.").needed().within(0.0, DEEPEST_M),
            value("deco", Quantity::Duration, "Longest total of stops, minutes; 0 allows none.")
                .needed()
                .within(0.0, DAY_MIN),
        ],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "routine",
        name: "routine",
        meaning: "A preparation routine in the club's own words.",
        below: &[TOP],
        args: &[value("name", Quantity::Name, "What `prepared` calls it.").needed()],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "step",
        name: "step",
        meaning: "A step of the routine. With `from=` or `to=` it asks for a measured value.",
        below: &["routine"],
        args: &[
            value("name", Quantity::Name, "What `done` calls it.").needed(),
            value("text", Quantity::Text, "What is done, in a sentence.").needed(),
        ],
        props: &[
            value("from", Quantity::Number, "The least measured value that will do."),
            value("to", Quantity::Number, "The greatest measured value that will do."),
        ],
        order: Some(("from", "to")),
        key: Key::FirstArgument,
        wanted: true,
        ..NODE
    },
];
