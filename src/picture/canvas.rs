//! The drawing itself: boxes, lines, and the PNG that it becomes.

use std::io::Write;

use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, PremultipliedColorU8,
    Rect, Stroke, StrokeDash, Transform,
};

use super::PictureError;
use super::colour::Rgb;
use super::geometry::{Area, Point};

/// Colours of everything that is not a temperature.
pub(super) mod ink {
    use super::Rgb;
    /// Behind everything.
    pub(in super::super) const PAPER: Rgb = [252, 252, 250];
    /// Titles and names.
    pub(in super::super) const TEXT: Rgb = [32, 36, 40];
    /// What only explains.
    pub(in super::super) const QUIET: Rgb = [92, 98, 104];
    /// Edges of plates and of the scale.
    pub(in super::super) const EDGE: Rgb = [150, 155, 160];
    /// The light core of outlines, and plates.
    pub(in super::super) const LIGHT: Rgb = [255, 255, 255];
    /// The dark halo of outlines.
    pub(in super::super) const DARK: Rgb = [16, 18, 20];
}

/// No side of a drawing is longer, pixels.
const LONGEST: u32 = 16_000;

/// Larger drawings, pixels, are packed row by row: slower, but without two copies of the whole in memory.
const AT_ONCE: usize = 1 << 20;

/// A drawing in the making.
pub(super) struct Canvas {
    pub(super) pixmap: Pixmap,
}

impl Canvas {
    /// Blank paper of a size.
    pub(super) fn new(width: f32, height: f32) -> Result<Self, PictureError> {
        let (width, height) = (width.ceil().max(1.0) as u32, height.ceil().max(1.0) as u32);
        if width > LONGEST || height > LONGEST {
            return Err(PictureError::TooLarge { width, height });
        }
        let mut pixmap =
            Pixmap::new(width, height).ok_or(PictureError::TooLarge { width, height })?;
        pixmap.fill(colour(ink::PAPER, 255));
        Ok(Self { pixmap })
    }

    /// Fills a box with sharp edges.
    pub(super) fn fill(&mut self, area: Area, rgb: Rgb) {
        if let Some(rect) = Rect::from_xywh(area.left, area.top, area.width, area.height) {
            let paint = paint(rgb, 255, false);
            self.pixmap
                .fill_rect(rect, &paint, Transform::identity(), None);
        }
    }

    /// Fills an outline.
    pub(super) fn fill_path(&mut self, path: &Path, rgb: Rgb, alpha: u8) {
        let paint = paint(rgb, alpha, true);
        let identity = Transform::identity();
        self.pixmap
            .fill_path(path, &paint, FillRule::Winding, identity, None);
    }

    /// Fills a triangle.
    pub(super) fn triangle(&mut self, corners: [Point; 3], rgb: Rgb) {
        if let Some(path) = path_through(&corners, true) {
            self.fill_path(&path, rgb, 255);
        }
    }

    /// Draws along a path.
    pub(super) fn stroke(&mut self, path: &Path, pen: &Pen) {
        let stroke = Stroke {
            width: pen.width,
            line_cap: if pen.dash.is_some() {
                LineCap::Butt
            } else {
                LineCap::Round
            },
            line_join: LineJoin::Round,
            dash: pen
                .dash
                .and_then(|dash| StrokeDash::new(dash.to_vec(), 0.0)),
            ..Stroke::default()
        };
        let paint = paint(pen.rgb, pen.alpha, true);
        let identity = Transform::identity();
        self.pixmap
            .stroke_path(path, &paint, &stroke, identity, None);
    }

    /// A white plate with rounded corners and a thin edge, to write on.
    pub(super) fn plate(&mut self, area: Area) {
        if let Some(path) = rounded(area.grown(-0.5), 4.0) {
            self.fill_path(&path, ink::LIGHT, 240);
            self.stroke(&path, &Pen::new(1.0, ink::EDGE, 255));
        }
    }

