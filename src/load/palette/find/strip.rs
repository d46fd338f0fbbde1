//! Strips: stretches of a picture whose colours change along an axis and hardly across it.

use ndarray::Array2;

use crate::load::palette::bar::BarBox;
use crate::load::palette::lab::{self, Lab};

/// Shortest strip, pixels.
const SHORTEST: usize = 40;

/// A bar is at least this many times as long as wide.
const THINNESS: usize = 4;

/// Shortest way through Oklab, as a sum over steps.
const COLOURFUL: f32 = 0.25;

/// Greatest change of one step along a bar: 80 steps through the longest palettes.
const STEEPEST: f32 = 0.16;

/// A picture seen so that strips stand upright.
pub(super) struct View<'a> {
    pub(super) labs: &'a Array2<Lab>,
    /// Whether rows and columns are exchanged.
    pub(super) lying: bool,
    /// What neighbours of one colour may differ by.
    pub(super) alike: f32,
}

/// A strip in a view: columns and rows `from` (inclusive) to `to` (exclusive).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Strip {
    pub(super) columns: [usize; 2],
    pub(super) rows: [usize; 2],
    /// Whether each end can be told from what lies beyond.
    pub(super) sure: bool,
}

impl Strip {
    pub(super) fn bar(&self, lying: bool) -> BarBox {
        let ([left, right], [top, bottom]) = (self.columns, self.rows);
        if lying {
            BarBox {
                from: [top, left],
                to: [bottom, right],
            }
        } else {
            BarBox {
                from: [left, top],
                to: [right, bottom],
            }
        }
    }
}

