//! Reads a picture under watch: how long it takes, and how much memory at its peak.

use std::sync::Mutex;
use std::time::{Duration, Instant};

use endtank::load::{self, LoadError, ThermalImage, Wanted};
use endtank::session::Pixels;
use peak_alloc::PeakAlloc;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// One picture at a time, so that a peak is its own.
static ALONE: Mutex<()> = Mutex::new(());

/// Long even for a busy machine; a picture here takes milliseconds.
const LONGEST: Duration = Duration::from_secs(5);

/// Bytes that reading any file may take, whatever its length (an eighth of the limit on decoding: strips that overlap
/// may claim more than the file packs), and those for each of its own bytes: LZW packs up to 1400 into one and the
/// numbers are held twice while a picture is turned.
const BASE: usize = 128 << 20;
const PER_BYTE: usize = 3_000;

const COUNTS: Pixels = Pixels::Linear {
    step: 0.01,
    zero: 0.0,
};

/// Reads the first page, or panics if that takes too long or too much.
pub fn read(bytes: &[u8]) -> Result<ThermalImage, LoadError> {
    page(bytes, None)
}

pub fn page(bytes: &[u8], page: Option<usize>) -> Result<ThermalImage, LoadError> {
    let wanted = Wanted {
        pixels: Some(&COUNTS),
        page,
        ..Wanted::default()
    };
    watched(bytes, || load::read(bytes, wanted))
}

/// Does something with a file's bytes, or panics if that takes too long or too much.
pub fn watched<T>(bytes: &[u8], read: impl FnOnce() -> T) -> T {
    let _alone = ALONE
        .lock()
        .unwrap_or_else(|poisoned| poisoned.into_inner());
    let before = MEMORY.current_usage();
    MEMORY.reset_peak_usage();
    let start = Instant::now();
    let done = read();
    let (took, peak) = (start.elapsed(), MEMORY.peak_usage().saturating_sub(before));
    assert!(
        took < LONGEST,
        "took {took:?}: {:?}",
        &bytes[..bytes.len().min(64)]
    );
    let allowed = BASE + PER_BYTE * bytes.len();
    assert!(
        peak <= allowed,
        "took {peak} bytes: {:?}",
        &bytes[..bytes.len().min(64)]
    );
    done
}

#[test]
fn the_watch_sees_memory() {
    let before = MEMORY.current_usage();
    let held = vec![1_u8; 50 << 20];
    assert!(MEMORY.peak_usage() >= before.min(held.len()) && MEMORY.peak_usage() >= held.len());
}
