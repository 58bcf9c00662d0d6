//! Dives, who dives them with what, and what became of them.

use super::{DAY_MIN, DEEPEST_M, HIGHEST_BAR, NODE, RECORD, ROLES, ROLES_OR_NONE, WORK, value};
use crate::words::{Either, Key, NodeDef, Quantity};

pub(super) static ROWS: &[NodeDef] = &[
    NodeDef {
        id: "dive",
        name: "dive",
        meaning: "One dive: its legs in order, which are everyone's, and its divers.",
        below: &["plan"],
        args: &[value("name", Quantity::Name, "What the dive is called.").needed()],
        props: &[value("at", Quantity::Time, "The time of day it begins, \"09:40\".")],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "team-bailout",
        name: "team-bailout",
        meaning: "Whether bailout is planned for the team: then each diver's must bring a buddy home as well.",
        below: &["dive", "otherwise"],
        args: &[value("team", Quantity::YesNo, "`yes`, or `no` as unless said.").needed()],
        ..NODE
    },
    NodeDef {
        id: "interval",
        name: "interval",
        meaning: "Time at the surface between the dive above and the dive below.",
        below: &["plan"],
        args: &[value("minutes", Quantity::Duration, "Minutes.").needed().within(0.0, 2.0 * DAY_MIN)],
        key: Key::Position,
        ..NODE
    },
    NodeDef {
        id: "flight",
        name: "flight",
        meaning: "When the divers fly, or go to a height above 600 m, after the dives.",
        below: &["plan"],
        props: &[
            value("on", Quantity::Date, "The day.").needed(),
            value("at", Quantity::Time, "The time of day.").needed(),
        ],
        ..NODE
    },
    NodeDef {
        id: "otherwise",
        name: "otherwise",
        meaning: "An alternative dive for the same divers: checked like the first and printed beside it.",
        below: &["dive"],
        args: &[value("when", Quantity::Name, "When it is dived instead.").needed()],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "dive diver",
        name: "diver",
        meaning: "A diver of this dive and what they take. Legs of their own, written below, take the place of everyone's.",
        below: &["dive"],
        args: &[value("name", Quantity::Name, "The diver's name.").needed()],
        props: &[
            value("unit", Quantity::Name, "The breathing unit; without one the dive is on open circuit."),
            value("back", Quantity::Name, "The cylinder breathed on open circuit."),
            value(
                "supply",
                Quantity::Name,
                "The cylinder that feeds a semi-closed loop and, with most units, its mouthpiece.",
            ),
            value("deco", Quantity::Name, "The cylinder for stops."),
            value(
                "bailout",
                Quantity::Name,
                "The cylinder to go home on when the loop fails: own gas, independent of it.",
            ),
            value("travel", Quantity::Name, "The cylinder for the way down."),
            value(
                "stage",
                Quantity::Name,
                "A cylinder for part of the way, which may be left behind and taken up again.",
            ),
            value("diluent", Quantity::Name, "A closed unit's diluent cylinder."),
            value("oxygen", Quantity::Name, "A closed unit's oxygen cylinder."),
            value(
                "spare",
                Quantity::Name,
                "A cylinder that a buddy carries and hands over to whoever is in need: the last gas to go home on.",
            ),
            value(
                "set-point",
                Quantity::SetPoint,
                "What the controller holds: percent of oxygen (21 and up) or bar (1.6 and down) on a semi-closed loop, bar on a \
                 closed one.",
            ),
            value(
                "inflates",
                Quantity::OneOf(ROLES_OR_NONE),
                "The role of the cylinder that fills suit and wing, or `none`; unless said, the one that feeds the diver: \
                 `back`, `supply` or `diluent`.",
            ),
            value("work", Quantity::OneOf(WORK), "How hard this diver works where a leg says nothing else."),
            value(
                "role",
                Quantity::OneOf(&["lead", "buddy", "student", "instructor", "assistant"]),
                "The diver's part in the team.",
            ),
        ],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "dive cylinder",
        name: "cylinder",
        meaning: "A cylinder that the diver takes, where there are several of one role.",
        below: &["dive diver"],
        args: &[value("name", Quantity::Name, "The cylinder's name.").needed()],
        props: &[
            value("role", Quantity::OneOf(ROLES), "What it is taken for.").needed(),
            value("with", Quantity::Name, "The diver of this dive who breathes from it too: the gas is shared."),
        ],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "dived",
        name: "dived",
        meaning: "What a diver in fact dived. The ledger and the next plan go by it.",
        below: &["dive"],
        args: &[value("diver", Quantity::Name, "The diver's name.").needed()],
        props: &[
            value("minutes", Quantity::Duration, "Minutes under water.").needed().within(0.0, DAY_MIN),
            value("depth", Quantity::Depth, "Greatest depth, metres.").within(0.0, DEEPEST_M),
        ],
        key: Key::FirstArgument,
        ..RECORD
    },
    NodeDef {
        id: "dived cylinder",
        name: "cylinder",
        meaning: "A cylinder's pressure before and after the dive.",
        below: &["dived"],
        args: &[value("name", Quantity::Name, "The cylinder's name.").needed()],
        props: &[
            value("from", Quantity::Gauge, "Bar before the dive.").needed().within(0.0, HIGHEST_BAR),
            value("to", Quantity::Gauge, "Bar after the dive.").needed().within(0.0, HIGHEST_BAR),
        ],
        order: Some(("to", "from")),
        key: Key::FirstArgument,
        ..RECORD
    },
    NodeDef {
        id: "dived bed",
        name: "bed",
        meaning: "Minutes that the dive used of the absorbent.",
        below: &["dived"],
        props: &[
            value("first", Quantity::Duration, "Minutes on the first canister.").within(0.0, DAY_MIN),
            value("second", Quantity::Duration, "Minutes on the second canister.").within(0.0, DAY_MIN),
        ],
        either: Some(Either::AtLeast(&["first", "second"])),
        key: Key::Singleton,
        ..RECORD
    },
    NodeDef {
        id: "prepared",
        name: "prepared",
        meaning: "A preparation routine as it was gone through before the dive, signed step by step.",
        below: &["dive"],
        args: &[value("diver", Quantity::Name, "The diver whose equipment it is.").needed()],
        props: &[value("routine", Quantity::Name, "The routine's name.").needed()],
        key: Key::FirstArgument,
        also_key: Some("routine"),
        ..RECORD
    },
    NodeDef {
        id: "done",
        name: "done",
        meaning: "A step that was done, with the measured value where the step asks for one.",
        below: &["prepared"],
        args: &[
            value("step", Quantity::Name, "The step's name.").needed(),
            value("measured", Quantity::Number, "The measured value, in the step's own unit."),
        ],
        props: &[
            value("at", Quantity::Time, "The time of day it was done."),
            value("by", Quantity::Text, "Who signs for it; the diver unless said."),
        ],
        key: Key::FirstArgument,
        ..RECORD
    },
];
