//! Where a strip of a compressed picture ends, by fitting: the bar's colours go on smoothly up to a row, then perhaps a thin
//! border, then something else. Colour differences are fitted as compression stores them, of two rows at a time.

use super::strip::View;
use crate::load::palette::loss::Loss;

/// Rows inside of a rough end that are fitted; fewer where a bar bends.
const INSIDE: [i64; 2] = [14, 9];

/// Rows beyond it that are.
const BEYOND: i64 = 9;

/// Rows that an end is looked for about a rough one.
const ABOUT: i64 = 6;

/// Weights of the bar's bend.
const BEND: usize = 3;

/// Thickest border.
const THICKEST: i64 = 3;

/// Levels that a border differs by from the bar and from what lies beyond it, at least.
const DISTINCT: f64 = 16.0;

/// What a border must gain.
const BORDER_COST: f64 = 12.0;

/// The same of one whose brightness is that of what lies beyond: a bar's last row may look so.
const FAINT_COST: f64 = 40.0;

/// The same of one that is not seen at both sides of the strip.
const UNSEEN_COST: f64 = 60.0;

/// What a fit may leave, squares of levels.
const ROUGHEST: [f64; 3] = [12.0, 50.0, 50.0];

/// The same where the end is about where it was.
const ROUGHER: [f64; 3] = [35.0, 60.0, 60.0];

/// Levels of brightness and colour differences that a border may differ by from its parts at the sides.
const SEEN: [f64; 3] = [14.0, 28.0, 28.0];

/// The same where its brightness alone tells it from the bar and from what lies beyond: colours of thin lines are mixed.
const SEEN_BRIGHT: [f64; 3] = [18.0, 60.0, 60.0];

/// Levels of brightness that then tell it.
const BRIGHT: f64 = 24.0;

/// What an end may fit worse by than the best one and still be one.
const PLAUSIBLE: f64 = 30.0;

/// An end by fitting, as rows outward of a rough one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fitted {
    /// The likeliest last row of the bar.
    pub(super) best: i64,
    /// The first and last row that may be it.
    pub(super) range: [i64; 2],
    /// Rows of border beyond it.
    pub(super) border: i64,
    /// Whether the rows are so few, and the rest of the fit not too great.
    pub(super) sure: bool,
    /// Whether the rest of the fit is small.
    pub(super) smooth: bool,
    /// What brightness leaves, squares of levels.
    pub(super) rest: f64,
}

/// The channels of rows about a rough end, from inside to beyond.
struct Window {
    /// The first row's place outward of the rough end, negative.
    first: i64,
    channels: [Vec<f64>; 3],
    /// Whether the first row shares its colour differences with the next one.
    paired: bool,
}

/// What is seen beside a strip, by side: a few columns next to it.
type Beside = [Vec<[f64; 3]>; 2];

/// An end that is tried.
struct Try {
    last: i64,
    border: i64,
    /// What the fit leaves, by channel.
    squares: [f64; 3],
    /// What its border must gain.
    dear: f64,
}

/// Where the end of a strip fits about a rough last row.
pub(super) fn fitted(
    view: &View<'_>,
    columns: [usize; 2],
    end: i64,
    inward: i64,
    loss: Loss,
) -> Option<Fitted> {
    let inset = (columns[1] - columns[0]) / 4;
    let core = [columns[0] + inset, columns[1] - inset];
    let sides = sides(view, columns, end, inward);
    let fits = INSIDE
        .into_iter()
        .filter_map(|inside| Window::of(view, core, [end, inward], inside)?.fitted(&sides, loss));
    fits.reduce(|long, short| if long.sure { long } else { short })
}

