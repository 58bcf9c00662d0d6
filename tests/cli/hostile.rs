//! Numbers that nobody means, in a plan that is otherwise whole: findings at their places, in bounded time and memory.

use std::time::{Duration, Instant};

use super::{Folder, Ran, is_honest, leadsman};

const PLAN: &str = r#"unit "u" kind=semi-closed {
    loop 5; feed constant=11 controlled=13; make-up yes
    floor o2=22; needs o2=34; reach depth=36 deco=15
}
cylinder "s" size=12 working=232 { fill 205 on="2027-05-14" o2=35 analysed=34.8; }
cylinder "b" size=12 working=232 { fill 200 on="2027-05-14" o2=32 analysed=32; }
diver "Rowan" { gas rest=16 peak=60; oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0; }
plan "Shelf" on="2027-05-15" status=draft {
    site "Greyfen quarry" water=fresh altitude=210 temperature=9
    limits { gradient low=45 high=80; reserve 50; }
    dive "morning" {
        descend 26 rate=15; stay 30 work=light; ascend
        diver "Rowan" unit="u" supply="s" bailout="b" set-point=26
    }
}
"#;

/// More than the slowest of these needs unoptimized on a busy machine; what hangs needs more.
const MOST_TIME: Duration = Duration::from_secs(60);

/// Runs the command with bounded memory, where the system can bound it.
pub(super) fn bounded(folder: &Folder, args: &[&str]) -> Ran {
    let began = Instant::now();
    let output = if cfg!(target_os = "linux") {
        let plain = leadsman(folder.root());
        let mut shell = std::process::Command::new("sh");
        let limit = "ulimit -v 1500000 && exec \"$0\" \"$@\"";
        shell.args(["-c", limit]).arg(plain.get_program()).args(args).current_dir(folder.root());
        shell.env_remove("NO_COLOR").output().unwrap()
    } else {
        leadsman(folder.root()).args(args).output().unwrap()
    };
    assert!(began.elapsed() < MOST_TIME, "{:?}", began.elapsed());
    let ran = Ran::of(output);
    assert!(!ran.err.contains("panicked"), "{ran:?}");
    ran
}

/// What a plan says and how its dive goes, whatever its numbers: neither loses its way.
fn looked_at(folder: &Folder, text: &str) -> Ran {
    folder.write("shelf.plan.kdl", text);
    let ran = bounded(folder, &["check", "--format=line", "shelf.plan.kdl"]);
    assert!(matches!(ran.code, Some(0 | 1)), "{text}\n{ran:?}");
    is_honest(&ran);
    let track = bounded(folder, &["track", "--every=600", "shelf.plan.kdl"]);
    assert!(matches!(track.code, Some(0 | 2)), "{text}\n{track:?}");
    for line in ran.out.lines().chain(track.out.lines()) {
        // A finding may quote what was written.
        let odd = line.split([' ', ':']).find(|word| matches!(*word, "NaN" | "inf" | "-inf" | "-0" | "-0.0" | "-0.00"));
        assert!(odd.is_none() || line.contains("can't be meant"), "{line}\n{text}");
    }
    ran
}

/// Where the numbers of a text stand that no name, date or word holds.
fn numbers(text: &str) -> Vec<(usize, usize)> {
    let bytes = text.as_bytes();
    let (mut found, mut at, mut quoted) = (Vec::new(), 0, false);
    while at < bytes.len() {
        quoted ^= bytes[at] == b'"';
        if quoted || !bytes[at].is_ascii_digit() || bytes[at - 1].is_ascii_alphabetic() {
            at += 1;
            continue;
        }
        let end = at + text[at..].find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len() - at);
        found.push((at, end));
        at = end;
    }
    found
}

#[test]
fn the_plan_itself_is_a_good_one() {
    let ran = looked_at(&Folder::new(&[]), PLAN);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert!(ran.out.contains("0 findings"), "{ran:?}");
    assert_eq!(numbers(PLAN).len(), 33);
}

#[test]
fn each_number_put_wrong_is_found_where_it_stands() {
    let folder = Folder::new(&[]);
    for (start, end) in numbers(PLAN) {
        let line = PLAN[..start].lines().count();
        for hostile in ["-1e9", "1e300", "#nan"] {
            let text = [&PLAN[..start], hostile, &PLAN[end..]].concat();
            let ran = looked_at(&folder, &text);
            let place = format!("shelf.plan.kdl:{line}:");
            assert!(ran.code == Some(1) && ran.out.lines().any(|said| said.starts_with(&place)), "{text}\n{ran:?}");
        }
    }
}

/// Nothing may be meant of much; where it may not, the plan can't be as it was.
#[test]
fn each_number_made_nothing_is_borne() {
    let folder = Folder::new(&[]);
    let may_be_nothing = ["altitude=", "temperature=", "reserve ", "stay "];
    for (start, end) in numbers(PLAN) {
        let ran = looked_at(&folder, &[&PLAN[..start], "0", &PLAN[end..]].concat());
        let may = may_be_nothing.iter().any(|word| PLAN[..start].ends_with(word));
        assert_eq!(ran.code, Some(i32::from(!may)), "{} {ran:?}", &PLAN[start.saturating_sub(12)..end]);
    }
}

#[test]
fn a_stay_of_a_week_and_a_depth_of_400_m_are_named() {
    let folder = Folder::new(&[]);
    for (written, hostile, says) in [
        ("stay 30", "stay 10000", "out-of-range: `stay` takes 0 to 1440 minutes"),
        ("descend 26", "descend 400", "out-of-range: `descend` takes 0 to 350 metres"),
    ] {
        let ran = looked_at(&folder, &PLAN.replace(written, hostile));
        assert!(ran.code == Some(1) && ran.out.contains(says), "{ran:?}");
    }
}

/// As long and as deep as the words allow, each by itself: the dive is run to its end and said to have none.
#[test]
fn the_longest_stay_and_the_greatest_depth_are_run() {
    let folder = Folder::new(&[]);
    let ran = looked_at(&folder, &PLAN.replace("stay 30", "stay 1440"));
    assert!(ran.code == Some(1) && ran.out.contains("endurance-short"), "{ran:?}");
    let ran = looked_at(&folder, &PLAN.replace("descend 26 rate=15", "descend 350"));
    assert!(ran.code == Some(1) && ran.out.contains("mod-exceeded") && ran.out.contains("depth-exceeded"), "{ran:?}");
}
