//! Names: who sees what, and what happens to those that nothing defines.

use leadsman::archive::Change;
use leadsman::source::Text;

use super::{archive, id, said};

fn plan(dive: &str) -> String {
    format!("use \"kit.kit.kdl\"\nplan \"x\" on=\"2027-05-15\" status=draft {{ dive \"one\" {{ {dive} }} }}")
}

const KIT: &str = r#"
diver "Rowan" { fit until="2027-12-31" }
cylinder "S12-04" size=12 working=232
cylinder "S12-09" size=12 working=232
unit "fen-3" kind=semi-closed
routine "at the bench" { step "flow" "Constant feed at the mouthpiece" }
"#;

fn unresolved(dive: &str) -> Vec<(String, String)> {
    let text = plan(dive);
    said(&archive(&[("x.plan.kdl", &text), ("kit.kit.kdl", KIT)]), "x.plan.kdl", "unresolved-name")
}

fn one(dive: &str) -> (String, String) {
    let all = unresolved(dive);
    assert_eq!(all.len(), 1, "{dive}: {all:?}");
    all[0].clone()
}

#[test]
fn every_name_in_a_dive_is_looked_up() {
    assert_eq!(unresolved("diver \"Rowan\" unit=\"fen-3\" supply=\"S12-04\" { cylinder \"S12-09\" role=deco }"), []);
    for (dive, under) in [
        ("diver \"Rowen\"", "\"Rowen\""),
        ("diver \"Rowan\" unit=\"fen-4\"", "\"fen-4\""),
        ("diver \"Rowan\" bailout=\"S12-40\"", "\"S12-40\""),
        ("diver \"Rowan\" { cylinder \"S12-4\" role=deco }", "\"S12-4\""),
        ("diver \"Rowan\" back=\"S12-04\"; dived \"Rowan\" minutes=40 { cylinder \"S12\" from=200 to=90 }", "\"S12\""),
        ("diver \"Rowan\"; prepared \"Rowan\" routine=\"closing\"", "\"closing\""),
        ("diver \"Rowan\"; prepared \"Rowan\" routine=\"at the bench\" { done \"flwo\" 11 }", "\"flwo\""),
        ("diver \"Rowan\"; descend 9; bail-out who=\"Rown\"; ascend", "\"Rown\""),
        ("diver \"Rowan\" back=\"S12-04\"; descend 9; repeat 3 { switch deco; stay 2 }; ascend", "deco"),
    ] {
        assert_eq!(one(dive).0, under, "{dive}");
    }
}

#[test]
fn a_name_of_another_kind_says_so() {
    assert_eq!(one("diver \"Rowan\" supply=\"fen-3\"").1, "\"fen-3\" is a unit, not a cylinder");
}

#[test]
fn near_names_are_proposed_and_far_ones_are_not() {
    let text = plan("diver \"rowan\" supply=\"S12-40\"; diver \"Zebulon\"");
    let archive = archive(&[("x.plan.kdl", &text), ("kit.kit.kdl", KIT)]);
    let fixes: Vec<Vec<String>> = archive
        .findings(&id("x.plan.kdl"))
        .into_iter()
        .filter(|finding| finding.rule == "unresolved-name")
        .map(|finding| finding.fixes.into_iter().map(|fix| fix.edits[0].text.clone()).collect())
        .collect();
    assert_eq!(fixes, [vec!["\"Rowan\""], vec!["\"S12-04\"", "\"S12-09\""], vec![]]);
}

#[test]
fn a_cylinder_taken_in_another_role_is_proposed_last() {
    let text = plan("diver \"Rowan\" supply=\"S12-40\" deco=\"S12-04\"");
    let archive = archive(&[("x.plan.kdl", &text), ("kit.kit.kdl", KIT)]);
    let findings = archive.findings(&id("x.plan.kdl"));
    let finding = findings.iter().find(|finding| finding.rule == "unresolved-name").unwrap();
    let proposed: Vec<_> = finding.fixes.iter().map(|fix| fix.edits[0].text.as_str()).collect();
    // The letters come first: two swapped are one slip, two changed are two.
    assert_eq!(proposed, ["\"S12-04\"", "\"S12-09\""]);
    let text = text.replace("S12-40", "S12-0");
    let archive = archive.with(&[Change::Open(id("x.plan.kdl"), Text::new(text))]);
    let findings = archive.findings(&id("x.plan.kdl"));
    let finding = findings.iter().find(|finding| finding.rule == "unresolved-name").unwrap();
    assert_eq!(finding.fixes[0].edits[0].text, "\"S12-09\"");
}

