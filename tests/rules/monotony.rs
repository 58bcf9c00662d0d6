//! A plan made worse never loses an error: what a diver takes less of, works harder for or stays longer with is not mended by it.
//!
//! Each kind of change names the families of rules that it can only make worse. What physics turns the other way stands in
//! [`excused`], with the reason. A change that leaves a dive that can't end may say so by `never-surfaces` alone.

use std::fmt::Write as _;

use leadsman::findings::{Finding, Level};
use leadsman::rules::{Family, find};
use proptest::prelude::*;
use proptest::sample::select;

use super::unsaved;

/// What a diver breathes from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    Open,
    SemiClosed,
    Passive,
    Closed,
}

/// A cylinder: litres, bar, percent of oxygen.
#[derive(Debug, Clone, Copy)]
struct Held {
    size: u32,
    bar: u32,
    o2: u32,
}

/// A day of one diver, as far as it is drawn.
#[derive(Debug, Clone)]
struct Day {
    kind: Kind,
    /// Of each dive: its depth, the minutes there, the minutes at half the depth.
    dives: Vec<(u32, u32, u32)>,
    interval_min: u32,
    work: usize,
    main: Held,
    bailout: Option<Held>,
    deco: Option<Held>,
    oxygen_bar: u32,
    set_point: u32,
    reserve: u32,
    gradient: (u32, u32),
    shallowest: u32,
    charge: u32,
    rated_min: u32,
    packed_days_ago: u32,
    cell_months: u32,
    tells_overrun: bool,
}

const WORK: [&str; 5] = ["rest", "light", "moderate", "heavy", "peak"];

impl Day {
    fn text(&self) -> String {
        let mut dives = String::new();
        for (number, (depth, stay, half)) in self.dives.iter().enumerate() {
            if number > 0 {
                let _ = writeln!(dives, "    interval {}", self.interval_min);
            }
            let _ = write!(
                dives,
                "    dive \"{}\" {{\n        descend {depth}\n        stay {stay} work={}\n",
                number + 1,
                WORK[self.work]
            );
            if *half > 0 {
                let _ = writeln!(dives, "        ascend {}\n        stay {half} work={}", depth / 2, WORK[self.work]);
            }
            let _ = writeln!(dives, "        ascend\n        diver \"Rowan\" {}\n    }}", self.carries());
        }
        let overrun = if self.tells_overrun { "overrun depth=2 time=4" } else { "" };
        let mut text = format!(
            "plan \"Greyfen quarry\" on=\"2027-05-15\" status=ready {{\n    site \"Greyfen quarry\" water=fresh altitude=210 temperature=12 {{\n        depth 60\n    }}\n    limits {{\n        reserve {}\n        gradient low={} high={}\n        shallowest-stop {}\n        {overrun}\n    }}\n{dives}}}\n",
            self.reserve, self.gradient.0, self.gradient.1, self.shallowest,
        );
        text += &self.unit();
        let mut cylinder = |name: &str, held: Held| {
            let Held { size, bar, o2 } = held;
            let _ = writeln!(
                text,
                "cylinder \"{name}\" size={size} working=300 {{ fill {bar} on=\"2027-05-14\" by=\"Ines\" o2={o2} analysed={o2}; }}"
            );
        };
        cylinder("S12-04", self.main);
        if let Some(bailout) = self.bailout {
            cylinder("S7-14", bailout);
        }
        if let Some(deco) = self.deco {
            cylinder("S7-11", deco);
        }
        if self.kind == Kind::Closed {
            cylinder("S3-01", Held { size: 3, bar: self.oxygen_bar, o2: 100 });
        }
        text += "diver \"Rowan\" {\n    trained kind=open depth=60 deco=60 on=\"2025-08-02\"\n    trained kind=semi-closed depth=60 deco=60 on=\"2025-08-02\"\n    trained kind=passive depth=60 deco=60 on=\"2025-08-02\"\n    trained kind=closed depth=60 deco=60 on=\"2025-08-02\"\n    gas rest=16 peak=60\n    oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0\n}\n";
        text
    }

