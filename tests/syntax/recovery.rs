//! What a defect costs: itself, and nothing else of the text.

use std::fmt::Write;

use leadsman::syntax::{NodeId, Tree, Value};

/// The tree a line a node, then its faults: the text each is at, what it says, and what mends it.
fn show(text: &str) -> String {
    let tree = Tree::parse(text);
    let mut out = String::new();
    for node in tree.nodes() {
        let _ = writeln!(out, "{}{}", "    ".repeat(tree.depth(node) as usize), line(&tree, node));
    }
    for error in tree.errors() {
        let _ = write!(out, "! {:?} {:?}: {}", error.kind, &text[error.span.range()], error.message);
        if let Some((title, edits)) = &error.fix {
            let mut mended = text.to_owned();
            for (span, with) in edits.iter().rev() {
                mended.replace_range(span.range(), with);
            }
            let _ =
                write!(out, " -> {title}{}", if Tree::parse(&mended).errors().is_empty() { "" } else { " (and more)" });
        }
        out.push('\n');
    }
    out
}

fn line(tree: &Tree, node: NodeId) -> String {
    let mut line = tree.name(node).text.into_owned();
    for entry in tree.entries(node) {
        line.push(' ');
        if let Some(key) = entry.key {
            let _ = write!(line, "{}=", key.text);
        }
        if let Some(annotation) = entry.annotation {
            let _ = write!(line, "({})", annotation.text);
        }
        let _ = match entry.value {
            Value::Text(text) => write!(line, "{text:?}"),
            Value::Integer(integer) => write!(line, "{integer}"),
            Value::Float(float) => write!(line, "{float:?}"),
            Value::Bool(bool) => write!(line, "{bool}"),
            Value::Null => write!(line, "null"),
            Value::Bad(written) => write!(line, "<{written}>"),
        };
    }
    line + if tree.block_span(node).is_some() { " {" } else { "" }
}

