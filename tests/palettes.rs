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
    let mut sum = (0.0, 0, 0);
    let stores = std::env::var("STORES").map_or(
        vec![
            Store::Png,
            Store::Jpeg(95),
            Store::Jpeg(85),
            Store::Jpeg(75),
        ],
        |_| vec![Store::Jpeg(75)],
    );
    let only = std::env::var("MAPS").unwrap_or_default();
    for map in maps()
        .into_iter()
        .filter(|map| only.is_empty() || only.split(' ').any(|n| n == map.name))
    {
        for store in stores.clone() {
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
                for one in found
                    .iter()
                    .filter(|one| one.size == "50 × 100" && one.error.is_finite())
                {
                    sum.0 += one.error * one.error;
                    sum.1 += 1;
                    sum.2 += usize::from(one.error.abs() > 0.005);
                }
                for size in ["12 × 16", "32 × 32", "50 × 100"] {
                    let of: Vec<&One> = found.iter().filter(|one| one.size == size).collect();
                    let worst = of.iter().map(|one| one.error.abs()).fold(0.0, f64::max);
                    let worst_invalid = of.iter().map(|one| one.invalid).fold(0.0, f64::max);
                    let covered = of
                        .iter()
                        .filter(|one| one.error.abs() <= one.half_width)
                        .count();
                    let half = of.iter().map(|one| one.half_width).sum::<f64>() / of.len() as f64;
                    text += &format!(
                        " | {:5.2} ±{:4.2} c{:3.0} i{:3.0}",
                        100.0 * worst,
                        100.0 * half,
                        100.0 * covered as f64 / of.len() as f64,
                        100.0 * worst_invalid
                    );
                }
                println!("{text}");
            }
        }
    }
    println!(
        "RMS {:.3} over {:.0}",
        100.0 * (sum.0 / sum.1 as f64).sqrt(),
        100.0 * sum.2 as f64 / sum.1 as f64
    );
}

#[test]
fn diagnose() {
    let only = std::env::var("MAPS").unwrap_or_default();
    for map in maps()
        .into_iter()
        .filter(|map| only.split(' ').any(|n| n == map.name))
    {
        for upright in [true, false] {
            let layout = Layout::plain(upright, 200);
            for seed in 10..12 {
                let scene = draw(&map, &layout, seed);
                let jpeg = encode(&scene.picture, Store::Jpeg(75));
                let mut decoded = image::load_from_memory(&jpeg).unwrap().into_rgb8();
                let mut barred = decoded.clone();
                draw_bar(&mut barred, &map, &layout);
                // The true scene with the bar of the JPEG.
                let [x, y, w, h] = layout.bar;
                let mut other = scene.picture.clone();
                for j in y..y + h {
                    for i in x..x + w {
                        other.put_pixel(i, j, *decoded.get_pixel(i, j));
                    }
                }
                decoded = other;
                let bar = ColourBar::Box(layout.bar.map(f64::from));
                let mut text = format!("{:12} {upright:5} {seed}", map.name);
                for bytes in [
                    jpeg,
                    encode(&barred, Store::Png),
                    encode(&decoded, Store::Jpeg(100)),
                ] {
                    let image = read(&bytes, &bar, layout.cold, &[]).unwrap();
                    text += " |";
                    for one in measure(&image, &scene, &layout) {
                        text += &format!(" {:5.2}", 100.0 * one.error);
                    }
                }
                println!("{text}");
            }
        }
    }
}

#[test]
fn bars_are_found() {
    let (mut right, mut refused, mut wrong) = (0, Vec::new(), Vec::new());
    for seed in 0..200 {
        let (layout, map, store) = any_layout(seed);
        let scene = draw(&map, &layout, seed);
        let bytes = encode(&scene.picture, store);
        let about = format!(
            "{seed} {} {store:?} {:?} paper {:?} border {:?}",
            map.name, layout.bar, layout.paper.0, layout.border
        );
        match read(&bytes, &ColourBar::Find, layout.cold, &[]) {
            Ok(image) => {
                let found = image.palette.unwrap().bar.rectangle().map(|at| at as i64);
                let bar = layout.bar.map(i64::from);
                let along = if bar[3] >= bar[2] { [1, 3] } else { [0, 2] };
                let [from, length] = along;
                let ends = [
                    found[from] - bar[from],
                    found[from] + found[length] - bar[from] - bar[length],
                ];
                if ends.iter().all(|off| off.abs() <= 1) {
                    right += 1;
                } else {
                    wrong.push(format!("{about}: {found:?}"));
                }
            }
            Err(error) => refused.push(format!("{about}: {error}")),
        }
    }
    println!(
        "right {right}\nrefused {}\n{}\nwrong {}\n{}",
        refused.len(),
        refused.join("\n"),
        wrong.len(),
        wrong.join("\n")
    );
}
