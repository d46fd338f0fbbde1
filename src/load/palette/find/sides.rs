//! What lies beside a strip: rows of a bar stand out from both sides, rows of its border and of what lies beyond do not.

use super::ends::{BORDER, Rows};
use super::strip::View;
use crate::load::palette::lab;

/// Rows inside of a jump from which the strip is followed outward.
const INSIDE: i64 = 20;

/// Share of the contrast a few rows inside that a row must keep: compression mixes the last row with the first beyond.
const KEPT: f32 = 0.5;

/// An end of a strip, as its sides tell it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum BySides {
    /// The strip stands out from both sides up to this row and then no longer.
    Ends(i64),
    /// The same, and from there on it is like what lies around it.
    Dissolves(i64),
    /// Its sides do not tell.
    Unknown,
}

/// A strip to be looked at from its sides.
pub(super) struct Sides<'a> {
    pub(super) view: &'a View<'a>,
    pub(super) rows: &'a Rows,
    pub(super) columns: [usize; 2],
    /// From its end into the strip.
    pub(super) inward: i64,
}

impl Sides<'_> {
    /// Follows the strip outward from inside of a jump to where it stands out no longer.
    pub(super) fn look(&self, jump: i64, within: [usize; 2]) -> BySides {
        let middle = (within[0] + within[1]) as i64 / 2;
        let start = (0..=INSIDE)
            .rev()
            .map(|inside| jump + self.inward * inside)
            .find(|&y| (y - middle) * self.inward <= 0 && self.stands_out(y));
        let Some(mut last) = start else {
            return BySides::Unknown;
        };
        while self.stands_out(last - self.inward) {
            last -= self.inward;
        }
        if self.dissolves(last, jump) {
            BySides::Dissolves(last)
        } else {
            BySides::Ends(last)
        }
    }

    /// Whether a row differs from what lies right beside it at both sides, by a good part of what rows further inside do.
    fn stands_out(&self, y: i64) -> bool {
        let Some(here) = self.contrast(y) else {
            return false;
        };
        let mut inside: Vec<f32> = (2..=6)
            .filter_map(|step| self.contrast(y + self.inward * step))
            .collect();
        inside.sort_unstable_by(f32::total_cmp);
        let usual = inside.get(inside.len() / 2).copied().unwrap_or(0.0);
        let mixed = if self.view.alike < 0.01 {
            0.0
        } else {
            KEPT * usual
        };
        here > self.least().max(mixed)
    }

    /// The least difference that counts.
    fn least(&self) -> f32 {
        self.view.alike.max(0.012)
    }

    /// What a row differs by from what lies beside it, on the side where that is less: a thin border counts, and what is
    /// beyond it.
    fn contrast(&self, y: i64) -> Option<f32> {
        let [left, right] = self.columns;
        let sides = [
            [1, 2].map(|away| left.checked_sub(away)),
            [0, 1].map(|away| Some(right + away)),
        ];
        let differs = sides.map(|side| {
            let known = side.into_iter().flatten();
            known.filter_map(|x| self.differs(x, y)).reduce(f32::max)
        });
        differs.into_iter().flatten().reduce(f32::min)
    }

    /// What a row differs by from a pixel beside it.
    fn differs(&self, x: usize, y: i64) -> Option<f32> {
        let here = self.rows.colour(y)?;
        let y = usize::try_from(y).ok()?;
        (x < self.view.size().0).then(|| lab::distance(self.view.at(x, y), here))
    }

    /// Whether most rows of the strip differ from a column less than half as much as from the next one: it is the strip's own,
    /// mixed by compression.
    fn mixed(&self, x: Option<usize>, next: Option<usize>, within: [usize; 2]) -> bool {
        let (Some(x), Some(next)) = (x, next) else {
            return false;
        };
        let rows = within[0] as i64..within[1] as i64;
        let less = rows.clone().filter(|&y| {
            let (here, there) = (self.differs(x, y), self.differs(next, y));
            here.zip(there)
                .is_some_and(|(here, there)| here < 0.5 * there)
        });
        2 * less.count() > rows.count()
    }

    /// The same with the columns that compression mixed with what lies beside them.
    pub(super) fn widened(mut self, within: [usize; 2]) -> Self {
        let [left, right] = self.columns;
        if self.mixed(left.checked_sub(1), left.checked_sub(2), within) {
            self.columns[0] = left - 1;
        }
        if self.mixed(Some(right), Some(right + 1), within) {
            self.columns[1] = right + 1;
        }
        self
    }

    /// Whether the rows beyond a border are like what lies around them at both sides, up to a jump further out.
    fn dissolves(&self, last: i64, jump: i64) -> bool {
        let beyond = (last - jump) * self.inward - BORDER;
        if beyond < 2 {
            return false;
        }
        let like = (0..beyond).filter(|step| {
            let y = last - self.inward * (BORDER + step);
            self.alike(y, [3, 6, 9])
        });
        10 * like.count() as i64 >= 8 * beyond
    }

    /// The share of rows from one outward to another that are like what lies around them at both sides.
    pub(super) fn around(&self, from: i64, to: i64) -> f64 {
        self.share(from, to, |y| self.alike(y, [3, 6, 9]))
    }

    /// The share of rows that clearly differ from what lies around them at both sides.
    pub(super) fn standing(&self, from: i64, to: i64) -> f64 {
        self.share(from, to, |y| {
            let like = self.like(y, [3, 6, 9], 1.5 * self.least());
            like.is_some_and(|sides| sides.iter().all(|count| *count <= 1))
        })
    }

    fn share(&self, from: i64, to: i64, is: impl Fn(i64) -> bool) -> f64 {
        let rows = ((from - to) * self.inward + 1).max(1);
        let found = (0..rows).filter(|step| is(from - self.inward * step));
        found.count() as f64 / rows as f64
    }

    /// Whether a row has the colour of most pixels so far away at each side.
    fn alike<const N: usize>(&self, y: i64, away: [usize; N]) -> bool {
        let like = self.like(y, away, self.least());
        like.is_some_and(|sides| sides.iter().all(|count| 2 * count > N))
    }

    /// How many pixels so far away at each side have the colour of a row within a distance.
    fn like<const N: usize>(&self, y: i64, away: [usize; N], within: f32) -> Option<[usize; 2]> {
        let here = self.rows.colour(y)?;
        let y = usize::try_from(y).ok()?;
        let [left, right] = self.columns;
        let like = |x: Option<usize>| {
            let inside = x.filter(|x| *x < self.view.size().0);
            inside.is_some_and(|x| lab::distance(self.view.at(x, y), here) <= within)
        };
        Some([
            away.iter()
                .filter(|away| like(left.checked_sub(**away)))
                .count(),
            away.iter()
                .filter(|away| like(Some(right - 1 + **away)))
                .count(),
        ])
    }
}
