//! Breathing units and the dated records under them.

use super::{DAY_MIN, DEEPEST_M, KINDS, NODE, ON, PERCENT_O2, RECORD, ROLES_OR_NONE, TOP, USUAL, value};
use crate::words::{Either, Key, NodeDef, Quantity, ValueDef};

const UNIT: &[&str] = &["unit"];
const UNIT_OR_RECORD: &[&str] = &["unit", "record"];

pub(super) const MODEL: ValueDef =
    value("model", Quantity::Text, "The model of apparatus; any of the kind unless said.");
pub(super) const KIND: ValueDef = value(
    "kind",
    Quantity::OneOf(KINDS),
    "`open` circuit; `semi-closed` (gas is fed to the loop, always on, opened by a controller, or both); `passive` (each \
     breath spills a share of the loop); or `closed` (a controller holds a set-point in bar).",
);

pub(super) static ROWS: &[NodeDef] = &[
    NodeDef {
        id: "unit",
        name: "unit",
        meaning: "A breathing unit: what its maker says of it, and its dated records.",
        below: &[TOP],
        args: &[value("name", Quantity::Name, "What plans call it.").needed()],
        props: &[
            KIND.needed(),
            value("serial", Quantity::Text, "The maker's number."),
            MODEL,
            value("inject", Quantity::Flow, "Greatest oxygen flow that a closed unit injects, free litres a minute.")
                .within(0.1, 30.0),
        ],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "loop",
        name: "loop",
        meaning: "The loop's volume: counterlungs, beds and lungs.",
        below: UNIT,
        args: &[value("volume", Quantity::Volume, "Litres.").needed().within(1.0, 25.0)],
        props: &[USUAL],
        ..NODE
    },
    NodeDef {
        id: "feed",
        name: "feed",
        meaning: "What is fed to the loop, in free litres a minute unless `(stpd)` says otherwise.",
        below: UNIT,
        props: &[
            USUAL,
            value("constant", Quantity::Flow, "Always on, litres a minute.").within(0.0, 60.0),
            value("controlled", Quantity::Flow, "The greatest that the oxygen controller opens, litres a minute.")
                .within(0.0, 120.0),
        ],
        either: Some(Either::AtLeast(&["constant", "controlled"])),
        ..NODE
    },
    NodeDef {
        id: "make-up",
        name: "make-up",
        meaning: "Whether a valve keeps the loop's volume on the way down and with the diver's breath.",
        below: UNIT,
        args: &[value("answer", Quantity::YesNo, "`yes` or `no`.").needed()],
        props: &[value(
            "max",
            Quantity::Flow,
            "The valve's greatest flow, free litres a minute; without one it gives what is needed.",
        )
        .within(1.0, 1000.0)],
        ..NODE
    },
    NodeDef {
        id: "spill",
        name: "spill",
        meaning: "The share of each breath that a passive unit spills.",
        below: UNIT,
        props: &[
            value("ratio", Quantity::Number, "One part in this many.").needed().within(1.5, 100.0),
            value("compensated", Quantity::YesNo, "Whether depth leaves the spill unchanged.").or("no"),
        ],
        ..NODE
    },
    NodeDef {
        id: "floor",
        name: "floor",
        meaning: "The least oxygen that the loop may fall to.",
        below: UNIT,
        props: &[USUAL, value("o2", Quantity::Percent, "Oxygen, percent.").needed().within(5.0, 50.0)],
        ..NODE
    },
    NodeDef {
        id: "needs",
        name: "needs",
        meaning: "The leanest supply mix that the maker allows.",
        below: UNIT,
        props: &[USUAL, PERCENT_O2.needed()],
        ..NODE
    },
    NodeDef {
        id: "reach",
        name: "reach",
        meaning: "How far the maker lets the unit go.",
        below: UNIT,
        props: &[
            USUAL,
            value("depth", Quantity::Depth, "Deepest use, metres.").within(1.0, DEEPEST_M),
            value("deco", Quantity::Duration, "Longest total of stops, minutes; 0 allows none.").within(0.0, DAY_MIN),
            value("coldest", Quantity::Temperature, "Coldest water, °C.").within(-2.0, 40.0),
        ],
        either: Some(Either::AtLeast(&["depth", "deco", "coldest"])),
        ..NODE
    },
    NodeDef {
        id: "mouthpiece",
        name: "mouthpiece",
        meaning: "What the mouthpiece gives when its lever is thrown.",
        below: UNIT,
        props: &[value(
            "open-circuit",
            Quantity::OneOf(ROLES_OR_NONE),
            "The role of the cylinder breathed then, or `none`.",
        )
        .needed()],
        ..NODE
    },
    NodeDef {
        id: "bed",
        name: "bed",
        meaning: "A canister of absorbent in its place: a unit names as many as it has, a line each, in the order that \
                  gas passes them. Under a `record` they take the place of those named before.",
        below: UNIT_OR_RECORD,
        args: &[value("name", Quantity::Name, "The canister's name.").needed()],
        props: &[value(
            "moves-up",
            Quantity::YesNo,
            "On a later canister: whether it takes the first one's place when that is spent.",
        )
        .or("no")],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "pre-breathe",
        name: "pre-breathe",
        meaning: "How long the loop is breathed at the surface before the dive.",
        below: UNIT,
        args: &[value("minutes", Quantity::Duration, "Minutes.").needed().within(0.0, 60.0).or("5")],
        props: &[USUAL],
        ..NODE
    },
    NodeDef {
        id: "checks",
        name: "checks",
        meaning: "The gas that checks before the dive take from the cylinder that feeds the loop.",
        below: UNIT,
        args: &[value("litres", Quantity::Volume, "Free litres.").needed().within(0.0, 2000.0).or("0")],
        props: &[USUAL],
        ..NODE
    },
    NodeDef {
        id: "cell",
        name: "cell",
        meaning: "An oxygen cell. A new one in an old one's place is another line of the same name with its own `fitted=`.",
        below: UNIT_OR_RECORD,
        args: &[value("name", Quantity::Name, "Its place in the unit.").needed()],
        props: &[
            value("fitted", Quantity::Date, "The day it was fitted."),
            value("made", Quantity::Date, "The day it was made."),
            value("life", Quantity::Life, "How long the maker gives it from fitting: `(months)12`.").within(1.0, 120.0),
        ],
        key: Key::FirstArgument,
        also_key: Some("fitted"),
        ..RECORD
    },
    NodeDef {
        id: "reading",
        name: "reading",
        meaning: "A cell's output as it was read.",
        below: &["cell"],
        props: &[
            ON,
            value("air", Quantity::Voltage, "In air at the surface, millivolts.").within(0.0, 60.0),
            value("oxygen", Quantity::Voltage, "In oxygen, millivolts.").within(0.0, 300.0),
            value(
                "pressure",
                Quantity::Partial,
                "The pressure of the oxygen it was read in, bar, as in a pressure pot; that of the surface unless said.",
            )
            .within(0.2, 3.0),
        ],
        either: Some(Either::AtLeast(&["air", "oxygen"])),
        ..RECORD
    },
    NodeDef {
        id: "calibrated",
        name: "calibrated",
        meaning: "A day on which the unit's oxygen cells were calibrated.",
        below: UNIT_OR_RECORD,
        props: &[ON],
        ..RECORD
    },
    NodeDef {
        id: "flow",
        name: "flow",
        meaning: "The constant feed as it was measured.",
        below: UNIT_OR_RECORD,
        args: &[value("flow", Quantity::Flow, "Free litres a minute.").needed().within(0.0, 120.0)],
        props: &[ON],
        ..RECORD
    },
    NodeDef {
        id: "battery",
        name: "battery",
        meaning: "A battery of the unit.",
        below: UNIT_OR_RECORD,
        args: &[value("name", Quantity::Name, "Which battery.").needed()],
        props: &[
            value("least", Quantity::Percent, "The least charge it may dive with, percent.").within(0.0, 100.0),
            value("lasts", Quantity::Duration, "How long it runs from a full charge, minutes.").within(1.0, 30_000.0),
        ],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "charge",
        name: "charge",
        meaning: "A battery's charge as it was read.",
        below: &["battery"],
        args: &[value("charge", Quantity::Percent, "Percent.").needed().within(0.0, 100.0)],
        props: &[ON],
        ..RECORD
    },
    NodeDef {
        id: "service",
        name: "service",
        meaning: "When the unit's next service falls due.",
        below: UNIT_OR_RECORD,
        props: &[value("due", Quantity::Date, "The day.").needed()],
        key: Key::Singleton,
        ..RECORD
    },
];
