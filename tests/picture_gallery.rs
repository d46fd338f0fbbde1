//! Pictures of made-up scenes, written to the target folder to be looked at; each must decode to its size again.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::io::Cursor;
use std::path::Path;

use endtank::load::{Samples, ThermalImage};
use endtank::locate::shape::Shape;
use endtank::picture::{
    CorrectedRegion, Panel, PanelRow, RegionNote, Scale, Shows, THUMBNAIL_HEIGHT, THUMBNAIL_WIDTH,
    Thumbnails, annotate, side_by_side, thumbnails,
};
use endtank::session::{Pixels, Role};
use ndarray::Array2;

/// A cooler between two tanks in a dim workshop: hot on the left, cold on the right, tubes between; °C as f32.
fn scene(width: usize, height: usize, inlet: f32, outlet: f32) -> ThermalImage {
    let celsius = Array2::from_shape_fn((height, width), |(y, x)| {
        let (u, v) = (x as f32 / width as f32, y as f32 / height as f32);
        let shop = 19.0 + 3.0 * v + (17.0 * u).sin() * 0.8;
        let inside = (0.2..0.8).contains(&v);
        let ripple = 2.0 * (v * 60.0).sin();
        match u {
            _ if !inside => shop,
            u if (0.08..0.25).contains(&u) => inlet - 8.0 * (v - 0.5).abs(),
            u if (0.75..0.92).contains(&u) => outlet + 4.0 * (v - 0.5).abs(),
            u if (0.25..0.75).contains(&u) => {
                let along = (u - 0.25) / 0.5;
                inlet + (outlet - inlet) * along.sqrt() + ripple - 3.0
            }
            _ => shop,
        }
    });
    image(celsius)
}

fn image(celsius: Array2<f32>) -> ThermalImage {
    ThermalImage {
        samples: Samples::F32(celsius),
        pixels: Pixels::Linear {
            step: 1.0,
            zero: 273.15,
        },
        container: "made up".to_owned(),
        assumed: None,
        pages: 1,
        captured: None,
        palette: None,
    }
}

fn celsius_of(image: &ThermalImage) -> Vec<f32> {
    let cells = (0..image.height()).flat_map(|y| (0..image.width()).map(move |x| (x, y)));
    cells
        .map(|(x, y)| {
            image
                .shown(x, y)
                .map_or(f32::NAN, |kelvin| (kelvin - 273.15) as f32)
        })
        .collect()
}

fn note(shape: Shape, role: Role, lines: &[&str]) -> RegionNote {
    RegionNote {
        shape,
        exclude: Vec::new(),
        lines: lines.iter().map(|line| (*line).to_owned()).collect(),
        role,
    }
}

