//! The nearest point of the line, fast: colours are sorted into a coarse cube, and each cell knows the few segments that
//! can be nearest to any colour in it. The answer is the exact search's.

use super::lab::{self, Lab, Levels, Space};
use super::locus::{Locus, Nearest};

/// Levels a side of a cell.
const SIDE: u8 = 8;

/// Cells a side of the cube.
const CELLS: usize = 256 / SIDE as usize;

/// Colours that are kept with their answers, a power of two.
const KEPT: usize = 1 << 14;

/// Cells that have been looked at, and the last colours that were asked for.
pub(super) struct Cube<'a> {
    locus: &'a Locus,
    cells: Vec<Option<Box<[u16]>>>,
    kept: Vec<Option<([u8; 3], Nearest)>>,
}

impl<'a> Cube<'a> {
    pub(super) fn new(locus: &'a Locus) -> Self {
        Self {
            locus,
            cells: vec![None; CELLS * CELLS * CELLS],
            kept: vec![None; KEPT],
        }
    }

    /// The nearest point of the line.
    pub(super) fn nearest(&mut self, colour: [u8; 3]) -> Nearest {
        let [red, green, blue] = colour.map(u32::from);
        let number = red << 16 | green << 8 | blue;
        // The multiplier is 2³² over the golden ratio (Knuth, from memory): it spreads neighbours.
        let slot = (number.wrapping_mul(2_654_435_769) >> 18) as usize % KEPT;
        if let Some(Some((known, answer))) = self.kept.get(slot)
            && *known == colour
        {
            return *answer;
        }
        let answer = self.search(colour);
        if let Some(kept) = self.kept.get_mut(slot) {
            *kept = Some((colour, answer));
        }
        answer
    }

    /// The nearest point of the line to a mean of many pixels: what looks alike for one of them may not for all.
    pub(super) fn nearest_of_mean(&mut self, levels: Levels) -> Nearest {
        let locus = self.locus;
        // Means of whole levels from 0 to 255.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let colour = levels.map(|level| level as u8);
        let segments = self.segments(colour);
        locus.nearest(segments, locus.space.of_levels(levels), locus.mean_margin)
    }

    /// The line that is searched.
    pub(super) fn locus(&self) -> &'a Locus {
        self.locus
    }

    fn search(&mut self, colour: [u8; 3]) -> Nearest {
        let locus = self.locus;
        let segments = self.segments(colour);
        locus.nearest(segments, locus.space.of(colour), locus.margin)
    }

    fn segments(&mut self, colour: [u8; 3]) -> &[u16] {
        let [red, green, blue] = colour.map(|level| usize::from(level / SIDE));
        let index = (red * CELLS + green) * CELLS + blue;
        let locus = self.locus;
        self.cells.get_mut(index).map_or(&[], |cell| {
            cell.get_or_insert_with(|| candidates(locus, colour))
        })
    }
}

/// The segments that can be nearest, within the margin, to any colour in a colour's cell; none where all of the cell is far
/// from the line.
fn candidates(locus: &Locus, colour: [u8; 3]) -> Box<[u16]> {
    let corner = colour.map(|level| level / SIDE * SIDE);
    let corner = corner.map(f32::from);
    let centre = locus
        .space
        .of_levels(corner.map(|level| level + f32::from(SIDE) / 2.0));
    // Colours of a cell lie within the ball through its farthest corner, for which a little is added.
    let radius = 1.1 * farthest_corner(locus.space, corner, centre);
    let distances: Vec<f32> = (0..locus.segments())
        .map(|segment| locus.to_segment(segment, centre).1)
        .collect();
    let least = distances.iter().copied().fold(f32::INFINITY, f32::min);
    if least - radius > locus.greatest_limit() {
        return Box::default();
    }
    let limit = least + 2.0 * radius + locus.margin.max(locus.mean_margin);
    let near = distances.iter().zip(0_u16..);
    near.filter(|(distance, _)| **distance <= limit)
        .map(|(_, segment)| segment)
        .collect()
}

/// Means lie between whole levels: the cell reaches up to the next one.
fn farthest_corner(space: Space, corner: Levels, centre: Lab) -> f32 {
    let mut farthest = 0.0_f32;
    for number in 0..8_u8 {
        let mut at = corner;
        for (axis, level) in at.iter_mut().enumerate() {
            if number >> axis & 1 == 1 {
                *level += f32::from(SIDE);
            }
        }
        farthest = farthest.max(lab::distance(space.of_levels(at), centre));
    }
    farthest
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::palette::bar::Profile;

    /// A line that bends, comes near itself and touches the faces of the cube.
    fn bent(steps: usize) -> Locus {
        let levels = (0..steps).map(|step| {
            let turn = step as f32 / steps as f32 * 7.0;
            [
                127.5 + 127.5 * turn.sin(),
                127.5 + 127.5 * (1.7 * turn).cos(),
                255.0 * step as f32 / steps as f32,
            ]
        });
        Locus::of(&Profile {
            levels: levels.collect(),
            space: Space::Stored(0.7),
            pixel_noise: 0.004,
            noise: 0.001,
        })
    }

    /// The search over all segments and the cube's agree, on a grid that hits faces and insides of the cells.
    #[test]
    fn the_cube_gives_what_the_exact_search_gives() {
        for locus in [bent(40), bent(200), bent(700)] {
            let all: Vec<u16> = (0..locus.segments() as u16).collect();
            let mut cube = Cube::new(&locus);
            for red in (0..=255).step_by(5) {
                for green in (0..=255).step_by(15) {
                    for blue in (0..=255).step_by(3) {
                        let colour = [red, green, blue];
                        let exact = locus.nearest(&all, locus.space.of(colour), locus.margin);
                        let fast = cube.nearest(colour);
                        assert_eq!(exact.on_bar, fast.on_bar, "{colour:?}");
                        if exact.on_bar {
                            assert_eq!(exact, fast, "{colour:?}");
                        }
                        let mean = colour.map(|level| (f32::from(level) + 0.93).min(255.0));
                        let lab = locus.space.of_levels(mean);
                        let exact = locus.nearest(&all, lab, locus.mean_margin);
                        let fast = cube.nearest_of_mean(mean);
                        assert_eq!(exact.on_bar, fast.on_bar, "{mean:?}");
                        if exact.on_bar {
                            assert_eq!(exact, fast, "{mean:?}");
                        }
                    }
                }
            }
        }
    }
}
