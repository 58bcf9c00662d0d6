//! What any file may say, and the archive's root file.

use super::{ANYWHERE, HOUSE_TOP, NODE, PLAN_TOP, TOP, value};
use crate::words::{Key, NodeDef, Quantity};

pub(super) static ROWS: &[NodeDef] = &[
    NodeDef {
        id: "use",
        name: "use",
        meaning: "Brings another file's definitions in. The path is relative to this file and stays inside the archive's root.",
        below: &[TOP],
        args: &[value("path", Quantity::Path, "The other file, relative to this one.").needed()],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "measures",
        name: "measures",
        meaning: "What bare depths, pressures, temperatures, volumes and weights mean in this file alone; rates go with \
                  depths and flows with volumes. Partial pressures are bar in any file.",
        below: &[TOP],
        args: &[value(
            "system",
            Quantity::OneOf(&["metric", "imperial"]),
            "`metric` (metres, bar, °C, litres, kilograms) or `imperial` (feet, psi, °F, cubic feet, pounds).",
        )
        .needed()
        .or("metric")],
        ..NODE
    },
    NodeDef {
        id: "allow",
        name: "allow",
        meaning: "Waives one rule for the node it stands in and all below it, with a reason. At the top of a file it \
                  covers the file.",
        below: &[ANYWHERE],
        args: &[value("rule", Quantity::Name, "The rule's name.").needed()],
        props: &[value("because", Quantity::Text, "The reason, for whoever reads the plan next.")],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "record",
        name: "record",
        meaning: "Adds dated records to a unit, canister, cylinder or diver that another file defines.",
        below: &[TOP],
        args: &[value("name", Quantity::Name, "The name of the thing the records are of.").needed()],
        key: Key::Position,
        ..NODE
    },
    NodeDef {
        id: "level",
        name: "level",
        meaning: "Sets how grave a rule's findings are in this archive. Lowering a safety rule needs a reason.",
        below: &[HOUSE_TOP],
        args: &[
            value("rule", Quantity::Name, "The rule's name.").needed(),
            value("level", Quantity::OneOf(&["error", "warning", "note"]), "The level its findings get.").needed(),
        ],
        props: &[value("because", Quantity::Text, "The reason; every run prints it.")],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "exclude",
        name: "exclude",
        meaning: "Leaves a file, or a folder and all below it, out of every check, even one that names it. Its definitions \
                  may still be used.",
        below: &[HOUSE_TOP],
        args: &[value("path", Quantity::Path, "The file or folder, relative to this file.").needed()],
        key: Key::FirstArgument,
        ..NODE
    },
    NodeDef {
        id: "plan",
        name: "plan",
        meaning: "A day's dives for a team. A plan file holds one.",
        below: &[PLAN_TOP],
        args: &[value("name", Quantity::Name, "What the plan is called.").needed()],
        props: &[
            value("on", Quantity::Date, "The day of the dives; only a template may leave it out.").needed(),
            value(
                "status",
                Quantity::OneOf(&["template", "draft", "ready", "dived"]),
                "What the plan is for: a `template` other plans start from, a `draft`, `ready` to dive (every check \
                 applies), or `dived` (the record stands).",
            )
            .or("draft"),
            value("from", Quantity::Path, "A template this plan starts from; the plan's own words win."),
        ],
        wanted: true,
        ..NODE
    },
];
