//! The temperature scale drawn below pictures.

use super::canvas::{Canvas, Pen, ink, path_through};
use super::colour::{ColourMap, hatch};
use super::geometry::{Area, Point};
use super::scale::Scale;
use super::text::{Style, draw, width};
use tiny_skia::PremultipliedColorU8;

/// Height of the bar, pixels of the drawing.
const BAR: f32 = 16.0;
/// From the bar to its numbers.
const TICK: f32 = 5.0;
/// Height of the whole: heading, bar, ticks and numbers.
pub(super) const HEIGHT: f32 = 66.0;

const WORDS: Style = Style::new(13.0, false, ink::QUIET);
const NUMBERS: Style = Style::new(13.0, false, ink::TEXT);

/// What lies beyond the scale, or has no place on it.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Beyond {
    /// Some pixels are colder than the cold end.
    pub(super) colder: bool,
    /// Some are hotter than the hot end.
    pub(super) hotter: bool,
    /// Some have no temperature.
    pub(super) invalid: bool,
}

impl Beyond {
    /// Of temperatures, °C, against a scale.
    pub(super) fn of(celsius: &[f32], scale: Scale) -> Self {
        celsius.iter().fold(Self::default(), |so_far, &t| Self {
            colder: so_far.colder || f64::from(t) < scale.low,
            hotter: so_far.hotter || f64::from(t) > scale.high,
            invalid: so_far.invalid || !t.is_finite(),
        })
    }

    /// Either's.
    pub(super) fn or(self, other: Self) -> Self {
        Self {
            colder: self.colder || other.colder,
            hotter: self.hotter || other.hotter,
            invalid: self.invalid || other.invalid,
        }
    }
}

/// What the colours of a scale stand for.
pub(super) const SHOWN: &str = "Shown temperature, °C";
/// The same where corrected temperatures are among them.
pub(super) const SHOWN_OR_CORRECTED: &str = "Temperature, °C";

/// Room for a number at an end of the scale, pixels of the drawing.
const END_ROOM: f32 = 34.0;

/// Draws the scale with its top left at a point, so wide, under words that say what it is of.
pub(super) fn legend(
    canvas: &mut Canvas,
    words: &str,
    at: Point,
    wide: f32,
    scale: Scale,
    beyond: Beyond,
) {
    draw(canvas, words, at.x, at.y + WORDS.baseline(), WORDS);
    let bar = Area::new(at.x, (at.y + 22.0).round(), wide.round(), BAR);
    if beyond.invalid {
        swatch(canvas, bar, at.y);
    }
    let map = ColourMap::new(scale);
    for column in 0..bar.width as u32 {
        let x = column as f32;
        let share = (x + 0.5) / bar.width;
        canvas.fill(
            Area::new(bar.left.round() + x, bar.top, 1.0, BAR),
            map.at_share(share),
        );
    }
    edge(canvas, bar, beyond, &map);
    let most = (wide / 64.0).clamp(2.0, 12.0) as usize;
    let off = f64::from(END_ROOM / wide.max(1.0));
    for (value, text) in scale.marks(most, off) {
        let x = bar.left.round() + scale.position(value) as f32 * bar.width;
        canvas.fill(
            Area::new(x.round() - 0.5, bar.bottom(), 1.0, TICK),
            ink::QUIET,
        );
        let left = x - width(&text, NUMBERS) / 2.0;
        draw(
            canvas,
            &text,
            left,
            bar.bottom() + TICK + 1.0 + NUMBERS.baseline(),
            NUMBERS,
        );
    }
}

/// Says, in the place of a scale, that there is nothing to show on one.
pub(super) fn nothing(canvas: &mut Canvas, at: Point) {
    let words = "No pixel of this picture has a temperature";
    draw(canvas, words, at.x, at.y + WORDS.baseline(), WORDS);
}

/// The bar's edge; an end beyond which there are pixels is pointed.
fn edge(canvas: &mut Canvas, bar: Area, beyond: Beyond, map: &ColourMap) {
    let (left, top, right, bottom) = (bar.left, bar.top, bar.right(), bar.bottom());
    let middle = bar.centre().y;
    let mut corners = vec![Point::new(left, top), Point::new(right, top)];
    if beyond.hotter {
        let tip = Point::new(right + BAR * 0.6, middle);
        canvas.triangle(
            [Point::new(right, top), tip, Point::new(right, bottom)],
            map.at_share(1.0),
        );
        corners.push(tip);
    }
    corners.extend([Point::new(right, bottom), Point::new(left, bottom)]);
    if beyond.colder {
        let tip = Point::new(left - BAR * 0.6, middle);
        canvas.triangle(
            [Point::new(left, top), tip, Point::new(left, bottom)],
            map.at_share(0.0),
        );
        corners.push(tip);
    }
    if let Some(path) = path_through(&corners, true) {
        canvas.stroke(&path, &Pen::new(1.0, ink::QUIET, 255));
    }
}

/// A hatched sample and what it means, at the right end of the heading.
fn swatch(canvas: &mut Canvas, bar: Area, top: f32) {
    let words = "no temperature";
    let left = bar.right() - width(words, WORDS);
    draw(canvas, words, left, top + WORDS.baseline(), WORDS);
    let area = Area::new((left - 32.0).round(), (top + 2.0).round(), 26.0, 12.0);
    let stride = (canvas.pixmap.width() as usize).max(1);
    let rows = canvas.pixmap.pixels_mut().chunks_mut(stride);
    for (y, row) in rows.enumerate().skip(area.top.max(0.0) as usize).take(12) {
        for (x, pixel) in row
            .iter_mut()
            .enumerate()
            .skip(area.left.max(0.0) as usize)
            .take(26)
        {
            let [red, green, blue] = hatch(x, y);
            if let Some(colour) = PremultipliedColorU8::from_rgba(red, green, blue, 255) {
                *pixel = colour;
            }
        }
    }
}
