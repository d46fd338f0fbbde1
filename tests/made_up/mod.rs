//! A made-up session of any number of 640 × 480 pictures, for benches and for the test of memory.

use std::fmt::Write as _;
use std::io::Cursor;
use std::path::{Path, PathBuf};

use tiff::encoder::compression::DeflateLevel;
use tiff::encoder::{Compression, Predictor, TiffEncoder, colortype};

/// Columns of a picture.
pub const WIDTH: u32 = 640;
/// Rows of a picture.
pub const HEIGHT: u32 = 480;

/// How a picture is packed.
#[derive(Debug, Clone, Copy)]
#[allow(dead_code, reason = "each user needs but one or two")]
pub enum Packing {
    /// Not at all.
    None,
    /// Deflate with horizontal differences, as cameras' exports have it.
    Deflate,
}

/// Counts of 0.01 K: two warm tanks with a core between them before a wall, each a little uneven, and noise of about
/// 0.05 K, which decides how many different counts there are and how well pictures pack.
pub fn counts(number: usize) -> Vec<u16> {
    let mut state = number as u64 + 1;
    let mut noise = move || {
        // Knuth's MMIX generator; the sum of two even numbers is near enough to a camera's noise.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) % 11) as f64 + ((state >> 45) % 11) as f64 - 10.0
    };
    (0..HEIGHT)
        .flat_map(|y| (0..WIDTH).map(move |x| (f64::from(x), f64::from(y))))
        .map(|(x, y)| {
            let inside = (100.0..340.0).contains(&y);
            let celsius = match x as u32 {
                60..200 if inside => 66.0 + 0.02 * (y - 100.0),
                200..440 if inside => 66.0 - 0.13 * (x - 200.0) + 0.01 * y,
                440..580 if inside => 34.0 + 0.01 * (y - 100.0),
                _ => 18.0 + 0.004 * x + 0.002 * y,
            };
            ((celsius + 0.1 * number as f64 + 273.15) * 100.0 + noise()).round() as u16
        })
        .collect()
}

/// A picture as a 16-bit TIFF.
pub fn picture(number: usize, packing: Packing) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let mut encoder = TiffEncoder::new(&mut bytes).unwrap();
    if let Packing::Deflate = packing {
        encoder = encoder
            .with_compression(Compression::Deflate(DeflateLevel::Balanced))
            .with_predictor(Predictor::Horizontal);
    }
    encoder
        .write_image::<colortype::Gray16>(WIDTH, HEIGHT, &counts(number))
        .unwrap();
    bytes.into_inner()
}

/// Writes a session of two coolers with `pictures` pictures, four a run, into a folder; returns the session's file.
pub fn write(folder: &Path, pictures: usize, packing: Packing) -> PathBuf {
    let mut text = HEAD.to_owned();
    for number in 0..pictures {
        let cooler = if 2 * number < pictures { "old" } else { "new" };
        if number % 4 == 0 || 2 * number == pictures {
            write!(text, "[[run]]\ncooler = \"{cooler}\"\nname = \"hold {number}\"\nhold = \"60 s\"\ninlet-pressure = \"148 kPa\"\noutlet-pressure = \"139 kPa\"\n\n").unwrap();
        }
        let file = format!("{number}.tiff");
        write!(
            text,
            "[[run.snapshot]]\nfile = \"{file}\"\nview = \"front\"\n\n"
        )
        .unwrap();
        std::fs::write(folder.join(file), picture(number, packing)).unwrap();
    }
    let path = folder.join("session.toml");
    std::fs::write(&path, text).unwrap();
    path
}

/// Everything but the runs: a view of six regions, two of them whole tanks.
const HEAD: &str = r#"
title = "Made up"
baseline = "old"

[conditions]
ambient = "18 °C ± 0.5"
barometer = "1008 hPa ± 2"

[instrument.camera]
emissivity = 0.95
reflected = "20 °C"
accuracy = "2 °C or 2 %"
pixels = { step = "0.01 K", zero = "0 K" }

[instrument.gauge]
measures = ["inlet-pressure", "outlet-pressure"]
accuracy = "2 kPa"

[surface.moulded]
emissivity = "0.94 ± 0.02"

[surface.tape]
emissivity = "0.95 ± 0.02"

[cooler.old]
label = "Original, moulded tanks"
inlet = "moulded"
outlet = "moulded"

[cooler.new]
label = "Replacement"
inlet = "moulded"
outlet = "moulded"

[view.front]
regions = [
  { tank = "inlet", name = "inlet", rectangle = [80, 120, 100, 180] },
  { tank = "outlet", name = "outlet", polygon = [[460, 120], [560, 120], [552, 300], [464, 300]] },
  { role = "reflector", name = "foil", circle = [60, 60, 16] },
  { role = "patch", name = "tape, inlet", tank = "inlet", surface = "tape", ellipse = [128, 316, 40, 12] },
  { role = "patch", name = "tape, outlet", tank = "outlet", surface = "tape", ellipse = [510, 316, 40, 12] },
  { tank = "inlet", name = "inlet, edge", rectangle = [64, 130, 12, 160], exclude = [{ rectangle = [64, 200, 12, 20] }] },
]

"#;