#[test]
fn a_definition_in_a_file_that_is_not_used_is_pointed_at() {
    let text = "plan \"x\" on=\"2027-05-15\" { dive \"one\" { diver \"Rowan\" } }";
    let archive = archive(&[("plans/x.plan.kdl", text), ("kit/crew.kit.kdl", "diver \"Rowan\"")]);
    let findings = archive.findings(&id("plans/x.plan.kdl"));
    let finding = findings.iter().find(|finding| finding.rule == "unresolved-name").unwrap();
    assert_eq!(finding.related[0].place.file, id("kit/crew.kit.kdl"));
    let edit = &finding.fixes[0].edits[0];
    assert_eq!((edit.place.span.start, edit.text.as_str()), (0, "use \"../kit/crew.kit.kdl\"\n"));
}

#[test]
fn uses_reach_through_files_and_the_house_brings_its_own() {
    let files = [
        ("leadsman.kdl", "use \"crew.kit.kdl\"\ncylinder \"H\" size=10"),
        ("crew.kit.kdl", "diver \"Rowan\""),
        ("a.kit.kdl", "use \"b.kit.kdl\"\nuse \"c.kit.kdl\""),
        ("b.kit.kdl", "use \"a.kit.kdl\"\ncylinder \"B\" size=10"),
        ("c.kit.kdl", "cylinder \"C\" size=10"),
        ("x.plan.kdl", "use \"a.kit.kdl\"\nplan \"x\" status=template\ncylinder \"X\" size=10"),
    ];
    let archive = archive(&files);
    let scope = archive.scope(&id("x.plan.kdl"));
    assert_eq!(scope.cylinders.keys().collect::<Vec<_>>(), ["B", "C", "H", "X"]);
    assert_eq!(scope.divers.keys().collect::<Vec<_>>(), ["Rowan"]);
    let sight: Vec<_> = archive.in_sight(&id("x.plan.kdl")).iter().map(ToString::to_string).collect();
    assert_eq!(sight, ["x.plan.kdl", "leadsman.kdl", "crew.kit.kdl", "a.kit.kdl", "b.kit.kdl", "c.kit.kdl"]);
    assert_eq!(scope.house.uses[0].file, Some(id("crew.kit.kdl")));
}

#[test]
fn of_two_definitions_the_nearer_holds_and_both_are_named() {
    let files = [
        ("leadsman.kdl", "use \"a.kit.kdl\""),
        ("a.kit.kdl", "cylinder \"S\" size=12"),
        ("b.kit.kdl", "cylinder \"S\" size=10"),
        ("x.plan.kdl", "use \"b.kit.kdl\"\nplan \"x\" status=template"),
        ("y.plan.kdl", "cylinder \"S\" size=7\nplan \"x\" status=template"),
    ];
    let archive = archive(&files);
    let size = |file: &str| archive.scope(&id(file)).cylinders["S"].thing.size_l.as_ref().unwrap().value;
    assert_eq!((size("x.plan.kdl"), size("y.plan.kdl"), size("b.kit.kdl")), (12.0, 7.0, 10.0));
    let one = said(&archive, "x.plan.kdl", "duplicate-name");
    assert_eq!(one.len(), 1);
    assert_eq!(one[0].0, "\"b.kit.kdl\"");
    assert_eq!(one[0].1, "cylinder \"S\" is defined in a.kit.kdl and in b.kit.kdl; here the first holds");
    assert_eq!(said(&archive, "y.plan.kdl", "duplicate-name")[0].0, "\"S\"");
    assert_eq!(said(&archive, "a.kit.kdl", "duplicate-name"), []);
}

#[test]
fn of_a_copied_kit_file_what_a_plan_names_is_told_and_the_rest_in_one() {
    let kit = |names: &[&str]| names.iter().map(|name| format!("cylinder {name:?} size=12\n")).collect::<String>();
    let (all, few) = (kit(&["A", "B", "C", "D", "E"]), kit(&["A", "B", "C"]));
    let plan = |back: &str| {
        let dive = format!("dive \"one\" {{ descend 9; diver \"Rowan\" back={back:?}; }}");
        format!("use \"a.kit.kdl\"\nuse \"b.kit.kdl\"\nplan \"x\" {{ {dive} }}")
    };
    let told = |kit: &str, back: &str| -> Vec<String> {
        let archive = archive(&[("a.kit.kdl", kit), ("b.kit.kdl", kit), ("x.plan.kdl", &plan(back))]);
        let mut told: Vec<String> =
            said(&archive, "x.plan.kdl", "duplicate-name").into_iter().map(|(_, message)| message).collect();
        told.sort();
        told
    };
    let one = |name: &str| format!("cylinder {name:?} is defined in a.kit.kdl and in b.kit.kdl; here the first holds");
    assert_eq!(told(&few, "Z"), ["A", "B", "C"].map(one), "a few are told one by one");
    let rest = "names are defined in a.kit.kdl and in b.kit.kdl, \"A\", \"B\", \"C\" among them; here the first holds";
    assert_eq!(told(&all, "Z"), [format!("5 {rest}")]);
    let but_d = rest.replace("names", "other names");
    assert_eq!(told(&all, "D"), [format!("4 {but_d}"), one("D")]);
}

