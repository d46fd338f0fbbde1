//! The pixels of a region.

/// A stretch of one row: columns `start` (inclusive) to `end` (exclusive).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RowRun {
    /// The row.
    pub row: usize,
    /// First column.
    pub start: usize,
    /// One past the last column.
    pub end: usize,
}

/// The pixels of a region inside one picture, row by row. Never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mask {
    /// Stretches of rows, from the top, left to right; none is empty, none touch or overlap.
    pub runs: Vec<RowRun>,
    /// Whether a part of the outline lies outside the picture.
    pub cut: bool,
}
