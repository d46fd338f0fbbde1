//! Thin borders round a strip: the colour of its sides, at its ends too.

use super::ends::{PLAIN_JUMP, Rows};
use super::strip::{Strip, View};
use crate::load::palette::lab::{self, Lab};

impl View<'_> {
    /// The rows without those that have the colour of a border seen at both sides.
    pub(super) fn without_border(
        &self,
        columns: [usize; 2],
        middle: &[Lab],
        rows: [usize; 2],
    ) -> [usize; 2] {
        let [mut top, mut bottom] = rows;
        let like = 1.5 * self.alike.max(0.01);
        // The column beside the strip may still be mixed with it.
        let sides = [
            [columns[0].checked_sub(1), columns[0].checked_sub(2)],
            [Some(columns[1]), Some(columns[1] + 1)],
        ];
        let plain = |x: Option<usize>| x.and_then(|x| self.plain_column(x, rows));
        let sides = sides.map(|[near, next]| plain(near).or_else(|| plain(next)));
        let [Some(left), Some(right)] = sides else {
            return rows;
        };
        if lab::distance(left, right) > like {
            return rows;
        }
        let border = lab::between(left, right, 0.5);
        let bordered = |y: usize| {
            middle
                .get(y)
                .is_some_and(|here| lab::distance(*here, border) <= like)
        };
        // A bar whose own colours begin like the border goes on like it.
        for _ in 0..3 {
            if bordered(top) && !bordered(top + 3) {
                top += 1;
            }
            if bordered(bottom.saturating_sub(1)) && !bordered(bottom.saturating_sub(4)) {
                bottom -= 1;
            }
        }
        [top, bottom.max(top)]
    }

    /// The middle colour of a column, where most of it is plain.
    fn plain_column(&self, x: usize, rows: [usize; 2]) -> Option<Lab> {
        if x >= self.size().0 {
            return None;
        }
        let mut channels: [Vec<f32>; 3] = Default::default();
        for y in rows[0]..rows[1] {
            for (list, part) in channels.iter_mut().zip(self.at(x, y)) {
                list.push(part);
            }
        }
        let middle = channels.map(|mut list| {
            list.sort_unstable_by(f32::total_cmp);
            list.get(list.len() / 2).copied().unwrap_or(0.0)
        });
        let like = 1.5 * self.alike.max(0.01);
        let near = (rows[0]..rows[1]).filter(|&y| lab::distance(self.at(x, y), middle) <= like);
        (4 * near.count() >= 3 * (rows[1] - rows[0])).then_some(middle)
    }

    /// Whether the row beyond an end has just the colour of the columns at both sides of the strip, there and further inside: a
    /// border that goes round.
    pub(super) fn border_closes(
        &self,
        rows_of: &Rows,
        strip: &Strip,
        beyond: i64,
        inward: i64,
    ) -> bool {
        let Some(colour) = rows_of.colour(beyond) else {
            return false;
        };
        let sides = [strip.columns[0].checked_sub(1), Some(strip.columns[1])];
        let like = |x: Option<usize>, y: i64| {
            let (Some(x), Ok(y)) = (x, usize::try_from(y)) else {
                return false;
            };
            x < self.size().0 && lab::distance(self.at(x, y), colour) <= self.alike
        };
        let rows = (0..=8).map(|inside| beyond + inward * inside);
        let differs = rows_of
            .colour(beyond + inward)
            .is_some_and(|last| lab::distance(last, colour) > PLAIN_JUMP);
        differs
            && rows
                .into_iter()
                .all(|y| sides.iter().all(|side| like(*side, y)))
    }
}
