//! Palette pictures of many colour maps are read back: how far off, and whether the stated half-width covers it.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod palette_scenes;

use std::fmt::Write as _;

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

/// What many regions were off by.
#[derive(Default)]
struct Tally {
    errors: Vec<f64>,
    covered: usize,
}

impl Tally {
    fn add(&mut self, one: &One) {
        self.errors.push(one.error.abs());
        self.covered += usize::from(one.error.abs() <= one.half_width);
    }

    fn mean(&self) -> f64 {
        100.0 * self.errors.iter().sum::<f64>() / self.errors.len().max(1) as f64
    }

    fn worst(&self) -> f64 {
        100.0 * self.errors.iter().copied().fold(0.0, f64::max)
    }

    fn coverage(&self) -> f64 {
        100.0 * self.covered as f64 / self.errors.len().max(1) as f64
    }
}

const STORES: [(Store, &str); 5] = [
    (Store::Png, "PNG"),
    (Store::Jpeg(95), "JPEG 95"),
    (Store::Jpeg(90), "JPEG 90"),
    (Store::Jpeg(85), "JPEG 85"),
    (Store::Jpeg(75), "JPEG 75"),
];

const SIZES: [&str; 3] = ["12 × 16", "32 × 32", "50 × 100"];

/// All regions of a map's pictures, in one way of storing and length of bar, by their size. Regions of which more than half
/// was left out are refused by the program, and counted apart.
fn regions_of(map: &Map, store: Store, steps: u32) -> (Vec<One>, usize) {
    let mut found = Vec::new();
    for upright in [true, false] {
        let layout = Layout::plain(upright, steps);
        let scene = draw(map, &layout, 10 + u64::from(upright));
        let bytes = encode(&scene.picture, store);
        let bar = ColourBar::Box(layout.bar.map(f64::from));
        let image = read(&bytes, &bar, layout.cold, &[]).unwrap();
        found.extend(measure(&image, &scene, &layout));
    }
    let all = found.len();
    found.retain(|one| one.invalid < 0.5);
    let left_out = all - found.len();
    (found, left_out)
}

#[test]
fn every_map_is_read_back_and_the_half_width_covers() {
    let maps: Vec<Map> = maps()
        .into_iter()
        .filter(|map| map.kind != "folded")
        .collect();
    let mut page = String::from(include_str!("palette_scenes/palettes.md"));
    let mut totals: Vec<String> = Vec::new();
    let mut rows: Vec<String> = vec![String::new(); maps.len()];
    let (mut all, mut refused) = (Tally::default(), 0);
    for (store, name) in STORES {
        for steps in [80, 200] {
            let mut sizes: [Tally; 3] = Default::default();
            for (map, row) in maps.iter().zip(&mut rows) {
                let (found, left_out) = regions_of(map, store, steps);
                refused += left_out;
                let mut of_map = Tally::default();
                for one in &found {
                    let size = SIZES.iter().position(|size| *size == one.size).unwrap();
                    sizes[size].add(one);
                    all.add(one);
                    if size == 2 {
                        of_map.add(one);
                    }
                }
                if steps == 200 {
                    write!(row, " {:.2} | {:.2} |", of_map.mean(), of_map.worst()).unwrap();
                }
            }
            let mut line = format!("| {name} | {steps} |");
            for tally in &sizes {
                write!(line, " {:.2} | {:.2} |", tally.mean(), tally.worst()).unwrap();
            }
            let joined = sizes.iter().map(|tally| tally.covered).sum::<usize>() as f64
                / sizes.iter().map(|tally| tally.errors.len()).sum::<usize>() as f64;
            write!(line, " {:.1} % |", 100.0 * joined).unwrap();
            totals.push(line);
        }
    }
    let mut table = totals.join("\n");
    table += "\n";
    page = page.replace("TOTALS\n", &table);
    let mut table = String::new();
    for (map, row) in maps.iter().zip(&rows) {
        writeln!(table, "| {} |{row}", map.name).unwrap();
    }
    page = page.replace("MAPS\n", &table);
    page = page.replace("REGIONS", &all.errors.len().to_string());
    page = page.replace("LEFTOUT", &refused.to_string());
    page = page.replace("COVERED", &format!("{:.1} %", all.coverage()));
    println!("{page}");
    assert!(all.coverage() >= 95.0, "{}", all.coverage());
    committed("docs/palettes.md", &page);
}

/// Fails unless the committed file is the generated one; regenerating never passes for testing.
fn committed(name: &str, generated: &str) {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    let found = std::fs::read_to_string(&path).unwrap_or_default();
    if std::env::var_os("ENDTANK_REGENERATE").is_some() && found != generated {
        std::fs::write(path, generated).unwrap();
        panic!("{name} has been regenerated: look at the change, then test again");
    }
    assert!(
        found == generated,
        "{name} is not what the code generates; set ENDTANK_REGENERATE=1 to write it anew"
    );
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