#[test]
fn an_unclosed_quote_ends_at_the_newline_or_before_the_brace_that_ends_the_line() {
    insta::assert_snapshot!(show("dive \"morning {\n    stay 20\n}\ninterval 95\n"), @r#"
    dive "morning" {
        stay 20
    interval 95
    ! Unclosed "\"": the quotes are not closed
    "#);
}

#[test]
fn an_unclosed_quote_in_a_property_costs_the_rest_of_its_line() {
    insta::assert_snapshot!(show("site name=\"Grey water=fresh\nplan 1\n"), @r#"
    site name="Grey water=fresh"
    plan 1
    ! Unclosed "\"": the quotes are not closed
    "#);
}

#[test]
fn an_unclosed_triple_quote_costs_its_line() {
    insta::assert_snapshot!(show("note \"\"\"\nstay 20\nascend\n"), @r#"
    note ""
    stay 20
    ascend
    ! Unclosed "\"\"\"": the quotes are not closed
    "#);
}

#[test]
fn an_unclosed_comment_costs_its_line() {
    insta::assert_snapshot!(show("stay 20 /* light\nascend\nstay 8 /* too\nascend\n"), @r#"
    stay 20
    ascend
    stay 8
    ascend
    ! Unclosed "/*": the comment is not closed
    ! Unclosed "/*": the comment is not closed
    "#);
}

#[test]
fn an_unclosed_block_ends_where_indentation_says() {
    insta::assert_snapshot!(show("plan \"a\" {\n    dive \"one\" {\n        stay 20\n\n    dive \"two\" {\n        stay 30\n    }\n}\ninterval 95\n"), @r#"
    plan "a" {
        dive "one" {
            stay 20
        dive "two" {
            stay 30
    interval 95
    ! Unclosed "{": the block of `dive` is not closed
    "#);
}

#[test]
fn an_unclosed_block_at_the_end() {
    insta::assert_snapshot!(show("plan \"a\" {\n    dive \"one\" {\n        stay 20\n"), @r#"
    plan "a" {
        dive "one" {
            stay 20
    ! Unclosed "{": the block of `plan` is not closed
    ! Unclosed "{": the block of `dive` is not closed
    "#);
}

#[test]
fn a_brace_too_many() {
    insta::assert_snapshot!(show("dive \"a\" {\n}\n}\nstay 8\n"), @r#"
    dive "a" {
    stay 8
    ! Unopened "}": this closes nothing
    "#);
}

#[test]
fn dates_and_times_want_quotes() {
    insta::assert_snapshot!(show("plan on=2027-05-15 at=09:40 status=ready\n"), @r#"
    plan on=<2027-05-15> at=<09:40> status="ready"
    ! WantsQuotes "2027-05-15": the date 2027-05-15 needs quotes -> write "2027-05-15" (and more)
    ! WantsQuotes "09:40": the time 09:40 needs quotes -> write "09:40" (and more)
    "#);
}

#[test]
fn a_unit_glued_to_its_number_wants_an_annotation() {
    insta::assert_snapshot!(show("cylinder size=12L working=232bar\ndescend 28m\n"), @r#"
    cylinder size=<12L> working=<232bar>
    descend <28m>
    ! WantsAnnotation "12L": a unit is written before its number: (l)12 -> write (l)12 (and more)
    ! WantsAnnotation "232bar": a unit is written before its number: (bar)232 -> write (bar)232 (and more)
    ! WantsAnnotation "28m": a unit is written before its number: (m)28 -> write (m)28 (and more)
    "#);
}

#[test]
fn a_decimal_comma_wants_a_point() {
    insta::assert_snapshot!(show("fill 205 o2=0,36 analysed=35,8\n"), @r#"
    fill 205 o2=<0,36> analysed=<35,8>
    ! Malformed "0,36": a decimal is written with a point: 0.36 -> write 0.36 (and more)
    ! Malformed "35,8": a decimal is written with a point: 35.8 -> write 35.8 (and more)
    "#);
}

#[test]
fn a_half_typed_property_costs_itself() {
    insta::assert_snapshot!(show("diver \"Rowan\" unit=\nstay 20 work=\nascend\n"), @r#"
    diver "Rowan" unit=<>
    stay 20 work=<>
    ascend
    ! Unexpected "": the value of `unit` is missing
    ! Unexpected "": the value of `work` is missing
    "#);
}

#[test]
fn a_half_typed_annotation_costs_itself() {
    insta::assert_snapshot!(show("descend (ft\nstay 20\ndescend ()92\n"), @r#"
    descend (ft)<>
    stay 20
    descend 92
    ! Unclosed "(": the annotation is not closed
    ! Unexpected "": a value is missing here
    ! Unexpected "()": an annotation is a word in parentheses
    "#);
}

#[test]
fn a_keyword_half_typed() {
    insta::assert_snapshot!(show("a #tru 1\nb true\nc 2\n"), @r##"
    a <#tru> 1
    b <true>
    c 2
    ! Malformed "#tru": there is no such keyword
    ! Malformed "true": true is written #true; as a word it needs quotes -> write #true (and more)
    "##);
}

#[test]
fn a_bad_escape_costs_itself() {
    insta::assert_snapshot!(show("a \"x\\qy\" 1\nb 2\n"), @r#"
    a "xy" 1
    b 2
    ! Malformed "\\q": there is no such escape
    "#);
}

#[test]
fn a_slashdash_before_nothing() {
    insta::assert_snapshot!(show("a /-\nb 2\n/-"), @r#"
    a 2
    ! Unexpected "/-": `/-` comments nothing out here
    "#);
}

#[test]
fn a_value_where_a_name_belongs() {
    insta::assert_snapshot!(show("12 a\n=1\nb=2\n"), @r#"
    12 "a"
    b =2
    ! Malformed "12": a name is a word, not a number
    ! Unexpected "=1": a node's name is expected here
    ! Unexpected "": a property's name is missing here
    "#);
}

#[test]
fn too_many_hashes_are_no_string() {
    let hashes = "#".repeat(300);
    let shown = show(&format!("a {hashes} 1\nb 1\n")).replace(&hashes, "<300>");
    insta::assert_snapshot!(shown, @r#"
    a <<300>> 1
    b 1
    ! Malformed "<300>": there is no such keyword
    "#);
}

#[test]
fn a_comment_unclosed_before_a_closed_one() {
    insta::assert_snapshot!(show("a /* x\nb /* y */ 1\nc 2\n"), @r#"
    a
    b 1
    c 2
    ! Unclosed "/*": the comment is not closed
    "#);
}

/// A node commented out whose line closes a block that is commented out too: found by fuzzing.
#[test]
fn a_comment_in_a_comment_that_its_indentation_closes() {
    for text in ["/**//-\"\"{/-\n2\"", "/- a {\n    /-\nb 1 2\nc 3\n", "/- a {\n    b 1\n    /-\nc 2 {\n"] {
        let tree = leadsman::syntax::Tree::parse(text);
        for node in tree.nodes() {
            let values = tree.entries(node).count();
            assert!(values < 3, "{text:?}");
        }
    }
    let tree = leadsman::syntax::Tree::parse("/- a {\n    /-\nb 1 2\nc 3\n");
    let names: Vec<String> = tree.nodes().map(|node| tree.name(node).text.to_string()).collect();
    assert_eq!(names, ["c"], "both are commented out");
}
