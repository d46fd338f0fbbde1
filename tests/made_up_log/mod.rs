//! The made-up log of `tests/reference/log_windows.py`: the same digits by the same formulas.
#![allow(dead_code)]

use std::io::{BufWriter, Write};
use std::path::Path;

use endtank::log::{Channel, Column, Request, Surroundings, Window};

const PERIOD: usize = 20_000;

/// Even numbers between -0.5 and 0.5.
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / 9_007_199_254_740_992.0 - 0.5
    }
}

/// x' = share x + scale u.
struct Remembering {
    noise: Noise,
    share: f64,
    scale: f64,
    x: f64,
}

impl Remembering {
    const fn new(seed: u64, share: f64, scale: f64) -> Self {
        let noise = Noise(seed);
        Self {
            noise,
            share,
            scale,
            x: 0.0,
        }
    }

    fn next(&mut self) -> f64 {
        self.x = self.share * self.x + self.scale * self.noise.next();
        self.x
    }
}

/// Four decimals, rounded as in the script.
fn digits(value: f64) -> f64 {
    (value * 1e4 + 0.5).floor() / 1e4
}

/// Writes a log of so many rows.
pub fn write(path: &Path, rows: usize) {
    let mut file = BufWriter::new(std::fs::File::create(path).unwrap());
    writeln!(
        file,
        "Time (s),RPM,MAP [kPa],Tap 2 [kPa],IAT (degC),T2 (degC),T1 (degC),MAF (g/s)"
    )
    .unwrap();
    let mut noise = [
        Remembering::new(1, 0.9, 8.0),
        Remembering::new(2, 0.97, 0.5),
        Remembering::new(3, 0.0, 1.0),
        Remembering::new(4, 0.99, 0.2),
        Remembering::new(5, 0.0, 0.5),
        Remembering::new(6, 0.5, 0.4),
        Remembering::new(7, 0.8, 0.6),
    ];
    for row in 0..rows {
        let place = row % PERIOD;
        let step = if place < PERIOD / 2 {
            place
        } else {
            PERIOD - place
        };
        let up = step as f64 * (2.0 / PERIOD as f64);
        let noise: Vec<f64> = noise.iter_mut().map(Remembering::next).collect();
        write!(
            file,
            "{:.2},{:.4},{:.4},{:.4},{:.4},{:.4},",
            row as f64 / 100.0,
            digits(1200.0 + 2600.0 * up + noise[0]),
            digits(20.0 + 130.0 * up + noise[1]),
            digits(18.0 + 122.0 * up + noise[2]),
            digits(40.0 + noise[3]),
            digits(38.0 + noise[4]),
        )
        .unwrap();
        if row % 97 != 5 {
            write!(file, "{:.4}", digits(60.0 + 70.0 * up + noise[5])).unwrap();
        }
        writeln!(file, ",{:.4}", digits(30.0 + 120.0 * up + noise[6])).unwrap();
    }
    file.flush().unwrap();
}

/// All of its columns.
pub fn request(window: Window) -> Request {
    let column = |(channel, name): (Channel, &str)| Column {
        channel,
        name: name.to_owned(),
        unit: None,
    };
    let columns = [
        (Channel::Time, "Time (s)"),
        (Channel::EngineSpeed, "RPM"),
        (Channel::InletPressure, "MAP"),
        (Channel::OutletPressure, "Tap 2 [kPa]"),
        (Channel::IntakeAir, "IAT"),
        (Channel::OutletAir, "T2"),
        (Channel::InletAir, "T1"),
        (Channel::AirFlow, "MAF"),
    ];
    Request {
        columns: columns.map(column).to_vec(),
        window,
        surroundings: Surroundings {
            inlet_added: 101_325.0,
            outlet_added: 101_325.0,
            ..Surroundings::default()
        },
    }
}
