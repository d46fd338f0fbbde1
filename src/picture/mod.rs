//! Pictures for people: a thermal picture with its regions and readings, and all coolers side by side on one scale.
//!
//! Everything here turns data into the bytes of a PNG file; nothing is read from or written to a disk.
//!
//! What holds for every picture:
//! - colours are the *shown* temperatures (and corrected ones where that is said), linear between the ends of a scale
//!   that is drawn below them, with the colour map cividis: its lightness rises evenly, also for colour-blind eyes and in print
//!   (J. R. Nuñez, C. R. Anderton, R. S. Renslow, PLOS ONE 13 (2018) e0199239);
//! - pixels outside the scale take the colour of its end, and the end is then drawn pointed;
//! - pixels without a temperature are hatched, which no temperature is;
//! - pixels of small pictures are enlarged by whole factors, never blended;
//! - labels are words, cover neither each other nor any region, and stay inside the picture.

mod annotate;
mod canvas;
mod colour;
mod coordinates;
mod corrected;
mod geometry;
mod grid;
mod layout;
mod legend;
mod margin;
mod note;
mod outline;
mod place;
mod scale;
mod side_by_side;
mod text;
mod thumbnail;

pub use annotate::{RegionNote, annotate};
pub use coordinates::{GridRegion, grid, grid_in_colours, grid_of_numbers};
pub use corrected::{CorrectedRegion, Shows};
pub use scale::Scale;
pub use side_by_side::{MOST_PANELS, MOST_ROWS, Panel, PanelRow, side_by_side};
pub use thumbnail::{THUMBNAIL_HEIGHT, THUMBNAIL_WIDTH, Thumbnail, Thumbnails, thumbnails};

/// Why a picture cannot be drawn.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PictureError {
    /// No rows or no columns.
    #[error("the picture has no pixels; export it again from the instrument")]
    Empty,
    /// More pixels than can be drawn.
    #[error(
        "a drawing of {width} × {height} pixels is too large; use fewer coolers or shorter labels"
    )]
    TooLarge {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
    /// The PNG encoder gave up.
    #[error("the drawing could not be stored as PNG: {0}; report this as a fault of the program")]
    Encode(String),
}
