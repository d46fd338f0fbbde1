//! Palette pictures: temperatures back from the colours of an ordinary picture and the bar that is drawn in it.
//!
//! The bar is the palette: no table of known ones is kept. Its colours are a line through Oklab, of compressed pictures
//! through brightness and colour differences as they are stored; a pixel stands for the nearest point of that line, or for nothing where it lies too far from it, or where two parts of the line are as near.
//!
//! ```text
//! decode   file                 -> colours, upright
//! loss     file                 -> how coarsely it was stored
//! find     colours              -> where the bar is, if the session does not say
//! bar      colours + box        -> colours along the bar, their noise
//! smooth   colours along the bar -> the same without the shifts of compression
//! locus    those colours        -> a line through a space of colours; cube: the same search, fast
//! invert   colours + line       -> places along the bar, and what has none; riddles: which of two places
//! ladder   places + limits      -> temperatures
//! doubt    what a region's reading may be off by
//! ```

mod banded;
mod bar;
mod cube;
mod decode;
mod doubt;
mod find;
mod invert;
mod lab;
mod ladder;
mod locus;
mod loss;
mod printed;
mod reading;
mod riddles;
mod smooth;
mod strokes;

pub use bar::BarBox;
pub use invert::Mark;
pub use reading::PaletteReading;

pub(super) use decode::check_packing;

use ndarray::Array2;

use super::sniff::ColourKind;
use super::{LoadError, Samples, ThermalImage};
use crate::radiometry::Detector;
use crate::session::{BarLaw, ColourBar, Declared, LowEnd, Pixels, Printed};
use crate::units::temperature::ZERO_CELSIUS;
use doubt::Doubt;
use ladder::Ladder;
use locus::Locus;
use riddles::Riddle;

/// What the session says of the scale of a palette picture.
#[derive(Debug, Clone, Copy)]
pub struct Scale<'a> {
    /// Where the bar is.
    pub bar: &'a ColourBar,
    /// Its cold end; `None`: the bottom or the left.
    pub low_end: Option<LowEnd>,
    /// Temperature at the cold end, K.
    pub low: &'a Declared,
    /// Temperature at the hot end, K.
    pub high: &'a Declared,
    /// What is evenly spaced along it.
    pub law: BarLaw,
    /// The instrument's detector, which says what signal is.
    pub detector: Option<&'a Detector>,
    /// Numbers printed in the picture.
    pub printed: &'a [Printed],
}

/// What is known of a palette picture beside its temperatures.
#[derive(Debug, Clone)]
pub struct Palette {
    /// Where the bar is.
    pub bar: BarBox,
    /// How the bar was found, in a sentence, where it had to be.
    pub found: Option<String>,
    /// How many colours the bar tells apart.
    pub colours: usize,
    /// The two temperatures, K, that most of the ambiguous pixels could have.
    pub alike: Option<[f64; 2]>,
    /// What became of each pixel, rows × columns.
    pub marks: Array2<Mark>,
    /// How far each pixel's colour lies from the bar's, thousandths of the way from black to white, cut at 255.
    pub residuals: Array2<u8>,
    /// Pixels without a temperature that could have two, by rows and columns.
    open: Vec<Riddle>,
    ladder: Ladder,
    doubt: Doubt,
    /// What the places may be off by because the bar had to be found: a pixel of it.
    ends: f64,
    /// Places at or beyond which a colour is that of the bar's end.
    clipped: [f64; 2],
}

/// Shortest line that is a palette: black to white is 0.83 in Oklab, 1 as compression stores it.
const SHORTEST_LINE: f32 = 0.12;

/// Fewest colours of a bar.
const FEWEST_COLOURS: usize = 4;

/// Reads a palette picture.
///
/// # Errors
/// A damaged or oversized file, a bar that is not found or holds no palette, printed numbers that contradict it.
pub(super) fn read(
    bytes: &[u8],
    kind: ColourKind,
    scale: &Scale<'_>,
    page: usize,
) -> Result<ThermalImage, LoadError> {
    let colours = decode::read(bytes, kind)?;
    if page == 0 || page > 1 {
        return Err(LoadError::no_page(page, 1));
    }
    let shape = colours.pixels.dim();
    let (bar, found) = match scale.bar {
        ColourBar::Box(stated) => (bar::whole_pixels(*stated, shape)?, None),
        ColourBar::Find => {
            let found = find::find(&colours)?;
            (found.bar, Some(found.words))
        }
    };
    let cold = bar::cold_end(bar, scale.low_end)?;
    let profile = bar::profile(colours.compared(), bar, cold, colours.loss);
    check_profile(&profile, bar)?;
    let locus = Locus::of(&profile);
    if locus.length() < SHORTEST_LINE || locus.places.len() < FEWEST_COLOURS {
        return Err(LoadError::new(
            format!(
                "the colour bar at {:?} holds hardly any colours",
                bar.rectangle()
            ),
            "Check its box: x, y, width and height of the coloured strip alone, without border and numbers.",
        ));
    }
    if found.is_none() {
        find::check(&colours, bar, &locus)?;
    }
    let ladder = Ladder::new(scale.low, scale.high, scale.law, scale.detector)?;
    let doubt = Doubt::of(&locus, profile.noise, profile.pixel_noise, colours.loss);
    let places = invert::invert(&colours, &locus);
    printed::check(scale, &places, &ladder, &doubt)?;
    // Places are shares, far from overflowing.
    #[allow(clippy::cast_possible_truncation)]
    let kelvin = places
        .places
        .mapv(|place| ladder.kelvin(f64::from(place)) as f32);
    let end = |place: Option<&f32>| place.map_or(0.0, |&place| f64::from(place));
    let edge = 0.25 / (profile.levels.len() - 1) as f64;
    Ok(ThermalImage {
        samples: Samples::F32(kelvin),
        pixels: Pixels::Linear {
            step: 1.0,
            zero: 0.0,
        },
        container: colours.container,
        assumed: None,
        pages: colours.pages,
        captured: colours.exif.captured,
        palette: Some(Box::new(Palette {
            bar,
            ends: if found.is_some() { 4.0 * edge } else { 0.0 },
            found,
            colours: locus.places.len(),
            alike: places
                .alike
                .map(|pair| pair.map(|place| ladder.kelvin(place.into()))),
            marks: places.marks,
            residuals: places.residuals,
            clipped: [
                end(locus.places.first()) + edge,
                end(locus.places.last()) - edge,
            ],
            open: places.open,
            ladder,
            doubt,
        })),
    })
}

/// The colours alone.
///
/// # Errors
/// A damaged, oversized or animated file.
pub(super) fn colours(bytes: &[u8], kind: ColourKind) -> Result<Array2<[u8; 3]>, LoadError> {
    decode::read(bytes, kind).map(|colours| colours.pixels)
}

fn check_profile(profile: &bar::Profile, bar: BarBox) -> Result<(), LoadError> {
    if profile.is_uneven() {
        return Err(LoadError::new(
            format!(
                "the colours at {:?} differ across the bar as much as along it",
                bar.rectangle()
            ),
            "Check the bar's box: x, y, width and height of the coloured strip alone.",
        ));
    }
    Ok(())
}

impl Palette {
    /// K from the cold to the hot end of the bar.
    #[must_use]
    pub fn span(&self) -> f64 {
        self.ladder.span()
    }

    /// The two temperatures, °C, that look alike, in words.
    #[must_use]
    pub fn alike_words(&self) -> Option<String> {
        let [one, other] = self.alike?.map(|kelvin| kelvin - ZERO_CELSIUS);
        Some(format!("{one:.1} °C and {other:.1} °C"))
    }
}
