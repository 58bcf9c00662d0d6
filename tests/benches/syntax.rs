//! A plan of some 11 kB read into a tree, into the `kdl` crate's document by way of the tree, and by that crate's own
//! parser: one run, so the three can be compared.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;
use std::path::Path;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use kdl::KdlDocument;
use leadsman::syntax::Tree;

/// As many days of one real plan, one behind the other, as make 11 kB.
fn plan() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/archive/sample/plans/saturday.plan.kdl");
    let day = std::fs::read_to_string(path).unwrap();
    day.repeat(11_000_usize.div_ceil(day.len()))
}

fn syntax(bench: &mut Criterion) {
    let text = plan();
    assert_eq!(Tree::parse(&text).to_kdl(), Ok(KdlDocument::parse_v2(&text).unwrap()));
    let mut group = bench.benchmark_group("syntax");
    group.throughput(Throughput::Bytes(text.len() as u64));
    group.bench_function("tree", |bench| bench.iter(|| Tree::parse(black_box(&text))));
    group.bench_function("tree and document", |bench| bench.iter(|| Tree::parse(black_box(&text)).to_kdl().is_ok()));
    group.sample_size(20);
    group.bench_function("the crate's parser", |bench| bench.iter(|| KdlDocument::parse_v2(black_box(&text))));
    group.finish();
}

criterion_group!(benches, syntax);
criterion_main!(benches);
