//! A club's archive, made from a seed: years of plans over a shared kit and crew, with dated records, a template, and a
//! share of plans with a flaw. The same seed makes the same bytes on every machine.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use jiff::ToSpan;
use jiff::civil::{Date, date};

/// What to make.
#[derive(Debug, Clone, Copy)]
pub struct Club {
    /// How many plans.
    pub plans: usize,
    /// What all chance comes from.
    pub seed: u64,
    /// Of a hundred plans so many have a flaw.
    pub flawed_percent: u64,
    /// The last plans, so many, are still to be dived; all others were.
    pub ready: usize,
}

/// Teams that dive on one day, two divers each.
const TEAMS: usize = 4;

/// The numbers of a seed: Steele, Lea and Flood's SplitMix64 (2014).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from one to another, both possible.
    fn between(&mut self, from: u64, to: u64) -> u64 {
        from + self.next() % (to - from + 1)
    }

    fn one_in(&mut self, share: u64) -> bool {
        self.next().is_multiple_of(share)
    }
}

/// The dive days, in order: Wednesdays, Saturdays and Sundays.
fn days() -> impl Iterator<Item = Date> {
    let first = date(2017, 1, 4);
    (0..).flat_map(move |week: i64| [0, 3, 4].map(|day| first.checked_add((7 * week + day).days()).unwrap()))
}

impl Club {
    /// The files by their paths below the root.
    pub fn files(&self) -> BTreeMap<String, String> {
        let mut chance = Chance(self.seed);
        let mut files = BTreeMap::from([
            ("leadsman.kdl".to_owned(), HOUSE.to_owned()),
            ("crew.kit.kdl".to_owned(), crew()),
            ("templates/morning.plan.kdl".to_owned(), TEMPLATE.to_owned()),
        ]);
        for (number, (on, team)) in days().flat_map(|day| (0..TEAMS).map(move |team| (day, team))).enumerate() {
            if number == self.plans {
                break;
            }
            let year = on.year();
            files.entry(format!("kit/{year}.kit.kdl")).or_insert_with(|| kit(year));
            let records = files.entry(format!("records/{year}-{:02}.kit.kdl", on.month())).or_insert_with(|| {
                format!("// What was filled, packed and measured.\nuse \"../kit/{year}.kit.kdl\"\n\n")
            });
            self.plan(&mut chance, number, on, team, records).into_iter().for_each(|(path, text)| {
                files.insert(path, text);
            });
        }
        files
    }

    fn plan(
        &self,
        chance: &mut Chance,
        number: usize,
        on: Date,
        team: usize,
        records: &mut String,
    ) -> Option<(String, String)> {
        let ready = number + self.ready >= self.plans;
        let flaw = (chance.between(1, 100) <= self.flawed_percent).then(|| chance.between(0, 6));
        let (depth, stay) = (chance.between(15, 27), chance.between(14, 24));
        let twice = chance.one_in(2);
        let divers = [2 * team, 2 * team + 1];
        // Of the day itself: what is dated on a day of dives is taken to lie before them.
        let before = on;
        for diver in divers {
            let gauge = chance.between(198, 212);
            let analysed = 348 + chance.between(0, 4);
            let cylinder = |kind: &str, gauge: u64, mix: &str| {
                format!(
                    "record \"{kind}-{diver:02}\" {{ fill {gauge} on=\"{before}\" by=\"{}\" {mix} }}\n",
                    name(diver)
                )
            };
            records.push_str(&cylinder("S12", gauge, &format!("o2=35 analysed={}.{}", analysed / 10, analysed % 10)));
            records.push_str(&cylinder("T12", gauge - 2, "o2=36 analysed=36.1"));
            records.push_str(&cylinder("S7", 225, "o2=32 analysed=31.9"));
            records.push_str(&cylinder("D7", 195, "o2=80 analysed=79.6"));
            let _ = write!(
                records,
                "record \"fen-{diver}\" {{\n    calibrated on=\"{on}\"\n    flow 11.{} on=\"{on}\"\n    battery \"controller\" {{ charge {} on=\"{on}\" }}\n}}\n",
                chance.between(0, 2),
                chance.between(80, 99),
            );
            let _ = writeln!(records, "record \"c-{diver}\" {{ packed on=\"{before}\" }}");
        }
        let mut text = String::new();
        let _ = write!(
            text,
            "use \"../../crew.kit.kdl\"\nuse \"../../kit/{year}.kit.kdl\"\nuse \"../../records/{year}-{month:02}.kit.kdl\"\n\n\
             plan \"Greyfen quarry, team {team}\" on=\"{on}\" status={status}{from} {{\n{SITE}\n{limits}\n",
            // One in five starts from the club's template and takes its limits.
            from = if number.is_multiple_of(5) { " from=\"../../templates/morning.plan.kdl\"" } else { "" },
            limits = if number.is_multiple_of(5) { "" } else { LIMITS },
            year = on.year(),
            month = on.month(),
            status = if ready { "ready" } else { "dived" },
        );
        let deepest = if flaw == Some(0) { 43 } else { depth };
        let stay_word = if flaw == Some(1) { "saty" } else { "stay" };
        let _ = write!(
            text,
            "    dive \"morning\" at=\"09:{minute:02}\" {{\n        descend {deepest} rate=15\n        {stay_word} {stay} work=light   // along the wall and back\n        ascend 9 rate=9\n        stay 5 work=moderate\n        ascend\n\n",
            minute = 10 * team,
        );
        let supply = |diver: usize, kind: &str| match flaw {
            Some(2) if diver == divers[0] => format!("{kind}-9{diver}"),
            _ => format!("{kind}-{diver:02}"),
        };
        let set_point = if flaw == Some(3) { 38 } else { 26 };
        for diver in divers {
            let _ = writeln!(
                text,
                "        diver \"{}\" unit=\"fen-{diver}\" supply=\"{}\" deco=\"D7-{diver:02}\" bailout=\"S7-{diver:02}\" set-point={set_point}",
                name(diver),
                supply(diver, "S12"),
            );
        }
        let minutes = stay + 12 + depth / 5;
        if !ready {
            for diver in divers {
                let _ = writeln!(
                    text,
                    "        dived \"{}\" minutes={minutes} depth={depth}.{} {{ cylinder \"S12-{diver:02}\" from=20{} to={}; bed first={minutes} }}",
                    name(diver),
                    chance.between(0, 9),
                    chance.between(0, 5),
                    chance.between(95, 150),
                );
            }
        }
        text.push_str("    }\n");
        if twice {
            let shallow = chance.between(10, 15);
            let _ = write!(
                text,
                "\n    interval {}\n\n    dive \"afternoon\" {{\n        descend {shallow}\n        stay {} work=light\n        ascend\n",
                if flaw == Some(4) { "\"95 min\"".to_owned() } else { chance.between(90, 150).to_string() },
                chance.between(15, 25),
            );
            for diver in divers {
                let _ = writeln!(
                    text,
                    "        diver \"{}\" unit=\"fen-{diver}\" supply=\"T12-{diver:02}\" bailout=\"S7-{diver:02}\" set-point=26",
                    name(diver),
                );
            }
            text.push_str("    }\n");
        }
        match flaw {
            Some(5) => text.push_str("    allow \"oxygen-clock\"\n"),
            // Half typed.
            Some(6) => {
                text.push_str("    dive \"evening\" {\n");
                return Some((path(on, team), text));
            }
            _ => {}
        }
        text.push_str("}\n");
        Some((path(on, team), text))
    }
}

