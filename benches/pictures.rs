//! What reading a picture's regions adds to decoding it: a 640 × 480 16-bit TIFF with six regions, on one thread.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use endtank::correct::{Detectors, correct};
use endtank::load::{self, Wanted};
use endtank::locate::Mask;
use endtank::measure::{self, PictureMeasurement};
use endtank::model::Values;
use endtank::radiometry::{Band, Detector};
use endtank::session::{self, Session};
use made_up::Packing;

/// Load, locate, measure and correct, and the model evaluated once at its central values.
fn read(session: &Session, detector: &Arc<Detector>, bytes: &[u8]) -> Values {
    let snapshot = &session.runs[0].snapshots[0];
    let image = load::read(
        bytes,
        Wanted {
            pixels: snapshot.pixels.as_ref(),
            ..Wanted::default()
        },
    )
    .unwrap();
    let regions = snapshot.regions.iter().map(|region| {
        let (width, height) = (image.width(), image.height());
        let mask = Mask::new(&region.shape, &region.exclude, width, height).unwrap();
        measure::region(&image, &mask, region.statistic, detector).unwrap()
    });
    let picture = PictureMeasurement {
        run: 0,
        snapshot: 0,
        sha256: String::new(),
        detector: detector.clone(),
        raw: false,
        assumed: None,
        captured: None,
        bar_found: None,
        pages: 1,
        regions: regions.collect(),
    };
    let detectors = Detectors {
        bands: vec![Some(detector.clone()); session.instruments.len()],
    };
    let corrected = correct(session, &[picture], &detectors).unwrap();
    assert!(
        corrected
            .readings
            .iter()
            .any(|reading| reading.skin.is_some())
    );
    corrected.model.central()
}

fn session_of_two_pictures(folder: &Path, packing: Packing) -> Session {
    session::read(&made_up::write(folder, 2, packing)).unwrap()
}

fn pictures(criterion: &mut Criterion) {
    let detector = Arc::new(Detector::band(&Band::flat(8.0, 14.0).unwrap()));
    for (name, packing) in [
        ("uncompressed", Packing::None),
        ("deflate", Packing::Deflate),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let session = session_of_two_pictures(folder.path(), packing);
        let bytes = made_up::picture(0, packing);
        let pixels = session.runs[0].snapshots[0].pixels.clone();
        let mut group = criterion.benchmark_group(format!("640 × 480 TIFF, {name}"));
        group.bench_function("decode alone", |bench| {
            bench.iter(|| {
                load::read(
                    black_box(&bytes),
                    Wanted {
                        pixels: pixels.as_ref(),
                        ..Wanted::default()
                    },
                )
                .unwrap()
            });
        });
        group.bench_function("decode, measure and correct", |bench| {
            bench.iter(|| read(&session, &detector, black_box(&bytes)));
        });
        group.finish();
    }
}

criterion_group!(benches, pictures);
criterion_main!(benches);
