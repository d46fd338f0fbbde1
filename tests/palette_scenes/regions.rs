//! Regions of scenes of known temperatures, read back.

use endtank::load::ThermalImage;
use endtank::locate::{Mask, shape::Shape};
use endtank::session::ColourBar;

use super::{LIMITS, Layout, Map, Scene, Store, draw, encode, read};

/// x, y, width and height of regions, in pixels of the scene.
pub const REGIONS: [(&str, [u32; 4]); 8] = [
    ("12 × 16", [40, 60, 12, 16]),
    ("12 × 16", [130, 150, 12, 16]),
    ("12 × 16", [210, 180, 12, 16]),
    ("32 × 32", [45, 110, 32, 32]),
    ("32 × 32", [120, 60, 32, 32]),
    ("32 × 32", [200, 50, 32, 32]),
    ("50 × 100", [38, 60, 50, 100]),
    ("50 × 100", [215, 60, 50, 100]),
];

#[derive(Debug, Clone)]
pub struct One {
    pub size: &'static str,
    /// Share of the span.
    pub error: f64,
    pub half_width: f64,
    pub invalid: f64,
}

pub fn measure(image: &ThermalImage, scene: &Scene, layout: &Layout) -> Vec<One> {
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
                half_width: (reading.half_width + reading.undecided) / (LIMITS[1] - LIMITS[0]),
                invalid: 1.0 - valid / all,
            }
        })
        .collect()
}

/// All regions of a scene drawn and stored in such a way.
pub fn of_scene(map: &Map, store: Store, layout: &Layout, seed: u64) -> Vec<One> {
    let scene = draw(map, layout, seed);
    let bytes = encode(&scene.picture, store);
    let bar = ColourBar::Box(layout.bar.map(f64::from));
    let image = read(&bytes, &bar, layout.cold, &[]).unwrap();
    measure(&image, &scene, layout)
}