    fn carries(&self) -> String {
        let mut says = match self.kind {
            Kind::Open => "unit=\"fen-3\" back=\"S12-04\"".to_owned(),
            Kind::SemiClosed => format!("unit=\"fen-3\" supply=\"S12-04\" set-point={}", self.set_point),
            Kind::Passive => "unit=\"fen-3\" supply=\"S12-04\"".to_owned(),
            Kind::Closed => format!(
                "unit=\"fen-3\" diluent=\"S12-04\" oxygen=\"S3-01\" set-point={}",
                f64::from(self.set_point) / 22.0
            ),
        };
        if self.bailout.is_some() {
            says += " bailout=\"S7-14\"";
        }
        if self.deco.is_some() {
            says += " deco=\"S7-11\"";
        }
        says
    }

    fn unit(&self) -> String {
        let what = match self.kind {
            Kind::Open => return "unit \"fen-3\" kind=open {\n    mouthpiece open-circuit=back\n}\n".to_owned(),
            Kind::SemiClosed => {
                "kind=semi-closed {\n    loop 5\n    feed constant=11 controlled=13\n    make-up yes\n    floor o2=22\n    needs o2=30"
            }
            Kind::Passive => "kind=passive {\n    loop 7\n    spill ratio=8\n    floor o2=21",
            Kind::Closed => "kind=closed inject=4 {\n    loop 5\n    make-up yes",
        };
        // Months since the year 0, from May 2027 back.
        let fitted = 2027 * 12 + 4 - self.cell_months;
        let (year, month) = (fitted / 12, fitted % 12 + 1);
        let cells: String = ["a", "b", "c"].iter().map(|name| {
            format!("    cell \"{name}\" fitted=\"{year}-{month:02}-03\" life=(months)12 {{\n        reading on=\"2027-05-14\" air=10.4 oxygen=49.5\n    }}\n")
        }).collect();
        format!(
            "unit \"fen-3\" {what}\n    reach depth=60 deco=60 coldest=4\n    mouthpiece open-circuit=bailout\n    bed \"c-31\"\n    pre-breathe 5\n{cells}    calibrated on=\"2027-05-15\"\n    flow 11 on=\"2027-05-15\"\n    battery \"controller\" least=40 lasts=300 {{ charge {} on=\"2027-05-15\"; }}\n}}\ncanister \"c-31\" absorbent=2.6 {{\n    rated minutes={} co2=1.6 temperature=4\n    packed on=\"2027-05-{:02}\"\n}}\n",
            self.charge,
            self.rated_min,
            15 - self.packed_days_ago,
        )
    }
}

