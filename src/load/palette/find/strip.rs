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

/// Least jump of brightness at a bar's end.
const BRIGHT: f32 = 0.04;

/// Least jump of colours that were not compressed.
const PLAIN_JUMP: f32 = 0.03;

/// Rows inside of an end in which a second jump makes it doubtful.
const WIDE: i64 = 18;

/// Rows between two even ones of a strip: one or two of a tick, or a block that compression spoilt.
const BRIDGED: [usize; 2] = [3, 9];

/// A picture seen so that strips stand upright.
pub(super) struct View<'a> {
    pub(super) labs: &'a Array2<Lab>,
    /// Brightness as it is stored, of 1.
    pub(super) luma: &'a Array2<f32>,
    /// Whether rows and columns are exchanged.
    pub(super) lying: bool,
    /// What neighbours of one colour may differ by.
    pub(super) alike: f32,
}

/// The rows of a strip's core, from the picture's top to its bottom.
struct Rows {
    colours: Vec<Lab>,
    luma: Vec<f32>,
}

impl Rows {
    fn colour(&self, y: i64) -> Option<Lab> {
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
        let height = self.size().1;
        let middle: Vec<Lab> = (0..height).map(|y| self.middle(core, y)).collect();
        let luma = (0..height).map(|y| self.brightness(core, y)).collect();
        let rows_of = Rows {
            colours: middle,
            luma,
        };
        let (top, sure_top) = self.end(&rows_of, rows, false);
        let (bottom, sure_bottom) = self.end(&rows_of, rows, true);
        let middle = rows_of.colours;
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

    /// The mean brightness of a row of the core.
    fn brightness(&self, core: [usize; 2], y: usize) -> f32 {
        let at = |x: usize| {
            let place = if self.lying { [x, y] } else { [y, x] };
            self.luma.get(place).copied().unwrap_or(0.0)
        };
        (core[0]..core[1]).map(at).sum::<f32>() / (core[1] - core[0]).max(1) as f32
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
