//! Palette pictures of many colour maps are read back: how far off, and whether the stated half-width covers it.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod palette_scenes;

use std::fmt::Write as _;

use endtank::locate::{Mask, shape::Shape};
use endtank::session::ColourBar;
use palette_scenes::regions::One;
use palette_scenes::*;
use rayon::prelude::*;

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

const STORES: [(Store, &str); 6] = [
    (Store::Png, "PNG"),
    (Store::WebP, "WebP, lossless"),
    (Store::Jpeg(95), "JPEG 95"),
    (Store::Jpeg(90), "JPEG 90"),
    (Store::Jpeg(85), "JPEG 85"),
    (Store::Jpeg(75), "JPEG 75"),
];

const SIZES: [&str; 3] = ["12 × 16", "32 × 32", "50 × 100"];

/// All regions of a map's pictures, in one way of storing and length of bar, by their size. Regions of which more than half
/// was left out are refused by the program, and counted apart.
fn regions_of(map: &Map, store: Store, steps: u32) -> (Vec<One>, usize) {
    let mut found = [(true, 11), (false, 10)]
        .map(|(upright, seed)| regions::of_scene(map, store, &Layout::plain(upright, steps), seed))
        .concat();
    let all = found.len();
    found.retain(|one| one.invalid < 0.5);
    let left_out = all - found.len();
    (found, left_out)
}