/// What a border must gain; none where it is none.
fn dear([bar, beyond, border]: [[f64; 3]; 3], sides: &Beside) -> Option<f64> {
    let apart = |channel: usize| {
        let from = |other: [f64; 3]| (border[channel] - other[channel]).abs();
        [from(bar), from(beyond)]
    };
    let all = [apart(0), apart(1), apart(2)];
    let distinct = (0..2).all(|from| all.iter().any(|by| by[from] >= DISTINCT));
    let bright = all[0].iter().all(|by| *by >= BRIGHT);
    let like = if bright { SEEN_BRIGHT } else { SEEN };
    // It is seen at both sides too.
    let seen = sides.iter().all(|side| {
        side.is_empty()
            || side.iter().any(|seen| {
                (0..3).all(|channel| (seen[channel] - border[channel]).abs() <= like[channel])
            })
    });
    let cost = match (seen, all[0][1] >= DISTINCT) {
        (true, true) => BORDER_COST,
        (true, false) => FAINT_COST,
        (false, _) => UNSEEN_COST,
    };
    distinct.then_some(cost)
}

/// The mean colours of the columns beside a strip along the rows inside of an end.
fn sides(view: &View<'_>, columns: [usize; 2], end: i64, inward: i64) -> Beside {
    let rows: Vec<usize> = (4..16)
        .filter_map(|inside| usize::try_from(end + inward * inside).ok())
        .collect();
    let mean = |x: usize| {
        let mut sum = [0.0; 3];
        for &y in &rows {
            for (sum, part) in sum.iter_mut().zip(view.stored([x, x + 1], y)) {
                *sum += part;
            }
        }
        sum.map(|sum| sum / rows.len().max(1) as f64)
    };
    let left = (1..=4).filter_map(|away| columns[0].checked_sub(away));
    let right = (0..4).map(|away| columns[1] + away);
    [
        left.map(mean).collect(),
        right.filter(|x| *x < view.size().0).map(mean).collect(),
    ]
}

impl Window {
    fn of(
        view: &View<'_>,
        columns: [usize; 2],
        [end, inward]: [i64; 2],
        inside: i64,
    ) -> Option<Self> {
        let height = view.size().1 as i64;
        let mut first = None;
        let mut channels: [Vec<f64>; 3] = Default::default();
        for place in -inside..=BEYOND {
            let y = end - inward * place;
            if !(0..height).contains(&y) {
                continue;
            }
            first.get_or_insert(place);
            for (list, part) in channels.iter_mut().zip(view.stored(columns, y as usize)) {
                list.push(part);
            }
        }
        let first = first?;
        let row = end - inward * first;
        let paired = (row % 2 == 0) == (inward < 0);
        Some(Self {
            first,
            channels,
            paired,
        })
    }

    /// The ends that fit best.
    fn fitted(&self, sides: &Beside, loss: Loss) -> Option<Fitted> {
        let tries: Vec<Try> = (-ABOUT..=ABOUT)
            .flat_map(|last| (0..=THICKEST).map(move |border| (last, border)))
            .filter_map(|(last, border)| self.tried(last, border, sides))
            .collect();
        let free = (self.channels[0].len() as f64 - 6.0).max(1.0);
        let floor = [loss.brightness(), loss.colour(), loss.colour()];
        let noise: [f64; 3] = std::array::from_fn(|channel| {
            let squares = tries.iter().map(|one| one.squares[channel]);
            let floor = 0.4 + 1.5 * f64::from(floor[channel]);
            floor.powi(2) + squares.fold(f64::INFINITY, f64::min) / free
        });
        let cost = |one: &Try| {
            let parts = one.squares.iter().zip(noise);
            parts.map(|(square, noise)| square / noise).sum::<f64>() + one.dear
        };
        let best = tries.iter().min_by(|a, b| cost(a).total_cmp(&cost(b)))?;
        let least = cost(best);
        let near = tries.iter().filter(|one| cost(one) < least + PLAUSIBLE);
        let range = near.fold([best.last; 2], |[low, high], one| {
            [low.min(one.last), high.max(one.last)]
        });
        let below = |most: [f64; 3]| noise.iter().zip(most).all(|(noise, most)| *noise < most);
        Some(Fitted {
            best: best.last,
            range,
            border: best.border,
            sure: range[1] - range[0] <= 2 && best.dear < UNSEEN_COST && below(ROUGHER),
            smooth: below(ROUGHEST),
            rest: noise[0],
        })
    }

