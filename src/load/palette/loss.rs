//! How coarsely a picture was stored to save room: steps and blocks of its compression.

use super::super::orientation::Turn;

/// Pixels along a side of a block (ITU-T T.81, A.1.3).
pub(super) const SIDE: usize = 8;

/// What compression may have done to colours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Loss {
    /// Of brightness and of each colour difference, steps of the waves of 0 to 7 half periods along a side of a block.
    pub(super) steps: [[f32; SIDE]; 2],
    /// Pixels along a side of a block of colour differences, across and down the picture as seen.
    pub(super) colour_sides: [usize; 2],
    /// Columns or rows of which the picture as stored begins at the last one seen: how many there are.
    pub(super) mirrored: [Option<usize>; 2],
}

impl Loss {
    /// Of pictures that do not say how coarse they are.
    pub(super) const UNKNOWN: Self = Self {
        steps: [[12.0; SIDE], [16.0; SIDE]],
        colour_sides: [2 * SIDE; 2],
        mirrored: [None; 2],
    };

    /// From the tables and the frame of a JPEG (ITU-T T.81, B.2.4.1, B.2.2) as it is stored: the first table is that of
    /// brightness, the second that of the colour differences.
    pub(super) fn of_jpeg(bytes: &[u8]) -> Self {
        let mut tables: [Option<[f32; SIDE]>; 2] = [None; 2];
        let mut found = Self::UNKNOWN;
        let mut rest = bytes.get(2..).unwrap_or_default();
        while let [0xFF, marker, high, low, ..] = *rest {
            let length = usize::from(u16::from_be_bytes([high, low]));
            let segment = rest.get(4..2 + length).unwrap_or_default();
            match marker {
                0xDA => break,
                0xDB => read_tables(segment, &mut tables),
                // Frames of every kind; among them stand three markers of other meaning.
                0xC0..=0xCF if !matches!(marker, 0xC4 | 0xC8 | 0xCC) => {
                    found.colour_sides = colour_sides(segment).unwrap_or(found.colour_sides);
                }
                _ => {}
            }
            rest = rest.get(2 + length..).unwrap_or_default();
        }
        let [brightness, colour] = tables;
        if let Some(steps) = brightness {
            found.steps = [steps, colour.unwrap_or(steps)];
        }
        found
    }

    /// As the picture, of so many columns and rows, is seen once it is turned.
    pub(super) fn turned(mut self, orientation: u64, seen: [usize; 2]) -> Self {
        let turn = Turn::of(orientation);
        if turn.exchanged {
            self.colour_sides.reverse();
        }
        for (slot, (mirrored, size)) in
            (self.mirrored.iter_mut()).zip(turn.mirrored.into_iter().zip(seen))
        {
            *slot = mirrored.then_some(size);
        }
        self
    }

    /// What it may do to the mean of a block, levels of brightness: half a step, of which a mean is an eighth.
    pub(super) fn brightness(&self) -> f32 {
        half_of_mean(self.steps[0])
    }

    /// The same of a colour difference.
    pub(super) fn colour(&self) -> f32 {
        half_of_mean(self.steps[1])
    }
}

fn half_of_mean([of_mean, ..]: [f32; SIDE]) -> f32 {
    (of_mean / 16.0).max(0.25)
}

/// Takes the steps of waves along one side alone from each table of a segment, as the mean of both sides.
fn read_tables(mut segment: &[u8], tables: &mut [Option<[f32; SIDE]>; 2]) {
    // Places in the zigzag order (Figure A.6) of the waves of 0 to 7 half periods across and down.
    const ACROSS: [usize; SIDE] = [0, 1, 5, 6, 14, 15, 27, 28];
    const DOWN: [usize; SIDE] = [0, 2, 3, 9, 10, 20, 21, 35];
    while let [about, ref entries @ ..] = *segment {
        let width = if about >> 4 == 0 { 1 } else { 2 };
        let Some(table) = entries.get(..64 * width) else {
            return;
        };
        let step = |place: usize| {
            let bytes = table.get(place * width..(place + 1) * width);
            bytes
                .unwrap_or_default()
                .iter()
                .fold(0.0, |step, &byte| 256.0 * step + f32::from(byte))
        };
        if let Some(slot) = tables.get_mut(usize::from(about & 15)) {
            *slot = Some(std::array::from_fn(|wave| {
                (0.5 * (step(ACROSS[wave]) + step(DOWN[wave]))).max(1.0)
            }));
        }
        segment = entries.get(64 * width..).unwrap_or_default();
    }
}

/// Pixels along the sides of a block of the second component, which has fewer samples than the first.
fn colour_sides(frame: &[u8]) -> Option<[usize; 2]> {
    let samples = |component: usize| {
        let both = usize::from(*frame.get(7 + 3 * component)?);
        Some([both >> 4, both & 15])
    };
    let (brightness, colour) = (samples(0)?, samples(1)?);
    let side = |axis: usize| {
        let ratio = brightness[axis].checked_div(colour[axis])?;
        (1..=4).contains(&ratio).then_some(SIDE * ratio)
    };
    Some([side(0)?, side(1)?])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_coarseness_of_a_jpeg_is_read_from_its_tables() {
        let mut bytes = b"\xFF\xD8\xFF\xE0\0\x04ab\xFF\xDB\0\x43\0\x10".to_vec();
        bytes.extend((1..64).map(|place| if place == 1 { 12 } else { 14 }));
        bytes.extend(b"\xFF\xDB\0\x43\x01\x20");
        bytes.extend([1; 63]);
        bytes.extend(b"\xFF\xC0\0\x11\x08\0\x10\0\x20\x03\x01\x21\0\x02\x11\x01\x03\x11\x01");
        bytes.extend(b"\xFF\xDA\0\0");
        let loss = Loss::of_jpeg(&bytes);
        assert_eq!((loss.brightness(), loss.colour()), (1.0, 2.0));
        assert_eq!(
            loss.steps[0],
            [16.0, 13.0, 14.0, 14.0, 14.0, 14.0, 14.0, 14.0]
        );
        assert_eq!(loss.steps[1], [32.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0]);
        // Two samples across and one down to each of colour; turned by a quarter the other way round.
        assert_eq!(loss.colour_sides, [16, 8]);
        let turned = loss.turned(6, [16, 32]);
        assert_eq!(
            (turned.colour_sides, turned.mirrored),
            ([8, 16], [Some(16), None])
        );
        for length in 0..bytes.len() {
            Loss::of_jpeg(&bytes[..length]);
        }
        assert_eq!(Loss::of_jpeg(b""), Loss::UNKNOWN);
    }

    #[test]
    fn tables_of_two_bytes_are_read() {
        let mut bytes = b"\xFF\xD8\xFF\xDB\0\x83\x10".to_vec();
        bytes.extend((0..64_u16).flat_map(|place| (place + 300).to_be_bytes()));
        bytes.extend(b"\xFF\xDA\0\0");
        let loss = Loss::of_jpeg(&bytes);
        assert_eq!(loss.steps[0][..3], [300.0, 301.5, 304.0]);
        assert_eq!(loss.steps[1], loss.steps[0]);
    }
}
