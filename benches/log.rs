//! Reading a made-up log of a million rows with eight columns: a window by engine speed, and the peak, which reads it twice.
//!
//! The log stays at `target/log-bench.csv`, for `benches/log_readers.py` to read with general libraries.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../tests/made_up_log/mod.rs"]
mod made_up_log;

use std::fs::File;
use std::path::Path;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use endtank::log::{self, Window};

fn windows(criterion: &mut Criterion) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/log-bench.csv");
    made_up_log::write(&path, 1_000_000);
    let mut group = criterion.benchmark_group("log of 1 000 000 rows");
    group.sample_size(10);
    group.throughput(Throughput::Bytes(std::fs::metadata(&path).unwrap().len()));
    let speed = Window::Speed {
        low: 2350.0,
        high: 2450.0,
    };
    for (name, window) in [("engine speed", speed), ("peak boost", Window::PeakBoost)] {
        let request = made_up_log::request(window);
        group.bench_function(name, |bench| {
            bench.iter(|| log::read(File::open(&path).unwrap(), &request).unwrap());
        });
    }
    group.finish();
}

criterion_group!(benches, windows);
criterion_main!(benches);
