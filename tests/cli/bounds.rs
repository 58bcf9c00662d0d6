//! Files of far more of something than anybody writes: bounded time, memory and output, and what is not listed is counted.

use super::hostile::bounded;
use super::{Folder, GOOD, is_honest};

/// More than any of these is told in, bytes.
const MOST_OUTPUT: usize = 2_000_000;

/// What there is too much of, with the files that have it.
fn too_much() -> Vec<(&'static str, String)> {
    let within = |what: String| GOOD.replacen("dive \"one\"", &format!("{what}; dive \"one\""), 1);
    let lines = |count: usize, line: &dyn Fn(usize) -> String| (0..count).map(|at| line(at) + "\n").collect::<String>();
    let waived = |rule: &'static str| move |at: usize| format!("allow \"{rule}\" reason=\"one of many, {at}\"");
    let diver = |at: usize| format!("diver \"Rowam{at}\" back=\"S15-0{at}\";");
    let dive = |at: usize| {
        format!("interval 60; dive \"{at}\" {{ descend 12; stay 20; ascend; diver \"Rowan\" back=\"S15-02\"; }};")
    };
    vec![
        ("quotes", "\"".repeat(1_000_000)),
        ("quotes behind a plan", format!("{GOOD}{}", "\"".repeat(1_000_000))),
        ("parentheses", "(".repeat(200_000)),
        ("comments of entries", "/-".repeat(200_000)),
        ("comments of entries behind a name", format!("a {}", "/-".repeat(200_000))),
        ("braces", "{".repeat(200_000)),
        ("named braces", "a {".repeat(200_000)),
        ("semicolons", ";".repeat(1_000_000)),
        ("escapes", format!("a \"{}\"", "\\q".repeat(300_000))),
        ("zeros", "\0".repeat(500_000)),
        ("carriage returns", "\r".repeat(1_000_000) + GOOD),
        ("arguments", format!("plan 1{}", " 2".repeat(500_000))),
        ("properties", format!("a {}", lines(100_000, &|at| format!("k{at}=1")).replace('\n', " "))),
        ("waivers", within(lines(10_000, &waived("oxygen-clock")))),
        ("waivers of nothing", within(lines(10_000, &waived("nothing")))),
        ("divers", GOOD.replacen("diver \"Rowan\" back", &format!("{}diver \"Rowan\" back", lines(2_000, &diver)), 1)),
        (
            "cylinders",
            GOOD.to_owned() + &lines(2_000, &|at| format!("cylinder \"C{at}\" size=12 {{ fill 200 o2=32; }}")),
        ),
        ("dives", GOOD.replacen("}; };", &format!("}}; {} }};", lines(1_000, &dive).replace('\n', " ")), 1)),
        ("legs", GOOD.replacen("descend 12;", &format!("descend 12;{}", "ascend 6; descend 8;".repeat(2_000)), 1)),
        ("words", lines(100_000, &|at| format!("wrod{at} 1 2 3 a=4"))),
        ("a line", format!("{GOOD}// {}\nalow \"{}\"\n", "x".repeat(5_000_000), "y".repeat(1_000_000))),
        ("a name", GOOD.replace("Rowan", &"R".repeat(200_000))),
        ("uses", lines(5_000, &|at| format!("use \"x{at}.kit.kdl\"")) + GOOD),
    ]
}

#[test]
fn whatever_there_is_too_much_of_is_told_in_few_words() {
    for (what, text) in too_much() {
        let folder = Folder::new(&[("a.plan.kdl", &text)]);
        for format in ["screen", "line", "json"] {
            let ran = bounded(&folder, &["check", "--no-cache", "--format", format, "a.plan.kdl"]);
            assert!(matches!(ran.code, Some(0 | 1)), "{what}, {format}: {:?} {}", ran.code, ran.err);
            assert!(ran.out.len() < MOST_OUTPUT, "{what}, {format}: {} bytes", ran.out.len());
            is_honest(&ran);
        }
    }
}

#[test]
fn what_is_not_listed_is_counted_and_graver_findings_are_listed_first() {
    let unused = |at: usize| format!("cylinder \"C{at}\" size=12 working=232\n");
    let text: String = (0..1_200).map(unused).collect::<String>() + "alow 1\n" + GOOD;
    let folder = Folder::new(&[("a.plan.kdl", &text)]);
    let ran = folder.run(&["check", "--format", "line"]);
    assert!(ran.out.contains("error unknown-word: "), "it is the last but the gravest: {:.600}", ran.out);
    let told: Vec<&str> = ran.out.lines().filter(|line| line.starts_with("a.plan.kdl:")).collect();
    assert_eq!(told.len(), 1_001);
    let more = told.iter().find(|line| line.contains("not listed")).unwrap();
    assert!(more.ends_with("202 more findings in this file are not listed"), "{more}");
    // All of it is accepted, not what is listed alone.
    folder.run(&["check", "--accept"]);
    let ran = folder.run(&["check", "--format", "line"]);
    assert!(!ran.out.contains("a.plan.kdl:") && ran.code == Some(0), "{:.600}", ran.out);
    // Nobody counts what is wrong with a text of quotes.
    folder.write("a.plan.kdl", "\"".repeat(100_000));
    let ran = folder.run(&["check", "--format", "line"]);
    assert!(
        ran.out.contains("further findings in this file are not listed: mend the first ones first"),
        "{:.600}",
        ran.out
    );
}
