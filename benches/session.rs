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
    let names = pipeline::draw(&session, &outcome, None, &folder, &|| {}).unwrap();
    assert_eq!(names.len(), 41);
    report::write(&folder, &outcome, &names, report::csv::Marks::Point).unwrap();
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

/// Two coolers, ten holds, 240 readings: as many as 40 pictures of six regions make, without a picture to decode.
fn readings() -> String {
    let mut session = "[conditions]\nambient = \"18 °C ± 0.5\"\nreflected = \"20 °C ± 2\"\nbarometer = \"1008 hPa ± 1\"\n\
        [instrument.pistol]\nemissivity = 0.95\nreflected = \"20 °C\"\naccuracy = \"2 °C or 2 %\"\n\
        [surface.moulded]\nemissivity = \"0.94 ± 0.02\"\n[surface.cast]\nemissivity = \"0.4 ± 0.05\"\n\
        [cooler.a]\ninlet = \"moulded\"\noutlet = \"moulded\"\n[cooler.b]\ninlet = \"cast\"\noutlet = \"cast\"\n"
        .to_owned();
    for run in 0..10 {
        let cooler = if run % 2 == 0 { "a" } else { "b" };
        session += &format!(
            "[[run]]\ncooler = \"{cooler}\"\ninlet-pressure = \"148 kPa\"\noutlet-pressure = \"{} kPa\"\n",
            139 + run % 3
        );
        for reading in 0..24 {
            let (tank, celsius) = if reading % 2 == 0 {
                ("inlet", 53)
            } else {
                ("outlet", 31)
            };
            let tenths = (7 * run + 3 * reading) % 10;
            session += &format!(
                "[[run.pistol]]\ntank = \"{tank}\"\nreading = \"{celsius}.{tenths} °C\"\n"
            );
        }
    }
    session
}

fn draws(criterion: &mut Criterion) {
    let session = session::from_text(Path::new("bench.toml"), &readings()).unwrap();
    let mut group = criterion.benchmark_group("240 readings");
    group.sample_size(10);
    for (name, draws, what_ifs) in [
        ("100 000 draws", 100_000, false),
        ("100 000 draws, flip points and advice", 100_000, true),
        ("1 000 000 draws", 1_000_000, false),
    ] {
        let settings = Settings {
            draws,
            seed: 1,
            what_ifs,
        };
        group.bench_function(name, |bench| {
            bench.iter(|| pipeline::evaluate(&session, settings, &|| {}).unwrap());
        });
    }
    group.finish();
}

criterion_group!(benches, whole, draws);
criterion_main!(benches);