impl View<'_> {
    fn size(&self) -> (usize, usize) {
        let (rows, columns) = self.labs.dim();
        if self.lying {
            (rows, columns)
        } else {
            (columns, rows)
        }
    }

    fn at(&self, x: usize, y: usize) -> Lab {
        let place = if self.lying { [x, y] } else { [y, x] };
        self.labs.get(place).copied().unwrap_or([9.0; 3])
    }

    fn apart(&self, one: [usize; 2], other: [usize; 2]) -> f32 {
        lab::distance(self.at(one[0], one[1]), self.at(other[0], other[1]))
    }

    /// All strips of the view.
    pub(super) fn strips(&self) -> Vec<Strip> {
        let (width, _) = self.size();
        let mut open: Vec<([usize; 2], [usize; 2])> = Vec::new();
        let mut closed = Vec::new();
        for x in (1..width.saturating_sub(1)).step_by(2) {
            let mut stretches = self.stretches(x);
            // A stretch beside a strip that is as long and of the same colours widens it.
            open.retain_mut(|(columns, rows)| {
                let found = stretches
                    .iter()
                    .position(|stretch| self.goes_on(columns[1], *rows, x, *stretch));
                match found {
                    Some(at) => {
                        let [from, to] = stretches.swap_remove(at);
                        *rows = [rows[0].min(from), rows[1].max(to)];
                        columns[1] = x;
                        true
                    }
                    None => {
                        closed.push((*columns, *rows));
                        false
                    }
                }
            });
            open.extend(stretches.into_iter().map(|rows| ([x, x], rows)));
        }
        closed.extend(open);
        let thin = closed
            .into_iter()
            .filter(|([left, right], [top, bottom])| (right - left + 3) * THINNESS <= bottom - top);
        thin.map(|(columns, rows)| self.refined(columns, rows))
            .filter(|strip| {
                let length = strip.rows[1] - strip.rows[0];
                let breadth = strip.columns[1] - strip.columns[0];
                length >= SHORTEST
                    && breadth >= 3
                    && breadth * THINNESS <= length
                    && self.edged(strip)
                    && self.steady(strip)
            })
            .collect()
    }

    fn goes_on(&self, last: usize, rows: [usize; 2], x: usize, stretch: [usize; 2]) -> bool {
        let (from, to) = (rows[0].max(stretch[0]), rows[1].min(stretch[1]));
        let longest = (rows[1] - rows[0]).max(stretch[1] - stretch[0]);
        if last + 2 != x || to <= from || 10 * (to - from) < 8 * longest {
            return false;
        }
        let step = ((to - from) / 12).max(1);
        let probes = (from..to).step_by(step);
        let (mut same, mut all) = (0, 0);
        for y in probes {
            all += 1;
            same += usize::from(self.apart([last, y], [x, y]) <= 1.5 * self.alike);
        }
        10 * same >= 9 * all
    }

    /// Stretches of a column whose colours change in small steps and hardly across, and go a long way.
    fn stretches(&self, x: usize) -> Vec<[usize; 2]> {
        let (_, height) = self.size();
        let even = |y: usize| {
            self.apart([x, y], [x - 1, y]) <= self.alike
                && self.apart([x, y], [x + 1, y]) <= self.alike
        };
        let mut found = Vec::new();
        let mut start = None;
        let mut last = 0;
        for y in 0..height {
            if !even(y) {
                continue;
            }
            // One or two rows of a tick are bridged.
            let gap = y - last;
            let joins = start.is_some() && gap <= 3 && self.apart([x, last], [x, y]) <= STEEPEST;
            if !joins {
                if let Some(from) = start {
                    found.push([from, last + 1]);
                }
                start = Some(y);
            }
            last = y;
        }
        if let Some(from) = start {
            found.push([from, last + 1]);
        }
        found.retain(|&[from, to]| to - from >= SHORTEST && self.way(x, from, to) >= COLOURFUL);
        found
    }

    /// How far the colours go along a stretch, in a few steps so that noise does not add up.
    fn way(&self, x: usize, from: usize, to: usize) -> f32 {
        let place = |step: usize| from + step * (to - 1 - from) / 10;
        (0..10)
            .map(|step| self.apart([x, place(step)], [x, place(step + 1)]))
            .filter(|way| *way > 0.5 * self.alike)
            .sum()
    }

    /// The strip with its edges and ends to the pixel.
    fn refined(&self, columns: [usize; 2], rows: [usize; 2]) -> Strip {
        let core = [columns[0] - 1, columns[1] + 2];
        let (width, _) = self.size();
        let mut edges = core;
        while edges[0] > 0 && self.belongs(edges[0] - 1, core, rows) {
            edges[0] -= 1;
        }
        while edges[1] < width && self.belongs(edges[1], core, rows) {
            edges[1] += 1;
        }
        let middle: Vec<Lab> = (0..self.size().1).map(|y| self.middle(core, y)).collect();
        let (top, sure_top) = self.end(&middle, rows, false);
        let (bottom, sure_bottom) = self.end(&middle, rows, true);
        let rows = self.without_border(edges, &middle, [top, bottom.max(top)]);
        let strip = Strip {
            columns: edges,
            rows,
            sure: sure_top && sure_bottom,
        };
        Strip {
            sure: strip.sure && self.stands_out(&strip),
            ..strip
        }
    }

    /// Whether a column has the core's colours in most rows.
    fn belongs(&self, x: usize, core: [usize; 2], rows: [usize; 2]) -> bool {
        let middle = usize::midpoint(core[0], core[1]);
        let step = ((rows[1] - rows[0]) / 40).max(1);
        let probes: Vec<f32> = (rows[0]..rows[1])
            .step_by(step)
            .map(|y| self.apart([x, y], [middle, y]))
            .collect();
        let same = probes.iter().filter(|apart| **apart <= 2.0 * self.alike);
        4 * same.count() >= 3 * probes.len()
    }

    /// The mean colour of a row of the core.
    fn middle(&self, core: [usize; 2], y: usize) -> Lab {
        let mut sum = [0.0; 3];
        for x in core[0]..core[1] {
            for (sum, part) in sum.iter_mut().zip(self.at(x, y)) {
                *sum += part;
            }
        }
        sum.map(|sum: f32| sum / (core[1] - core[0]).max(1) as f32)
    }

    /// Where the strip ends, and whether that is sure: at a clear jump, perhaps before something plain that it ran on into.
    fn end(&self, middle: &[Lab], rows: [usize; 2], below: bool) -> (usize, bool) {
        let (first, last) = (rows[0] as i64, rows[1] as i64 - 1);
        let (end, inward) = if below { (last, -1) } else { (first, 1) };
        let colour = |y: i64| -> Option<Lab> { middle.get(usize::try_from(y).ok()?).copied() };
        // The change from a row to the one beyond it, outward.
        let step_at = |y: i64| match (colour(y), colour(y - inward)) {
            (Some(here), Some(beyond)) => lab::distance(here, beyond),
            _ => 0.0,
        };
        // Its last row may be mixed with what comes next: a few rows are tried.
        let plain_rows = |start: i64| {
            let plain = colour(start).unwrap_or_default();
            let mut y = start;
            while (first..=last).contains(&y)
                && colour(y).is_some_and(|here| lab::distance(here, plain) <= self.plain())
            {
                y += inward;
            }
            ((y - start).abs(), y)
        };
        let (count, after) = (0..5)
            .map(|inside| plain_rows(end + inward * inside))
            .max_by_key(|(count, _)| *count)
            .unwrap_or((0, end));
        let mut usual: Vec<f32> = (first + 1..=last)
            .filter_map(|y| Some(lab::distance(colour(y)?, colour(y - 1)?)))
            .filter(|step| *step > 0.1 * self.plain())
            .collect();
        usual.sort_unstable_by(f32::total_cmp);
        let usual = usual.get(usual.len() * 3 / 4).copied().unwrap_or(0.0);
        let clear = 2.5 * usual + 0.5 * self.alike;
        // Of a border and what lies beyond it, the border comes first.
        let jump = |y: i64| {
            let near = || (-4..=6).rev().map(|inside| y + inward * inside);
            let leap = near().map(step_at).fold(0.0, f32::max);
            let first =
                |share: f32| near().find(|&y| step_at(y) >= share * leap && step_at(y) > clear);
            let (found, earlier) = (first(0.42)?, first(0.34)?);
            // Two jumps, of which the outer one is the greater: a border of nearly the bar's brightness, or not.
            let clean = self.alike < 0.01 || (found - earlier).abs() <= 1;
            Some((found, clean))
        };
        let found = match count {
            8.. => jump(after).or_else(|| jump(end)),
            4..8 => jump(end).or_else(|| jump(after)),
            _ => jump(end),
        };
        if let Some((y, clean)) = found {
            return (at_end(y, below), clean);
        }
        let y = if count >= 4 { after } else { end };
        // At the edge of the picture nothing lies beyond.
        let at_edge = colour(y - inward).is_none();
        (
            at_end(y, below),
            at_edge || (count >= 4 && self.alike < 0.01),
        )
    }

    /// What rows of something plain may differ by.
    fn plain(&self) -> f32 {
        if self.alike < 0.01 {
            0.0005
        } else {
            0.4 * self.alike
        }
    }

    /// The rows without those that have the colour of a border seen at both sides.
    fn without_border(&self, columns: [usize; 2], middle: &[Lab], rows: [usize; 2]) -> [usize; 2] {
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

    /// Whether the rows at both ends differ from what lies beside them: where they do not, the strip may have run on into
    /// something plain.
    fn stands_out(&self, strip: &Strip) -> bool {
        let ([left, right], [top, bottom]) = (strip.columns, strip.rows);
        let reach = ((bottom - top) / 12).clamp(4, 8);
        let middle = usize::midpoint(left, right);
        let beside = [left.checked_sub(4), Some(right + 3)];
        let stands = |y: &usize| {
            beside.iter().flatten().all(|&x| {
                x >= self.size().0 || self.apart([x, *y], [middle, *y]) > 0.7 * self.alike
            })
        };
        let enough = |rows: std::ops::Range<usize>| 2 * rows.filter(stands).count() > reach;
        enough(top..top + reach) && enough(bottom.saturating_sub(reach)..bottom)
    }

    /// Whether the colours go on and on along the strip, without standing still for an eighth of it and without jumps.
    fn steady(&self, strip: &Strip) -> bool {
        let ([left, right], [top, bottom]) = (strip.columns, strip.rows);
        let inner = (right - left) / 4;
        let core = [left + inner, (right - inner).max(left + inner + 1)];
        // A border may still be at the ends.
        let place = |step: usize| top + 2 + step * (bottom - 5 - top) / 40;
        let colours: Vec<Lab> = (0..=40)
            .map(|step| self.middle(core, place(step)))
            .collect();
        let steps: Vec<f32> = colours
            .windows(2)
            .map(|pair| lab::distance(pair[0], pair[1]))
            .collect();
        let total: f32 = steps.iter().sum();
        let greatest = steps.iter().copied().fold(0.0, f32::max);
        greatest <= 0.2 * total
            && steps
                .chunks(5)
                .all(|eighth| eighth.iter().sum::<f32>() >= 0.02 * total)
    }

    /// Whether a strip has straight edges: in most rows what lies beside it has another colour.
    fn edged(&self, strip: &Strip) -> bool {
        let ([left, right], [top, bottom]) = (strip.columns, strip.rows);
        let (width, _) = self.size();
        let inside = (right - left) / 4;
        let clear = |beyond: Option<usize>, within: usize| {
            let Some(beyond) = beyond.filter(|x| *x < width) else {
                return true;
            };
            let differs = |y: &usize| self.apart([beyond, *y], [within, *y]) > 1.5 * self.alike;
            5 * (top..bottom).filter(differs).count() >= 3 * (bottom - top)
        };
        clear(left.checked_sub(2), left + inside) && clear(Some(right + 1), right - 1 - inside)
    }
}

/// The end, exclusive where it is below, of a strip whose last row is given.
fn at_end(row: i64, below: bool) -> usize {
    usize::try_from(if below { row + 1 } else { row }).unwrap_or(0)
}
