//! Palette pictures of many colour maps are read back: how far off, and whether the stated half-width covers it.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod palette_scenes;

use endtank::load::ThermalImage;
use endtank::locate::{Mask, shape::Shape};
use endtank::session::ColourBar;
use palette_scenes::*;

/// x, y, width and height of regions, in pixels of the scene.
const REGIONS: [(&str, [u32; 4]); 8] = [
    ("12 × 16", [40, 60, 12, 16]),
    ("12 × 16", [130, 150, 12, 16]),
    ("12 × 16", [210, 180, 12, 16]),
    ("32 × 32", [45, 110, 32, 32]),
    ("32 × 32", [120, 60, 32, 32]),
    ("32 × 32", [200, 50, 32, 32]),
    ("50 × 100", [38, 60, 50, 100]),
    ("50 × 100", [215, 60, 50, 100]),
];

struct One {
    size: &'static str,
    /// Share of the span.
    error: f64,
    half_width: f64,
    invalid: f64,
}

fn measure(image: &ThermalImage, scene: &Scene, layout: &Layout) -> Vec<One> {
    let width = layout.size[0];
    REGIONS
        .iter()
        .map(|&(size, [x, y, w, h])| {
            let (x, y) = (x + layout.scene[0], y + layout.scene[1]);
            let shape = Shape::Rectangle([x, y, w, h].map(f64::from));
            let mask = Mask::new(&shape, &[], image.width(), image.height()).unwrap();
            let reading = image.palette.as_ref().unwrap().reading(image, &mask);
            let (mut truth, mut all, mut shown, mut valid) = (0.0, 0.0, 0.0, 0.0);
            for row in y..y + h {
                for column in x..x + w {
                    all += 1.0;
                    truth += scene.truth[(row * width + column) as usize];
                    if let Some(kelvin) = image.shown(column as usize, row as usize) {
                        shown += (kelvin - 273.15 - LIMITS[0]) / (LIMITS[1] - LIMITS[0]);
                        valid += 1.0;
                    }
                }
            }
            One {
                size,
                error: shown / valid - truth / all,
                half_width: reading.half_width / (LIMITS[1] - LIMITS[0]),
                invalid: 1.0 - valid / all,
            }
        })
        .collect()
}

#[test]
fn explore() {
    let stores = [Store::Png, Store::Jpeg(95), Store::Jpeg(85), Store::Jpeg(75)];
    let only = std::env::var("MAPS").unwrap_or_default();
    for map in maps().into_iter().filter(|map| only.is_empty() || only.split(' ').any(|n| n == map.name)) {
        for store in stores {
            for steps in [80, 200] {
                let mut text = format!("{:16} {:?} {steps:3}", map.name, store);
                let mut found: Vec<One> = Vec::new();
                for upright in [true, false] {
                    let layout = Layout::plain(upright, steps);
                    for seed in 0..2 {
                        let scene = draw(&map, &layout, seed + 10);
                        let bytes = encode(&scene.picture, store);
                        let bar = ColourBar::Box(layout.bar.map(f64::from));
                        let image = read(&bytes, &bar, layout.cold, &[]).unwrap();
                        found.extend(measure(&image, &scene, &layout));
                    }
                }
                for size in ["12 × 16", "32 × 32", "50 × 100"] {
                    let of: Vec<&One> = found.iter().filter(|one| one.size == size).collect();
                    let worst = of.iter().map(|one| one.error.abs()).fold(0.0, f64::max);
                    let worst_invalid = of.iter().map(|one| one.invalid).fold(0.0, f64::max);
                    let covered = of.iter().filter(|one| one.error.abs() <= one.half_width).count();
                    let half = of.iter().map(|one| one.half_width).sum::<f64>() / of.len() as f64;
                    text += &format!(" | {:5.2} ±{:4.2} c{:3.0} i{:3.0}", 100.0 * worst, 100.0 * half, 100.0 * covered as f64 / of.len() as f64, 100.0 * worst_invalid);
                }
                println!("{text}");
            }
        }
    }
}
