//! Turning a stored picture to how a person sees it.

use ndarray::{Array2, Axis};

use super::Samples;

impl Samples {
    /// The picture turned as its orientation says; see [`oriented`].
    pub(super) fn oriented(self, orientation: u64) -> Self {
        match self {
            Self::U8(stored) => Self::U8(oriented(stored, orientation)),
            Self::U16(stored) => Self::U16(oriented(stored, orientation)),
            Self::I16(stored) => Self::I16(oriented(stored, orientation)),
            Self::U32(stored) => Self::U32(oriented(stored, orientation)),
            Self::I32(stored) => Self::I32(oriented(stored, orientation)),
            Self::F32(stored) => Self::F32(oriented(stored, orientation)),
            Self::F64(stored) => Self::F64(oriented(stored, orientation)),
        }
    }
}

/// How a stored picture is turned to how a person sees it: first rows and columns are exchanged, then it is mirrored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Turn {
    pub(super) exchanged: bool,
    /// Mirrored left to right, top to bottom.
    pub(super) mirrored: [bool; 2],
}

impl Turn {
    /// `orientation` as in EXIF: 1 as stored, 2 mirrored left to right, 3 upside down, 4 mirrored top to bottom, 5 to 8 the
    /// same with rows and columns exchanged.
    pub(super) const fn of(orientation: u64) -> Self {
        let (exchanged, mirrored) = match orientation {
            2 => (false, [true, false]),
            3 => (false, [true, true]),
            4 => (false, [false, true]),
            5 => (true, [false, false]),
            6 => (true, [true, false]),
            7 => (true, [true, true]),
            8 => (true, [false, true]),
            _ => (false, [false, false]),
        };
        Self {
            exchanged,
            mirrored,
        }
    }
}

/// Turns a stored picture to how a person sees it; see [`Turn::of`].
pub(super) fn oriented<T: Clone>(stored: Array2<T>, orientation: u64) -> Array2<T> {
    let turn = Turn::of(orientation);
    if turn == Turn::of(1) {
        return stored;
    }
    let mut seen = if turn.exchanged {
        stored.reversed_axes()
    } else {
        stored
    };
    for (axis, mirrored) in [1, 0].into_iter().zip(turn.mirrored) {
        if mirrored {
            seen.invert_axis(Axis(axis));
        }
    }
    seen.as_standard_layout().into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    /// The corners after each orientation, from the table in TIFF 6.0, tag 274 (from memory): 6 means that the first
    /// row stored is the right-hand side seen and the first column stored the top.
    #[test]
    fn orientations_turn_the_picture_as_seen() {
        let stored = array![[1, 2, 3], [4, 5, 6]];
        let cases = [
            (1, array![[1, 2, 3], [4, 5, 6]]),
            (2, array![[3, 2, 1], [6, 5, 4]]),
            (3, array![[6, 5, 4], [3, 2, 1]]),
            (4, array![[4, 5, 6], [1, 2, 3]]),
            (5, array![[1, 4], [2, 5], [3, 6]]),
            (6, array![[4, 1], [5, 2], [6, 3]]),
            (7, array![[6, 3], [5, 2], [4, 1]]),
            (8, array![[3, 6], [2, 5], [1, 4]]),
        ];
        for (orientation, seen) in cases {
            assert_eq!(oriented(stored.clone(), orientation), seen, "{orientation}");
        }
    }
}