    /// Copies another drawing into a box; what lies outside either is left out.
    pub(super) fn paste(&mut self, tile: &Self, area: Area) {
        let stride = (self.pixmap.width() as usize).max(1);
        let across = (tile.pixmap.width() as usize).max(1);
        let (left, top) = (area.left.max(0.0) as usize, area.top.max(0.0) as usize);
        let rows = self.pixmap.pixels_mut().chunks_mut(stride).skip(top);
        for (row, source) in rows.zip(tile.pixmap.pixels().chunks(across)) {
            for (pixel, &from) in row.iter_mut().skip(left).zip(source) {
                *pixel = from;
            }
        }
    }

    /// The drawing as a PNG of 8-bit RGB.
    pub(super) fn encode(&self) -> Result<Vec<u8>, PictureError> {
        let failed = |error: png::EncodingError| PictureError::Encode(error.to_string());
        let rgb = |pixels: &[PremultipliedColorU8]| -> Vec<u8> {
            let channels = pixels.iter();
            channels
                .flat_map(|pixel| [pixel.red(), pixel.green(), pixel.blue()])
                .collect()
        };
        let pixels = self.pixmap.pixels();
        let mut bytes = Vec::with_capacity(pixels.len() / 2);
        let mut encoder = png::Encoder::new(&mut bytes, self.pixmap.width(), self.pixmap.height());
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Fast);
        encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
        let mut writer = encoder.write_header().map_err(failed)?;
        if pixels.len() <= AT_ONCE {
            writer.write_image_data(&rgb(pixels)).map_err(failed)?;
            writer.finish().map_err(failed)?;
        } else {
            let packed = |error: std::io::Error| PictureError::Encode(error.to_string());
            let mut rows = writer.stream_writer().map_err(failed)?;
            for row in pixels.chunks(self.pixmap.width() as usize) {
                rows.write_all(&rgb(row)).map_err(packed)?;
            }
            rows.finish().map_err(failed)?;
            // The end of the file is written as the writer goes; a Vec takes it without fail.
            drop(writer);
        }
        Ok(bytes)
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    /// Pixels of the drawing.
    pub(super) width: f32,
    pub(super) rgb: Rgb,
    pub(super) alpha: u8,
    /// Lengths of a dash and of the gap after it.
    pub(super) dash: Option<[f32; 2]>,
}

impl Pen {
    pub(super) const fn new(width: f32, rgb: Rgb, alpha: u8) -> Self {
        Self {
            width,
            rgb,
            alpha,
            dash: None,
        }
    }
}

/// A path through points; `None` where there are fewer than two or they are one and the same.
pub(super) fn path_through(points: &[Point], close: bool) -> Option<Path> {
    let (first, rest) = points.split_first()?;
    let mut builder = PathBuilder::new();
    builder.move_to(first.x, first.y);
    for point in rest {
        builder.line_to(point.x, point.y);
    }
    if close {
        builder.close();
    }
    builder.finish()
}

/// A filled dot's outline.
pub(super) fn dot(at: Point, radius: f32) -> Option<Path> {
    PathBuilder::from_circle(at.x, at.y, radius)
}

/// A box with rounded corners.
fn rounded(area: Area, radius: f32) -> Option<Path> {
    let radius = radius.min(area.width / 2.0).min(area.height / 2.0);
    let (left, top, right, bottom) = (area.left, area.top, area.right(), area.bottom());
    let mut path = PathBuilder::new();
    path.move_to(left + radius, top);
    path.line_to(right - radius, top);
    path.quad_to(right, top, right, top + radius);
    path.line_to(right, bottom - radius);
    path.quad_to(right, bottom, right - radius, bottom);
    path.line_to(left + radius, bottom);
    path.quad_to(left, bottom, left, bottom - radius);
    path.line_to(left, top + radius);
    path.quad_to(left, top, left + radius, top);
    path.close();
    path.finish()
}

fn colour([red, green, blue]: Rgb, alpha: u8) -> Color {
    Color::from_rgba8(red, green, blue, alpha)
}

fn paint(rgb: Rgb, alpha: u8, smooth: bool) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color(colour(rgb, alpha));
    paint.anti_alias = smooth;
    paint
}
