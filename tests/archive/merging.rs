//! Plans that start from templates.

use leadsman::plan::{Plan, Status};
use leadsman::words::LimitName;

use super::{archive, id, written};

const TEMPLATE: &str = r#"
measures imperial
plan "The shelf" on="2020-01-01" status=template {
    site "Greyfen quarry" water=fresh altitude=1000 temperature=50 {
        depth 120
        emergency chamber="County chamber" phone="000 555 0142"
    }
    limits {
        po2 working=1.3 deco=1.5
        reserve 600
    }
    dive "shelf" at="09:40" {
        descend 60
        stay 30 work=light
        ascend
        diver "Rowan" back="D12-2" role=lead
        diver "Ines" back="D12-3"
        otherwise "dark" {
            descend 30
            ascend
        }
    }
    interval 95
    dive "wall" {
        descend 90
        stay 10
        ascend
    }
}
"#;

fn merged(own: &str) -> std::sync::Arc<Plan> {
    let text = format!("plan \"Today\" on=\"2027-05-15\" from=\"t/shelf.plan.kdl\" {own}");
    let archive = archive(&[("today.plan.kdl", &text), ("t/shelf.plan.kdl", TEMPLATE)]);
    archive.plan(&id("today.plan.kdl")).unwrap()
}

#[test]
fn a_plan_that_says_nothing_is_its_template_on_another_day() {
    let plan = merged("");
    assert_eq!(plan.file, id("today.plan.kdl"));
    assert_eq!(plan.name.value, "Today");
    assert_eq!(plan.on.as_ref().unwrap().value.to_string(), "2027-05-15");
    assert_eq!(plan.status, Status::Draft, "a template's status is its own");
    let site = plan.site.as_ref().unwrap();
    // The template's measures are imperial, whatever the plan's are: 1000 ft, 50 °F, 120 ft, 600 psi.
    assert!((site.altitude_m.as_ref().unwrap().value - 304.8).abs() < 1e-9);
    assert!((site.temperature_c.as_ref().unwrap().value - 10.0).abs() < 1e-9);
    assert!((site.depth_m.as_ref().unwrap().value - 36.576).abs() < 1e-9);
    assert!((plan.limits.set(LimitName::Reserve).unwrap().value - 41.368_543_759).abs() < 1e-6);
    // Partial pressures are bar in any file.
    assert_eq!(plan.limits.set(LimitName::Po2Working).unwrap().value, 1.3);
    assert_eq!(plan.dives.len(), 2);
    assert_eq!(plan.intervals_min[0].as_ref().unwrap().value, 95.0);
    assert_eq!(plan.dives[0].header.file, id("t/shelf.plan.kdl"), "each value keeps the place it was read from");
    assert_eq!(plan.from.as_ref().unwrap().file, Some(id("t/shelf.plan.kdl")));
}

#[test]
fn site_and_limits_merge_child_by_child_and_the_plans_word_wins() {
    let plan =
        merged("{ site \"Greyfen quarry\" temperature=4 { depth 30 }\n limits { po2 working=1.2; overrun depth=2 } }");
    let site = plan.site.as_ref().unwrap();
    assert_eq!(site.temperature_c.as_ref().unwrap().value, 4.0);
    assert_eq!(site.depth_m.as_ref().unwrap().value, 30.0, "metres here, feet in the template");
    assert_eq!(site.water.as_ref().unwrap().value, "fresh");
    assert!((site.altitude_m.as_ref().unwrap().value - 304.8).abs() < 1e-9);
    assert!(site.emergency.is_some());
    let limits = &plan.limits;
    assert_eq!(limits.set(LimitName::Po2Working).unwrap().value, 1.2);
    assert!(limits.said(LimitName::Po2Deco).is_none(), "`po2` is replaced whole");
    assert!(limits.said(LimitName::Reserve).is_some(), "`reserve` stays");
    assert_eq!(limits.set(LimitName::OverrunDepth).unwrap().value, 2.0);
    let template = plan.template_limits.as_ref().unwrap();
    assert_eq!(template.set(LimitName::Po2Deco).unwrap().value, 1.5);
    assert!(template.said(LimitName::OverrunDepth).is_none());
}

#[test]
fn another_site_takes_nothing_from_the_templates() {
    let plan = merged("{ site \"Blackmere\" water=salt }");
    let site = plan.site.as_ref().unwrap();
    assert_eq!(site.name.as_ref().unwrap().value, "Blackmere");
    assert!(site.altitude_m.is_none() && site.depth_m.is_none() && site.emergency.is_none());
}

#[test]
fn one_leg_replaces_all_legs_and_nothing_else() {
    let plan = merged("{ dive \"shelf\" { descend 12\n ascend } }");
    let dive = &plan.dives[0];
    let kinds: Vec<_> = dive.legs.iter().map(|leg| leg.kind.word()).collect();
    assert_eq!(kinds, ["descend", "ascend"]);
    assert_eq!(dive.legs[0].depth_m().unwrap().value, 12.0);
    assert_eq!(dive.divers.len(), 2);
    assert_eq!(dive.otherwise.len(), 1);
    assert_eq!(dive.at.as_ref().unwrap().value.to_string(), "09:40:00");
    assert_eq!(plan.dives[1].legs.len(), 3, "the other dive is left alone");
}

