//! The site of a plan and the limits it is held to.

use super::{DAY_MIN, DEEPEST_M, HIGHEST_BAR, HOUSE_TOP, NODE, TOP, value};
use crate::words::{Either, Key, NodeDef, Quantity, ValueDef};

const LIMITS: &[&str] = &["limits"];

const SITE_PROPS: &[ValueDef] = &[
    value("water", Quantity::OneOf(&["fresh", "salt"]), "Fresh or salt water."),
    value("density", Quantity::Density, "The water's density where it is known, kg/m³.").within(950.0, 1300.0),
    value("altitude", Quantity::Altitude, "Height of the water's surface above the sea, metres.")
        .within(-430.0, 6000.0)
        .or("0"),
    value(
        "surface",
        Quantity::Absolute,
        "Air pressure at the surface, bar, where it is better known than the altitude.",
    )
    .within(0.4, 1.1),
    value("temperature", Quantity::Temperature, "Water temperature at depth, °C.").within(-2.0, 40.0),
    value(
        "depth-by",
        Quantity::OneOf(&["instrument", "line"]),
        "What depths are: as an instrument shows them (10 m are 1 bar in any water), or by a measured line in water of \
         this density.",
    )
    .or("instrument"),
];

pub static ROWS: &[NodeDef] = &[
    NodeDef {
        id: "site",
        name: "site",
        meaning: "Where the dives are. A plan may name a site that a kit file defines; what it says itself wins.",
        below: &["plan"],
        args: &[value("name", Quantity::Name, "The site's name.")],
        props: SITE_PROPS,
        ..NODE
    },
    NodeDef {
        id: "named site",
        name: "site",
        meaning: "A dive site that plans refer to by its name.",
        below: &[TOP],
        args: &[value("name", Quantity::Name, "The site's name.").needed()],
        props: SITE_PROPS,
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "site depth",
        name: "depth",
        meaning: "The greatest depth there is.",
        below: &["site", "named site"],
        args: &[value("depth", Quantity::Depth, "Metres.").needed().within(1.0, DEEPEST_M)],
        ..NODE
    },
    NodeDef {
        id: "emergency",
        name: "emergency",
        meaning: "Emergency arrangements: the chamber, the oxygen at hand and the way there.",
        below: &["site", "named site"],
        props: &[
            value("chamber", Quantity::Text, "The recompression chamber."),
            value("phone", Quantity::Text, "Its telephone number, in quotes."),
        ],
        ..NODE
    },
    NodeDef {
        id: "emergency oxygen",
        name: "oxygen",
        meaning: "Emergency oxygen at the site.",
        below: &["emergency"],
        props: &[
            value("size", Quantity::Size, "Water volume of one cylinder, litres.").needed().within(0.1, 60.0),
            value("pressure", Quantity::Gauge, "Its pressure, bar.").needed().within(0.0, HIGHEST_BAR),
            value("count", Quantity::Count, "How many there are.").within(1.0, 100.0).or("1"),
        ],
        key: Key::Position,
        ..NODE
    },
    NodeDef {
        id: "evacuation",
        name: "evacuation",
        meaning: "How long it takes from the water to the chamber's door.",
        below: &["emergency"],
        args: &[value("minutes", Quantity::Duration, "Minutes.").needed().within(0.0, 2.0 * DAY_MIN)],
        ..NODE
    },
    NodeDef {
        id: "limits",
        name: "limits",
        meaning: "The limits that the dives are held to. In `leadsman.kdl` they hold for every plan of the archive.",
        below: &["plan", HOUSE_TOP],
        ..NODE
    },
    NodeDef {
        id: "gradient",
        name: "gradient",
        meaning: "Gradient factors: how much of the overpressure that the tissues are held to tolerate may be used, at the \
                  first stop and at the surface.",
        below: LIMITS,
        props: &[
            value("low", Quantity::Percent, "At the first stop, percent.").needed().within(5.0, 100.0),
            value("high", Quantity::Percent, "At the surface, percent.").needed().within(5.0, 100.0),
        ],
        order: Some(("low", "high")),
        ..NODE
    },
    NodeDef {
        id: "po2",
        name: "po2",
        meaning: "Oxygen partial pressures, bar.",
        below: LIMITS,
        props: &[
            value("working", Quantity::Partial, "The greatest on the loop and on the back gas.")
                .within(0.5, 2.0)
                .or("1.4"),
            value("deco", Quantity::Partial, "The greatest on stops.").within(0.5, 2.0).or("1.6"),
            value("bailout", Quantity::Partial, "The greatest of bailout gas.").within(0.5, 2.0).or("1.6"),
            value("least", Quantity::Partial, "The least of anything breathed.").within(0.16, 0.5).or("0.18"),
        ],
        either: Some(Either::AtLeast(&["working", "deco", "bailout", "least"])),
        ..NODE
    },
    NodeDef {
        id: "reserve",
        name: "reserve",
        meaning: "The pressure left in a cylinder that feeds a loop, or is breathed straight, when the dive ends.",
        below: LIMITS,
        args: &[value("pressure", Quantity::Gauge, "Bar.").needed().within(0.0, 250.0).or("50")],
        ..NODE
    },
    NodeDef {
        id: "unusable",
        name: "unusable",
        meaning: "The pressure below which no gas can be had from a cylinder.",
        below: LIMITS,
        args: &[value("pressure", Quantity::Gauge, "Bar.").needed().within(0.0, 100.0).or("20")],
        ..NODE
    },
    NodeDef {
        id: "overrun",
        name: "overrun",
        meaning: "The plan must also hold this much deeper, this much longer, and both.",
        below: LIMITS,
        props: &[
            value("depth", Quantity::Depth, "Metres deeper.").within(0.0, 50.0),
            value("time", Quantity::Duration, "Minutes longer.").within(0.0, 120.0),
        ],
        either: Some(Either::AtLeast(&["depth", "time"])),
        ..NODE
    },
    NodeDef {
        id: "limits depth",
        name: "depth",
        meaning: "The deepest that a dive may go.",
        below: LIMITS,
        args: &[value("depth", Quantity::Depth, "Metres.").needed().within(1.0, DEEPEST_M)],
        ..NODE
    },
    NodeDef {
        id: "limits deco",
        name: "deco",
        meaning: "The longest total of decompression stops; 0 allows none.",
        below: LIMITS,
        args: &[value("minutes", Quantity::Duration, "Minutes.").needed().within(0.0, DAY_MIN)],
        ..NODE
    },
    NodeDef {
        id: "shallowest-stop",
        name: "shallowest-stop",
        meaning: "The depth of the last stop.",
        below: LIMITS,
        args: &[value("depth", Quantity::Depth, "Metres.").needed().within(2.0, 9.0).or("3")],
        ..NODE
    },
    NodeDef {
        id: "band",
        name: "band",
        meaning: "How far a controlled loop's oxygen swings to either side of its set-point.",
        below: LIMITS,
        args: &[value("points", Quantity::Number, "Points of percent.").needed().within(0.0, 10.0).or("1")],
        ..NODE
    },
    NodeDef {
        id: "react",
        name: "react",
        meaning: "How long after an alarm a diver leaves the loop.",
        below: LIMITS,
        args: &[value("minutes", Quantity::Duration, "Minutes.").needed().within(0.0, 15.0).or("3")],
        ..NODE
    },
    NodeDef {
        id: "currency",
        name: "currency",
        meaning: "How long ago a diver may have last dived a unit of the dive's kind. Where it is said, each diver's dives \
                  are to be on record.",
        below: LIMITS,
        props: &[value("months", Quantity::Count, "Calendar months.").needed().within(1.0, 120.0).or("6")],
        ..NODE
    },
    NodeDef {
        id: "supervision",
        name: "supervision",
        meaning: "How many students there may be to each instructor of a dive.",
        below: LIMITS,
        props: &[value("students", Quantity::Count, "Students to one instructor.").needed().within(1.0, 20.0)],
        ..NODE
    },
];
