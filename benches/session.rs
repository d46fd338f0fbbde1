//! A whole comparison of 40 pictures of 640 × 480 with annotated pictures and report, all threads, into a fresh folder.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use std::path::Path;

use criterion::{Criterion, criterion_group, criterion_main};
use endtank::report::{Folder, Purpose};
use endtank::uncertainty::Settings;
use endtank::{pipeline, report, session};
use made_up::Packing;

/// What `endtank compare` does.
fn compare(path: &Path, out: &Path) {
    let session = session::read(path).unwrap();
    let folder = Folder::prepare(out, &[], Purpose::Results).unwrap();
    let outcome = pipeline::evaluate(
        &session,
        Settings {
            draws: 100_000,
            seed: 1,
            what_ifs: true,
        },
        &|| {},
    )
    .unwrap();
    let names = pipeline::draw(&session, &outcome, &folder, &|| {}).unwrap();
    assert_eq!(names.len(), 41);
    report::write(&folder, &outcome, &names).unwrap();
    folder.finish().unwrap();
}

fn whole(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("compare 40 pictures");
    group.sample_size(10);
    for (name, packing) in [
        ("uncompressed", Packing::None),
        ("deflate", Packing::Deflate),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = made_up::write(folder.path(), 40, packing);
        group.bench_function(name, |bench| {
            bench.iter(|| compare(&path, &folder.path().join("results")));
        });
    }
    group.finish();
}

criterion_group!(benches, whole);
criterion_main!(benches);
