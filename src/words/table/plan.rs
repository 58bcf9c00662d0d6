//! The site of a plan, and the word that its limits stand below.

use super::{DAY_MIN, DEEPEST_M, HIGHEST_BAR, HOUSE_TOP, NODE, TOP, value};
use crate::words::{Key, NodeDef, Quantity, ValueDef};

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

pub(super) static ROWS: &[NodeDef] = &[
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
        id: "plan course",
        name: "course",
        meaning: "The course that the plan is a day of: its students go as deep as it says under an instructor of the dive who \
                  teaches it.",
        below: &["plan"],
        args: &[value("name", Quantity::Name, "The course's name.").needed()],
        ..NODE
    },
    NodeDef {
        id: "limits",
        name: "limits",
        meaning: "The limits that the dives are held to. In `leadsman.kdl` they hold for every plan of the archive.",
        below: &["plan", HOUSE_TOP],
        ..NODE
    },
];
