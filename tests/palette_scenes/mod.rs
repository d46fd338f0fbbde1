//! Made-up palette pictures: scenes of known temperatures, drawn with a colour map beside a bar.
#![allow(dead_code)]

pub mod regions;

use endtank::load::{Scale, ThermalImage, Wanted};
use endtank::session::{BarLaw, ColourBar, Declared, LowEnd, Printed};
use endtank::units::Law;
use image::{Rgb, RgbImage};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A colour map of the reference data: its name, its kind and 256 colours.
#[derive(Clone)]
pub struct Map {
    pub name: String,
    pub kind: String,
    pub colours: Vec<[u8; 3]>,
}

/// All maps of the reference data.
pub fn maps() -> Vec<Map> {
    let text = include_str!("../data/palettes/maps.csv");
    let rows = text.lines().skip(1).map(|line| {
        let cells: Vec<&str> = line.split(',').collect();
        let bytes: Vec<u8> = (0..cells[2].len() / 2)
            .map(|at| u8::from_str_radix(&cells[2][2 * at..2 * at + 2], 16).unwrap())
            .collect();
        Map {
            name: cells[0].to_owned(),
            kind: cells[1].to_owned(),
            colours: bytes.as_chunks::<3>().0.to_vec(),
        }
    });
    rows.collect()
}

/// Those that do not come back to their own colours.
pub fn ordered_maps() -> Vec<Map> {
    let mut maps = maps();
    maps.retain(|map| map.kind != "folded");
    maps
}

pub fn map(name: &str) -> Map {
    maps().into_iter().find(|map| map.name == name).unwrap()
}

impl Map {
    /// The colour of a share of the way from cold to hot.
    pub fn at(&self, share: f64) -> Rgb<u8> {
        Rgb(self.colours[(share.clamp(0.0, 1.0) * 255.0).round() as usize])
    }
}

/// Where things are in a drawing.
#[derive(Debug, Clone)]
pub struct Layout {
    pub size: [u32; 2],
    /// The scene: x, y, width, height.
    pub scene: [u32; 4],
    /// The bar without its border: x, y, width, height.
    pub bar: [u32; 4],
    /// Which end of it is cold.
    pub cold: LowEnd,
    pub paper: Rgb<u8>,
    /// Colour and thickness.
    pub border: Option<(Rgb<u8>, u32)>,
    /// Whether marks and text are drawn over the scene and beside the bar.
    pub marks: bool,
}

impl Layout {
    /// A scene of 320 × 240 with an upright or flat bar beside it.
    pub fn plain(upright: bool, steps: u32) -> Self {
        let bar = if upright {
            [340, 20, 16, steps]
        } else {
            [40, 256, steps, 14]
        };
        Self {
            size: [392, 292],
            scene: [4, 4, 320, 240],
            bar,
            cold: if upright {
                LowEnd::Bottom
            } else {
                LowEnd::Left
            },
            paper: Rgb([40, 40, 44]),
            border: None,
            marks: true,
        }
    }
}

/// A picture and the truth about it.
pub struct Scene {
    pub picture: RgbImage,
    /// Shares of the way from cold to hot, by pixel of the drawing; NaN outside the scene.
    pub truth: Vec<f64>,
    /// Pixels that something is drawn over.
    pub drawn: Vec<bool>,
}

/// Draws a scene: two warm parts with gradients before a background, a little noise.
pub fn draw(map: &Map, layout: &Layout, seed: u64) -> Scene {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let [width, height] = layout.size;
    let mut picture = RgbImage::from_pixel(width, height, layout.paper);
    let mut truth = vec![f64::NAN; (width * height) as usize];
    let [left, top, across, down] = layout.scene;
    let levels: Vec<f64> = (0..8).map(|_| random.random_range(0.06..0.94)).collect();
    for y in 0..down {
        for x in 0..across {
            let (u, v) = (
                f64::from(x) / f64::from(across),
                f64::from(y) / f64::from(down),
            );
            let share = temperature(u, v, &levels) + noise(&mut random);
            let share = share.clamp(0.0, 1.0);
            truth[((top + y) * width + left + x) as usize] = share;
            picture.put_pixel(left + x, top + y, map.at(share));
        }
    }
    // The scale is that of the picture: its hottest and coldest spots are in it.
    for (x, y, share) in [(across - 6, down - 6, 1.0), (across - 6, 4, 0.0)] {
        for (i, j) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
            truth[((top + y + j) * width + left + x + i) as usize] = share;
            picture.put_pixel(left + x + i, top + y + j, map.at(share));
        }
    }
    let before = picture.clone();
    draw_bar(&mut picture, map, layout);
    if layout.marks {
        draw_marks(&mut picture, layout, &mut random);
    }
    let drawn = picture
        .pixels()
        .zip(before.pixels())
        .map(|(now, then)| now != then)
        .collect();
    Scene {
        picture,
        truth,
        drawn,
    }
}

