//! Legs: what the divers do, in order.

use super::{DAY_MIN, DEEPEST_M, NODE, WAYS, WORK, value};
use crate::words::{Either, Key, NodeDef, Quantity, ValueDef};

const DIVE: &[&str] = &["dive", "dive diver", "otherwise", "repeat"];
const LEG: NodeDef = NodeDef { below: DIVE, key: Key::Position, ..NODE };

const ON_THE_WAY: ValueDef = value("work", Quantity::OneOf(WORK), "How hard the divers work.").or("moderate");
const RATE: ValueDef = value("rate", Quantity::Rate, "Metres a minute.").within(0.5, 60.0);
const WAY: ValueDef = value(
    "way",
    Quantity::OneOf(WAYS),
    "Whether it leads into a cave, a wreck or under ice, or back out: from any moment the way out is the way in swum back.",
);
const EXIT: ValueDef = value(
    "exit",
    Quantity::Duration,
    "Under something overhead: minutes from the end of this leg back to where the diver may go up, where they are known. With \
     `way=in` the way in is swum back in them; without it they are swum at this depth, for this leg alone.",
)
.within(0.0, DAY_MIN);
const TO: ValueDef = value("depth", Quantity::Depth, "The depth it ends at, metres.").within(0.0, DEEPEST_M);

pub(super) static ROWS: &[NodeDef] = &[
    NodeDef {
        id: "descend",
        name: "descend",
        meaning: "Down to a depth.",
        args: &[TO.needed()],
        props: &[RATE.or("15"), ON_THE_WAY, WAY, EXIT],
        ..LEG
    },
    NodeDef {
        id: "stay",
        name: "stay",
        meaning: "Some time at this depth: so many minutes, or until a run time.",
        args: &[value("minutes", Quantity::Duration, "Minutes at this depth.").within(0.0, DAY_MIN)],
        props: &[
            value("until", Quantity::Duration, "Run time at which the stay ends, minutes since leaving the surface.")
                .within(0.0, DAY_MIN),
            ON_THE_WAY,
            WAY,
            EXIT,
        ],
        either: Some(Either::Just(&["minutes", "until"])),
        ..LEG
    },
    NodeDef {
        id: "ascend",
        name: "ascend",
        meaning: "Up to a depth; without one, home to the surface with the stops worked out, in light work unless said otherwise.",
        args: &[TO],
        props: &[RATE.or("9"), ON_THE_WAY, WAY, EXIT],
        ..LEG
    },
    NodeDef {
        id: "stop",
        name: "stop",
        meaning: "A stop that the writer insists on, held against the ceiling.",
        args: &[value("depth", Quantity::Depth, "The stop's depth, metres.").needed().within(0.0, DEEPEST_M)],
        props: &[
            value("minutes", Quantity::Duration, "Minutes at the stop.").needed().within(0.0, DAY_MIN),
            value("rate", Quantity::Rate, "Metres a minute on the way to it.").within(0.5, 60.0).or("9"),
            ON_THE_WAY,
        ],
        ..LEG
    },
    NodeDef {
        id: "travel",
        name: "travel",
        meaning: "To a depth over a time, along a slope.",
        args: &[TO.needed()],
        props: &[
            value("over", Quantity::Duration, "Minutes it takes.").needed().within(0.0, DAY_MIN),
            ON_THE_WAY,
            WAY,
            EXIT,
        ],
        ..LEG
    },
    NodeDef {
        id: "switch",
        name: "switch",
        meaning: "To another gas that the diver carries, by its role or its cylinder's name. Of several cylinders of a role it is \
                  the richest that may be breathed there.",
        args: &[value("to", Quantity::Name, "The role or the name of the cylinder switched to.").needed()],
        props: &[ON_THE_WAY],
        ..LEG
    },
    NodeDef {
        id: "drop",
        name: "drop",
        meaning: "Leaves a cylinder behind here, to be taken up on the way back. Under something overhead it lies on the way out.",
        args: &[value("cylinder", Quantity::Name, "The cylinder's name.").needed()],
        ..LEG
    },
    NodeDef {
        id: "take",
        name: "take",
        meaning: "Takes up a cylinder that was left behind here.",
        args: &[value("cylinder", Quantity::Name, "The cylinder's name.").needed()],
        ..LEG
    },
    NodeDef {
        id: "set-point",
        name: "set-point",
        meaning: "Another set-point from here on: percent of oxygen or bar on a semi-closed loop, bar on a closed one.",
        args: &[value("set-point", Quantity::SetPoint, "Percent from 21 up, or bar from 1.6 down.").needed()],
        props: &[ON_THE_WAY],
        ..LEG
    },
    NodeDef {
        id: "flush",
        name: "flush",
        meaning: "A flush of the loop with fresh gas.",
        props: &[
            value("volumes", Quantity::Number, "How many loop volumes of gas.").within(0.1, 20.0).or("1"),
            ON_THE_WAY,
        ],
        ..LEG
    },
    NodeDef {
        id: "off-loop",
        name: "off-loop",
        meaning: "Off the loop and on open circuit for a while: a drill.",
        props: &[
            value("minutes", Quantity::Duration, "Minutes off the loop.").needed().within(0.0, 120.0),
            value("who", Quantity::Name, "The diver who does, the others waiting; everyone unless said."),
            ON_THE_WAY,
        ],
        ..LEG
    },
    NodeDef {
        id: "on-loop",
        name: "on-loop",
        meaning: "Back on the loop.",
        props: &[value("who", Quantity::Name, "The diver who does; everyone unless said."), ON_THE_WAY],
        ..LEG
    },
    NodeDef {
        id: "bail-out",
        name: "bail-out",
        meaning: "Off the loop for good: from here the dive is on open circuit.",
        props: &[value("who", Quantity::Name, "The diver who does; everyone unless said."), ON_THE_WAY],
        ..LEG
    },
    NodeDef {
        id: "repeat",
        name: "repeat",
        meaning: "The legs below, so many times over.",
        args: &[value("count", Quantity::Count, "How often.").needed().within(1.0, 100.0)],
        ..LEG
    },
];