/// A change for the worse: what it is called, what it does to a day, and the families that lose no error by it.
type Change = (&'static str, fn(&mut Day), fn(&str, Family) -> bool);

fn supply(rule: &str, family: Family) -> bool {
    matches!(family, Family::Supply | Family::Contingency) || rule == "never-surfaces"
}

fn equipment(_: &str, family: Family) -> bool {
    matches!(family, Family::Unit | Family::Supply)
}

fn effort(rule: &str, family: Family) -> bool {
    matches!(family, Family::Supply | Family::Unit) || rule == "mix-below-minimum"
}

fn time(_: &str, family: Family) -> bool {
    matches!(family, Family::Supply | Family::Exposure)
}

fn exposure(_: &str, family: Family) -> bool {
    family == Family::Exposure
}

const CHANGES: &[Change] = &[
    ("less in the main cylinder", |day| day.main.bar = day.main.bar * 2 / 3, supply),
    ("a smaller main cylinder", |day| day.main.size = day.main.size * 2 / 3, supply),
    ("less to get out on", |day| day.bailout.iter_mut().for_each(|held| held.bar = held.bar * 2 / 3), supply),
    ("less for the stops", |day| day.deco.iter_mut().for_each(|held| held.bar = held.bar * 2 / 3), supply),
    ("less oxygen", |day| day.oxygen_bar = day.oxygen_bar * 2 / 3, supply),
    ("a larger reserve", |day| day.reserve += 20, supply),
    ("an emptier battery", |day| day.charge = day.charge * 3 / 4, equipment),
    ("fewer rated minutes", |day| day.rated_min = day.rated_min * 3 / 4, equipment),
    ("older cells", |day| day.cell_months += 3, equipment),
    ("harder work", |day| day.work = (day.work + 1).min(WORK.len() - 1), effort),
    ("a longer stay", |day| day.dives[0].1 += 4, time),
    ("a shorter interval", |day| day.interval_min = day.interval_min * 2 / 3, exposure),
];

/// What physics turns the other way, by change and rule, and why.
fn excused(day: &Day, change: &str, rule: &str) -> bool {
    match (change, rule) {
        // Hard work on a fed loop lowers its oxygen, and so the clock of it; gas that ends the dive sooner does as well.
        ("harder work", "oxygen-clock" | "oxygen-units") => true,
        // With no bailout left to speak of, a richer or leaner one has no rule of its own to break.
        _ => day.dives.is_empty() && rule.is_empty(),
    }
}

fn held(size: impl Strategy<Value = u32>, o2: impl Strategy<Value = u32>) -> impl Strategy<Value = Held> {
    (size, 40..240_u32, o2).prop_map(|(size, bar, o2)| Held { size, bar, o2 })
}

prop_compose! {
    fn days()(
        kind in select(vec![Kind::Open, Kind::SemiClosed, Kind::Passive, Kind::Closed]),
        dives in prop::collection::vec((9..45_u32, 5..30_u32, prop_oneof![2 => Just(0_u32), 1 => 3..10_u32]), 1..3),
        interval_min in 20..240_u32,
        work in 1..4_usize,
        main in held(select(vec![7, 12, 15, 18]), 21..41_u32),
        bailout in prop::option::weighted(0.8, held(select(vec![7, 10, 12]), 21..34_u32)),
        deco in prop::option::weighted(0.4, held(select(vec![7, 11]), 50..81_u32)),
        (oxygen_bar, set_point, reserve) in (30..200_u32, 24..30_u32, 20..70_u32),
        gradient in (30..70_u32, 0..30_u32).prop_map(|(low, more)| (low, low + more)),
        shallowest in select(vec![3, 6]),
        (charge, rated_min) in (35..100_u32, 60..240_u32),
        (packed_days_ago, cell_months) in (0..5_u32, 1..14_u32),
        tells_overrun in any::<bool>(),
    ) -> Day {
        Day {
            kind, dives, interval_min, work, main, bailout, deco, oxygen_bar, set_point, reserve, gradient, shallowest, charge,
            rated_min, packed_days_ago, cell_months, tells_overrun,
        }
    }
}

/// Whether another rule's error speaks of the same cause, as one of the two alone does.
fn takes_over(rule: &str, other: &str) -> bool {
    match (rule, other) {
        // Gas that the way out takes from the first minute on is the end of the dive's gas.
        ("bailout-short", "endurance-short") => true,
        // What already goes wrong as planned is told of the plan, and no more of the plan with a failure.
        ("contingency-uncovered" | "shared-ascent-short", "endurance-short" | "bailout-short") => true,
        (_, "never-surfaces") => true,
        _ => rule == other,
    }
}

/// The errors of a day.
fn errors(day: &Day) -> Vec<Finding> {
    let (archive, files) = unsaved(&[("a.plan.kdl".to_owned(), day.text())]);
    archive.findings(&files[0]).into_iter().filter(|finding| finding.level == Level::Error).collect()
}

fn family(finding: &Finding) -> Family {
    find(&finding.rule).unwrap().family
}

#[test]
fn what_is_drawn_can_be_read() {
    let mut runner = proptest::test_runner::TestRunner::new(crate::seed::properties(40));
    runner
        .run(&days(), |day| {
            let language = errors(&day).into_iter().find(|finding| family(finding) == Family::Language);
            prop_assert!(language.is_none(), "{language:?}\n{}", day.text());
            Ok(())
        })
        .unwrap();
}

proptest! {
    #![proptest_config(crate::seed::properties(400))]

    #[test]
    fn no_change_for_the_worse_loses_an_error(day in days(), which in 0..CHANGES.len()) {
        let (name, change, concerns) = CHANGES[which];
        let mut worse = day.clone();
        change(&mut worse);
        let (before, after) = (errors(&day), errors(&worse));
        for error in before.iter().filter(|error| concerns(&error.rule, family(error))) {
            let same = |other: &&Finding| (&other.about.dive, &other.about.diver) == (&error.about.dive, &error.about.diver);
            let kept = after.iter().filter(same).any(|other| takes_over(&error.rule, &other.rule));
            prop_assert!(
                kept || excused(&day, name, &error.rule),
                "{name} takes away: {}: {}\nleaving {:#?}\n{}",
                error.rule, error.message, after.iter().map(|other| format!("{}: {}", other.rule, other.message)).collect::<Vec<_>>(), day.text(),
            );
        }
    }
}