/// Up to twelve regions as a technician would draw them, in fractions of the picture.
fn regions(image: &ThermalImage, count: usize) -> Vec<RegionNote> {
    let (w, h) = (image.width() as f64, image.height() as f64);
    let rect = |x: f64, y: f64, a: f64, b: f64| Shape::Rectangle([x * w, y * h, a * w, b * h]);
    let mut inlet = note(
        rect(0.09, 0.24, 0.15, 0.52),
        Role::Tank,
        &["inlet, moulded", "71.3 ± 2.4 °C", "shown 68.0 °C"],
    );
    inlet.exclude = vec![rect(0.13, 0.5, 0.06, 0.12)];
    let all = vec![
        inlet,
        note(
            Shape::Polygon(vec![
                [0.76 * w, 0.24 * h],
                [0.91 * w, 0.24 * h],
                [0.9 * w, 0.74 * h],
                [0.77 * w, 0.74 * h],
            ]),
            Role::Tank,
            &["outlet, bare aluminium", "38.2 ± 5.1 °C", "shown 31.0 °C"],
        ),
        note(
            Shape::Circle([0.16 * w, 0.32 * h, 0.035 * w]),
            Role::Patch,
            &["patch, matt tape", "71.0 ± 1.1 °C", "shown 69.8 °C"],
        ),
        note(
            Shape::Circle([0.06 * w, 0.09 * h, 0.04 * w]),
            Role::Reflector,
            &["reflector", "19.6 °C"],
        ),
        note(
            Shape::Ellipse([0.84 * w, 0.6 * h, 0.04 * w, 0.06 * h]),
            Role::Patch,
            &["patch 2, paint", "37.9 ± 1.2 °C", "shown 37.1 °C"],
        ),
        note(
            rect(0.94, 0.9, 0.06, 0.1),
            Role::Reference,
            &["reference", "45.0 ± 0.3 °C", "shown 44.6 °C"],
        ),
        note(
            Shape::Line([[0.3 * w, 0.3 * h], [0.7 * w, 0.7 * h]]),
            Role::Tank,
            &["along the tubes", "52.4 ± 2.0 °C"],
        ),
        note(
            Shape::Point([0.5 * w, 0.25 * h]),
            Role::Tank,
            &["upper seam", "58.9 °C", "shown 57.7 °C"],
        ),
        note(
            rect(0.0, 0.85, 0.08, 0.15),
            Role::Reference,
            &["reference in the corner", "20.0 ± 0.3 °C", "shown 20.4 °C"],
        ),
        note(
            rect(0.72, 0.5, 0.12, 0.2),
            Role::Tank,
            &[
                "outlet, lower part beside the weld of the hose spigot",
                "38.8 ± 5.0 °C",
                "shown 31.9 °C",
            ],
        ),
        note(
            rect(0.9, 0.0, 0.1, 0.12),
            Role::Reflector,
            &["foil", "19.9 °C"],
        ),
        note(
            rect(0.4, 0.86, 0.2, 0.1),
            Role::Tank,
            &["lower rail", "24.1 ± 1.9 °C", "shown 24.0 °C"],
        ),
    ];
    all.into_iter().take(count).collect()
}

