//! The vocabulary as published descriptions: what `schema/` holds, made from the table.

use kdl::{KdlDocument, KdlEntry, KdlNode, KdlValue};
use serde::Serialize;

use leadsman::words::{
    ANYWHERE, Either, HOUSE_TOP, Key, Measures, NodeDef, PLAN_TOP, Quantity, TOP, Unit, ValueDef, vocabulary,
};

#[derive(Serialize)]
struct Description {
    version: u32,
    about: &'static str,
    tops: [Top; 4],
    quantities: Vec<QuantityRow>,
    words: Vec<WordRow>,
}

#[derive(Serialize)]
struct Top {
    place: &'static str,
    meaning: &'static str,
}

#[derive(Serialize)]
struct QuantityRow {
    name: &'static str,
    takes: String,
    unit: &'static str,
    unit_imperial: &'static str,
    annotations: Vec<UnitRow>,
}

#[derive(Serialize)]
struct UnitRow {
    annotation: &'static str,
    factor: f64,
    zero: f64,
}

#[derive(Serialize)]
struct WordRow {
    id: &'static str,
    name: &'static str,
    usage: String,
    meaning: &'static str,
    below: &'static [&'static str],
    arguments: Vec<ValueRow>,
    properties: Vec<ValueRow>,
    #[serde(skip_serializing_if = "Option::is_none")]
    at_least_one_of: Option<&'static [&'static str]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    just_one_of: Option<&'static [&'static str]>,
    key: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    also_told_apart_by: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    not_more_than: Option<(&'static str, &'static str)>,
    wanted: bool,
    states_facts: bool,
}

#[derive(Serialize)]
struct ValueRow {
    name: &'static str,
    meaning: &'static str,
    quantity: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    words: Option<&'static [&'static str]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    least: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    greatest: Option<f64>,
    required: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    default: Option<&'static str>,
    repeats: bool,
}

/// The quantities, each with its name in the description; a word's own list of words stands with the word.
const QUANTITIES: &[(Quantity, &str)] = &[
    (Quantity::Depth, "depth"),
    (Quantity::Altitude, "altitude"),
    (Quantity::Gauge, "gauge-pressure"),
    (Quantity::Partial, "partial-pressure"),
    (Quantity::Absolute, "absolute-pressure"),
    (Quantity::Volume, "volume"),
    (Quantity::Size, "cylinder-size"),
    (Quantity::Flow, "flow"),
    (Quantity::Uptake, "uptake"),
    (Quantity::Rate, "rate"),
    (Quantity::Duration, "duration"),
    (Quantity::Life, "life"),
    (Quantity::Temperature, "temperature"),
    (Quantity::Voltage, "voltage"),
    (Quantity::Mass, "mass"),
    (Quantity::Density, "density"),
    (Quantity::Percent, "percent"),
    (Quantity::Number, "number"),
    (Quantity::Count, "count"),
    (Quantity::Date, "date"),
    (Quantity::Time, "time-of-day"),
    (Quantity::Text, "text"),
    (Quantity::Name, "name"),
    (Quantity::Path, "path"),
    (Quantity::OneOf(&[]), "one-of"),
    (Quantity::YesNo, "yes-or-no"),
    (Quantity::SetPoint, "set-point"),
];

fn quantity_name(quantity: Quantity) -> &'static str {
    let same = |other: &Quantity| std::mem::discriminant(other) == std::mem::discriminant(&quantity);
    QUANTITIES.iter().find(|(other, _)| same(other)).map_or("", |(_, name)| name)
}

const ABOUT: &str = "The words of the plan language: every node, argument and property, with what it takes and means. A \
                     bare number is in the quantity's `unit` (in a file that says `measures imperial`, in \
                     `unit_imperial`). A type annotation says another unit: inside = (written - zero) * factor. `least` \
                     and `greatest` are in the unit of the first annotation listed.";

/// The vocabulary as JSON, in this project's own form: `schema/vocabulary.json`.
pub fn vocabulary_json() -> String {
    let unit_row = |unit: &Unit| UnitRow { annotation: unit.name, factor: unit.factor, zero: unit.zero };
    let description = Description {
        version: 1,
        about: ABOUT,
        tops: [
            Top { place: TOP, meaning: "the top of any file" },
            Top { place: PLAN_TOP, meaning: "the top of a plan file" },
            Top { place: HOUSE_TOP, meaning: "the top of the archive's root file" },
            Top { place: ANYWHERE, meaning: "below any word, and at the top of any file" },
        ],
        quantities: QUANTITIES
            .iter()
            .map(|(quantity, name)| QuantityRow {
                name,
                takes: match quantity {
                    Quantity::OneOf(_) => "one of the words listed".to_owned(),
                    _ => quantity.takes(Measures::Metric),
                },
                unit: quantity.unit_words(Measures::Metric),
                unit_imperial: quantity.unit_words(Measures::Imperial),
                annotations: quantity.units().iter().map(unit_row).collect(),
            })
            .collect(),
        words: vocabulary().map(word_row).collect(),
    };
    // A struct of strings and finite numbers can always be written.
    let mut json = serde_json::to_string_pretty(&description).unwrap_or_default();
    json.push('\n');
    json
}

