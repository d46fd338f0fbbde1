//! One thermal picture with its pixel coordinates along all edges, to read regions off it.

use ndarray::Array2;

use super::PictureError;
use super::canvas::{Canvas, Pen, ink, path_through};
use super::colour::{ColourMap, Rgb};
use super::geometry::{Area, Point};
use super::grid::{Grid, Zoom, paint_colours};
use super::layout::{ABOUT, LIMIT, NARROWEST, PAPER_EDGE, SPACE, WIDEST_LEGEND, title_lines};
use super::legend::{self, Beyond, legend};
use super::outline::Outline;
use super::scale::Scale;
use super::text::{Style, draw, width};
use crate::load::ThermalImage;
use crate::locate::shape::Shape;
use crate::session::Pixels;
use crate::units::temperature::ZERO_CELSIUS;

const NUMBERS: Style = Style::new(13.0, false, ink::TEXT);
/// Letters of the title.
const TITLE: f32 = 15.0;
/// Length of the ticks with and without a number.
const TICKS: (f32, f32) = (8.0, 4.0);
/// From a tick to its number.
const GAP: f32 = 3.0;
/// Labelled ticks stand no closer, pixels of the drawing.
const LABELS_APART: f32 = 48.0;
/// Other ticks stand no closer, pixels of the drawing.
const TICKS_APART: f64 = 5.0;

/// Draws a picture with pixel coordinates along its edges and thin lines at the labelled ones, as PNG.
///
/// Coordinates are those of regions: (0, 0) is the outer corner of the top left pixel, x grows to the right and y
/// downward, both in pixels; a tick stands on the left or upper edge of the pixel that it counts. The title is drawn in
/// one line, shortened where it has to be, with the picture's size below it. Colours are shown temperatures.
///
/// # Errors
/// [`PictureError::Empty`] where the picture has no pixels.
pub fn grid(
    image: &ThermalImage,
    title: &str,
    regions: &[GridRegion],
) -> Result<Vec<u8>, PictureError> {
    if image.width() == 0 || image.height() == 0 {
        return Err(PictureError::Empty);
    }
    drawn(&Grid::of(image), title, regions, legend::SHOWN)
}

/// Draws a picture as [`grid`] does where it is not known what its numbers mean: coloured by the numbers as stored.
///
/// # Errors
/// The picture has no pixels, or the drawing cannot be made.
pub fn grid_of_numbers(
    image: &ThermalImage,
    title: &str,
    regions: &[GridRegion],
) -> Result<Vec<u8>, PictureError> {
    if image.width() == 0 || image.height() == 0 {
        return Err(PictureError::Empty);
    }
    let mut values = Grid::of(image);
    if let Pixels::Linear { step, zero } = image.pixels {
        let stored = |celsius: f32| (f64::from(celsius) + ZERO_CELSIUS - zero) / step;
        for value in &mut values.celsius {
            *value = stored(*value) as f32;
        }
    }
    drawn(
        &values,
        title,
        regions,
        "Numbers as stored; what they mean is to be filled in",
    )
}

/// The drawing of numbers, with the words above their scale.
fn drawn(
    values: &Grid,
    title: &str,
    regions: &[GridRegion],
    heading: &str,
) -> Result<Vec<u8>, PictureError> {
    let plan = Plan::new(values, title);
    let mut canvas = Canvas::new(plan.size.0, plan.size.1)?;
    let scale = Scale::of(&values.celsius).unwrap_or(Scale {
        low: 0.0,
        high: 1.0,
    });
    let scale = scale.usable();
    let at = plan.picture;
    let map = ColourMap::new(scale);
    values.paint(
        &mut canvas.pixmap,
        at.left as usize,
        at.top as usize,
        plan.zoom,
        &map,
    );
    plan.draw_axes(&mut canvas);
    plan.draw_regions(&mut canvas, regions);
    plan.draw_title(&mut canvas);
    let below = Point::new(plan.legend.left, plan.legend.top);
    if values.celsius.iter().any(|t| t.is_finite()) {
        let beyond = Beyond::of(&values.celsius, scale);
        let wide = plan.legend.width;
        legend(&mut canvas, heading, below, wide, scale, beyond);
    } else {
        legend::nothing(&mut canvas, below);
    }
    canvas.encode()
}

