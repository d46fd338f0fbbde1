//! How coarsely a picture was stored to save room: steps and blocks of its compression.

use super::super::orientation::Turn;

/// Pixels along a side of a block (ITU-T T.81, A.1.3).
pub(super) const SIDE: usize = 8;

/// What compression may have done to colours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Loss {
    /// Steps of the waves of 0 to 7 half periods along a side of a block: across and down the picture as seen, of brightness and
    /// of each colour difference.
    pub(super) steps: [[Steps; 2]; 2],
    /// Pixels along a side of a block of colour differences, across and down.
    pub(super) colour_sides: [usize; 2],
    /// Columns and rows of the picture where these are counted from the far end of how it is stored.
    pub(super) mirrored: [Option<usize>; 2],
}

/// Steps of waves along one side of a block.
pub(super) type Steps = [f32; SIDE];

/// No step does more: the mean of a block spans 255 levels times eight.
const COARSEST: f32 = 255.0 * SIDE as f32;

impl Loss {
    /// Of pictures that do not say how coarse they are, or say it otherwise than a JPEG.
    pub(super) const UNKNOWN: Self = Self {
        steps: [[[12.0; SIDE], [16.0; SIDE]]; 2],
        colour_sides: [2 * SIDE; 2],
        mirrored: [None; 2],
    };

    /// From the tables and the frame of a JPEG (ITU-T T.81, B.2.4.1, B.2.2) as it is stored.
    pub(super) fn of_jpeg(bytes: &[u8]) -> Self {
        let mut tables: [Option<[Steps; 2]>; 4] = [None; 4];
        let mut frame = None;
        let mut rest = bytes.get(2..).unwrap_or_default();
        while let [0xFF, marker, ref beyond @ ..] = *rest {
            // Any number of these may stand before a marker (B.1.1.2).
            if marker == 0xFF {
                rest = rest.get(1..).unwrap_or_default();
                continue;
            }
            let [high, low, ..] = *beyond else { break };
            let length = usize::from(u16::from_be_bytes([high, low]));
            let segment = beyond.get(2..length).unwrap_or_default();
            match marker {
                0xDA => break,
                0xDB => read_tables(segment, &mut tables),
                // Frames of every kind; among them stand three markers of other meaning.
                0xC0..=0xCF if !matches!(marker, 0xC4 | 0xC8 | 0xCC) => frame = Frame::of(segment),
                _ => {}
            }
            rest = beyond.get(length..).unwrap_or_default();
        }
        let Some(frame) = frame else {
            return Self::UNKNOWN;
        };
        let [Some(brightness), Some(colour)] = frame.tables.map(|at| *tables.get(at)?) else {
            return Self::UNKNOWN;
        };
        Self {
            steps: [0, 1].map(|axis| [brightness[axis], colour[axis]]),
            colour_sides: frame.colour_sides,
            mirrored: [None; 2],
        }
    }

    /// As the picture, of so many columns and rows, is seen once it is turned.
    pub(super) fn turned(mut self, orientation: u64, seen: [usize; 2]) -> Self {
        let turn = Turn::of(orientation);
        if turn.exchanged {
            self.colour_sides.reverse();
            self.steps.reverse();
        }
        for (axis, slot) in self.mirrored.iter_mut().enumerate() {
            *slot = turn.mirrored[axis].then_some(seen[axis]);
        }
        self
    }

    /// What it may do to the mean of a block, levels of brightness: half a step, of which a mean is an eighth.
    pub(super) fn brightness(&self) -> f32 {
        half_of_mean(self.steps[0][0])
    }

    /// The same of a colour difference.
    pub(super) fn colour(&self) -> f32 {
        half_of_mean(self.steps[0][1])
    }
}

fn half_of_mean([of_mean, ..]: Steps) -> f32 {
    (of_mean / 16.0).max(0.25)
}

/// Takes the steps of waves along one side alone, across and down, from each table of a segment.
fn read_tables(mut segment: &[u8], tables: &mut [Option<[Steps; 2]>; 4]) {
    // Places in the zigzag order (Figure A.6) of the waves of 0 to 7 half periods across and down.
    const WAVES: [[usize; SIDE]; 2] = [[0, 1, 5, 6, 14, 15, 27, 28], [0, 2, 3, 9, 10, 20, 21, 35]];
    while let [about, ref entries @ ..] = *segment {
        let width = if about >> 4 == 0 { 1 } else { 2 };
        let Some(table) = entries.get(..64 * width) else {
            return;
        };
        let step = |place: usize| {
            let bytes = table.get(place * width..(place + 1) * width);
            let step = (bytes.unwrap_or_default().iter())
                .fold(0.0, |step, &byte| 256.0 * step + f32::from(byte));
            step.clamp(1.0, COARSEST)
        };
        if let Some(slot) = tables.get_mut(usize::from(about & 15)) {
            *slot = Some(WAVES.map(|places| places.map(step)));
        }
        segment = entries.get(64 * width..).unwrap_or_default();
    }
}

