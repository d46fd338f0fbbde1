//! Where the end tanks may be in a picture: regions for a person to confirm, never to be measured unseen.
//!
//! A tank that can be read is a warm, compact and even area, warmer than what lies around it; so is a patch of tape on a
//! bare tank. The two tanks of a cooler are of about one size and stand opposite each other.
//!
//! ```text
//! field    picture      -> temperatures, reduced and smoothed; the background; what is warm and even
//! areas    that         -> the largest rectangle in each warm and even area that stands out
//! tanks    rectangles   -> the pair of groups that looks most like two tanks
//! ```

mod areas;
mod field;
mod tanks;

use crate::load::ThermalImage;
use crate::session::Tank;
use areas::Area;
use field::Field;

/// A region that may lie on a tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proposal {
    /// The hotter of the two tanks is taken for the inlet.
    pub tank: Tank,
    /// x, y, width and height, pixels of the picture from its top left.
    pub rectangle: [usize; 4],
}

/// Pixels by which a rectangle keeps away from where its area ends, if it is wide enough to spare them.
const INSIDE: usize = 1;

/// Narrower sides are not cut, pixels.
const SPARE: usize = 8;

/// Proposes regions on both tanks: the inlet's first, each tank's from left to right and from top to bottom. Empty where
/// nothing in the picture looks like two tanks.
///
/// Only differences of temperature matter, so that any scale that rises with temperature serves.
#[must_use]
pub fn regions(image: &ThermalImage) -> Vec<Proposal> {
    let Some(field) = Field::of(image) else {
        return Vec::new();
    };
    let found = areas::find(&field);
    let Some([inlet, outlet]) = tanks::choose(&found, &field) else {
        return Vec::new();
    };
    let of_tank = |tank: Tank, mut areas: Vec<Area>| {
        areas.sort_by_key(|area| (area.from[1], area.from[0]));
        areas
            .into_iter()
            .map(move |area| Proposal {
                tank,
                rectangle: rectangle(&area, field.reduced),
            })
            .collect::<Vec<_>>()
    };
    let mut all = of_tank(Tank::Inlet, inlet);
    all.extend(of_tank(Tank::Outlet, outlet));
    all
}

/// The rectangle of an area in pixels of the picture, a little smaller.
fn rectangle(area: &Area, reduced: usize) -> [usize; 4] {
    let side = |axis: usize| {
        let from = area.from[axis] * reduced;
        let length = (area.to[axis] - area.from[axis]) * reduced;
        if length >= SPARE {
            (from + INSIDE, length - 2 * INSIDE)
        } else {
            (from, length)
        }
    };
    let ((x, width), (y, height)) = (side(0), side(1));
    [x, y, width, height]
}

#[cfg(test)]
mod tests;