fn word_row(word: &'static NodeDef) -> WordRow {
    let either = |want: fn(Either) -> Option<&'static [&'static str]>| word.either.and_then(want);
    WordRow {
        id: word.id,
        name: word.name,
        usage: word.usage(),
        meaning: word.meaning,
        below: word.below,
        arguments: word.args.iter().map(value_row).collect(),
        properties: word.props.iter().map(value_row).collect(),
        at_least_one_of: either(|either| if let Either::AtLeast(names) = either { Some(names) } else { None }),
        just_one_of: either(|either| if let Either::Just(names) = either { Some(names) } else { None }),
        key: match word.key {
            Key::Singleton => "singleton",
            Key::FirstArgument => "first-argument",
            Key::Position => "position",
        },
        also_told_apart_by: word.also_key,
        not_more_than: word.order,
        wanted: word.wanted,
        states_facts: word.fact,
    }
}

fn value_row(value: &'static ValueDef) -> ValueRow {
    ValueRow {
        name: value.name,
        meaning: value.meaning,
        quantity: quantity_name(value.quantity),
        words: match value.quantity {
            Quantity::OneOf(words) => Some(words),
            _ => None,
        },
        least: value.range.map(|(least, _)| least),
        greatest: value.range.map(|(_, greatest)| greatest),
        required: value.required,
        default: value.default,
        repeats: value.many,
    }
}

/// The vocabulary in the KDL Schema Language (version 1.0.0), as far as that language can say it: which words stand
/// where, what they must have, and types. It knows no units, so ranges are not in it.
pub fn kdl_schema() -> String {
    let mut document = node("document", &[]);
    let mut info = node("info", &[]);
    push(&mut info, node("title", &["Dive plans and kit as plain text"]));
    push(&mut info, node("description", &[ABOUT.split(". ").next().unwrap_or(ABOUT)]));
    push(&mut document, info);
    for word in vocabulary().filter(|word| word.below.iter().any(|place| is_top(place))) {
        push(&mut document, reference(word));
    }
    let mut definitions = node("definitions", &[]);
    for word in vocabulary() {
        push(&mut definitions, definition(word));
    }
    push(&mut document, definitions);
    let mut schema = KdlDocument::new();
    schema.nodes_mut().push(document);
    schema.autoformat();
    schema.to_string()
}

fn is_top(place: &str) -> bool {
    matches!(place, TOP | PLAN_TOP | HOUSE_TOP | ANYWHERE)
}

fn node(name: &str, args: &[&str]) -> KdlNode {
    let mut node = KdlNode::new(name);
    for arg in args {
        node.push(KdlEntry::new(KdlValue::String((*arg).to_owned())));
    }
    node
}

fn whole(name: &str, number: i128) -> KdlNode {
    let mut node = KdlNode::new(name);
    node.push(KdlEntry::new(KdlValue::Integer(number)));
    node
}

fn prop(node: &mut KdlNode, name: &str, value: &str) {
    node.push(KdlEntry::new_prop(name, KdlValue::String(value.to_owned())));
}

fn push(parent: &mut KdlNode, child: KdlNode) {
    parent.ensure_children().nodes_mut().push(child);
}

fn reference(word: &NodeDef) -> KdlNode {
    let mut refers = node("node", &[]);
    prop(&mut refers, "ref", &format!("[id=\"{}\"]", word.id));
    refers
}

fn definition(word: &NodeDef) -> KdlNode {
    let mut defines = node("node", &[word.name]);
    prop(&mut defines, "id", word.id);
    prop(&mut defines, "description", word.meaning);
    if word.key == Key::Singleton {
        push(&mut defines, whole("max", 1));
    }
    if !word.args.is_empty() {
        let mut values = node("value", &[]);
        let required = word.args.iter().filter(|arg| arg.required).count();
        push(&mut values, whole("min", required as i128));
        if !word.args.iter().any(|arg| arg.many) {
            push(&mut values, whole("max", word.args.len() as i128));
        }
        // The language says one type for all of a node's values; where ours differ it is silent.
        if let [only] = word.args {
            typed(&mut values, only);
        }
        push(&mut defines, values);
    }
    for value in word.props {
        let mut says = node("prop", &[value.name]);
        prop(&mut says, "description", value.meaning);
        if value.required {
            let mut required = KdlNode::new("required");
            required.push(KdlEntry::new(KdlValue::Bool(true)));
            push(&mut says, required);
        }
        typed(&mut says, value);
        push(&mut defines, says);
    }
    let mut children = node("children", &[]);
    for child in vocabulary().filter(|child| child.below.iter().any(|place| *place == word.id || *place == ANYWHERE)) {
        push(&mut children, reference(child));
    }
    push(&mut defines, children);
    defines
}

/// The type of a value, in the schema language's names.
fn typed(parent: &mut KdlNode, value: &ValueDef) {
    match value.quantity {
        Quantity::OneOf(words) => push(parent, node("enum", words)),
        Quantity::Date => {
            push(parent, node("type", &["string"]));
            push(parent, node("format", &["date"]));
        }
        Quantity::Time => {
            push(parent, node("type", &["string"]));
            push(parent, node("format", &["time"]));
        }
        Quantity::Text | Quantity::Name | Quantity::Path => push(parent, node("type", &["string"])),
        Quantity::YesNo => {}
        _ => push(parent, node("type", &["number"])),
    }
}
