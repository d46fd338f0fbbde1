//! Memory stays flat: ten times as many pictures take hardly more of it.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod made_up;

use std::process::{Command, Stdio};
use std::time::Duration;

use made_up::Packing;

/// The most memory, bytes, by which 40 pictures may exceed 4.
///
/// What may grow: 24 thumbnails instead of 8 (0.3 MB each) and the larger side-by-side picture that they make (2028
/// pixels across instead of 700, 1400 high, 4 bytes a pixel while drawn, 2 at most once packed): about 16 MB; readings,
/// labels and the text of the report: below 1 MB. The rest is for the allocator. What
/// may not: 36 decoded pictures (0.6 MB each, 22 MB) with their temperatures (1.2 MB each) and annotated PNG files
/// (about 0.5 MB each, and a third more in the report); any two of these would exceed the bound.
const MOST: u64 = 25 << 20;

/// The peak of a comparison's resident memory, bytes: Linux keeps it for as long as the process lives, so it is read
/// until there is none. On two threads, because each holds a picture.
fn peak(pictures: usize) -> u64 {
    let folder = tempfile::tempdir().unwrap();
    let session = made_up::write(folder.path(), pictures, Packing::None);
    let mut child = Command::new(env!("CARGO_BIN_EXE_endtank"))
        .arg("compare")
        .arg(session)
        .args(["--jobs", "2"])
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0;
    let ended = loop {
        // A process that has ended but was not yet waited for has a status without memory.
        let kilobytes = std::fs::read_to_string(&status).ok().and_then(|status| {
            let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
            line.split_whitespace().nth(1)?.parse::<u64>().ok()
        });
        peak = peak.max(kilobytes.unwrap_or(0) << 10);
        if let Some(ended) = child.try_wait().unwrap() {
            break ended;
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    assert!(ended.success());
    assert!(peak > 0);
    peak
}

#[test]
fn forty_pictures_take_hardly_more_than_four() {
    let (few, many) = (peak(4), peak(40));
    assert!(
        many < few + MOST,
        "{} MB for 4 pictures, {} MB for 40",
        few >> 20,
        many >> 20
    );
}
