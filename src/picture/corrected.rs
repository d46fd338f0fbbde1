//! A picture with its tanks at their corrected temperatures.

use super::grid::Grid;
use super::scale::Scale;
use crate::locate::Mask;
use crate::locate::shape::Shape;

/// A region that is to show what its surface really is.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectedRegion {
    /// Its outline, in pixels of the picture.
    pub shape: Shape,
    /// Parts left out.
    pub exclude: Vec<Shape>,
    /// What its pixels show.
    pub shows: Shows,
}

/// What the pixels of a corrected region show. Pixels without a temperature keep having none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shows {
    /// Their own temperature moved by so much, K: what the instrument saw is mostly the surface's own radiation.
    Moved(f64),
    /// All the same, °C: the pattern that the instrument saw is mostly reflections.
    Flat(f64),
    /// None, because the reading does not tell one: hatched.
    Unknown,
}

impl Grid {
    /// The grid with the pixels of regions at their corrected temperatures, the later regions above the earlier ones;
    /// and the scale that these pixels reach, `None` where there are none.
    pub(super) fn corrected(&self, regions: &[CorrectedRegion]) -> (Self, Option<Scale>) {
        let mut grid = self.clone();
        let mut reached = Vec::new();
        for region in regions {
            let mask = Mask::new(&region.shape, &region.exclude, self.width, self.height);
            // A region without pixels has nothing to show; measuring it has said so already.
            for run in mask.iter().flat_map(Mask::runs) {
                let row = run.row.saturating_mul(self.width);
                let columns = row.saturating_add(run.start)..row.saturating_add(run.end);
                let before = self.celsius.get(columns.clone()).unwrap_or_default();
                let after = grid.celsius.get_mut(columns).unwrap_or_default();
                for (to, &from) in after.iter_mut().zip(before) {
                    *to = region.shows.instead_of(from);
                    reached.push(*to);
                }
            }
        }
        (grid, Scale::of(&reached))
    }
}

impl Shows {
    /// What a pixel shows instead of a temperature, °C; not a number where there is none.
    fn instead_of(self, celsius: f32) -> f32 {
        match self {
            Self::Moved(by) => celsius + by as f32,
            Self::Flat(at) if celsius.is_finite() => at as f32,
            Self::Flat(_) | Self::Unknown => f32::NAN,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 6 × 4 pixels: 20 °C and a tenth more with each column, one pixel without a temperature at (2, 1).
    fn grid() -> Grid {
        let mut celsius: Vec<f32> = (0..24).map(|at| 20.0 + 0.1 * (at % 6) as f32).collect();
        celsius[6 + 2] = f32::NAN;
        Grid {
            width: 6,
            height: 4,
            celsius,
        }
    }

    fn region(shape: [f64; 4], shows: Shows) -> CorrectedRegion {
        CorrectedRegion {
            shape: Shape::Rectangle(shape),
            exclude: Vec::new(),
            shows,
        }
    }

    fn row(grid: &Grid, y: usize) -> &[f32] {
        &grid.celsius[6 * y..6 * (y + 1)]
    }

    #[test]
    fn a_region_is_moved_with_its_pattern_and_nothing_else_is() {
        let regions = [region([1.0, 1.0, 3.0, 2.0], Shows::Moved(40.0))];
        let (after, reached) = grid().corrected(&regions);
        assert_eq!(row(&after, 0), row(&grid(), 0));
        assert_eq!(row(&after, 3), row(&grid(), 3));
        let middle = row(&after, 2);
        for (got, want) in middle.iter().zip([20.0, 60.1, 60.2, 60.3, 20.4, 20.5]) {
            assert!((got - want).abs() < 1e-4, "{middle:?}");
        }
        assert!(row(&after, 1)[2].is_nan(), "no temperature stays none");
        let reached = reached.unwrap();
        assert!(reached.low > 59.0 && reached.low <= 60.1, "{reached:?}");
        assert!(reached.high >= 60.3 && reached.high < 61.5, "{reached:?}");
    }

    #[test]
    fn a_flat_region_loses_its_pattern_and_later_regions_lie_above() {
        let mut tank = region([0.0, 0.0, 6.0, 4.0], Shows::Flat(64.0));
        tank.exclude = vec![Shape::Rectangle([0.0, 3.0, 6.0, 1.0])];
        let patch = region([4.0, 0.0, 2.0, 1.0], Shows::Moved(-1.0));
        let (after, _) = grid().corrected(&[tank, patch]);
        assert_eq!(&row(&after, 0)[..4], [64.0; 4]);
        assert!(
            (row(&after, 0)[4] - 19.4).abs() < 1e-4,
            "moved from what was seen"
        );
        assert_eq!(row(&after, 2), [64.0; 6]);
        assert!(row(&after, 1)[2].is_nan());
        assert_eq!(row(&after, 3), row(&grid(), 3), "left out");
    }

    #[test]
    fn what_is_not_known_has_no_temperature() {
        let (after, reached) = grid().corrected(&[region([0.0, 0.0, 2.0, 2.0], Shows::Unknown)]);
        assert!(row(&after, 0)[..2].iter().all(|t| t.is_nan()));
        assert_eq!(row(&after, 0)[2..], row(&grid(), 0)[2..]);
        assert_eq!(reached, None);
        let (same, _) = grid().corrected(&[]);
        assert_eq!(row(&same, 2), row(&grid(), 2));
    }
}
