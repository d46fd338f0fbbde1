//! A label: its lines, its size and its drawing.

use super::canvas::{Canvas, ink};
use super::geometry::{Area, Point};
use super::text::{Style, draw, width, wrapped};

/// Between a plate's edge and its text, pixels of the drawing at the usual size.
const PADDING: f32 = 6.0;
/// Widest text of a label, in em.
const WIDEST: f32 = 18.0;

/// A label ready to be placed: the first line names the region, the others say what was read there.
#[derive(Debug, Clone)]
pub(super) struct Note {
    lines: Vec<(String, Style)>,
    /// Width and height of its plate.
    pub(super) size: (f32, f32),
}

impl Note {
    /// A label of lines at a height of em; long lines are broken once, then cut.
    pub(super) fn new(lines: &[String], em: f32) -> Self {
        let name = Style::new(em, true, ink::TEXT);
        let plain = Style::new(em, false, ink::TEXT);
        let mut broken = Vec::new();
        for (index, line) in lines.iter().enumerate() {
            let style = if index == 0 { name } else { plain };
            let parts = wrapped(line, style, WIDEST * em, 2);
            broken.extend(parts.into_iter().map(|part| (part, style)));
        }
        let widest = broken
            .iter()
            .map(|(line, style)| width(line, *style))
            .fold(0.0, f32::max);
        let tall: f32 = broken.iter().map(|(_, style)| style.line_height()).sum();
        let size = (
            (widest + 2.0 * PADDING).ceil(),
            (tall + 2.0 * (PADDING - 2.0)).ceil(),
        );
        Self {
            lines: broken,
            size,
        }
    }

    /// Whether there is nothing to say.
    pub(super) fn is_empty(&self) -> bool {
        self.lines.iter().all(|(line, _)| line.is_empty())
    }

    /// Draws the plate and its text.
    pub(super) fn draw(&self, canvas: &mut Canvas, area: Area) {
        canvas.plate(area);
        let mut at = Point::new(area.left + PADDING, area.top + PADDING - 2.0);
        for (line, style) in &self.lines {
            draw(canvas, line, at.x, at.y + style.baseline(), *style);
            at.y += style.line_height();
        }
    }
}
