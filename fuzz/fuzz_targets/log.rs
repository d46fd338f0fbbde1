//! Loggers' files.
#![no_main]

use std::io::Cursor;

use endtank::log::{self, Channel, Column, Request, Surroundings, Window};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|input: (u8, &[u8])| {
    let (choice, bytes) = input;
    let column = |(channel, name): (Channel, &str)| Column {
        channel,
        name: name.to_owned(),
        unit: None,
    };
    let columns = [
        (Channel::Time, "s"),
        (Channel::EngineSpeed, "rpm"),
        (Channel::InletPressure, "kPa"),
    ];
    let window = match choice % 3 {
        0 => Window::Speed {
            low: 1.0,
            high: 5000.0,
        },
        1 => Window::Time {
            low: 0.0,
            high: 100.0,
        },
        _ => Window::PeakBoost,
    };
    let request = Request {
        columns: columns.map(column).to_vec(),
        window,
        surroundings: Surroundings::default(),
    };
    // Half of the inputs have the names already, so that rows are reached.
    let head: &[u8] = if choice & 4 == 0 { b"s;rpm;kPa\n" } else { b"" };
    let file = [head, bytes].concat();
    match log::read(Cursor::new(file), &request) {
        Ok(reading) => assert!(reading.means.iter().all(|mean| mean.value.is_finite())),
        Err(faults) => assert!(!faults.is_empty()),
    }
});
