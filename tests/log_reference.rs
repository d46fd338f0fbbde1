//! Windows of a log of a million rows against numpy, in flat memory.
//!
//! One test in a program of its own: what another does at the same time would count in its memory.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod made_up_log;

use std::fs::File;
use std::path::Path;

use approx::assert_relative_eq;
use endtank::log::{self, Reading, Window};
use peak_alloc::PeakAlloc;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// What the numbers of `tests/data/log/windows.csv` may be off by: sums in another order.
const CLOSE: f64 = 1e-9;

/// By how much two ways to estimate the doubt of one mean may differ: each knows it to a few per cent.
const ALIKE: f64 = 0.2;

/// The most memory, bytes, that reading may take: buffers, the first rows, the second of the peak.
const MOST: usize = 4 << 20;

const WINDOWS: [(&str, Window); 3] = [
    (
        "2350 to 2450 rpm",
        Window::Speed {
            low: 2350.0,
            high: 2450.0,
        },
    ),
    (
        "1234 to 5678 s",
        Window::Time {
            low: 1234.0,
            high: 5678.0,
        },
    ),
    ("peak-boost", Window::PeakBoost),
];

/// Reads a log, and how much memory that took.
fn read(path: &Path, window: Window) -> (Reading, usize) {
    MEMORY.reset_peak_usage();
    let before = MEMORY.current_usage();
    let file = File::open(path).unwrap();
    let reading = log::read(file, &made_up_log::request(window)).unwrap();
    (reading, MEMORY.peak_usage().saturating_sub(before))
}

#[test]
fn windows_of_a_million_rows_are_those_of_numpy_in_flat_memory() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    made_up_log::write(&path, 1_000_000);
    let expected = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/log/windows.csv");
    let mut expected = csv::Reader::from_path(expected).unwrap();
    let rows: Vec<csv::StringRecord> = expected.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 21);
    for (name, window) in WINDOWS {
        let (reading, took) = read(&path, window);
        assert!(took < MOST, "{name}: {took} bytes");
        assert_eq!(reading.rows, 1_000_000);
        let of_window: Vec<_> = rows.iter().filter(|row| &row[0] == name).collect();
        assert_eq!(reading.means.len(), of_window.len());
        for mean in &reading.means {
            let key = mean.channel.key();
            let row = of_window.iter().find(|row| &row[2] == key).unwrap();
            let number = |column: usize| row[column].parse::<f64>().unwrap();
            let (_, scale, zero) = mean.channel.dimension().face();
            assert_eq!(reading.in_window as f64, number(1), "{name}");
            assert_eq!(mean.count as f64, number(3), "{row:?}");
            assert_relative_eq!(zero + scale * mean.value, number(4), max_relative = CLOSE);
            let standard = scale * mean.standard;
            assert_relative_eq!(standard, number(5), max_relative = 1e-6);
            if !row[6].is_empty() {
                assert_relative_eq!(standard, number(6), max_relative = ALIKE);
            }
        }
        let pull = reading.pull.unwrap();
        assert_eq!(pull.bins.len(), 28, "{:?}", pull.bins);
        assert!(pull.fit.is_some() && pull.missing.is_empty());
    }
    // A tenth of it takes as much.
    let short = folder.path().join("short.csv");
    made_up_log::write(&short, 100_000);
    let (_, few) = read(&short, WINDOWS[0].1);
    let (_, many) = read(&path, WINDOWS[0].1);
    assert!(many < few + (64 << 10), "{few} and {many} bytes");
}