#[test]
fn every_map_is_read_back_and_the_half_width_covers() {
    let maps = ordered_maps();
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
                    let worst = of_map.worst();
                    assert!(
                        worst <= 0.5,
                        "{} {name}: {worst:.2} % of the span",
                        map.name
                    );
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

/// What became of looking for the bars of 200 made-up layouts: how many were right, and which were refused or wrong. Only
/// layouts are left out whose bar's end differs from the pixels right beyond it by less than 40 levels in every channel, in
/// most places across: a person cannot be sure of it either.
fn look_for_bars(from: u64) -> (usize, Vec<String>, Vec<String>) {
    let (mut right, mut refused, mut wrong) = (0, Vec::new(), Vec::new());
    let scenes = (from..from + 225).into_par_iter().filter_map(|seed| {
        let (layout, map, store) = any_layout(seed);
        let scene = draw(&map, &layout, seed);
        ends_are_seen(&scene.picture, &layout).then_some((seed, layout, map, store, scene))
    });
    // What was found of each, in order; a few of 225 are left out.
    let found = scenes.map(|(seed, layout, map, store, scene)| {
        let bytes = encode(&scene.picture, store);
        let about = format!(
            "{seed} {} {store:?} {:?} paper {:?} border {:?}",
            map.name, layout.bar, layout.paper.0, layout.border
        );
        let image = read(&bytes, &ColourBar::Find, layout.cold, &[]);
        (
            layout,
            about,
            image.map(|image| image.palette.unwrap().bar.rectangle()),
        )
    });
    let found: Vec<_> = found.collect();
    assert!(found.len() >= 200, "{}", found.len());
    for (layout, about, found) in found.into_iter().take(200) {
        match found {
            Ok(found) => {
                let found = found.map(|at| at as i64);
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
    (right, refused, wrong)
}

/// At least 98 % are right and none is wrong; the rest is refused.
#[test]
fn bars_are_found() {
    for (from, least) in [(0, 198), (1000, 197), (5000, 197), (20_000, 197)] {
        let (right, refused, wrong) = look_for_bars(from);
        println!(
            "{from}: right {right}\nrefused {}\n{}\nwrong {}\n{}",
            refused.len(),
            refused.join("\n"),
            wrong.len(),
            wrong.join("\n")
        );
        assert!(wrong.is_empty(), "{wrong:?}");
        assert!(right >= least, "{from}: {right}");
    }
}

/// Of every pixel that keeps a temperature, whether it is on the right branch.
fn on_wrong_branch(map: &Map, store: Store) -> f64 {
    let layout = Layout::plain(true, 200);
    let scene = draw(map, &layout, 31);
    let bytes = encode(&scene.picture, store);
    let bar = ColourBar::Box(layout.bar.map(f64::from));
    let image = read(&bytes, &bar, layout.cold, &[]).unwrap();
    let [left, top, across, down] = layout.scene;
    let (mut wrong, mut all) = (0, 0);
    for y in top..top + down {
        for x in left..left + across {
            all += 1;
            let at = (y * layout.size[0] + x) as usize;
            if let Some(kelvin) = image.shown(x as usize, y as usize)
                && !scene.drawn[at]
            {
                let share = (kelvin - 273.15 - LIMITS[0]) / (LIMITS[1] - LIMITS[0]);
                wrong += usize::from((share - scene.truth[at]).abs() > 0.15);
            }
        }
    }
    wrong as f64 / f64::from(all)
}

#[test]
fn a_map_that_folds_back_is_never_inverted_to_the_wrong_branch() {
    for map in maps().into_iter().filter(|map| map.kind == "folded") {
        for store in [Store::Png, Store::Jpeg(95), Store::Jpeg(75)] {
            let wrong = on_wrong_branch(&map, store);
            println!("{} {store:?} {wrong:.5}", map.name);
            assert!(wrong < 0.003, "{} {store:?}: {wrong}", map.name);
        }
    }
}

/// A grey map that goes up and comes back: every colour but the brightest is there twice.
#[test]
fn a_bar_that_comes_back_says_what_looks_alike() {
    let mut there_and_back = map("viridis");
    let half: Vec<[u8; 3]> = there_and_back.colours.iter().step_by(2).copied().collect();
    there_and_back.colours = half.iter().chain(half.iter().rev()).copied().collect();
    let layout = Layout::plain(true, 200);
    let scene = draw(&there_and_back, &layout, 5);
    let bytes = encode(&scene.picture, Store::Png);
    let bar = ColourBar::Box(layout.bar.map(f64::from));
    let image = read(&bytes, &bar, layout.cold, &[]).unwrap();
    let palette = image.palette.as_ref().unwrap();
    let [one, other] = palette.alike.unwrap();
    // Alike are places that add up to the whole bar.
    assert!(
        ((one + other) / 2.0 - 273.15 - 45.0).abs() < 0.5,
        "{one} {other}"
    );
    let shape = Shape::Rectangle([40.0, 60.0, 50.0, 100.0]);
    let mask = Mask::new(&shape, &[], image.width(), image.height()).unwrap();
    let reading = palette.reading(&image, &mask);
    assert!(reading.ambiguous > 4500, "{reading:?}");
    assert!(reading.alike.unwrap().contains("°C and"));
}

#[test]
fn printed_numbers_tell_a_bar_that_is_even_in_signal() {
    use endtank::load::{Scale, Wanted};
    use endtank::radiometry::{Band, Detector};
    use endtank::session::{BarLaw, Printed};
    let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
    let [low, high] = LIMITS.map(|celsius| declared(celsius, 0.05));
    let (map, layout) = (map("inferno"), Layout::plain(true, 200));
    let bar = ColourBar::Box(layout.bar.map(f64::from));
    // Somewhere in the first tank, of a scene where that is in the middle of the bar: there the two laws differ most.
    let (x, y) = (layout.scene[0] + 60, layout.scene[1] + 100);
    let at = (y * layout.size[0] + x) as usize;
    let scene = (0..50)
        .map(|seed| draw(&map, &layout, seed))
        .find(|scene| (0.4..0.6).contains(&scene.truth[at]))
        .unwrap();
    let bytes = encode(&scene.picture, Store::Jpeg(85));
    let share = scene.truth[at];
    let ends = LIMITS.map(|celsius| detector.signal(celsius + 273.15));
    let kelvin = detector.temperature(ends[0] + share * (ends[1] - ends[0]));
    let printed = [Printed {
        at: [f64::from(x), f64::from(y)],
        reading: declared((10.0 * (kelvin - 273.15)).round() / 10.0, 0.05),
    }];
    let by = |law, high| {
        let scale = Scale {
            bar: &bar,
            low_end: None,
            low: &low,
            high,
            law,
            detector: Some(&detector),
            printed: &printed,
        };
        let wanted = Wanted {
            scale: Some(scale),
            ..Wanted::default()
        };
        endtank::load::read(&bytes, wanted)
    };
    let error = by(BarLaw::Temperature, &high).unwrap_err();
    assert!(error.mend.contains("bar-law = \"signal\""), "{error:?}");
    assert!(error.what.contains(" K)"), "{error}");
    let image = by(BarLaw::Signal, &high).unwrap();
    assert!((image.shown(x as usize, y as usize).unwrap() - kelvin).abs() < 1.0);
    let wrong = declared(95.0, 0.05);
    let error = by(BarLaw::Signal, &wrong).unwrap_err();
    assert!(error.mend.contains("`low` and `high`"), "{error:?}");
}

#[test]
fn every_kind_of_file_says_the_same() {
    let (map, layout) = (map("cividis"), Layout::plain(true, 200));
    let scene = draw(&map, &layout, 3);
    let bar = ColourBar::Box(layout.bar.map(f64::from));
    let means = [Store::Png, Store::WebP, Store::Bmp, Store::Jpeg(95)].map(|store| {
        let image = read(&encode(&scene.picture, store), &bar, layout.cold, &[]).unwrap();
        regions::measure(&image, &scene, &layout)[6].error
    });
    assert!(means[0] == means[1] && means[0] == means[2], "{means:?}");
    assert!((means[0] - means[3]).abs() < 0.003, "{means:?}");
    // A grey JPEG and an indexed or 16-bit PNG are read too, and what is see-through holds nothing.
    let mut wide = std::io::Cursor::new(Vec::new());
    let deep = image::DynamicImage::ImageRgb8(scene.picture.clone()).into_rgb16();
    deep.write_to(&mut wide, image::ImageFormat::Png).unwrap();
    let image = read(wide.get_ref(), &bar, layout.cold, &[]).unwrap();
    assert_eq!(regions::measure(&image, &scene, &layout)[6].error, means[0]);
    let mut clear = image::DynamicImage::ImageRgb8(scene.picture.clone()).into_rgba8();
    clear.get_pixel_mut(100, 100).0[3] = 0;
    let mut bytes = std::io::Cursor::new(Vec::new());
    clear.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    let image = read(bytes.get_ref(), &bar, layout.cold, &[]).unwrap();
    assert_eq!(image.shown(100, 100), None);
    let grey = image::DynamicImage::ImageRgb8(scene.picture.clone()).into_luma8();
    let mut bytes = Vec::new();
    let encoder = jpeg_encoder::Encoder::new(&mut bytes, 95);
    let (width, height) = grey.dimensions();
    encoder
        .encode(
            grey.as_raw(),
            width as u16,
            height as u16,
            jpeg_encoder::ColorType::Luma,
        )
        .unwrap();
    let image = read(&bytes, &bar, layout.cold, &[]).unwrap();
    assert!(regions::measure(&image, &scene, &layout)[6].error.abs() < 0.01);
}

#[test]
fn limits_and_boxes_that_make_no_scale_are_refused() {
    let (map, layout) = (map("inferno"), Layout::plain(true, 200));
    let bytes = encode(&draw(&map, &layout, 3).picture, Store::Png);
    let by = |bar: [f64; 4], low: f64, high: f64| {
        let (low, high) = (declared(low, 0.0), declared(high, 0.0));
        let scale = endtank::load::Scale {
            bar: &ColourBar::Box(bar),
            low_end: None,
            low: &low,
            high: &high,
            law: endtank::session::BarLaw::Temperature,
            detector: None,
            printed: &[],
        };
        let wanted = endtank::load::Wanted {
            scale: Some(scale),
            ..endtank::load::Wanted::default()
        };
        endtank::load::read(&bytes, wanted)
    };
    let bar = layout.bar.map(f64::from);
    assert!(by(bar, 20.0, 70.0).is_ok());
    for (low, high) in [
        (20.0, 20.0),
        (70.0, 20.0),
        (f64::NAN, 20.0),
        (20.0, f64::NAN),
        (20.0, f64::INFINITY),
    ] {
        let error = by(bar, low, high).unwrap_err();
        assert!(error.mend.contains("`low` and `high`"), "{error:?}");
    }
    let [x, y, width, height] = bar;
    for odd in [
        [x, y, 1.0, height],
        [x, y, width, 1.0],
        [x, y, -width, height],
        [x, y, width, f64::NAN],
        [f64::INFINITY, y, width, height],
        [x + 1000.0, y, width, height],
        [x, y, width, 1e18],
        // The paper beside the bar: one colour.
        [328.0, 20.0, 10.0, 200.0],
    ] {
        let error = by(odd, 20.0, 70.0).unwrap_err();
        assert!(error.what.contains("bar"), "{odd:?} {error:?}");
    }
}

/// A JPEG of quality 95 made with some settings, of rows of some colour type.
fn jpeg_of(
    raw: &[u8],
    size: (u32, u32),
    colour: jpeg_encoder::ColorType,
    set: impl FnOnce(&mut jpeg_encoder::Encoder<&mut Vec<u8>>),
) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = jpeg_encoder::Encoder::new(&mut bytes, 95);
    set(&mut encoder);
    encoder
        .encode(raw, size.0 as u16, size.1 as u16, colour)
        .unwrap();
    bytes
}

#[test]
fn progressive_printed_indexed_and_turned_pictures_say_the_same() {
    use jpeg_encoder::ColorType;
    let (map, layout) = (map("cividis"), Layout::plain(true, 200));
    let scene = draw(&map, &layout, 3);
    let size = scene.picture.dimensions();
    let bar = ColourBar::Box(layout.bar.map(f64::from));
    let error = |bytes: &[u8]| {
        let image = read(bytes, &bar, layout.cold, &[]).unwrap();
        regions::measure(&image, &scene, &layout)[6].error
    };
    let raw = scene.picture.as_raw();
    let progressive = jpeg_of(raw, size, ColorType::Rgb, |one| one.set_progressive(true));
    assert!(error(&progressive).abs() < 0.003);
    // Four inks: black is what all three have in common.
    let inks: Vec<u8> = scene
        .picture
        .pixels()
        .flat_map(|pixel| {
            let [c, m, y] = pixel.0.map(|level| 255 - level);
            let black = c.min(m).min(y);
            let ink = |ink: u8| {
                let part = f64::from(ink - black) / f64::from(255 - black).max(1.0);
                (255.0 * part).round() as u8
            };
            [ink(c), ink(m), ink(y), black]
        })
        .collect();
    for colour in [ColorType::Cmyk, ColorType::CmykAsYcck] {
        let printed = jpeg_of(&inks, size, colour, |_| {});
        match read(&printed, &bar, layout.cold, &[]) {
            Ok(image) => {
                let error = regions::measure(&image, &scene, &layout)[6].error;
                assert!(error.abs() < 0.01, "{error}");
            }
            Err(refused) => panic!("{refused}"),
        }
    }
    // Turned by a quarter to the left, and noted so.
    let turned = image::imageops::rotate270(&scene.picture);
    let note = b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0";
    let turned = jpeg_of(
        turned.as_raw(),
        turned.dimensions(),
        ColorType::Rgb,
        |one| {
            one.add_exif_metadata(note).unwrap();
        },
    );
    assert!(error(&turned).abs() < 0.003);
    assert_eq!(
        error(&indexed(&scene.picture)),
        error(&encode(&scene.picture, Store::Png))
    );
}

/// A PNG with a table of at most 256 colours: those of cividis, paper and marks are fewer.
fn indexed(picture: &image::RgbImage) -> Vec<u8> {
    let mut table: Vec<[u8; 3]> = Vec::new();
    let indices: Vec<u8> = picture
        .pixels()
        .map(|pixel| {
            let at = table.iter().position(|colour| *colour == pixel.0);
            at.unwrap_or_else(|| {
                table.push(pixel.0);
                table.len() - 1
            }) as u8
        })
        .collect();
    assert!(table.len() <= 256, "{}", table.len());
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_palette(table.concat());
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&indices).unwrap();
    drop(writer);
    bytes
}

#[test]
fn damaged_colour_pictures_are_refused_or_read_and_never_panic() {
    let (map, mut layout) = (map("jet"), Layout::plain(true, 80));
    layout.size = [392, 292];
    let scene = draw(&map, &layout, 3);
    let bar = ColourBar::Box(layout.bar.map(f64::from));
    for store in [Store::Png, Store::WebP, Store::Bmp, Store::Jpeg(75)] {
        let bytes = encode(&scene.picture, store);
        for part in 0..40 {
            let cut = bytes.len() * part / 40;
            let _ = read(&bytes[..cut], &bar, layout.cold, &[]);
            let mut changed = bytes.clone();
            for byte in changed.iter_mut().skip(cut).take(3) {
                *byte ^= 0x5A;
            }
            let _ = read(&changed, &bar, layout.cold, &[]);
        }
        for byte in 2..40.min(bytes.len()) {
            let mut changed = bytes.clone();
            changed[byte] = 0xFF;
            let _ = read(&changed, &ColourBar::Find, layout.cold, &[]);
        }
    }
    // A header that claims far more than the file holds.
    let mut huge = encode(&scene.picture, Store::Bmp);
    huge[18..26].copy_from_slice(&[0, 0x20, 0, 0, 0, 0x20, 0, 0]);
    huge.truncate(2000);
    let error = read(&huge, &bar, layout.cold, &[]).unwrap_err();
    assert!(error.what.contains("cut off"), "{error}");
}

/// The half-width covers with bars as thin as are read, too, which compression mixes with what lies beside them.
#[test]
fn the_half_width_covers_with_narrow_bars() {
    let maps = ordered_maps();
    for breadth in [3, 4, 6, 9, 11] {
        for quality in [90, 75] {
            let tallies = maps.par_iter().step_by(2).map(|map| {
                let mut tally = Tally::default();
                for (upright, seed) in [(true, 41), (false, 42)] {
                    let mut layout = Layout::plain(upright, 200);
                    layout.bar[if upright { 2 } else { 3 }] = breadth;
                    let found = regions::of_scene(map, Store::Jpeg(quality), &layout, seed);
                    for one in found.iter().filter(|one| one.invalid < 0.5) {
                        tally.add(one);
                    }
                }
                tally
            });
            let all = tallies.reduce(Tally::default, |mut one, other| {
                one.errors.extend(other.errors);
                one.covered += other.covered;
                one
            });
            println!(
                "{breadth} pixels, JPEG {quality}: mean {:.2}, worst {:.2}, covered {:.1} %",
                all.mean(),
                all.worst(),
                all.coverage()
            );
            assert!(all.coverage() >= 95.0, "{breadth} {quality}");
        }
    }
}

/// Bars that near the colour of the paper without a jump: without loss they are found to the last row.
#[test]
fn bars_that_fade_into_the_paper_are_found() {
    let (black, white) = (image::Rgb([0; 3]), image::Rgb([255; 3]));
    for (name, paper) in [
        ("nipy_spectral", black),
        ("gnuplot2", black),
        ("cubehelix", white),
        ("CMRmap", white),
    ] {
        for (upright, store) in [(true, Store::Png), (false, Store::WebP)] {
            let mut layout = Layout::plain(upright, 200);
            layout.paper = paper;
            let scene = draw(&map(name), &layout, 7);
            let bytes = encode(&scene.picture, store);
            let image = read(&bytes, &ColourBar::Find, layout.cold, &[]).unwrap();
            let found = image.palette.unwrap().bar.rectangle();
            let off = found
                .iter()
                .zip(layout.bar)
                .map(|(&at, bar)| at.abs_diff(bar as usize));
            assert!(off.max() <= Some(1), "{name}: {found:?}, {:?}", layout.bar);
        }
    }
}
