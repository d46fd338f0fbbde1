//! What one call of a band's signal table and of its inverse costs.
#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use endtank::radiometry::{Band, SignalTable};

/// Calls a measurement, at as many temperatures: one call alone is too short to be timed.
const CALLS: usize = 1024;

fn table(criterion: &mut Criterion) {
    let band = Band::flat(8.0, 14.0).unwrap();
    let table = SignalTable::new(&band);
    // Scattered over 0 to 200 °C, so that neither the cache nor branch prediction is helped by order.
    let kelvin: Vec<f64> = (0..CALLS)
        .map(|index| 273.15 + 200.0 * ((index * 389) % CALLS) as f64 / CALLS as f64)
        .collect();
    let signals: Vec<f64> = kelvin.iter().map(|&kelvin| table.signal(kelvin)).collect();
    let mut group = criterion.benchmark_group("signal table, 8 to 14 µm");
    group.throughput(Throughput::Elements(CALLS as u64));
    group.bench_function("signal", |bench| {
        bench.iter(|| {
            let numbers = black_box(&kelvin).iter();
            numbers.map(|&kelvin| table.signal(kelvin)).sum::<f64>()
        });
    });
    group.bench_function("temperature", |bench| {
        bench.iter(|| {
            let numbers = black_box(&signals).iter();
            numbers
                .map(|&signal| table.temperature(signal))
                .sum::<f64>()
        });
    });
    group.finish();
    criterion.bench_function("signal table, 8 to 14 µm/build", |bench| {
        bench.iter(|| SignalTable::new(black_box(&band)));
    });
}

criterion_group!(benches, table);
criterion_main!(benches);
