//! An archive of a thousand plans: checked from nothing, and again after one key is pressed in one of them.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use leadsman::archive::{Archive, Change, Memory};
use leadsman::source::{FileId, Span};

const PLANS: usize = 1_000;

/// A club with units, cylinders, divers and a plan for every dive day of some years.
fn club() -> Memory {
    let read = |path: &str| {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/archive/sample");
        std::fs::read_to_string(root.join(path)).unwrap()
    };
    let plan = read("plans/saturday.plan.kdl");
    let kit = ["leadsman.kdl", "crew.kit.kdl", "kit/units.kit.kdl", "kit/cylinders.kit.kdl"];
    let host = kit.iter().fold(Memory::new(), |host, file| host.file(format!("/club/{file}"), read(file)));
    (0..PLANS).fold(host, |host, n| {
        let day = format!("20{:02}-{:02}-{:02}", 27 + n / 336, n / 28 % 12 + 1, n % 28 + 1);
        host.file(format!("/club/plans/{n:04}.plan.kdl"), plan.replace("2027-05-15", &day))
    })
}

fn archive(bench: &mut Criterion) {
    let host = Arc::new(club());
    bench.bench_function("a thousand plans, from nothing", |bench| {
        bench.iter(|| {
            let archive = Archive::open(host.clone(), Path::new("/club"));
            black_box(archive.check(&archive.walk(&[]), &|| ()))
        });
    });
    let warm = Archive::open(host, Path::new("/club"));
    warm.check(&warm.walk(&[]), &|| ());
    let plan = FileId::new("plans/0500.plan.kdl");
    let kit = FileId::new("crew.kit.kdl");
    for (name, file) in [("one key in a plan", plan), ("one key in what all plans use", kit)] {
        let text = warm.text(&file).unwrap().edited(Span::at(0), "\n");
        bench.bench_function(name, |bench| {
            bench.iter(|| {
                let changed = warm.with(&[Change::Open(file.clone(), text.clone())]);
                black_box(changed.findings(&file))
            });
        });
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = archive
}
criterion_main!(benches);
