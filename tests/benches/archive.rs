//! A club's archive of some thousand plans: checked from nothing, and while a plan is typed in it.
#![allow(missing_docs, clippy::unwrap_used)]

mod club;

use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use leadsman::archive::{Archive, Change, Memory};
use leadsman::source::{FileId, Span, Text};

use self::club::Club;

fn host(plans: usize) -> Memory {
    let club = Club { plans, seed: 1, flawed_percent: 3, ready: plans / 100 };
    club.files().into_iter().fold(Memory::new(), |host, (path, text)| host.file(format!("/club/{path}"), text))
}

fn whole(bench: &mut Criterion) {
    let host = Arc::new(host(1_000));
    bench.bench_function("a thousand plans, from nothing", |bench| {
        bench.iter(|| {
            let archive = Archive::open(host.clone(), Path::new("/club"));
            black_box(archive.check(&archive.walk(&[]), &|| ()))
        });
    });
}

/// A plan of some two hundred lines: a dozen short dives of one day, ready to be dived.
fn long_plan() -> String {
    let mut text = String::from(
        "use \"../../crew.kit.kdl\"\nuse \"../../kit/2024.kit.kdl\"\nuse \"../../records/2024-05.kit.kdl\"\n\n\
         plan \"Greyfen quarry, a long day\" on=\"2024-05-19\" status=ready {\n    site \"Greyfen quarry\" water=fresh \
         altitude=210 temperature=9 {\n        depth 38\n    }\n    limits {\n        gradient low=45 high=80\n        \
         overrun depth=2 time=4\n    }\n",
    );
    for dive in 0..12 {
        text.push_str(&format!(
            "    dive \"dive {dive}\" {{\n        descend {} rate=15\n        stay 8 work=light   // along the wall\n        \
             ascend 9 rate=9\n        stay 2 work=moderate\n        // home, slowly\n        ascend\n\n        diver \
             \"Rowan\" unit=\"fen-0\" supply=\"S12-00\" bailout=\"S7-00\" set-point=26\n        diver \"Ines\" \
             unit=\"fen-1\" supply=\"S12-01\" bailout=\"S7-01\" set-point=26\n        // and again\n    }}\n\n    interval \
             90\n\n",
            12 + dive % 5,
        ));
    }
    text.push_str("}\n");
    text
}

/// What a series of answers took.
fn tell(what: &str, mut took: Vec<Duration>) {
    took.sort_unstable();
    let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize];
    println!("{what:<60} median {:>9.3?}  99 % {:>9.3?}  most {:>9.3?}", at(0.5), at(0.99), at(1.0));
}

/// From an edit to its findings, at every character of a plan that is typed in an archive of five thousand.
fn typing(_: &mut Criterion) {
    let text = long_plan();
    let file = FileId::new("plans/2024/2024-05-19-9.plan.kdl");
    for plans in [0, 5_000] {
        let mut archive = Archive::open(Arc::new(host(plans.max(12))), Path::new("/club"));
        archive.check(&archive.walk(&[]), &|| ());
        let mut typed = Text::from_bytes(b"");
        let mut took = Vec::new();
        for (at, letter) in text.char_indices() {
            typed = typed.edited(Span::at(at as u32), letter.encode_utf8(&mut [0; 4]));
            let began = Instant::now();
            archive = archive.with(&[Change::Open(file.clone(), typed.clone())]);
            black_box(archive.findings(&file));
            took.push(began.elapsed());
        }
        tell(&format!("a character typed into {} lines beside {plans} plans", text.lines().count()), took);
    }
}

/// From an edit of what many use to the findings of twenty open plans that use it.
fn dependants(_: &mut Criterion) {
    let archive = Archive::open(Arc::new(host(5_000)), Path::new("/club"));
    archive.check(&archive.walk(&[]), &|| ());
    let plans: Vec<FileId> = archive.walk(&[]).into_iter().filter(|file| file.as_str().contains("/2024-05-")).collect();
    let open: Vec<&FileId> = plans.iter().take(20).collect();
    let kit = FileId::new("kit/2024.kit.kdl");
    let mut archive = archive;
    let mut text = archive.text(&kit).unwrap();
    let mut took = Vec::new();
    for round in 0..40 {
        let at = text.as_str().find("loop 5").unwrap() as u32 + 5;
        text = text.edited(Span::new(at, at + 1), "5");
        text = text.edited(Span::at(0), if round % 2 == 0 { " " } else { "\n" });
        let began = Instant::now();
        archive = archive.with(&[Change::Open(kit.clone(), text.clone())]);
        for file in &open {
            black_box(archive.findings(file));
        }
        took.push(began.elapsed());
    }
    tell("twenty open plans after an edit of their kit", took);
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = whole, typing, dependants
}
criterion_main!(benches);
