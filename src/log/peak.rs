//! The second with the greatest mean inlet pressure.

use std::collections::VecDeque;
use std::io::{Read, Seek};

use super::layout::Layout;
use super::rows;
use super::{About, Channel, Fault};

/// The length of the window, s (judgement: longer than a sensor's noise and a turbocharger's surge, shorter than a pull).
const LENGTH: f64 = 1.0;

/// A window counts where its rows span this share of its length: not at the log's start, nor across a gap in it.
const SPANNED: f64 = 0.5;

/// The most rows that a window may hold: bounds the memory.
const MOST_ROWS: usize = 1 << 20;

/// The first and the last moment of it, s.
///
/// # Errors
/// What is wrong with the rows, or that no second of the log has two rows half a second apart.
pub fn find<R: Read + Seek + Send>(
    file: &mut R,
    layout: &Layout,
) -> Result<(f64, f64), Vec<Fault>> {
    let mut recent: VecDeque<(f64, f64)> = VecDeque::new();
    let mut sum = 0.0;
    let mut best: Option<(f64, (f64, f64))> = None;
    let mut seen = 0_u64;
    // What is wrong with the rows is said before what is found in them.
    rows::each(file, layout, |row, _| {
        let (Some(time), Some(pressure)) =
            (row.get(Channel::Time), row.get(Channel::InletPressure))
        else {
            return Ok(());
        };
        recent.push_back((time, pressure));
        sum += pressure;
        while let Some(&(first, oldest)) = recent.front()
            && time - first > LENGTH
        {
            recent.pop_front();
            sum -= oldest;
        }
        if recent.len() > MOST_ROWS {
            return Err(vec![too_dense()]);
        }
        seen += 1;
        // Adding and taking away loses digits over millions of rows: begin anew now and then.
        if seen.is_multiple_of(1 << 12) {
            sum = recent.iter().map(|(_, pressure)| pressure).sum();
        }
        let first = recent.front().map_or(time, |(first, _)| *first);
        let mean = sum / recent.len() as f64;
        if time - first >= SPANNED * LENGTH && best.is_none_or(|(greatest, _)| mean > greatest) {
            best = Some((mean, (first, time)));
        }
        Ok(())
    })?;
    best.map(|(_, window)| window)
        .ok_or_else(|| vec![none_found()])
}

fn none_found() -> Fault {
    let what =
        "no second of the log has rows of time and inlet pressure at least half a second apart";
    let mend = "name the window by time or engine speed instead, for instance window = \"2350 to 2450 rpm\"";
    Fault::new(About::Window, what, mend)
}

fn too_dense() -> Fault {
    let what = "the log has more than a million rows in a second";
    Fault::new(
        About::Column(Channel::Time),
        what,
        "check the unit of the time column",
    )
}