/// Draws a picture in its own colours, with pixel coordinates as [`grid`] does: to read the box of its colour bar off it, and
/// regions.
///
/// # Errors
/// [`PictureError::Empty`] where the picture has no pixels.
pub fn grid_in_colours(
    pixels: &Array2<Rgb>,
    title: &str,
    regions: &[GridRegion],
) -> Result<Vec<u8>, PictureError> {
    let (height, width) = pixels.dim();
    if width == 0 || height == 0 {
        return Err(PictureError::Empty);
    }
    let plan = Plan::of_size(width, height, title, 0.0);
    let mut canvas = Canvas::new(plan.size.0, plan.size.1)?;
    let at = [plan.picture.left as usize, plan.picture.top as usize];
    paint_colours(&mut canvas.pixmap, at, plan.zoom, pixels);
    plan.draw_axes(&mut canvas);
    plan.draw_regions(&mut canvas, regions);
    plan.draw_title(&mut canvas);
    canvas.encode()
}

/// A rectangle to outline on a picture with coordinates, and what it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GridRegion {
    /// x, y, width and height, pixels of the picture.
    pub rectangle: [usize; 4],
    /// A word or two, or nothing.
    pub words: String,
}

/// A coordinate to mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Tick {
    /// Pixels of the picture from its left or upper edge.
    at: usize,
    labelled: bool,
}

/// Where everything stands, in pixels of the drawing.
struct Plan {
    zoom: Zoom,
    size: (f32, f32),
    title: Vec<(String, Style)>,
    picture: Area,
    legend: Area,
    across: Vec<Tick>,
    down: Vec<Tick>,
}

impl Plan {
    fn new(values: &Grid, title: &str) -> Self {
        Self::of_size(values.width, values.height, title, legend::HEIGHT)
    }

    /// For a picture of so many pixels, with a legend so high below it.
    fn of_size(columns: usize, rows: usize, title: &str, legend_height: f32) -> Self {
        let zoom = Zoom::to_fit(columns, rows, ABOUT, LIMIT);
        let (wide, high) = (zoom.size(columns) as f32, zoom.size(rows) as f32);
        let longest = width(&columns.max(rows).to_string(), NUMBERS);
        let side = TICKS.0 + GAP + longest;
        let end = TICKS.0 + GAP + NUMBERS.line_height();
        let content = (wide + 2.0 * side).max(NARROWEST - 2.0 * PAPER_EDGE);
        // Whatever breaks lines in a file's name must not push the size away.
        let name: Vec<&str> = title.split_whitespace().collect();
        let words = format!(
            "{}\n{columns} × {rows} pixels; x to the right, y downward",
            name.join(" "),
        );
        let title = title_lines(&words, content, TITLE);
        let lines: f32 = title.iter().map(|(_, style)| style.line_height()).sum();
        let picture = Area::new(
            (PAPER_EDGE + (content - wide) / 2.0).round(),
            (PAPER_EDGE + lines + SPACE + end).round(),
            wide,
            high,
        );
        let legend_width = wide.clamp(NARROWEST - 4.0 * PAPER_EDGE, WIDEST_LEGEND);
        let legend = Area::new(
            (picture.centre().x - legend_width / 2.0).round(),
            picture.bottom() + end + SPACE,
            legend_width,
            legend_height,
        );
        let (labelled, other) = steps(zoom.factor(), LABELS_APART.max(longest + 12.0));
        Self {
            zoom,
            size: (
                content + 2.0 * PAPER_EDGE,
                legend.bottom() + PAPER_EDGE - 8.0,
            ),
            title,
            picture,
            legend,
            across: ticks(columns, labelled, other),
            down: ticks(rows, labelled, other),
        }
    }

    /// Outlines of regions with their words, below them where there is room, else above.
    fn draw_regions(&self, canvas: &mut Canvas, regions: &[GridRegion]) {
        let at = self.picture;
        for region in regions {
            let shape = Shape::Rectangle(region.rectangle.map(|side| side as f64));
            let outline = Outline::new(&shape, self.zoom.factor(), at.width, at.height);
            outline.draw(canvas, Point::new(at.left, at.top), 2.0, false);
            if region.words.is_empty() {
                continue;
            }
            let (wide, high) = (width(&region.words, NUMBERS) + 6.0, NUMBERS.line_height());
            let seen = outline.bounds;
            let left = (seen.centre().x - wide / 2.0).clamp(0.0, (at.width - wide).max(0.0));
            let below = seen.bottom() + GAP;
            let top = if below + high <= at.height {
                below
            } else {
                (seen.top - GAP - high).max(0.0)
            };
            let label = Area::new((at.left + left).round(), (at.top + top).round(), wide, high);
            canvas.fill(label, ink::PAPER);
            let baseline = label.top + NUMBERS.baseline();
            draw(canvas, &region.words, label.left + 3.0, baseline, NUMBERS);
        }
    }

    fn draw_title(&self, canvas: &mut Canvas) {
        let mut top = PAPER_EDGE - 4.0;
        for (line, style) in &self.title {
            draw(canvas, line, PAPER_EDGE, top + style.baseline(), *style);
            top += style.line_height();
        }
    }