#[test]
fn a_ring_of_uses_is_told_once_a_file() {
    let files = [
        ("a.kit.kdl", "use \"b.kit.kdl\"\nuse \"d.kit.kdl\""),
        ("b.kit.kdl", "use \"c.kit.kdl\""),
        ("c.kit.kdl", "use \"a.kit.kdl\""),
        ("d.kit.kdl", "diver \"Rowan\""),
    ];
    let archive = archive(&files);
    for file in ["a.kit.kdl", "b.kit.kdl", "c.kit.kdl"] {
        assert_eq!(said(&archive, file, "use-cycle").len(), 1, "{file}");
        assert_eq!(archive.scope(&id(file)).divers.len(), 1, "{file}");
    }
    assert_eq!(said(&archive, "d.kit.kdl", "use-cycle"), []);
    let message = &said(&archive, "a.kit.kdl", "use-cycle")[0].1;
    assert!(message.contains("a.kit.kdl → b.kit.kdl → c.kit.kdl → a.kit.kdl"), "{message}");
}

#[test]
fn a_chain_of_uses_as_long_as_the_archive_overflows_no_stack() {
    let files: Vec<(String, String)> =
        (0..5_000).map(|n| (format!("{n}.kit.kdl"), format!("use \"{}.kit.kdl\"", (n + 1) % 5_000))).collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let archive = archive(&files);
    assert_eq!(archive.in_sight(&id("0.kit.kdl")).len(), 5_000);
    assert_eq!(said(&archive, "0.kit.kdl", "use-cycle").len(), 1);
}

#[test]
fn dependants_are_all_that_see_a_file() {
    let files = [
        ("leadsman.kdl", "use \"crew.kit.kdl\""),
        ("crew.kit.kdl", ""),
        ("kit/a.kit.kdl", "use \"b.kit.kdl\""),
        ("kit/b.kit.kdl", ""),
        ("t.plan.kdl", "use \"kit/a.kit.kdl\"\nplan \"t\" status=template"),
        ("x.plan.kdl", "plan \"x\" from=\"t.plan.kdl\""),
        ("y.plan.kdl", "plan \"y\""),
    ];
    let archive = archive(&files);
    let dependants = |file: &str| archive.dependants(&id(file)).iter().map(ToString::to_string).collect::<Vec<_>>();
    assert_eq!(dependants("kit/b.kit.kdl"), ["kit/a.kit.kdl", "kit/b.kit.kdl", "t.plan.kdl", "x.plan.kdl"]);
    assert_eq!(dependants("y.plan.kdl"), ["y.plan.kdl"]);
    assert_eq!(dependants("crew.kit.kdl").len(), 7, "the house brings it to every file");
    assert_eq!(dependants("leadsman.kdl").len(), 7);
    let changed = archive.with(&[Change::Open(id("y.plan.kdl"), Text::new("use \"kit/b.kit.kdl\"\nplan \"y\""))]);
    assert_eq!(changed.dependants(&id("kit/b.kit.kdl")).len(), 5);
}

#[test]
fn a_plans_site_may_be_its_own_or_the_clubs() {
    let site = |plan: &str| {
        let text = format!("use \"sites.kit.kdl\"\nplan \"x\" on=\"2027-05-15\" {{ {plan} }}");
        let sites = "site \"Greyfen quarry\" water=fresh altitude=210 depth-by=line { depth 38 }";
        let archive = archive(&[("x.plan.kdl", &text), ("sites.kit.kdl", sites)]);
        let faults = said(&archive, "x.plan.kdl", "unresolved-name").len();
        (archive.plan(&id("x.plan.kdl")).unwrap().site.clone().unwrap(), faults)
    };
    let (club, faults) = site("site \"Greyfen quarry\"");
    assert_eq!((club.altitude_m.unwrap().value, club.depth_m.unwrap().value, club.depth_by_line), (210.0, 38.0, true));
    assert_eq!(faults, 0);
    let (mixed, _) = site("site \"Greyfen quarry\" altitude=190 depth-by=instrument");
    assert_eq!((mixed.altitude_m.unwrap().value, mixed.depth_by_line), (190.0, false));
    assert_eq!(mixed.water.unwrap().place.file, id("sites.kit.kdl"));
    assert_eq!(site("site \"Greyfern quarry\"").1, 1);
    assert_eq!(site("site \"Blackmere\" water=salt").1, 0, "a site that is described here needs no other");
}
