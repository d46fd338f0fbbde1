//! Strips: stretches of a picture whose colours change along an axis and hardly across it.

use ndarray::Array2;

use super::ends::Rows;
use crate::load::palette::bar::BarBox;
use crate::load::palette::lab::{self, Lab};
use crate::load::palette::loss::Loss;

/// Shortest strip, pixels.
const SHORTEST: usize = 40;

/// A bar is at least this many times as long as wide.
const THINNESS: usize = 4;

/// Shortest way through Oklab, as a sum over steps.
const COLOURFUL: f32 = 0.25;

/// Greatest change of one step along a bar: 80 steps through the longest palettes.
const STEEPEST: f32 = 0.16;

/// Times the usual step of a stretch that is a jump.
const APART: f32 = 4.0;

/// Rows between two even ones of a strip: one or two of a tick, or a block that compression spoilt.
const BRIDGED: [usize; 2] = [3, 9];

/// A picture seen so that strips stand upright.
pub(super) struct View<'a> {
    pub(super) labs: &'a Array2<Lab>,
    /// As stored.
    pub(super) pixels: &'a Array2<[u8; 3]>,
    pub(super) loss: Option<Loss>,
    /// Brightness as it is stored, of 1.
    pub(super) luma: &'a Array2<f32>,
    /// Whether rows and columns are exchanged.
    pub(super) lying: bool,
    /// What neighbours of one colour may differ by.
    pub(super) alike: f32,
    /// Whether stretches are also taken apart at their jumps.
    pub(super) pieces: bool,
}

/// A strip in a view: columns and rows `from` (inclusive) to `to` (exclusive).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Strip {
    pub(super) columns: [usize; 2],
    pub(super) rows: [usize; 2],
    /// Whether the first and the last row can be told from what lies beyond.
    pub(super) sure: [bool; 2],
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
    pub(super) fn size(&self) -> (usize, usize) {
        let (rows, columns) = self.labs.dim();
        if self.lying {
            (rows, columns)
        } else {
            (columns, rows)
        }
    }

    pub(super) fn at(&self, x: usize, y: usize) -> Lab {
        let place = if self.lying { [x, y] } else { [y, x] };
        self.labs.get(place).copied().unwrap_or([9.0; 3])
    }

    /// The red, green and blue of a pixel, of one outside of the picture `None`.
    pub(super) fn pixel(&self, x: usize, y: usize) -> Option<[u8; 3]> {
        let place = if self.lying { [x, y] } else { [y, x] };
        self.pixels.get(place).copied()
    }

    pub(super) fn apart(&self, one: [usize; 2], other: [usize; 2]) -> f32 {
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
            let gap = y - last;
            let joins = start.is_some()
                && gap <= BRIDGED[usize::from(self.alike >= 0.01)]
                && self.apart([x, last], [x, y]) <= STEEPEST;
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
        if self.pieces {
            let pieces: Vec<[usize; 2]> = found
                .iter()
                .flat_map(|stretch| self.pieces(x, *stretch))
                .collect();
            found.extend(pieces);
        }
        found.retain(|&[from, to]| to - from >= SHORTEST && self.way(x, from, to) >= COLOURFUL);
        found
    }

    /// The pieces of a stretch between its jumps: it may have run on from a bar into something as even.
    fn pieces(&self, x: usize, [from, to]: [usize; 2]) -> Vec<[usize; 2]> {
        let step = |y: usize| self.apart([x, y - 1], [x, y]);
        let mut steps: Vec<f32> = (from + 1..to).map(step).collect();
        steps.sort_unstable_by(f32::total_cmp);
        let usual = steps.get(steps.len() * 3 / 4).copied().unwrap_or(0.0);
        let jump = (APART * usual).max(if self.alike < 0.01 { 0.03 } else { 0.06 });
        let mut starts = vec![from];
        starts.extend((from + 1..to).filter(|&y| step(y) > jump));
        starts.push(to);
        if starts.len() == 2 {
            return Vec::new();
        }
        let pairs = starts.windows(2);
        pairs.map(|pair| [pair[0], pair[1]]).collect()
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
        self.ends(&self.rows_of(core), edges, rows)
    }

    /// The rows between some columns.
    pub(super) fn rows_of(&self, core: [usize; 2]) -> Rows {
        let height = self.size().1;
        Rows {
            colours: (0..height).map(|y| self.middle(core, y)).collect(),
            luma: (0..height).map(|y| self.brightness(core, y)).collect(),
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

    /// The mean brightness and colour differences of a row between columns, levels.
    pub(super) fn stored(&self, columns: [usize; 2], y: usize) -> [f64; 3] {
        let mut sum = [0.0_f64; 3];
        for x in columns[0]..columns[1] {
            let place = if self.lying { [x, y] } else { [y, x] };
            let pixel = self.pixels.get(place).copied().unwrap_or_default();
            for (sum, part) in sum.iter_mut().zip(lab::to_ycc(pixel.map(f32::from))) {
                *sum += f64::from(part);
            }
        }
        sum.map(|sum| sum / (columns[1] - columns[0]).max(1) as f64)
    }

    /// The mean brightness of a row of the core.
    fn brightness(&self, core: [usize; 2], y: usize) -> f32 {
        let at = |x: usize| {
            let place = if self.lying { [x, y] } else { [y, x] };
            self.luma.get(place).copied().unwrap_or(0.0)
        };
        (core[0]..core[1]).map(at).sum::<f32>() / (core[1] - core[0]).max(1) as f32
    }

    /// Whether the colours go on and on along the strip, without standing still for an eighth of it and without jumps.
    pub(super) fn steady(&self, strip: &Strip) -> bool {
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
    pub(super) fn edged(&self, strip: &Strip) -> bool {
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