    /// Where a coordinate lies on the drawing, from the picture's left or upper edge.
    fn offset(&self, tick: Tick) -> f32 {
        (tick.at as f64 * self.zoom.factor()).round() as f32
    }

    fn draw_axes(&self, canvas: &mut Canvas) {
        let at = self.picture;
        let inner = |offset: f32, length: f32| offset > 1.0 && offset < length - 1.0;
        for &tick in &self.across {
            let x = at.left + self.offset(tick);
            if tick.labelled && inner(x - at.left, at.width) {
                self.line(canvas, |across| {
                    [
                        Point::new(x + across, at.top),
                        Point::new(x + across, at.bottom()),
                    ]
                });
            }
        }
        for &tick in &self.down {
            let y = at.top + self.offset(tick);
            if tick.labelled && inner(y - at.top, at.height) {
                self.line(canvas, |across| {
                    [
                        Point::new(at.left, y + across),
                        Point::new(at.right(), y + across),
                    ]
                });
            }
        }
        for mark in self.marks() {
            canvas.fill(mark, ink::QUIET);
        }
        for (text, area) in self.labels() {
            draw(
                canvas,
                &text,
                area.left,
                area.top + NUMBERS.baseline(),
                NUMBERS,
            );
        }
    }

    /// A light line beside a dark one, half a pixel to either side of the coordinate: one of them reads on any colour.
    fn line(&self, canvas: &mut Canvas, ends: impl Fn(f32) -> [Point; 2]) {
        let tones: [(f32, Rgb, u8); 2] = [(-0.5, ink::DARK, 90), (0.5, ink::LIGHT, 120)];
        for (across, rgb, alpha) in tones {
            if let Some(path) = path_through(&ends(across), false) {
                canvas.stroke(&path, &Pen::new(1.0, rgb, alpha));
            }
        }
    }

    /// The ticks on all four sides.
    fn marks(&self) -> Vec<Area> {
        let at = self.picture;
        let long = |tick: Tick| if tick.labelled { TICKS.0 } else { TICKS.1 };
        let across = self.across.iter().flat_map(|&tick| {
            let (x, long) = (at.left + self.offset(tick), long(tick));
            [at.top - long, at.bottom()].map(|top| Area::new(x, top, 1.0, long))
        });
        let down = self.down.iter().flat_map(|&tick| {
            let (y, long) = (at.top + self.offset(tick), long(tick));
            [at.left - long, at.right()].map(|left| Area::new(left, y, long, 1.0))
        });
        across.chain(down).collect()
    }

    /// The numbers on all four sides and the boxes they stand in.
    fn labels(&self) -> Vec<(String, Area)> {
        let at = self.picture;
        let away = TICKS.0 + GAP;
        let high = NUMBERS.line_height();
        let mut labels = Vec::new();
        for &tick in self.across.iter().filter(|tick| tick.labelled) {
            let text = tick.at.to_string();
            let wide = width(&text, NUMBERS);
            let left = at.left + self.offset(tick) - wide / 2.0;
            for top in [at.top - away - high, at.bottom() + away] {
                labels.push((text.clone(), Area::new(left, top, wide, high)));
            }
        }
        for &tick in self.down.iter().filter(|tick| tick.labelled) {
            let text = tick.at.to_string();
            let wide = width(&text, NUMBERS);
            let top = at.top + self.offset(tick) - high / 2.0;
            for left in [at.left - away - wide, at.right() + away] {
                labels.push((text.clone(), Area::new(left, top, wide, high)));
            }
        }
        labels
    }
}

/// 1, 2, 5, 10, 20, 50 and so on.
fn round_steps() -> impl Iterator<Item = usize> {
    let powers = (0..18).map(|power| 10_usize.saturating_pow(power));
    powers.flat_map(|power| [1, 2, 5].map(|digit: usize| digit.saturating_mul(power)))
}

/// From one labelled tick to the next, at least so far apart on the drawing, and from one tick to the next.
fn steps(factor: f64, apart: f32) -> (usize, usize) {
    let labelled = round_steps()
        .find(|&step| step as f64 * factor >= f64::from(apart))
        .unwrap_or(usize::MAX);
    let other = round_steps()
        .take_while(|&step| step < labelled)
        .find(|&step| labelled.is_multiple_of(step) && step as f64 * factor >= TICKS_APART);
    (labelled, other.unwrap_or(labelled))
}

/// The ticks of a side of so many pixels, both its ends included where they are round.
fn ticks(pixels: usize, labelled: usize, other: usize) -> Vec<Tick> {
    let all = (0..=pixels).step_by(other.max(1));
    all.map(|at| Tick {
        at,
        labelled: at.is_multiple_of(labelled),
    })
    .collect()
}

#[cfg(test)]
mod tests;