fn path(on: Date, team: usize) -> String {
    format!("plans/{}/{on}-{team}.plan.kdl", on.year())
}

/// Invented names, one a diver.
fn name(diver: usize) -> &'static str {
    ["Rowan", "Ines", "Maren", "Tobin", "Edda", "Corin", "Isolde", "Falk"][diver % (2 * TEAMS)]
}

fn crew() -> String {
    let mut text = String::from("// The club's divers.\n");
    for diver in 0..2 * TEAMS {
        let _ = write!(
            text,
            "\ndiver \"{}\" {{\n    trained kind=semi-closed depth=34 deco=12 on=\"2016-08-02\"\n    trained kind=open depth=39 deco=10 on=\"2012-06-11\"\n    gas rest=1{} peak=5{}\n    oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0\n    fit until=\"2060-12-31\"\n    lives altitude=40\n}}\n",
            name(diver),
            4 + diver % 3,
            2 + diver % 7,
        );
    }
    text
}

/// The kit of one year: cells are fitted anew each January.
fn kit(year: i16) -> String {
    let mut text = format!("// The club's kit of {year}.\n");
    for diver in 0..2 * TEAMS {
        let _ = write!(
            text,
            "\nunit \"fen-{diver}\" kind=semi-closed serial=\"A-{diver:04}\" {{\n    loop 5\n    feed constant=11 controlled=13\n    make-up yes\n    floor o2=22\n    needs o2=34\n    reach depth=36 deco=15 coldest=6\n    mouthpiece open-circuit=bailout\n    bed \"c-{diver}\"\n"
        );
        for (cell, month) in [("a", 1), ("b", 2)] {
            let _ = write!(
                text,
                "    cell \"{cell}\" fitted=\"{}-{month:02}-02\" life=(months)24 {{\n        reading on=\"{year}-01-03\" air=10.{} oxygen=49.{}\n    }}\n",
                year - 1,
                diver % 4,
                1 + 4 * (diver % 2),
            );
        }
        let _ = write!(
            text,
            "    battery \"controller\" least=50 {{ charge 90 on=\"{year}-01-01\" }}\n    service due=\"{}-01-31\"\n}}\n",
            year + 1
        );
        let _ = write!(
            text,
            "\ncanister \"c-{diver}\" absorbent=2.6 {{\n    rated minutes=200 co2=1.6 temperature=4\n    packed on=\"{year}-01-01\"\n}}\n"
        );
        for (kind, size) in [("S12", 12), ("T12", 12), ("S7", 7), ("D7", 7)] {
            let _ = write!(
                text,
                "\ncylinder \"{kind}-{diver:02}\" size={size} working=232 {{\n    test due=\"{}-03-01\"\n    clean due=\"{}-03-01\"\n}}\n",
                year + 2,
                year + 1,
            );
        }
    }
    text
}

const HOUSE: &str = "// The club's house rules.
limits {
    po2 working=1.4 deco=1.6 bailout=1.6 least=0.18
    reserve 50
    depth 36
}
";

const SITE: &str = "    site \"Greyfen quarry\" water=fresh altitude=210 temperature=9 {
        depth 38
        emergency chamber=\"County chamber\" phone=\"000 555 0142\" {
            oxygen size=10 pressure=200 count=2
            evacuation 45
        }
    }
";

const LIMITS: &str = "    limits {
        gradient low=45 high=80
        overrun depth=2 time=4             // the plan must also hold this much deeper, longer, and both
    }
";

const TEMPLATE: &str = "// A morning in the quarry.
plan \"A morning in the quarry\" status=template {
    limits {
        gradient low=45 high=80
        overrun depth=2 time=4
    }
    dive \"morning\" {
        descend 18 rate=15
        stay 30 work=light
        ascend
    }
}
";
