//! Where a strip ends: at a jump along it, before a border, and where it no longer stands out from what lies beside it.

use super::sides::{BySides, Sides};
use super::strip::{Strip, View};
use crate::load::palette::lab::{self, Lab};

/// Least jump of brightness at a bar's end.
const BRIGHT: f32 = 0.04;

/// Least jump of colours that were not compressed.
pub(super) const PLAIN_JUMP: f32 = 0.03;

/// Rows inside of an end in which a second jump makes it doubtful.
const WIDE: i64 = 18;

/// Rows that an end is moved outward at most.
const OUTWARD: i64 = 12;

/// Rows that a border may take.
pub(super) const BORDER: i64 = 4;

/// The rows of a strip's core, from the picture's top to its bottom.
pub(super) struct Rows {
    pub(super) colours: Vec<Lab>,
    pub(super) luma: Vec<f32>,
}

impl Rows {
    pub(super) fn colour(&self, y: i64) -> Option<Lab> {
        self.colours.get(usize::try_from(y).ok()?).copied()
    }

    /// The change from one row to another, of brightness or of colour.
    fn step(&self, from: i64, to: i64, bright: bool) -> f32 {
        if !bright {
            return match (self.colour(from), self.colour(to)) {
                (Some(here), Some(there)) => lab::distance(here, there),
                _ => 0.0,
            };
        }
        let luma = |y: i64| self.luma.get(usize::try_from(y).ok()?).copied();
        match (luma(from), luma(to)) {
            (Some(here), Some(there)) => (here - there).abs(),
            _ => 0.0,
        }
    }

    /// Whether brightness steps about an end.
    fn steps_in_brightness(&self, end: i64) -> bool {
        (end - 2..end + 2).any(|y| self.step(y, y + 1, true) > 0.5 * BRIGHT)
    }

    /// Clearly more than a usual step along the strip.
    fn usual(&self, rows: [usize; 2], bright: bool, view: &View<'_>) -> f32 {
        let (first, last) = (rows[0] as i64, rows[1] as i64 - 1);
        let mut steps: Vec<f32> = (first + 1..=last)
            .map(|y| self.step(y, y - 1, bright))
            .filter(|step| *step > 0.1 * view.plain())
            .collect();
        steps.sort_unstable_by(f32::total_cmp);
        let usual = steps.get(steps.len() * 3 / 4).copied().unwrap_or(0.0);
        let least = 2.5 * usual + if bright { BRIGHT } else { 0.5 * view.alike };
        if view.alike < 0.01 {
            least.max(PLAIN_JUMP)
        } else {
            least
        }
    }
}

/// Jumps outward along the rows of a strip.
struct Jumps<'a> {
    rows: &'a Rows,
    inward: i64,
    bright: bool,
    /// Whether nothing was lost by compression.
    exact: bool,
    /// More than a usual step along the strip.
    usual: f32,
    /// The least change that ends a bar.
    clear: f32,
}

impl Jumps<'_> {
    /// The innermost great jump about a row, from so many rows inside to four outside, and whether it is the only one.
    fn near(&self, y: i64, inside: i64) -> Option<(i64, bool)> {
        let about = |inside: i64| (-4..=inside).rev().map(move |at| y + self.inward * at);
        let leap = about(inside).map(|y| self.step(y)).fold(0.0, f32::max);
        // Of a border and what lies beyond it, the border comes first.
        let first = |inside: i64, least: f32| about(inside).find(|&y| self.stands_out(y, least));
        let [share, doubtful] = if self.bright {
            [0.3, 0.12]
        } else {
            [0.42, 0.2]
        };
        let found = first(inside, self.clear.max(share * leap))?;
        // Colours without loss leave nothing to chance: any other jump makes the end doubtful.
        let small = if self.exact {
            self.usual
        } else {
            self.clear.max(doubtful * leap)
        };
        let earlier = first(inside.max(WIDE), small)?;
        Some((found, (found - earlier).abs() <= 1))
    }

    fn step(&self, y: i64) -> f32 {
        self.rows.step(y, y - self.inward, self.bright)
    }

    /// Whether the change at a row is so great and greater than those shortly inside of it: a bar may itself change fast.
    fn stands_out(&self, y: i64, least: f32) -> bool {
        let inside = (2..=6).map(|at| self.step(y + self.inward * at));
        self.step(y) > least.max(1.5 * inside.fold(0.0, f32::max))
    }
}

