//! Each check of the house notices what it is there for.

use super::graph::Graph;
use super::{against_the_order, arrows_to_rules, out_of_place};

fn lines(graph: &Graph) -> Vec<String> {
    graph.arrows.keys().map(|arrow| graph.line(*arrow)).collect()
}

/// The arrows of a file `from.rs` with a text, among a few others.
fn arrows_from(text: &str) -> Vec<String> {
    let graph = Graph::of([
        ("lib.rs", "pub mod from; pub mod family; pub mod words; pub const CAUTION: &str = \"\";"),
        (
            "family/mod.rs",
            "pub mod child; mod other; pub use child::{Child, Kind, make}; pub use other::*; pub struct Own;",
        ),
        ("family/child.rs", "pub struct Child; pub enum Kind { One } pub fn make() {} pub const MOST: u8 = 1;"),
        ("family/other.rs", "pub struct Other; pub mod inner { pub struct Deep; }"),
        ("words.rs", "pub use crate::family::Kind as Sort; pub struct Word;"),
        ("from.rs", text),
    ]);
    lines(&graph).into_iter().filter_map(|line| Some(line.strip_prefix("from.rs -> ")?.to_owned())).collect()
}

#[test]
fn every_kind_of_path_is_resolved_to_the_file_that_defines() {
    for (text, arrows) in [
        ("use crate::family::{Child, Own};", &["family/child.rs: Child", "family/mod.rs: Own"][..]),
        ("use super::{family::{child::{self, Kind}}}; fn f() { child::make() }", &["family/child.rs: Kind, make"]),
        ("use crate::family as kin; type A = kin::Other;", &["family/other.rs: Other"]),
        ("use crate::words::Sort; use crate::words::Sort as S;", &["family/child.rs: Sort"]),
        (
            "fn f(x: &crate::family::Kind) -> Option<crate::words::Word> { None }",
            &["family/child.rs: Kind", "words.rs: Word"],
        ),
        ("fn f(x: u8) { match x { crate::family::child::MOST => {} _ => {} } }", &["family/child.rs: MOST"]),
        ("use crate::family::Kind::One;", &["family/child.rs: Kind"]),
        ("use crate::family::*; fn f() -> Child { make() }", &["family/child.rs: Child, make"]),
        ("use crate::family::*; fn f(make: u8) -> u8 { make }", &[]),
        ("fn f() { println!(\"{}\", [1].map(|_| crate::words::Word).len()) }", &["words.rs: Word"]),
        ("use crate::family::*; fn f() { assert!(x.make.is(y { make: 1 }), \"{}\", Own) }", &["family/mod.rs: Own"]),
        ("impl crate::words::Word { fn f() {} }", &["words.rs: Word"]),
        (
            "fn f() { <crate::words::Word as Into<crate::family::Own>>::into(x) }",
            &["family/mod.rs: Own", "words.rs: Word"],
        ),
        ("fn f() -> &'static str { crate::CAUTION }", &["lib.rs: CAUTION"]),
        ("fn f() { use crate::words::Word; }", &["words.rs: Word"]),
        ("mod inner { use super::super::words::Word; }", &["words.rs: Word"]),
        ("use crate::family::child; use std::family::Child; // crate::words::Word", &[]),
        ("#[cfg(test)] mod tests { use crate::words::Word; }", &[]),
    ] {
        assert_eq!(arrows_from(text), arrows, "{text}");
    }
}

#[test]
fn a_room_that_uses_one_below_it_is_noticed() {
    let graph = Graph::of([
        ("lib.rs", "pub mod words; pub mod plan;"),
        ("words/mod.rs", "use crate::plan::Plan;"),
        ("plan/mod.rs", "mod dive; pub use dive::Plan;"),
        ("plan/dive.rs", "use crate::words::Word; pub struct Plan;"),
    ]);
    assert_eq!(against_the_order(&graph), ["words/mod.rs -> plan/dive.rs: Plan"]);
}