    /// How well an end fits: the bar up to a row, a border of so many rows, something else.
    fn tried(&self, last: i64, border: i64, sides: &Beside) -> Option<Try> {
        let basis = self.basis(last, border)?;
        let mixed: Vec<Vec<f64>> = basis.iter().map(|one| self.mixed(one)).collect();
        let mut squares = [0.0; 3];
        // Of the bar's last row, what lies beyond and, last, the border.
        let mut colours = [[0.0; 3]; 3];
        for (channel, data) in self.channels.iter().enumerate() {
            let basis = if channel == 0 { &basis } else { &mixed };
            let (square, weights) = least_squares(basis, data);
            squares[channel] = square;
            for (colour, at) in colours.iter_mut().zip([0, BEND, basis.len() - 1]) {
                colour[channel] = weights[at];
            }
        }
        let dear = if border == 0 {
            Some(0.0)
        } else {
            dear(colours, sides)
        };
        dear.map(|dear| Try {
            last,
            border,
            squares,
            dear,
        })
    }

    /// What is fitted: a bend up to a row, a straight line beyond the border, and the border.
    fn basis(&self, last: i64, border: i64) -> Option<Vec<Vec<f64>>> {
        let rows = self.channels[0].len() as i64;
        let out = last + border;
        let beyond = self.first + rows - 1 - out;
        if last - self.first < 6 || beyond < 2 {
            return None;
        }
        let column = |value: &dyn Fn(i64) -> f64| -> Vec<f64> {
            (self.first..self.first + rows).map(value).collect()
        };
        let part = |is: bool, value: f64| if is { value } else { 0.0 };
        let mut basis: Vec<Vec<f64>> = (0..BEND as i32)
            .map(|power| column(&|at| part(at <= last, ((last - at) as f64 / 8.0).powi(power))))
            .collect();
        basis.push(column(&|at| part(at > out, 1.0)));
        if beyond >= 4 {
            basis.push(column(&|at| part(at > out, (at - out) as f64 / 8.0)));
        }
        if border > 0 {
            basis.push(column(&|at| part(at > last && at <= out, 1.0)));
        }
        Some(basis)
    }

    /// What becomes of a column of rows when two at a time are stored as their mean and drawn out again.
    fn mixed(&self, rows: &[f64]) -> Vec<f64> {
        let start = usize::from(!self.paired);
        let get = |at: usize| rows.get(at.min(rows.len() - 1)).copied().unwrap_or(0.0);
        // The mean of the pair that a row belongs to.
        let pair = |at: i64| {
            let at = at.clamp(0, rows.len() as i64 - 1) as usize;
            let from = if at < start { 0 } else { at - (at - start) % 2 };
            if at < start {
                get(0)
            } else {
                0.5 * (get(from) + get(from + 1))
            }
        };
        (0..rows.len())
            .map(|at| {
                let second = at < start || (at - start) % 2 == 1;
                let other = if second { at as i64 + 1 } else { at as i64 - 1 };
                0.75 * pair(at as i64) + 0.25 * pair(other)
            })
            .collect()
    }
}

/// The sum of the squares of what a basis leaves of data, and the basis' weights (modified Gram–Schmidt).
fn least_squares(basis: &[Vec<f64>], data: &[f64]) -> (f64, Vec<f64>) {
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let take = |from: &mut [f64], by: f64, what: &[f64]| {
        for (from, what) in from.iter_mut().zip(what) {
            *from -= by * what;
        }
    };
    let count = basis.len();
    let mut upright: Vec<Vec<f64>> = basis.to_vec();
    let mut rest = data.to_vec();
    let mut shares = vec![0.0; count];
    let mut upper = vec![vec![0.0; count]; count];
    for one in 0..count {
        let (done, left) = upright.split_at_mut(one + 1);
        let axis = &done[one];
        let length = dot(axis, axis);
        if length < 1e-9 {
            continue;
        }
        upper[one][one] = 1.0;
        for (at, other) in left.iter_mut().enumerate() {
            let by = dot(other, axis) / length;
            upper[one][one + 1 + at] = by;
            take(other, by, axis);
        }
        shares[one] = dot(&rest, axis) / length;
        take(&mut rest, shares[one], axis);
    }
    for one in (0..count).rev() {
        let known: f64 = (one + 1..count).map(|at| upper[one][at] * shares[at]).sum();
        shares[one] -= known;
    }
    (dot(&rest, &rest), shares)
}
