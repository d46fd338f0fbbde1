//! One thermal picture with its regions outlined and labelled, a title above and its scale below.

use super::PictureError;
use super::canvas::{Canvas, Pen, dot, ink, path_through};
use super::colour::ColourMap;
use super::geometry::{Area, Point};
use super::grid::Grid;
use super::layout::Layout;
use super::legend::{self, Beyond, legend};
use super::outline::{Outline, RIM};
use super::place::Placed;
use super::scale::Scale;
use crate::load::ThermalImage;
use crate::locate::shape::Shape;
use crate::session::Role;

/// Radius of the dot at a leader's end.
const DOT: f32 = 3.0;

/// A region to outline and what to write about it.
#[derive(Debug, Clone, PartialEq)]
pub struct RegionNote {
    /// Its outline, in pixels of the picture.
    pub shape: Shape,
    /// Parts left out: drawn dashed.
    pub exclude: Vec<Shape>,
    /// The lines of its label: the first names the region and stands out. None: no label.
    pub lines: Vec<String>,
    /// What it is for: tanks are outlined more strongly than the rest.
    pub role: Role,
}

/// Draws a picture with its regions, as PNG.
///
/// The title's first line stands out; further lines (`\n`) are smaller. Without a scale, the picture's own is used (from
/// [`Scale::of`]). Colours are shown temperatures; what the labels say is the caller's.
///
/// # Errors
/// [`PictureError::Empty`] where the picture has no pixels, [`PictureError::TooLarge`] where its labels need a drawing
/// that is too large.
pub fn annotate(
    image: &ThermalImage,
    title: &str,
    regions: &[RegionNote],
    scale: Option<Scale>,
) -> Result<Vec<u8>, PictureError> {
    draw_annotated(image, title, regions, scale)?.encode()
}

fn draw_annotated(
    image: &ThermalImage,
    title: &str,
    regions: &[RegionNote],
    scale: Option<Scale>,
) -> Result<Canvas, PictureError> {
    if image.width() == 0 || image.height() == 0 {
        return Err(PictureError::Empty);
    }
    let grid = Grid::of(image);
    let scale = scale
        .or_else(|| Scale::of(&grid.celsius))
        .unwrap_or(Scale {
            low: 0.0,
            high: 1.0,
        })
        .usable();
    let layout = Layout::new(&grid, title, regions);
    let mut canvas = Canvas::new(layout.size.0, layout.size.1)?;
    let at = layout.picture;
    let map = ColourMap::new(scale);
    grid.paint(
        &mut canvas.pixmap,
        at.left as usize,
        at.top as usize,
        layout.zoom,
        &map,
    );
    outline_regions(&mut canvas, &layout, regions);
    let places = &layout.labels.placement.labels;
    for (placed, outline) in places.iter().zip(&layout.labels.outlines) {
        draw_leader(&mut canvas, placed, outline, layout.origin());
    }
    for (note, placed) in layout.labels.notes.iter().zip(places) {
        note.draw(&mut canvas, placed.area.shifted(layout.origin()));
    }
    layout.draw_title(&mut canvas);
    let below = Point::new(layout.legend.left, layout.legend.top);
    if grid.celsius.iter().any(|t| t.is_finite()) {
        let beyond = Beyond::of(&grid.celsius, scale);
        let wide = layout.legend.width;
        legend(&mut canvas, legend::SHOWN, below, wide, scale, beyond);
    } else {
        legend::nothing(&mut canvas, below);
    }
    Ok(canvas)
}

/// Draws all outlines, then wipes what of them ran over the picture's edge.
fn outline_regions(canvas: &mut Canvas, layout: &Layout, regions: &[RegionNote]) {
    let at = layout.picture;
    for (region, outline) in regions.iter().zip(&layout.outlines) {
        let width = if region.role == Role::Tank { 2.0 } else { 1.4 };
        outline.draw(canvas, layout.origin(), width, false);
        for shape in &region.exclude {
            let part = Outline::new(shape, layout.zoom.factor(), at.width, at.height);
            part.draw(canvas, layout.origin(), 1.4, true);
        }
    }
    let all = Area::new(0.0, 0.0, layout.size.0.ceil(), layout.size.1.ceil());
    let rim = at.grown(RIM);
    for strip in [
        Area::new(0.0, 0.0, all.width, rim.top),
        Area::new(0.0, rim.bottom(), all.width, all.height - rim.bottom()),
        Area::new(0.0, rim.top, rim.left, rim.height),
        Area::new(rim.right(), rim.top, all.width - rim.right(), rim.height),
    ] {
        canvas.fill(strip, ink::PAPER);
    }
}

/// A dark line in a light halo, with a dot on the region's outline unless that would hide the region.
fn draw_leader(canvas: &mut Canvas, placed: &Placed, outline: &Outline, origin: Point) {
    let Some([from, to]) = placed
        .leader
        .map(|ends| ends.map(|end| end.shifted(origin)))
    else {
        return;
    };
    if let Some(path) = path_through(&[from, to], false) {
        canvas.stroke(&path, &Pen::new(3.4, ink::LIGHT, 210));
        canvas.stroke(&path, &Pen::new(1.3, ink::DARK, 255));
    }
    if outline.bounds.width.max(outline.bounds.height) < 3.0 * DOT {
        return;
    }
    for (radius, rgb) in [(DOT + 1.4, ink::LIGHT), (DOT, ink::DARK)] {
        if let Some(path) = dot(to, radius) {
            canvas.fill_path(&path, rgb, 255);
        }
    }
}