#[test]
fn a_ring_is_noticed() {
    let ring = |parent: &str, child: &str, other: &str| {
        let root = ("lib.rs", "pub mod run; pub mod plan;");
        Graph::of([root, ("run/mod.rs", parent), ("run/child.rs", child), ("run/other.rs", other)]).rings(|_, _| true)
    };
    let handing_on = "mod child; mod other; pub use child::Child; pub use other::Other;";
    // What a parent only hands on leads past it.
    assert!(ring(handing_on, "use super::Other; pub struct Child;", "pub struct Other;").is_empty());
    assert_eq!(
        ring(handing_on, "use super::Other; pub struct Child;", "use super::Child; pub struct Other;"),
        ["a ring of 2 files, 2 arrows; shortest: run/child.rs -> run/other.rs -> run/child.rs\n  \
          run/child.rs -> run/other.rs: Other\n  run/other.rs -> run/child.rs: Child"]
    );
    // What a parent holds itself, it may not hold for a child that it uses, whichever way it names it.
    for uses in ["pub struct Own(Child);", "fn f() { child::make() }", "fn f() { vec![Child] }"] {
        let parent = format!("{handing_on} pub const MOST: u8 = 1; {uses}");
        let child = "use super::MOST; pub struct Child; pub fn make() {}";
        assert_eq!(ring(&parent, child, "pub struct Other;").len(), 1, "{uses}");
    }
    let holding = format!("{handing_on} pub const MOST: u8 = 1;");
    assert!(ring(&holding, "use super::MOST; pub struct Child;", "pub struct Other;").is_empty());
    // A longer way round.
    let long = Graph::of([
        ("lib.rs", "mod a; mod b; mod c;"),
        ("a.rs", "use crate::b::B; pub struct A;"),
        ("b.rs", "use crate::c::C; pub struct B;"),
        ("c.rs", "use crate::a::A; pub struct C;"),
    ]);
    assert!(long.rings(|_, _| true)[0].contains("a.rs -> b.rs -> c.rs -> a.rs"), "{:?}", long.rings(|_, _| true));
}

const RULES: [(&str, &str); 5] = [
    ("lib.rs", "pub mod rules;"),
    ("rules/mod.rs", "pub mod mix; mod table;"),
    ("rules/table.rs", "use super::mix; pub static TABLE: &[Rule] = &[mix::too_rich::RULE, mix::too_lean::RULE];"),
    ("rules/mix/mod.rs", "pub mod too_rich; pub mod too_lean;"),
    ("rules/mix/too_rich.rs", "pub const RULE: Rule = Rule::new(\"too-rich\"); pub const MOST: u8 = 1;"),
];

/// The rules with one more file.
fn rules(path: &'static str, text: &'static str) -> Graph {
    Graph::of(RULES.into_iter().chain([(path, text)]))
}

#[test]
fn a_rule_that_serves_another_file_is_noticed() {
    let alone = "pub const RULE: Rule = Rule { slug: \"too-lean\" };";
    assert!(arrows_to_rules(&rules("rules/mix/too_lean.rs", alone)).is_empty());
    let leaning = "use super::too_rich::MOST; pub const RULE: Rule = Rule { slug: \"too-lean\" };";
    assert_eq!(
        arrows_to_rules(&rules("rules/mix/too_lean.rs", leaning)),
        ["rules/mix/too_lean.rs -> rules/mix/too_rich.rs: MOST"]
    );
    let asking = "fn f() { crate::rules::mix::too_rich::RULE.slug }";
    assert_eq!(arrows_to_rules(&rules("rules/level.rs", asking)), ["rules/level.rs -> rules/mix/too_rich.rs: RULE"]);
}

#[test]
fn a_rule_out_of_its_place_is_noticed() {
    let wrong = |graph: &Graph, pages: &[&str], cases: &[&str]| {
        let set = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
        out_of_place(graph, &set(pages), &set(cases))
    };
    let (pages, cases) = (["rules/mix/too_lean.md", "rules/mix/too_rich.md"], ["too-lean", "too-rich"]);
    let good = rules("rules/mix/too_lean.rs", "pub const RULE: Rule = Rule::new(\"too-lean\");");
    assert_eq!(wrong(&good, &pages, &cases), [""; 0]);
    assert_eq!(
        wrong(&good, &pages[..1], &cases[..1]),
        [
            "rules/mix/too_rich.rs: there is no rules/mix/too_rich.md",
            "rules/mix/too_rich.rs: there is no tests/rules/too-rich"
        ]
    );
    assert_eq!(
        wrong(&good, &[&pages[..], &["rules/mix/gone.md"]].concat(), &[&cases[..], &["gone"]].concat()),
        ["rules/mix/gone.md: is no rule's", "tests/rules/gone: is no rule's"]
    );
    let renamed = rules("rules/mix/too_lean.rs", "pub const RULE: Rule = Rule::new(\"lean\");");
    assert!(wrong(&renamed, &pages, &cases).contains(&"rules/mix/too_lean.rs: holds the rule \"lean\"".to_owned()));
    let unlisted = rules("rules/mix/odd.rs", "pub const RULE: Rule = Rule::new(\"odd\");");
    assert!(wrong(&unlisted, &pages, &cases).contains(&"rules/mix/odd.rs: is 0 times in the table".to_owned()));
    let twice = Graph::of([
        RULES[0],
        RULES[1],
        RULES[3],
        RULES[4],
        ("rules/table.rs", "use super::mix; pub static TABLE: &[Rule] = &[mix::too_rich::RULE, mix::too_rich::RULE];"),
    ]);
    assert!(wrong(&twice, &pages, &cases).contains(&"rules/mix/too_rich.rs: is 2 times in the table".to_owned()));
}
