//! Temperatures to colours.

use super::scale::Scale;

/// Red, green, blue.
pub(super) type Rgb = [u8; 3];

/// How many colours the map is cut into: finer than 8 bits a channel can show.
const COLOURS: u16 = 512;

/// Stands for a pixel without a temperature among the indices of colours.
const INVALID: u16 = u16::MAX;

/// The two greys of the hatching, light and dark.
pub(super) const HATCH: [Rgb; 2] = [[244, 244, 244], [150, 150, 150]];

/// Width of a stripe of the hatching, pixels of the drawing.
const STRIPE: usize = 3;

/// Colours of temperatures between the ends of a scale.
pub(super) struct ColourMap {
    colours: Vec<Rgb>,
    scale: Scale,
}

impl ColourMap {
    /// The map for a scale.
    pub(super) fn new(scale: Scale) -> Self {
        let colours = (0..COLOURS)
            .map(|index| {
                let share = f64::from(index) / f64::from(COLOURS - 1);
                let colour = colorous::CIVIDIS.eval_continuous(share);
                [colour.r, colour.g, colour.b]
            })
            .collect();
        Self { colours, scale }
    }

    /// The index of a temperature's colour; °C, not finite where there is none. Beyond the scale: its end.
    pub(super) fn index(&self, celsius: f32) -> u16 {
        if !celsius.is_finite() {
            return INVALID;
        }
        let share = self.scale.position(f64::from(celsius)).clamp(0.0, 1.0);
        (share * f64::from(COLOURS - 1)).round() as u16
    }

    /// The colour to draw at a place of the drawing for an index.
    pub(super) fn colour(&self, index: u16, x: usize, y: usize) -> Rgb {
        self.colours
            .get(usize::from(index))
            .copied()
            .unwrap_or_else(|| hatch(x, y))
    }

    /// The colour at a share of the scale, 0 its cold end, 1 its hot end.
    pub(super) fn at_share(&self, share: f32) -> Rgb {
        self.colour(
            (share.clamp(0.0, 1.0) * f32::from(COLOURS - 1)).round() as u16,
            0,
            0,
        )
    }
}

/// The hatching at a place of the drawing: diagonal stripes.
pub(super) fn hatch(x: usize, y: usize) -> Rgb {
    let [light, dark] = HATCH;
    if ((x + y) / STRIPE).is_multiple_of(2) {
        dark
    } else {
        light
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SCALE: Scale = Scale {
        low: 20.0,
        high: 70.0,
    };

    /// CIE 1976 lightness of an sRGB colour (IEC 61966-2-1 and CIE 15).
    fn lightness(rgb: Rgb) -> f64 {
        let [r, g, b] = rgb.map(|channel| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.040_45 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        });
        let y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
        if y > 0.008_856 {
            116.0 * y.cbrt() - 16.0
        } else {
            903.3 * y
        }
    }

    #[test]
    fn ends_are_those_of_cividis() {
        let map = ColourMap::new(SCALE);
        // The ends of cividis as published are #00204d and #ffe945 or near (from memory); the polynomial fit used
        // here stays within a few counts of them.
        let near = |got: Rgb, want: Rgb| got.iter().zip(want).all(|(&a, b)| a.abs_diff(b) <= 8);
        assert!(
            near(map.at_share(0.0), [0x00, 0x20, 0x51]),
            "{:?}",
            map.at_share(0.0)
        );
        assert!(
            near(map.at_share(1.0), [0xfd, 0xea, 0x45]),
            "{:?}",
            map.at_share(1.0)
        );
    }

    #[test]
    fn lightness_rises_with_temperature() {
        let map = ColourMap::new(SCALE);
        let steps: Vec<f64> = (0..=64)
            .map(|i| lightness(map.at_share(i as f32 / 64.0)))
            .collect();
        for pair in steps.windows(2) {
            assert!(pair[1] > pair[0], "{pair:?}");
        }
    }

    #[test]
    fn beyond_the_scale_is_its_end_and_no_temperature_is_hatched() {
        let map = ColourMap::new(SCALE);
        assert_eq!(map.index(-40.0), map.index(20.0));
        assert_eq!(map.index(900.0), map.index(70.0));
        assert_ne!(map.index(20.0), map.index(70.0));
        let index = map.index(f32::NAN);
        let stripes: Vec<Rgb> = (0..2 * STRIPE).map(|x| map.colour(index, x, 0)).collect();
        assert!(stripes.contains(&HATCH[0]) && stripes.contains(&HATCH[1]));
        assert_eq!(map.colour(index, 5, 0), map.colour(index, 4, 1), "diagonal");
    }

    #[test]
    fn temperature_to_colour_is_linear() {
        let map = ColourMap::new(SCALE);
        let middle = map.index(45.0);
        assert!(middle.abs_diff((COLOURS - 1) / 2) <= 1);
    }
}
