//! What reading a picture's regions adds to decoding it: a 640 × 480 16-bit TIFF with six regions, on one thread.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../tests/made_up/mod.rs"]
mod made_up;
#[path = "../tests/palette_scenes/mod.rs"]
mod palette_scenes;

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

/// A full-HD picture in colours with its bar, from the file's bytes to temperatures.
fn palettes(criterion: &mut Criterion) {
    use palette_scenes::{Layout, Store, draw, encode, map};
    let layout = Layout {
        size: [1920, 1080],
        scene: [4, 4, 1800, 1072],
        bar: [1840, 40, 24, 1000],
        ..Layout::plain(true, 1000)
    };
    let scene = draw(&map("turbo"), &layout, 3);
    let stated = endtank::session::ColourBar::Box(layout.bar.map(f64::from));
    let find = endtank::session::ColourBar::Find;
    let mut group = criterion.benchmark_group("1920 × 1080 palette picture");
    group.sample_size(10);
    for (store, name) in [(Store::Png, "PNG"), (Store::Jpeg(85), "JPEG 85")] {
        let bytes = encode(&scene.picture, store);
        for (bar, how) in [(&stated, "box stated"), (&find, "bar found")] {
            group.bench_function(format!("{name}, {how}"), |bench| {
                bench.iter(|| {
                    palette_scenes::read(black_box(&bytes), bar, layout.cold, &[]).unwrap()
                });
            });
        }
        group.bench_function(format!("{name}, decode alone"), |bench| {
            bench.iter(|| load::colours(black_box(&bytes), false).unwrap());
        });
    }
    group.finish();
}

criterion_group!(benches, pictures, palettes);
criterion_main!(benches);