impl View<'_> {
    /// The strip between its two ends.
    pub(super) fn ends(&self, rows_of: &Rows, columns: [usize; 2], rows: [usize; 2]) -> Strip {
        let jumps = [false, true].map(|below| self.end(rows_of, rows, below));
        let [(top, _), (bottom, _)] = jumps;
        let found = self.without_border(columns, &rows_of.colours, [top, bottom.max(top)]);
        let mut strip = Strip {
            columns,
            rows: found,
            sure: [true; 2],
        };
        let stands_out = self.stands_out(&strip);
        for below in [false, true] {
            let index = usize::from(below);
            let (row, sure) = self.by_sides(rows_of, &strip, rows, below);
            strip.rows[index] = row;
            strip.sure[index] = sure.unwrap_or(jumps[index].1 && stands_out);
        }
        strip
    }

    fn sides<'a>(&'a self, rows: &'a Rows, strip: &Strip, inward: i64) -> Sides<'a> {
        let sides = Sides {
            view: self,
            rows,
            columns: strip.columns,
            inward,
        };
        sides.widened(strip.rows)
    }

    /// Moves an end to where the strip's sides say it is, where there is a jump too; whether that is sure, where they say.
    fn by_sides(
        &self,
        rows_of: &Rows,
        strip: &Strip,
        rows: [usize; 2],
        below: bool,
    ) -> (usize, Option<bool>) {
        let inward = if below { -1 } else { 1 };
        let end = strip.rows[usize::from(below)];
        let jump = end as i64 - i64::from(below);
        let sides = self.sides(rows_of, strip, inward);
        let look = sides.look(jump, strip.rows);
        let (BySides::Ends(last) | BySides::Dissolves(last)) = look else {
            return (end, None);
        };
        let exact = self.alike < 0.01;
        if exact && self.border_closes(rows_of, strip, jump - inward, inward) {
            return (end, Some(true));
        }
        let usual = rows_of.usual(rows, false, self);
        let jumps = |y: i64| rows_of.step(y, y - inward, false) > usual;
        // Compression mixes a thin border with the bar: one more jump may be the bar's own end.
        let alone = |y: i64| exact || !(2..=BORDER).any(|inside| jumps(y + inward * inside));
        // The innermost jump about the last row that stands out.
        let about = [1, 0, -1].map(|inside| last + inward * inside);
        let there = about.into_iter().find(|&y| jumps(y) && alone(y));
        let there = there.map(|y| (at_end(y, below), Some(true)));
        let outside = (jump - last) * inward;
        let near = outside >= -BORDER || matches!(look, BySides::Dissolves(_));
        match outside {
            // Compression blurs colours over the row: where brightness does not step, both must say the same.
            -1 | 1 if !exact && !rows_of.steps_in_brightness(jump) => (end, Some(false)),
            -1..=1 => (end, alone(jump).then_some(true)),
            2..=OUTWARD => there.unwrap_or((end, if exact { None } else { Some(false) })),
            ..=-2 if near => there.unwrap_or((end, None)),
            _ => (end, None),
        }
    }

    /// Where the strip ends, and whether that is sure: at a clear jump, perhaps before something plain that it ran on into.
    fn end(&self, rows_of: &Rows, rows: [usize; 2], below: bool) -> (usize, bool) {
        let (first, last) = (rows[0] as i64, rows[1] as i64 - 1);
        let (end, inward) = if below { (last, -1) } else { (first, 1) };
        let plain = |like: f32| {
            let tries = (0..5)
                .map(|inside| self.plain_from(rows_of, rows, end + inward * inside, inward, like));
            tries.max_by_key(|(count, _)| *count).unwrap_or((0, end))
        };
        let tight = plain(self.plain());
        let mut centres = vec![end];
        for (count, after) in [tight, plain(3.0 * self.plain())] {
            match count {
                8.. => centres.insert(0, after),
                4..8 => centres.push(after),
                _ => {}
            }
        }
        let lossy = self.alike >= 0.01;
        // Brightness is stored for each pixel, colours are not: where both jump the brightness says where.
        let kinds: &[bool] = if lossy { &[true, false] } else { &[false] };
        let jumps = kinds.iter().map(|&bright| {
            let usual = rows_of.usual(rows, bright, self);
            Jumps {
                rows: rows_of,
                inward,
                bright,
                exact: !lossy,
                usual,
                clear: if lossy { usual } else { usual.max(PLAIN_JUMP) },
            }
        });
        let jumps: Vec<Jumps<'_>> = jumps.collect();
        let places = centres.into_iter().map(|centre| (centre, 6));
        let found = places
            .chain([(end, WIDE)])
            .find_map(|(centre, inside)| jumps.iter().find_map(|one| one.near(centre, inside)));
        if let Some((y, clean)) = found {
            return (at_end(y, below), clean);
        }
        let (count, after) = tight;
        let y = if count >= 4 { after } else { end };
        // At the edge of the picture nothing lies beyond.
        let at_edge = rows_of.colour(y - inward).is_none();
        (at_end(y, below), at_edge || (count >= 4 && !lossy))
    }

    /// How many rows from one on inward have its colour, and the row after them.
    fn plain_from(
        &self,
        rows_of: &Rows,
        rows: [usize; 2],
        start: i64,
        inward: i64,
        like: f32,
    ) -> (i64, i64) {
        let plain = rows_of.colour(start).unwrap_or_default();
        let within = rows[0] as i64..rows[1] as i64;
        let mut y = start;
        while within.contains(&y)
            && rows_of
                .colour(y)
                .is_some_and(|here| lab::distance(here, plain) <= like)
        {
            y += inward;
        }
        ((y - start).abs(), y)
    }

    /// What rows of something plain may differ by.
    fn plain(&self) -> f32 {
        if self.alike < 0.01 {
            0.0005
        } else {
            0.4 * self.alike
        }
    }

    /// Whether the rows at both ends differ from what lies beside them: where they do not, the strip may have run on into
    /// something plain.
    fn stands_out(&self, strip: &Strip) -> bool {
        let ([left, right], [top, bottom]) = (strip.columns, strip.rows);
        let reach = ((bottom - top) / 12).clamp(4, 8);
        let middle = usize::midpoint(left, right);
        // Near ones show a border, those farther off paper.
        let near: [[Option<usize>; 3]; 2] = [
            [2, 3, 4].map(|away| left.checked_sub(away)),
            [1, 2, 3].map(|away| Some(right + away)),
        ];
        let stands = |y: &usize| {
            near.iter().all(|side| {
                side.iter().any(|x| {
                    x.is_none_or(|x| {
                        x >= self.size().0 || self.apart([x, *y], [middle, *y]) > 0.7 * self.alike
                    })
                })
            })
        };
        let enough = |rows: std::ops::Range<usize>| 2 * rows.filter(stands).count() > reach;
        enough(top..top + reach) && enough(bottom.saturating_sub(reach)..bottom)
    }
}

/// The end, exclusive where it is below, of a strip whose last row is given.
pub(super) fn at_end(row: i64, below: bool) -> usize {
    usize::try_from(if below { row + 1 } else { row }).unwrap_or(0)
}