fn temperature(u: f64, v: f64, levels: &[f64]) -> f64 {
    let tank = |from: f64, to: f64| (from..to).contains(&u) && (0.15..0.85).contains(&v);
    if tank(0.08, 0.32) {
        levels[0] + 0.05 * (v - 0.5)
    } else if tank(0.6, 0.9) {
        levels[1] + 0.10 * (v - 0.5) + 0.04 * (u - 0.75)
    } else {
        levels[2] + 0.12 * (levels[3] - 0.5) * (3.0 * u).sin() + 0.08 * (v - 0.5)
    }
}

/// About normal, 0.3 % of the span.
fn noise(random: &mut impl Rng) -> f64 {
    let sum: f64 = (0..4).map(|_| random.random_range(-0.5..0.5)).sum();
    0.003 * sum * 3.0_f64.sqrt()
}

pub fn draw_bar(picture: &mut RgbImage, map: &Map, layout: &Layout) {
    let [x, y, width, height] = layout.bar;
    if let Some((colour, thick)) = layout.border {
        for row in y - thick..y + height + thick {
            for column in x - thick..x + width + thick {
                picture.put_pixel(column, row, colour);
            }
        }
    }
    for row in 0..height {
        for column in 0..width {
            let share = match layout.cold {
                LowEnd::Bottom => f64::from(height - 1 - row) / f64::from(height - 1),
                LowEnd::Top => f64::from(row) / f64::from(height - 1),
                LowEnd::Left => f64::from(column) / f64::from(width - 1),
                LowEnd::Right => f64::from(width - 1 - column) / f64::from(width - 1),
            };
            picture.put_pixel(x + column, y + row, map.at(share));
        }
    }
}

/// Whether a person can see where the bar ends: in most places across it some channel of the next pixel beyond differs by
/// 40 levels.
pub fn ends_are_seen(picture: &RgbImage, layout: &Layout) -> bool {
    let [x, y, width, height] = layout.bar;
    let upright = height >= width;
    let (length, breadth) = (width.max(height), width.min(height));
    let at = |along: i64, across: u32| {
        let (along, across) = (along as u32, across + if upright { x } else { y });
        *picture.get_pixel(
            if upright { across } else { along },
            if upright { along } else { across },
        )
    };
    let first = i64::from(if upright { y } else { x });
    let last = first + i64::from(length) - 1;
    [(first, first - 1), (last, last + 1)]
        .into_iter()
        .all(|(end, beyond)| {
            let seen = (0..breadth).filter(|&across| {
                let channels = at(end, across).0.into_iter().zip(at(beyond, across).0);
                channels.map(|(a, b)| a.abs_diff(b)).max() >= Some(40)
            });
            2 * seen.count() as u32 > breadth
        })
}

/// A cross in the second tank, a line of made-up text over the scene and numbers beside the bar.
fn draw_marks(picture: &mut RgbImage, layout: &Layout, random: &mut impl Rng) {
    let [left, top, across, down] = layout.scene;
    let (x, y) = (left + across * 3 / 4, top + down / 2);
    for step in 0..13 {
        picture.put_pixel(x + step - 6, y, Rgb([255, 255, 255]));
        picture.put_pixel(x, y + step - 6, Rgb([255, 255, 255]));
    }
    text(picture, left + across / 3, top + 6, 9, random);
    let [x, y, width, height] = layout.bar;
    let size = picture.dimensions();
    let ends = if matches!(layout.cold, LowEnd::Bottom | LowEnd::Top) {
        [(x + width + 4, y), (x + width + 4, y + height - 8)]
    } else {
        [(x, y + height + 4), (x + width - 24, y + height + 4)]
    };
    for (x, y) in ends {
        if x + 26 < size.0 && y + 9 < size.1 {
            text(picture, x, y, 4, random);
        }
    }
}

/// Letters of random strokes, 5 × 7 pixels.
fn text(picture: &mut RgbImage, x: u32, y: u32, letters: u32, random: &mut impl Rng) {
    for letter in 0..letters {
        for row in 0..7 {
            for column in 0..4 {
                if random.random_bool(0.45) {
                    picture.put_pixel(x + 6 * letter + column, y + row, Rgb([255, 255, 255]));
                }
            }
        }
    }
}

/// How a picture is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Store {
    Png,
    /// Lossless.
    WebP,
    Bmp,
    /// Quality, 4:2:0.
    Jpeg(u8),
}

