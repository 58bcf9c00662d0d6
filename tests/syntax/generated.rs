//! Generated documents, all of them valid: read without fault, and as the `kdl` crate's parser reads them.

use leadsman::syntax::Tree;
use proptest::prelude::*;
use proptest::sample::select;

use super::oracle::difference;

fn fixed(choices: &'static [&'static str]) -> BoxedStrategy<String> {
    select(choices).prop_map(str::to_owned).boxed()
}

/// White space between the parts of a node.
fn space() -> BoxedStrategy<String> {
    prop_oneof![
        6 => Just(" ".to_owned()),
        1 => fixed(&["  ", "\t", "\u{a0}", " /* a */ ", " /* a /* b */ */ ", " \\\n  ", " \\ // c\n ", "\u{3000}"]),
    ]
    .boxed()
}

fn maybe(strategy: BoxedStrategy<String>) -> BoxedStrategy<String> {
    prop_oneof![4 => Just(String::new()), 1 => strategy].boxed()
}

/// A string of any form.
fn string() -> BoxedStrategy<String> {
    prop_oneof![
        4 => "[a-z][a-z0-9_.:°³é-]{0,6}".prop_filter("no keyword", |word| {
            !matches!(word.as_str(), "true" | "false" | "null" | "inf" | "nan")
        }),
        1 => fixed(&["-", "+", ".", "-a", "+.", "😀", "a,b", "<x>", "...", "--flag", "r\u{301}", "-.", "'", "|"]),
        3 => r#"[a-z /\{\}=;#(-]{0,8}"#.prop_map(|inside| format!("\"{inside}\"")),
        1 => proptest::collection::vec(
            select(&["a", "\\n", "\\\"", "\\\\", "\\s", "\\u{1F600}", "\\u{e9}", "\\t\\r\\b\\f", "\\   ", "\\\n  ", "é"][..]),
            0..5,
        )
        .prop_map(|parts| format!("\"{}\"", parts.concat())),
        1 => ("#{1,3}", "[a-z \\\\]{0,5}").prop_map(|(hashes, inside)| format!("{hashes}\"{inside}\"{hashes}")),
        1 => ("#{0,2}", "[ \t]{0,3}", proptest::collection::vec("([ ]{0,2}[a-z\" ]{1,5}[a-z])?", 0..4)).prop_map(
            |(hashes, indent, lines)| {
                let lines: String = lines.iter().filter(|line| !line.contains("\"\"")).map(|line| {
                    if line.is_empty() { "\n".to_owned() } else { format!("{indent}{line}\n") }
                }).collect();
                format!("{hashes}\"\"\"\n{lines}{indent}\"\"\"{hashes}")
            }
        ),
    ]
    .boxed()
}

fn number() -> BoxedStrategy<String> {
    prop_oneof![
        2 => "[+-]?[0-9]{1,6}",
        1 => "[+-]?[0-9][0-9_]{0,6}",
        1 => "[+-]?0x[0-9a-fA-F][0-9a-fA-F_]{0,6}",
        1 => "[+-]?0o[0-7][0-7_]{0,6}",
        1 => "[+-]?0b[01][01_]{0,6}",
        2 => "[+-]?[0-9]{1,4}\\.[0-9]{1,4}",
        1 => "[+-]?[0-9][0-9_]{0,3}(\\.[0-9][0-9_]{0,3})?[eE][+-]?[0-9]{1,2}",
        1 => fixed(&["#inf", "#-inf", "#nan"]),
    ]
    .boxed()
}

fn value() -> BoxedStrategy<String> {
    let bare = prop_oneof![3 => string(), 3 => number(), 1 => fixed(&["#true", "#false", "#null"])];
    (maybe(annotation()), bare).prop_map(|(annotation, value)| format!("{annotation}{value}")).boxed()
}

fn annotation() -> BoxedStrategy<String> {
    (maybe(space()), string(), maybe(space()), maybe(space()))
        .prop_map(|(before, name, after, behind)| format!("({before}{name}{after}){behind}"))
        .boxed()
}

fn entry() -> BoxedStrategy<String> {
    prop_oneof![
        value(),
        (string(), maybe(space()), maybe(space()), value())
            .prop_map(|(key, before, after, value)| format!("{key}{before}={after}{value}")),
    ]
    .boxed()
}

fn header() -> BoxedStrategy<String> {
    let silenced = prop_oneof![9 => Just(""), 1 => select(&["/-", "/- ", "/-\n "][..])];
    let entries = proptest::collection::vec((space(), silenced, entry()), 0..4);
    (maybe(annotation()), string(), entries)
        .prop_map(|(annotation, name, entries)| {
            let entries: String =
                entries.iter().map(|(space, silenced, entry)| format!("{space}{silenced}{entry}")).collect();
            format!("{annotation}{name}{entries}")
        })
        .boxed()
}

/// Lines of nodes; each node with its terminator, so that they can stand one behind the other.
pub fn document() -> BoxedStrategy<String> {
    let terminator =
        || fixed(&["\n", ";", " ;", "\r\n", " // c\n", "\n\n", "\u{85}", "\n/- gone 1\n", "\n// c\n", " \n"]);
    let node = (maybe(space()), header(), terminator())
        .prop_map(|(before, header, terminator)| format!("{before}{header}{terminator}"));
    let nodes = proptest::collection::vec(node, 0..4).prop_map(|nodes| nodes.concat());
    nodes
        .prop_recursive(4, 40, 4, move |inner| {
            let block = (header(), space(), inner.clone(), maybe(fixed(&[" /-{ a }", "/-{}"])), terminator())
                .prop_map(|(header, space, inside, behind, end)| format!("{header}{space}{{{inside}}}{behind}{end}"));
            proptest::collection::vec(prop_oneof![inner, block], 0..4).prop_map(|parts| parts.concat())
        })
        .boxed()
}

proptest! {
    #![proptest_config(ProptestConfig { max_shrink_iters: 2_000, ..crate::seed::properties(256) })]

    #[test]
    fn a_valid_document_reads_as_the_crate_reads_it(bom in maybe(Just("\u{feff}".to_owned()).boxed()), text in document()) {
        let text = format!("{bom}{text}");
        let tree = Tree::parse(&text);
        prop_assert!(tree.errors().is_empty(), "{:?}", tree.errors());
        prop_assert_eq!(difference(&text), None);
    }
}
