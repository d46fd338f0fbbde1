//! A picture reduced to a bounded size, kept as temperatures until the shared scale is known.

use super::annotate::RegionNote;
use super::canvas::Canvas;
use super::colour::ColourMap;
use super::corrected::CorrectedRegion;
use super::geometry::{Area, Point};
use super::grid::{Grid, Zoom};
use super::legend::Beyond;
use super::outline::Outline;
use super::scale::Scale;
use crate::load::ThermalImage;
use crate::session::Role;

/// Widest thumbnail, pixels.
pub const THUMBNAIL_WIDTH: u32 = 320;
/// Highest thumbnail, pixels.
pub const THUMBNAIL_HEIGHT: u32 = 240;

/// A picture reduced to at most [`THUMBNAIL_WIDTH`] × [`THUMBNAIL_HEIGHT`] pixels: 300 kB whatever the picture's size.
#[derive(Debug, Clone, PartialEq)]
pub struct Thumbnail {
    grid: Grid,
    zoom: Zoom,
    outlines: Vec<(Outline, bool, Role)>,
    /// What it needs of a scale: the whole picture's as seen, of a corrected one that of the corrected regions alone.
    scale: Option<Scale>,
}

/// A picture reduced twice: as the instrument saw it, and with its tanks at their corrected temperatures.
#[derive(Debug, Clone, PartialEq)]
pub struct Thumbnails {
    /// As the instrument saw it.
    pub seen: Thumbnail,
    /// With its tanks corrected.
    pub corrected: Thumbnail,
}

impl Thumbnails {
    /// The scale that both have a place on; `None` where no pixel has a temperature.
    #[must_use]
    pub fn scale(&self) -> Option<Scale> {
        match (self.seen.scale, self.corrected.scale) {
            (Some(seen), Some(corrected)) => Some(seen.stretched(corrected)),
            (seen, corrected) => seen.or(corrected),
        }
    }
}

/// Reduces a picture and its regions' outlines to a size, at most the greatest that thumbnails have: as the instrument
/// saw it, and with the pixels of some regions corrected, each region above those before it.
#[must_use]
pub fn thumbnails(
    image: &ThermalImage,
    regions: &[RegionNote],
    corrected: &[CorrectedRegion],
    max_width: u32,
    max_height: u32,
) -> Thumbnails {
    let grid = Grid::of(image);
    let (after, reached) = grid.corrected(corrected);
    let scale = Scale::of(&grid.celsius);
    let size = [max_width, max_height];
    Thumbnails {
        seen: reduced(grid, regions, scale, size),
        corrected: reduced(after, regions, reached, size),
    }
}

fn reduced(
    grid: Grid,
    regions: &[RegionNote],
    scale: Option<Scale>,
    [max_width, max_height]: [u32; 2],
) -> Thumbnail {
    let most_width = max_width.clamp(1, THUMBNAIL_WIDTH) as usize;
    let most_height = max_height.clamp(1, THUMBNAIL_HEIGHT) as usize;
    let before = grid.width.max(1) as f64;
    let grid = grid.reduced(most_width, most_height);
    let up = (most_width / grid.width.max(1)).min(most_height / grid.height.max(1));
    let zoom = Zoom::Up(up.max(1));
    let factor = grid.width as f64 / before * zoom.factor();
    let (width, height) = (zoom.size(grid.width) as f32, zoom.size(grid.height) as f32);
    let outline = |shape| Outline::new(shape, factor, width, height);
    let outlines = regions.iter().flat_map(|region| {
        let whole = std::iter::once((outline(&region.shape), false, region.role));
        let parts = region.exclude.iter();
        whole.chain(parts.map(move |shape| (outline(shape), true, region.role)))
    });
    Thumbnail {
        outlines: outlines.collect(),
        grid,
        zoom,
        scale,
    }
}

impl Thumbnail {
    /// Width and height as drawn, pixels.
    pub(super) fn size(&self) -> (f32, f32) {
        let side = |pixels| self.zoom.size(pixels) as f32;
        (side(self.grid.width), side(self.grid.height))
    }

    /// What of it lies beyond a scale.
    pub(super) fn beyond(&self, scale: Scale) -> Beyond {
        Beyond::of(&self.grid.celsius, scale)
    }

    /// Draws it with its top left at whole pixels.
    pub(super) fn draw(&self, canvas: &mut Canvas, left: f32, top: f32, map: &ColourMap) {
        let (width, height) = self.size();
        let mut tile = match Canvas::new(width, height) {
            Ok(tile) => tile,
            Err(_) => return,
        };
        self.grid.paint(&mut tile.pixmap, 0, 0, self.zoom, map);
        for (outline, dashed, role) in &self.outlines {
            let pen = if *role == Role::Tank { 1.6 } else { 1.1 };
            outline.draw(&mut tile, Point::new(0.0, 0.0), pen, *dashed);
        }
        canvas.paste(&tile, Area::new(left, top, width, height));
    }
}