#[test]
fn divers_and_alternatives_are_replaced_whole_by_name() {
    let plan = merged(
        "{ dive \"shelf\" at=\"10:00\" { diver \"Ines\" back=\"D12-9\"\n diver \"Ada\"\n otherwise \"dark\" { descend 6 } } }",
    );
    let dive = &plan.dives[0];
    let names: Vec<_> = dive.divers.iter().map(|diver| diver.name.value.as_str()).collect();
    assert_eq!(names, ["Rowan", "Ines", "Ada"]);
    assert_eq!(dive.divers[0].role.as_ref().unwrap().value, "lead");
    assert_eq!(dive.divers[1].cylinders[0].name.value, "D12-9");
    assert_eq!(dive.legs.len(), 3, "an alternative's legs are not the dive's");
    assert_eq!(dive.otherwise[0].legs.len(), 1);
    assert_eq!(dive.at.as_ref().unwrap().value.to_string(), "10:00:00");
}

#[test]
fn intervals_stay_between_the_dives_they_were_written_between() {
    let minutes = |own: &str| -> (Vec<String>, Vec<Option<f64>>) {
        let plan = merged(own);
        let names = plan.dives.iter().map(|dive| dive.name.value.clone()).collect();
        (names, plan.intervals_min.iter().map(|minutes| minutes.as_ref().map(|m| m.value)).collect())
    };
    let names = |n: &[&str]| n.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>();
    assert_eq!(minutes("{ interval 60 }"), (names(&["shelf", "wall"]), vec![Some(60.0)]));
    let night = "{ interval 60\n dive \"night\" { descend 6 } }";
    assert_eq!(minutes(night), (names(&["shelf", "wall", "night"]), vec![Some(95.0), Some(60.0)]));
    let again = "{ dive \"shelf\"\n interval 120\n dive \"wall\"\n dive \"night\" }";
    assert_eq!(minutes(again), (names(&["shelf", "wall", "night"]), vec![Some(120.0), None]));
}

#[test]
fn a_template_may_start_from_a_template() {
    let base = r#"plan "Base" status=template { limits { gradient low=40 high=70; react 2 } }"#;
    let middle = r#"plan "Middle" status=template from="base.plan.kdl" { limits { gradient low=45 high=80 } }"#;
    let top = r#"plan "Top" on="2027-05-15" from="middle.plan.kdl" { limits { reserve 60 } }"#;
    let files = [("base.plan.kdl", base), ("middle.plan.kdl", middle), ("top.plan.kdl", top)];
    let archive = archive(&files);
    let plan = archive.plan(&id("top.plan.kdl")).unwrap();
    assert_eq!(plan.limits.set(LimitName::GradientHigh).unwrap().value, 80.0);
    assert_eq!(plan.limits.set(LimitName::React).unwrap().value, 2.0);
    assert_eq!(plan.template_limits.as_ref().unwrap().set(LimitName::React).unwrap().value, 2.0);
    assert_eq!(written(&archive, &plan.limits.set(LimitName::Reserve).unwrap().place), "60");
    assert_eq!(written(&archive, &plan.limits.set(LimitName::GradientHigh).unwrap().place), "80");
}

#[test]
fn templates_in_a_ring_are_survived() {
    let ring = |from: &str| format!("plan \"x\" status=template from=\"{from}\" {{ limits {{ react 2 }} }}");
    let (a, b) = (ring("b.plan.kdl"), ring("a.plan.kdl"));
    let archive = archive(&[("a.plan.kdl", &a), ("b.plan.kdl", &b)]);
    assert_eq!(archive.plan(&id("a.plan.kdl")).unwrap().limits.set(LimitName::React).unwrap().value, 2.0);
    for file in ["a.plan.kdl", "b.plan.kdl"] {
        assert_eq!(super::said(&archive, file, "use-cycle").len(), 1, "{file}");
    }
}

#[test]
fn what_the_house_says_holds_where_nobody_else_speaks() {
    let house = "limits { po2 working=1.4 deco=1.6; depth 36 }";
    let text = "plan \"x\" on=\"2027-05-15\" { limits { po2 working=1.3 } }";
    let archive = archive(&[("leadsman.kdl", house), ("plans/x.plan.kdl", text)]);
    let limits = &archive.plan(&id("plans/x.plan.kdl")).unwrap().limits;
    assert_eq!(limits.set(LimitName::Po2Working).unwrap().value, 1.3);
    // The house's limits hold one by one, not node by node: nobody lifts one by speaking of another.
    assert_eq!(limits.set(LimitName::Po2Deco).unwrap().value, 1.6);
    assert_eq!(limits.set(LimitName::Depth).unwrap().place.file, id("leadsman.kdl"));
}