/// What a frame says of its first two components, brightness and a colour difference.
struct Frame {
    /// Their tables.
    tables: [usize; 2],
    colour_sides: [usize; 2],
}

impl Frame {
    fn of(segment: &[u8]) -> Option<Self> {
        // A number, samples across and down, a table.
        let component =
            |at: usize| -> Option<&[u8; 3]> { segment.get(6 + 3 * at..)?.first_chunk() };
        let ([_, brightness, first], [_, colour, second]) = (component(0)?, component(1)?);
        let side = |shift: u8| {
            let [more, fewer] = [brightness, colour].map(|both| usize::from(both >> shift & 15));
            let whole = fewer > 0 && more % fewer == 0;
            (whole && (1..=4).contains(&(more / fewer))).then(|| SIDE * more / fewer)
        };
        Some(Self {
            tables: [first, second].map(|at| usize::from(*at)),
            colour_sides: [side(4)?, side(0)?],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A frame of three components with their samples and tables.
    const FRAME: &[u8] =
        b"\xFF\xC0\0\x11\x08\0\x10\0\x20\x03\x01\x21\x01\x02\x11\0\x03\x11\0\xFF\xDA\0\0";

    #[test]
    fn the_coarseness_of_a_jpeg_is_read_from_its_tables() {
        let mut bytes = b"\xFF\xD8\xFF\xE0\0\x04ab\xFF\xFF\xDB\0\x43\x01\x10".to_vec();
        bytes.extend((1..64).map(|place| if place == 1 { 12 } else { 14 }));
        bytes.extend(b"\xFF\xDB\0\x43\0\x20");
        bytes.extend([0; 63]);
        bytes.extend(FRAME);
        let loss = Loss::of_jpeg(&bytes);
        assert_eq!((loss.brightness(), loss.colour()), (1.0, 2.0));
        let [[across, colour], [down, _]] = loss.steps;
        assert_eq!(across[..3], [16.0, 12.0, 14.0]);
        assert_eq!(down[..3], [16.0, 14.0, 14.0]);
        assert_eq!(colour[..3], [32.0, 1.0, 1.0]);
        // Two samples across and one down to each of colour; turned by a quarter the other way round.
        assert_eq!(loss.colour_sides, [16, 8]);
        let turned = loss.turned(6, [16, 32]);
        assert_eq!(
            (turned.colour_sides, turned.mirrored),
            ([8, 16], [Some(16), None])
        );
        assert_eq!((turned.steps[0][0], turned.steps[1][0]), (down, across));
        for length in 0..bytes.len() - FRAME.len() {
            assert_eq!(Loss::of_jpeg(&bytes[..length]), Loss::UNKNOWN);
        }
        for length in 0..bytes.len() {
            Loss::of_jpeg(&bytes[..length]);
        }
    }

    #[test]
    fn tables_of_two_bytes_are_read() {
        let mut bytes = b"\xFF\xD8\xFF\xDB\x01\x04\x10".to_vec();
        bytes.extend((0..64_u16).flat_map(|place| (place + 300).to_be_bytes()));
        bytes.push(0x11);
        bytes.extend([0xFF; 128]);
        bytes.extend(FRAME);
        let loss = Loss::of_jpeg(&bytes);
        assert_eq!(loss.steps[0][1][..3], [300.0, 301.0, 305.0]);
        assert_eq!(loss.steps[0][0], [COARSEST; SIDE]);
    }

    #[test]
    fn samplings_that_no_block_follows_are_unknown() {
        for sampling in [0x00, 0x21, 0x13, 0x41] {
            let mut segment = FRAME[4..].to_vec();
            segment[7] = sampling;
            let frame = Frame::of(&segment).map(|frame| frame.colour_sides);
            let known = match sampling {
                0x21 => Some([16, 8]),
                0x13 => Some([8, 24]),
                0x41 => Some([32, 8]),
                _ => None,
            };
            assert_eq!(frame, known, "{sampling:x}");
        }
    }
}
