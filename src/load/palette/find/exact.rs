//! The ends of a strip of a picture without loss, followed to its very last row.

use super::strip::{Strip, View};

/// Rows that an end is followed at most.
const FARTHEST: i64 = 64;

/// A step along a bar is at most so many times the one before, and a level more.
const STEADY: u8 = 3;

type Pixel = [u8; 3];

/// The strip with its ends where they no longer differ from what lies beside them: a bar that nears the colour of the paper
/// does so without a jump.
pub(super) fn followed(view: &View<'_>, strip: Strip) -> Strip {
    let mut followed = strip;
    for below in [false, true] {
        let index = usize::from(below);
        let (last, outward) = if below {
            (strip.rows[1] as i64 - 1, 1)
        } else {
            (strip.rows[0] as i64, -1)
        };
        let rows = rows_beyond(view, strip.columns, last, outward);
        if below {
            followed.rows[index] += rows;
        } else {
            followed.rows[index] -= rows;
        }
    }
    followed
}

/// How many rows beyond the last one are still of the strip.
fn rows_beyond(view: &View<'_>, columns: [usize; 2], last: i64, outward: i64) -> usize {
    let row = |away: i64| Row::of(view, columns, last + outward * away);
    let (Some(mut before), Some(mut here)) = (row(-1), row(0)) else {
        return 0;
    };
    let mut count = 0;
    for away in 1..=FARTHEST {
        let Some(next) = row(away) else {
            break;
        };
        let limit = before.step(&here).saturating_mul(STEADY).saturating_add(1);
        if here.step(&next) > limit {
            break;
        }
        if next.stands_out() {
            count += 1;
            (before, here) = (here, next);
            continue;
        }
        // The last row may have the very colour of the paper: where one more step like the last one leads there.
        let reached = count > 0 && here.leads_to(&before, &next);
        return count + usize::from(reached);
    }
    count
}

/// A row of one colour, and the pixels beside it.
struct Row {
    colour: Pixel,
    beside: [Option<Pixel>; 2],
}

impl Row {
    fn of(view: &View<'_>, [left, right]: [usize; 2], y: i64) -> Option<Self> {
        let y = usize::try_from(y).ok()?;
        let colour = view.pixel(left, y)?;
        let plain = (left..right).all(|x| view.pixel(x, y) == Some(colour));
        let beside = [left.checked_sub(1), Some(right)].map(|x| view.pixel(x?, y));
        plain.then_some(Self { colour, beside })
    }

    /// Whether it differs from what lies beside it.
    fn stands_out(&self) -> bool {
        let mut known = self.beside.iter().flatten();
        self.beside != [None; 2] && known.all(|beside| *beside != self.colour)
    }

    /// The greatest change of a channel to another row.
    fn step(&self, other: &Self) -> u8 {
        let channels = self.colour.into_iter().zip(other.colour);
        channels.map(|(a, b)| a.abs_diff(b)).max().unwrap_or(0)
    }

    /// Whether a step like that from the row before leads within another of a row.
    fn leads_to(&self, before: &Self, next: &Self) -> bool {
        let step = i16::from(before.step(self).max(1));
        (0..3).all(|channel| {
            let [before, here, next] =
                [before, self, next].map(|row| i16::from(row.colour[channel]));
            (2 * here - before - next).abs() <= step
        })
    }
}
