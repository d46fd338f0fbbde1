//! Where everything stands on an annotated picture, in pixels of the drawing.

use super::annotate::RegionNote;
use super::canvas::{Canvas, ink};
use super::geometry::{Area, Point};
use super::grid::{Grid, Zoom};
use super::legend;
use super::note::Note;
use super::outline::Outline;
use super::place::{Placement, place};
use super::text::{Style, draw, wrapped};

/// Small pictures are enlarged to about this width, pixels.
pub(super) const ABOUT: usize = 640;
/// No side of a picture is drawn longer, pixels.
pub(super) const LIMIT: usize = 1600;
/// Around everything.
pub(super) const PAPER_EDGE: f32 = 24.0;
/// Narrowest drawing: the title and the scale need room even above a picture of one column.
pub(super) const NARROWEST: f32 = 520.0;
/// Widest scale.
pub(super) const WIDEST_LEGEND: f32 = 1000.0;
/// Between the picture and what stands above and below it.
pub(super) const SPACE: f32 = 14.0;

/// Where everything stands.
pub(super) struct Layout {
    pub(super) zoom: Zoom,
    /// Width and height of the whole.
    pub(super) size: (f32, f32),
    pub(super) title: Vec<(String, Style)>,
    pub(super) picture: Area,
    pub(super) legend: Area,
    /// All regions' outlines, from the picture's top left.
    pub(super) outlines: Vec<Outline>,
    pub(super) labels: Labels,
}

/// The labels of those regions that have one, with their outlines and places, from the picture's top left.
pub(super) struct Labels {
    pub(super) outlines: Vec<Outline>,
    pub(super) notes: Vec<Note>,
    pub(super) placement: Placement,
}

impl Labels {
    /// Places the labels of regions on a picture of a size as drawn.
    fn new(regions: &[RegionNote], outlines: &[Outline], size: (f32, f32), em: f32) -> Self {
        let (outlines, notes): (Vec<Outline>, Vec<Note>) = regions
            .iter()
            .zip(outlines)
            .map(|(region, outline)| (outline.clone(), Note::new(&region.lines, em)))
            .filter(|(_, note)| !note.is_empty())
            .unzip();
        let sizes: Vec<(f32, f32)> = notes.iter().map(|note| note.size).collect();
        let placement = place(size, &outlines, &sizes);
        Self {
            outlines,
            notes,
            placement,
        }
    }
}

impl Layout {
    pub(super) fn new(grid: &Grid, title: &str, regions: &[RegionNote]) -> Self {
        let zoom = Zoom::to_fit(grid.width, grid.height, ABOUT, LIMIT);
        let (width, height) = (zoom.size(grid.width) as f32, zoom.size(grid.height) as f32);
        // Large pictures are looked at from further away: letters grow with them.
        let em = (width.max(height) / 60.0).clamp(14.0, 22.0).round();
        let outlines: Vec<Outline> = regions
            .iter()
            .map(|region| Outline::new(&region.shape, zoom.factor(), width, height))
            .collect();
        let labels = Labels::new(regions, &outlines, (width, height), em);
        let (left, right) = (labels.placement.left, labels.placement.right);

        let content = (left + width + right).max(NARROWEST - 2.0 * PAPER_EDGE);
        let spare = content - left - width - right;
        let title = title_lines(title, content, em);
        let lines: f32 = title.iter().map(|(_, style)| style.line_height()).sum();
        let above = if title.is_empty() { 0.0 } else { lines + SPACE };
        let picture = Area::new(
            (PAPER_EDGE + left + spare / 2.0).round(),
            (PAPER_EDGE + above).round(),
            width,
            height,
        );
        let legend_width = width.clamp(NARROWEST - 4.0 * PAPER_EDGE, WIDEST_LEGEND);
        let centred = picture.centre().x - legend_width / 2.0;
        // Below a narrow picture with labels on one side, the scale would run off the paper if it stayed centred.
        let legend = Area::new(
            centred
                .min(PAPER_EDGE + content - legend_width)
                .max(PAPER_EDGE)
                .round(),
            picture.top + labels.placement.height + SPACE,
            legend_width,
            legend::HEIGHT,
        );
        Self {
            zoom,
            size: (
                content + 2.0 * PAPER_EDGE,
                legend.bottom() + PAPER_EDGE - 8.0,
            ),
            title,
            picture,
            legend,
            outlines,
            labels,
        }
    }

    /// The picture's top left.
    pub(super) fn origin(&self) -> Point {
        Point::new(self.picture.left, self.picture.top)
    }

    pub(super) fn draw_title(&self, canvas: &mut Canvas) {
        let mut top = PAPER_EDGE - 4.0;
        for (line, style) in &self.title {
            draw(canvas, line, PAPER_EDGE, top + style.baseline(), *style);
            top += style.line_height();
        }
    }
}

/// The title broken to a width: its first line large, the rest smaller.
pub(super) fn title_lines(title: &str, wide: f32, em: f32) -> Vec<(String, Style)> {
    let large = Style::new(em + 4.0, true, ink::TEXT);
    let small = Style::new(em, false, ink::QUIET);
    let lines = title.lines().filter(|line| !line.trim().is_empty()).take(3);
    lines
        .enumerate()
        .flat_map(|(index, line)| {
            let style = if index == 0 { large } else { small };
            let parts = wrapped(line, style, wide, 2);
            parts.into_iter().map(move |part| (part, style))
        })
        .collect()
}