/// Writes a PNG to the target folder and returns the size it decodes to.
fn keep(name: &str, bytes: &[u8]) -> (u32, u32) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("gallery");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join(name), bytes).unwrap();
    let mut reader = png::Decoder::new(Cursor::new(bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!(info.color_type, png::ColorType::Rgb);
    (info.width, info.height)
}

#[test]
fn every_usual_size_and_number_of_regions_draws() {
    for (width, height, counts) in [
        (80, 60, [2, 12]),
        (160, 120, [6, 12]),
        (320, 240, [0, 6]),
        (640, 480, [6, 12]),
    ] {
        for count in counts {
            let image = scene(width, height, 71.0, 34.0);
            let title = "Original, moulded tanks\nhold 1 · original-1.tiff";
            let bytes = annotate(&image, title, &regions(&image, count), None).unwrap();
            let (w, h) = keep(&format!("{width}x{height}-{count}.png"), &bytes);
            // 640 × 480 with labels on it or in margins; paper, title and scale around it.
            if count < 12 {
                assert_eq!((w, h), (688, 656));
            } else {
                assert!((800..1300).contains(&w) && h == 656, "{w} × {h}");
            }
        }
    }
}

#[test]
fn dead_pixels_and_a_scale_too_narrow_are_told() {
    let mut image = scene(160, 120, 71.0, 34.0);
    if let Samples::F32(array) = &mut image.samples {
        let patch = array.indexed_iter_mut();
        patch
            .filter(|((y, x), _)| (80..110).contains(y) && (60..100).contains(x))
            .for_each(|(_, celsius)| *celsius = f32::NAN);
    }
    let scale = Scale {
        low: 25.0,
        high: 60.0,
    };
    let bytes = annotate(
        &image,
        "Δ cooler 漢字, 3.0 bar\nrun 2 · β.png",
        &regions(&image, 2),
        Some(scale),
    )
    .unwrap();
    keep("invalid.png", &bytes);
}

#[test]
fn degenerate_pictures_draw() {
    for (name, celsius) in [
        ("1x1", Array2::from_elem((1, 1), 21.5)),
        ("1x500", Array2::from_shape_fn((500, 1), |(y, _)| y as f32)),
        ("500x1", Array2::from_shape_fn((1, 500), |(_, x)| x as f32)),
        ("all-invalid", Array2::from_elem((60, 80), f32::NAN)),
        ("constant", Array2::from_elem((60, 80), 21.5)),
        (
            "huge",
            Array2::from_shape_fn((100, 4000), |(_, x)| x as f32),
        ),
    ] {
        let image = image(celsius);
        for count in [0, 12] {
            let bytes = annotate(&image, name, &regions(&image, count), None).unwrap();
            keep(&format!("degenerate-{name}-{count}.png"), &bytes);
        }
        let small = thumbnails(&image, &regions(&image, 12), &[], 64, 48);
        assert_eq!(small.scale(), Scale::of(&celsius_of(&image)), "{name}");
    }
}

#[test]
fn a_picture_without_pixels_is_refused() {
    let error = annotate(&image(Array2::zeros((0, 0))), "", &[], None).unwrap_err();
    assert!(error.to_string().contains("no pixels"), "{error}");
}

/// The inlet tank moved, the outlet tank flat, and a part between them whose temperature is not known.
fn corrected(image: &ThermalImage) -> Vec<CorrectedRegion> {
    let (width, height) = (image.width() as f64, image.height() as f64);
    let part = |left: f64, across: f64, shows| CorrectedRegion {
        shape: Shape::Rectangle([left * width, 0.3 * height, across * width, 0.4 * height]),
        exclude: Vec::new(),
        shows,
    };
    vec![
        part(0.1, 0.12, Shows::Moved(9.0)),
        part(0.78, 0.12, Shows::Flat(52.0)),
        part(0.45, 0.05, Shows::Unknown),
    ]
}

#[test]
fn coolers_stand_side_by_side() {
    let panel = |size: (usize, usize), inlet, outlet, number: usize| {
        let image = scene(size.0, size.1, inlet, outlet);
        Panel {
            title: format!("hold {number} · picture-{number}.tiff"),
            seen: vec![
                format!("inlet shown {inlet:.1} °C"),
                format!("outlet shown {outlet:.1} °C"),
            ],
            corrected: vec![
                format!("inlet skin {:.1} °C", inlet + 9.0),
                "outlet skin 52.0 °C (flat: emissivity below 0.6)".to_owned(),
            ],
            thumbnails: thumbnails(
                &image,
                &regions(&image, 6),
                &corrected(&image),
                THUMBNAIL_WIDTH,
                THUMBNAIL_HEIGHT,
            ),
        }
    };
    let row = |label: &str, count, size, outlet| PanelRow {
        label: label.to_owned(),
        panels: (1..=count)
            .map(|n| panel(size, 71.0 + n as f32, outlet, n))
            .collect(),
        more: 0,
    };
    let rows = [
        row("Original, moulded tanks", 3, (640, 480), 38.0),
        row("Replacement, bar and plate", 2, (160, 120), 31.0),
        row("Not photographed", 0, (160, 120), 31.0),
    ];
    let all = rows
        .iter()
        .flat_map(|row| &row.panels)
        .map(|panel| &panel.thumbnails);
    let scale = all
        .filter_map(Thumbnails::scale)
        .reduce(Scale::union)
        .unwrap();
    let (width, _) = keep("side-by-side.png", &side_by_side(&rows, scale).unwrap());
    assert_eq!(width, 3 * 320 + 2 * 12 + 2 * 24);

    let many = vec![row("Eight pictures", 8, (320, 240), 31.0); 2];
    let (width, _) = keep(
        "side-by-side-many.png",
        &side_by_side(&many, scale).unwrap(),
    );
    assert!(width <= 2030, "{width}");
    keep("side-by-side-none.png", &side_by_side(&[], scale).unwrap());
}