pub fn encode(picture: &RgbImage, store: Store) -> Vec<u8> {
    let mut bytes = Vec::new();
    let (width, height) = picture.dimensions();
    let mut target = std::io::Cursor::new(&mut bytes);
    match store {
        Store::Png => picture
            .write_to(&mut target, image::ImageFormat::Png)
            .unwrap(),
        Store::WebP => picture
            .write_to(&mut target, image::ImageFormat::WebP)
            .unwrap(),
        Store::Bmp => picture
            .write_to(&mut target, image::ImageFormat::Bmp)
            .unwrap(),
        Store::Jpeg(quality) => {
            let mut encoder = jpeg_encoder::Encoder::new(&mut bytes, quality);
            encoder.set_sampling_factor(jpeg_encoder::SamplingFactor::F_2_2);
            encoder.set_chroma_subsampling_method(jpeg_encoder::ChromaSubsamplingMethod::Average);
            encoder
                .encode(
                    picture.as_raw(),
                    width as u16,
                    height as u16,
                    jpeg_encoder::ColorType::Rgb,
                )
                .unwrap();
        }
    }
    bytes
}

/// The limits of all these scenes, °C.
pub const LIMITS: [f64; 2] = [20.0, 70.0];

pub fn declared(celsius: f64, half: f64) -> Declared {
    let kelvin = celsius + 273.15;
    Declared {
        place: String::new(),
        dimension: endtank::units::Dimension::Temperature,
        value: kelvin,
        law: if half > 0.0 {
            Law::Rectangular {
                low: kelvin - half,
                high: kelvin + half,
            }
        } else {
            Law::Exact
        },
        limits_assumed: false,
        sensor: None,
        written: format!("{celsius} °C"),
        span: 0..0,
    }
}

/// Reads a palette picture between the limits of all these scenes, known exactly.
pub fn read(
    bytes: &[u8],
    bar: &ColourBar,
    cold: LowEnd,
    printed: &[Printed],
) -> Result<ThermalImage, endtank::load::LoadError> {
    let [low, high] = LIMITS.map(|celsius| declared(celsius, 0.0));
    let scale = Scale {
        bar,
        low_end: Some(cold),
        low: &low,
        high: &high,
        law: BarLaw::Temperature,
        detector: None,
        printed,
    };
    let wanted = Wanted {
        scale: Some(scale),
        ..Wanted::default()
    };
    endtank::load::read(bytes, wanted)
}

/// A made-up layout, its map and how it is stored.
pub fn any_layout(seed: u64) -> (Layout, Map, Store) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let maps = ordered_maps();
    let map = maps[random.random_range(0..maps.len())].clone();
    let [across, down] = [random.random_range(240..420), random.random_range(230..320)];
    let upright = random.random_bool(0.6);
    let over = random.random_bool(0.3);

    let length = random
        .random_range(80..=if upright { down - 30 } else { across - 30 })
        .min(220);
    let thick = random.random_range(8..24).min(length / 4);
    let [left, top] = [random.random_range(0..12), random.random_range(0..12)];
    let gap = random.random_range(6..16);
    let bar = match (upright, over) {
        (true, true) => [left + across - thick - 8, top + 10, thick, length],
        (true, false) => [left + across + gap, top + 10, thick, length],
        (false, true) => [left + 10, top + down - thick - 14, length, thick],
        (false, false) => [left + 10, top + down + gap, length, thick],
    };
    let size = if upright {
        [left + across + gap + thick + 36, top + down + 8]
    } else {
        [left + across + 8, top + down + gap + thick + 20]
    };
    let grey = |level: u8| Rgb([level; 3]);
    // A person must see where the bar ends: some channel of what lies beyond it differs by so many levels.
    let far = |colour: Rgb<u8>| {
        let apart = |end: Rgb<u8>| {
            let channels = end.0.into_iter().zip(colour.0);
            channels.map(|(a, b)| a.abs_diff(b)).max() >= Some(40)
        };
        apart(map.at(0.0)) && apart(map.at(1.0))
    };
    let papers = [
        grey(255),
        grey(0),
        grey(236),
        Rgb([30, 34, 40]),
        Rgb([90, 96, 110]),
    ];
    let borders = [
        None,
        Some((grey(255), 1)),
        Some((grey(0), 1)),
        Some((grey(128), 2)),
    ];
    let (paper, border) = loop {
        let paper = papers[random.random_range(0..papers.len())];
        let border = borders[random.random_range(0..borders.len())];
        if far(border.map_or(paper, |(colour, _)| colour)) && far(paper) {
            break (paper, border);
        }
    };
    let cold = match (upright, random.random_bool(0.8)) {
        (true, true) => LowEnd::Bottom,
        (true, false) => LowEnd::Top,
        (false, true) => LowEnd::Left,
        (false, false) => LowEnd::Right,
    };
    let stores = [
        Store::Png,
        Store::WebP,
        Store::Jpeg(95),
        Store::Jpeg(90),
        Store::Jpeg(85),
        Store::Jpeg(75),
    ];
    let layout = Layout {
        size,
        scene: [left, top, across, down],
        bar,
        cold,
        paper,
        border,
        marks: random.random_bool(0.7),
    };
    (layout, map, stores[random.random_range(0..stores.len())])
}