#[cfg(test)]
mod tests {
    use ndarray::Array2;

    use super::*;
    use crate::load::Samples;
    use crate::picture::colour::Rgb;
    use crate::picture::layout::PAPER_EDGE;
    use crate::picture::text;
    use crate::session::Pixels;

    const SCALE: Scale = Scale {
        low: 20.0,
        high: 70.0,
    };

    /// 160 × 120 pixels of one temperature, °C.
    fn plain(celsius: f32) -> ThermalImage {
        ThermalImage {
            samples: Samples::F32(Array2::from_elem((120, 160), celsius)),
            pixels: Pixels::Linear {
                step: 1.0,
                zero: 273.15,
            },
            container: "made up".to_owned(),
            assumed: None,
            pages: 1,
            captured: None,
            palette: None,
        }
    }

    fn region(shape: Shape) -> RegionNote {
        RegionNote {
            shape,
            exclude: Vec::new(),
            lines: Vec::new(),
            role: Role::Tank,
        }
    }

    /// Without title and labels the picture's top left stands at the paper's edge.
    fn at(canvas: &Canvas, x: f64, y: f64) -> Rgb {
        let on = |pixel: f64| (f64::from(PAPER_EDGE) + 4.0 * pixel) as u32;
        let pixel = canvas.pixmap.pixel(on(x), on(y)).unwrap();
        [pixel.red(), pixel.green(), pixel.blue()]
    }

    fn brightness(rgb: Rgb) -> u16 {
        rgb.into_iter().map(u16::from).sum()
    }

    #[test]
    fn outlines_lie_on_the_regions_edge_and_read_on_every_colour() {
        for celsius in [20.0, 45.0, 70.0] {
            let regions = [region(Shape::Rectangle([40.0, 30.0, 50.0, 60.0]))];
            let canvas = draw_annotated(&plain(celsius), "", &regions, Some(SCALE)).unwrap();
            let ground = ColourMap::new(SCALE);
            let ground = ground.at_share((celsius - 20.0) / 50.0);
            assert_eq!(at(&canvas, 65.0, 60.0), ground, "inside");
            assert_eq!(at(&canvas, 38.0, 60.0), ground, "outside");
            for (x, y) in [(40.0, 60.0), (90.0, 60.0), (65.0, 30.0), (65.0, 90.0)] {
                assert!(brightness(at(&canvas, x, y)) > 700, "core at {x}, {y}");
            }
            // 1.75 pixels of the drawing off the edge: the halo.
            assert!(brightness(at(&canvas, 39.6, 60.0)) < 160, "halo");
        }
    }

    #[test]
    fn left_out_parts_are_dashed() {
        let mut with_hole = region(Shape::Rectangle([40.0, 30.0, 80.0, 60.0]));
        with_hole.exclude = vec![Shape::Rectangle([50.0, 40.0, 40.0, 20.0])];
        let canvas = draw_annotated(&plain(20.0), "", &[with_hole], Some(SCALE)).unwrap();
        let top = (0..140).map(|step| brightness(at(&canvas, 52.0 + f64::from(step) * 0.25, 40.0)));
        let (light, dark): (Vec<u16>, Vec<u16>) = top.partition(|&sum| sum > 450);
        assert!(
            light.len() > 40 && dark.len() > 40,
            "{} {}",
            light.len(),
            dark.len()
        );
    }

    #[test]
    fn nothing_of_a_region_is_drawn_beyond_the_picture() {
        let regions = [region(Shape::Circle([0.0, 60.0, 50.0]))];
        let canvas = draw_annotated(&plain(20.0), "", &regions, Some(SCALE)).unwrap();
        for y in 0..120 {
            assert_eq!(at(&canvas, -1.0, f64::from(y)), ink::PAPER);
        }
        assert!(brightness(at(&canvas, 50.0, 60.0)) > 700);
    }

    #[test]
    fn labels_and_title_stay_on_the_paper() {
        let shapes = [
            [0.0, 0.0, 20.0, 20.0],
            [140.0, 100.0, 20.0, 20.0],
            [0.0, 0.0, 160.0, 120.0],
        ];
        let regions: Vec<RegionNote> = shapes
            .into_iter()
            .map(|shape| RegionNote {
                lines: vec!["word ".repeat(60), "71.3 °C".to_owned(), "x".repeat(400)],
                ..region(Shape::Rectangle(shape))
            })
            .collect();
        let title = "a very long title ".repeat(30);
        let grid = Grid::of(&plain(30.0));
        let layout = Layout::new(&grid, &title, &regions);
        let paper = Area::new(0.0, 0.0, layout.size.0, layout.size.1);
        for placed in &layout.labels.placement.labels {
            assert!(
                paper.holds(&placed.area.shifted(layout.origin())),
                "{placed:?}"
            );
        }
        for (line, style) in &layout.title {
            assert!(PAPER_EDGE + text::width(line, *style) <= layout.size.0);
        }
        assert!(paper.holds(&layout.legend) && paper.holds(&layout.picture));
    }
}
