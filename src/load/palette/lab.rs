//! Spaces in which colours are compared: Oklab (B. Ottosson, 2020), where equal distances look about equally far apart, and
//! brightness with colour differences, where the errors of compression are.
//!
//! A little light is added to every colour before, as a lit room adds to a screen: without it one level near black would
//! be twenty times as far as one in the middle, and the noise of compression with it.

use palette::convert::FromColorUnclamped;
use palette::{LinSrgb, Oklab, Srgb};

/// Lightness and the two opponent colours.
pub(super) type Lab = [f32; 3];

/// Red, green and blue, or brightness and colour differences, as levels 0 to 255; between them too.
pub(super) type Levels = [f32; 3];

/// Light added, as a share of white: one level of grey is then some 0.003 to 0.004 everywhere.
const FLARE: f32 = 0.005;

/// About one level of grey.
pub(super) const LEVEL: f32 = 0.0035;

/// The space in which colours are compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Space {
    /// Oklab: of pictures without loss.
    Plain,
    /// Brightness and colour differences as compression stores them, of 255, where its errors are the same for every colour;
    /// the differences count so much. Levels are those of [`to_ycc`].
    Stored(f32),
}

impl Space {
    /// The place of a colour in whole levels.
    pub(super) fn of(self, colour: [u8; 3]) -> Lab {
        match self {
            Self::Plain => {
                let [red, green, blue] = colour;
                of_linear(Srgb::new(red, green, blue).into_linear())
            }
            Self::Stored(_) => self.of_levels(colour.map(f32::from)),
        }
    }

    /// The place of a colour between levels.
    pub(super) fn of_levels(self, levels: Levels) -> Lab {
        match self {
            Self::Plain => {
                let [red, green, blue] = levels.map(|level| level.clamp(0.0, 255.0) / 255.0);
                of_linear(Srgb::new(red, green, blue).into_linear())
            }
            Self::Stored(weight) => {
                let [luma, blueness, redness] = levels.map(|part| part / 255.0);
                [luma, weight * blueness, weight * redness]
            }
        }
    }
}

fn of_linear(light: LinSrgb<f32>) -> Lab {
    let flared = LinSrgb::new(light.red + FLARE, light.green + FLARE, light.blue + FLARE);
    let lab = Oklab::from_color_unclamped(flared / (1.0 + FLARE));
    [lab.l, lab.a, lab.b]
}

/// a − b.
pub(super) fn minus(a: Lab, b: Lab) -> Lab {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// The scalar product.
pub(super) fn dot(a: Lab, b: Lab) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// a + share (b − a).
pub(super) fn between(a: Lab, b: Lab, share: f32) -> Lab {
    let step = minus(b, a);
    [
        a[0] + share * step[0],
        a[1] + share * step[1],
        a[2] + share * step[2],
    ]
}

/// How far apart two colours are.
pub(super) fn distance(a: Lab, b: Lab) -> f32 {
    let step = minus(a, b);
    dot(step, step).sqrt()
}

/// Brightness and the two colour differences, 128 for none, from red, green and blue (JFIF: ITU-T T.871, 7).
pub(super) fn to_ycc([red, green, blue]: Levels) -> Levels {
    let luma = 0.299 * red + 0.587 * green + 0.114 * blue;
    let blueness = (blue - luma) / 1.772 + 128.0;
    [luma, blueness, (red - luma) / 1.402 + 128.0]
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn white_is_white_and_levels_are_about_equally_far() {
        let white = Space::Plain.of([255; 3]);
        assert_abs_diff_eq!(white[0], 1.0, epsilon = 1e-4);
        assert_abs_diff_eq!(white[1], 0.0, epsilon = 1e-4);
        for level in 0..255_u8 {
            let step = distance(Space::Plain.of([level; 3]), Space::Plain.of([level + 1; 3]));
            assert!((0.0007..0.0045).contains(&step), "{level}: {step}");
        }
        assert_eq!(
            Space::Plain.of([12, 200, 77]),
            Space::Plain.of_levels([12.0, 200.0, 77.0])
        );
    }

    #[test]
    fn brightness_and_differences_are_those_of_the_standard() {
        // Grey has no difference; pure colours as ITU-T T.871 gives their differences.
        for (levels, parts) in [
            ([77.0; 3], [77.0, 128.0, 128.0]),
            ([255.0, 0.0, 0.0], [76.245, 84.972, 255.5]),
            ([0.0, 255.0, 0.0], [149.685, 43.528, 21.235]),
            ([0.0, 0.0, 255.0], [29.07, 255.5, 107.265]),
        ] {
            for (found, part) in to_ycc(levels).into_iter().zip(parts) {
                assert_abs_diff_eq!(found, part, epsilon = 2e-3);
            }
        }
    }
}
