//! Where both say where a strip of a compressed picture ends, its jumps and the fit: which is believed.

use super::ends::at_end;
use super::fit::{self, Fitted};
use super::sides::Sides;
use super::strip::{Strip, View};
use crate::load::palette::loss::Loss;

/// Rows further inside that an end is looked for where a strip may have run on.
const FARTHER: [i64; 3] = [8, 16, 24];

/// Share of rows that are like what lies around them, of a strip that ran on.
const AROUND: f64 = 0.8;

/// The same of a bar, at most.
const OUTSTANDING: f64 = 0.3;

/// Share of rows of a bar that differ from what lies around them at both sides.
const STANDING: f64 = 0.6;

/// From this on nothing about an end is smooth: squares of levels of brightness.
const WILD: f64 = 100.0;

/// A rough last row of a strip.
struct End<'a> {
    view: &'a View<'a>,
    loss: Loss,
    strip: Strip,
    row: i64,
    inward: i64,
}

/// A strip of a compressed picture with its ends where they fit.
pub(super) fn settled(view: &View<'_>, strip: Strip, loss: Loss) -> Strip {
    let mut settled = strip;
    for below in [false, true] {
        let index = usize::from(below);
        let end = End {
            view,
            loss,
            strip,
            row: strip.rows[index] as i64 - i64::from(below),
            inward: if below { -1 } else { 1 },
        };
        let fit = end.fit(0);
        let found = if strip.sure[index] {
            fit.map(|fit| fit.beside_sure())
        } else {
            end.unsure(fit)
        };
        if let Some((place, sure)) = found {
            settled.rows[index] = at_end(end.outward(place), below);
            settled.sure[index] = sure;
        }
    }
    settled
}

impl Fitted {
    /// The most likely row, or the middle of three.
    fn middle(&self) -> i64 {
        let [low, high] = self.range;
        if high - low == 1 {
            self.best
        } else {
            i64::midpoint(low, high)
        }
    }

    /// Whether it says where the bar ends: a rough one only about where the end already is.
    fn tells(&self) -> bool {
        self.sure && (self.smooth || self.middle().abs() <= 2)
    }

    /// How far outward of a rough end that is sure within a row the bar ends, and whether that is sure.
    fn beside_sure(&self) -> (i64, bool) {
        let [low, high] = self.range;
        let overlap = [0, 1].into_iter().find_map(|more| {
            let (from, to) = ((low - more).max(-1), (high + more).min(1));
            (from <= to).then(|| self.best.clamp(from, to))
        });
        match overlap {
            _ if !self.smooth && self.best.abs() >= 2 || self.rest > WILD => (0, false),
            Some(place) if self.tells() => (place, true),
            Some(_) => (0, true),
            None => (0, !self.sure),
        }
    }
}

impl End<'_> {
    fn outward(&self, place: i64) -> i64 {
        self.row - self.inward * place
    }

    fn fit(&self, inside: i64) -> Option<Fitted> {
        let row = self.outward(-inside);
        fit::fitted(self.view, self.strip.columns, row, self.inward, self.loss)
    }

    /// How far outward of a doubtful end the bar ends and whether that is sure: it may have run on into something smooth.
    fn unsure(&self, fit: Option<Fitted>) -> Option<(i64, bool)> {
        let fit = fit.filter(Fitted::tells);
        let inner = self.inner();
        let rows = self.view.rows_of(self.strip.columns);
        let sides = Sides {
            view: self.view,
            rows: &rows,
            columns: self.strip.columns,
            inward: self.inward,
        };
        let (outer, border) = fit.map_or((0, 0), |fit| (fit.middle(), fit.border));
        let around = |[place, border]: [i64; 2]| {
            sides.around(self.outward(place + border + 1), self.outward(outer))
        };
        if let Some([place, _]) = inner.iter().find(|one| around(**one) >= AROUND) {
            return Some((*place, true));
        }
        let standing = |from: i64| sides.standing(self.outward(from), self.outward(from + 5));
        let stays = standing(outer - 5) >= STANDING
            && standing(outer + border + 2) < STANDING
            && inner.iter().all(|one| around(*one) <= OUTSTANDING);
        fit.map(|_| (outer, stays))
    }

    /// Ends further inside, and the rows of their borders, the innermost first.
    fn inner(&self) -> Vec<[i64; 2]> {
        let length = (self.strip.rows[1] - self.strip.rows[0]) as i64;
        let tries = FARTHER.into_iter().filter(|inside| 3 * inside < length);
        let mut inner: Vec<[i64; 2]> = tries
            .filter_map(|inside| {
                let fit = self.fit(inside).filter(|fit| fit.sure && fit.smooth)?;
                Some([fit.middle() - inside, fit.border])
            })
            .filter(|[place, _]| *place < -2)
            .collect();
        inner.sort_unstable();
        inner
    }
}
