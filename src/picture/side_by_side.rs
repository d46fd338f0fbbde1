//! All coolers in one picture: a row a cooler, all on one scale.

use super::PictureError;
use super::canvas::{Canvas, ink};
use super::colour::ColourMap;
use super::geometry::{Area, Point};
use super::legend::{self, Beyond, legend};
use super::scale::Scale;
use super::text::{Style, draw, wrapped};
use super::thumbnail::{THUMBNAIL_WIDTH, Thumbnail};

/// Most panels in a row; how many more there are is said instead.
pub const MOST_PANELS: usize = 6;
/// Most rows; how many more there are is said instead.
pub const MOST_ROWS: usize = 24;

/// Most lines of a caption, each broken once where it is long: then 24 rows stay within a drawing's greatest height.
const MOST_CAPTION_LINES: usize = 6;
/// Around everything.
const PAPER_EDGE: f32 = 24.0;
/// Between panels: six of the widest then make a drawing 2028 pixels wide.
const SPACE: f32 = 12.0;
/// Between rows.
const ROW_SPACE: f32 = 26.0;
/// Narrowest content: the scale needs room even below one small panel.
const NARROWEST: f32 = 560.0;
/// Widest scale.
const WIDEST_LEGEND: f32 = 1000.0;

const COOLER: Style = Style::new(20.0, true, ink::TEXT);
const TITLE: Style = Style::new(14.0, true, ink::TEXT);
const CAPTION: Style = Style::new(14.0, false, ink::TEXT);
const MORE: Style = Style::new(14.0, false, ink::QUIET);

/// One picture of a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Above the picture: run and file.
    pub title: String,
    /// Below it, a line each; the first six are drawn.
    pub caption: Vec<String>,
    /// The picture.
    pub thumbnail: Thumbnail,
}

/// The pictures of one cooler.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelRow {
    /// What people call the cooler.
    pub label: String,
    /// Its pictures; the first [`MOST_PANELS`] are drawn.
    pub panels: Vec<Panel>,
    /// Further pictures of it, which are only counted.
    pub more: usize,
}

/// Draws a row of panels for each cooler (its label first), all on one scale that is drawn once below them, as PNG.
///
/// # Errors
/// [`PictureError::TooLarge`] where captions need a drawing that is too large.
pub fn side_by_side(rows: &[PanelRow], scale: Scale) -> Result<Vec<u8>, PictureError> {
    draw_rows(rows, scale)?.encode()
}

fn draw_rows(rows: &[PanelRow], scale: Scale) -> Result<Canvas, PictureError> {
    let scale = scale.usable();
    let widths = rows
        .iter()
        .take(MOST_ROWS)
        .map(|row| row_width(&row.panels));
    let content = widths.fold(NARROWEST, f32::max);
    let laid: Vec<Row<'_>> = rows
        .iter()
        .take(MOST_ROWS)
        .map(|row| Row::new(row, content))
        .collect();
    let more = left_out(rows.len(), MOST_ROWS, "cooler");
    let rows_height: f32 = laid.iter().map(|row| row.height + ROW_SPACE).sum();
    let more_height = if more.is_some() {
        MORE.line_height() + SPACE
    } else {
        0.0
    };
    let height = PAPER_EDGE + rows_height + more_height + legend::HEIGHT + PAPER_EDGE - 8.0;
    let mut canvas = Canvas::new(content + 2.0 * PAPER_EDGE, height)?;
    let map = ColourMap::new(scale);
    let mut top = PAPER_EDGE - 4.0;
    let mut beyond = Beyond::default();
    for row in &laid {
        row.draw(&mut canvas, top, &map);
        top += row.height + ROW_SPACE;
        let panels = row.cells.iter().map(|cell| cell.thumbnail.beyond(scale));
        beyond = panels.fold(beyond, Beyond::or);
    }
    if let Some(words) = more {
        draw(&mut canvas, &words, PAPER_EDGE, top + MORE.baseline(), MORE);
        top += more_height;
    }
    let wide = content.min(WIDEST_LEGEND);
    legend(
        &mut canvas,
        Point::new(PAPER_EDGE, top),
        wide,
        scale,
        beyond,
    );
    Ok(canvas)
}

/// `2 more coolers are not shown`; `None` where all are.
fn left_out(all: usize, most: usize, thing: &str) -> Option<String> {
    match all.saturating_sub(most) {
        0 => None,
        1 => Some(format!("1 more {thing} is not shown")),
        more => Some(format!("{more} more {thing}s are not shown")),
    }
}

/// A panel is as wide as the widest thumbnail could be, so that columns line up from row to row.
const CELL: f32 = THUMBNAIL_WIDTH as f32;

fn row_width(panels: &[Panel]) -> f32 {
    let shown = panels.len().min(MOST_PANELS) as f32;
    (shown * (CELL + SPACE) - SPACE).max(0.0)
}

/// A row laid out; heights in pixels.
struct Row<'a> {
    label: Vec<String>,
    more: Option<String>,
    cells: Vec<Cell<'a>>,
    title_lines: usize,
    picture_height: f32,
    height: f32,
}

/// A panel with its text broken to its width.
struct Cell<'a> {
    title: Vec<String>,
    caption: Vec<String>,
    thumbnail: &'a Thumbnail,
}

impl<'a> Row<'a> {
    fn new(row: &'a PanelRow, content: f32) -> Self {
        let panels = row.panels.iter().take(MOST_PANELS);
        let cells: Vec<Cell<'a>> = panels.map(Cell::new).collect();
        let label = wrapped(&row.label, COOLER, content, 2);
        let pictures = row.panels.len().saturating_add(row.more);
        let more = left_out(pictures, cells.len(), "picture").or_else(|| {
            cells
                .is_empty()
                .then(|| "No pictures of this cooler".to_owned())
        });
        let most = |count: fn(&Cell<'a>) -> usize| cells.iter().map(count).max().unwrap_or(0);
        let title_lines = most(|cell| cell.title.len());
        let caption_lines = most(|cell| cell.caption.len());
        let heights = cells.iter().map(|cell| cell.thumbnail.size().1);
        let picture_height = heights.fold(0.0, f32::max);
        let text = title_lines as f32 * TITLE.line_height()
            + caption_lines as f32 * CAPTION.line_height()
            + more.iter().count() as f32 * (MORE.line_height() + 4.0);
        let label_height = label.len() as f32 * COOLER.line_height() + 6.0;
        Self {
            height: label_height
                + text
                + picture_height
                + if cells.is_empty() { 0.0 } else { 14.0 },
            label,
            more,
            cells,
            title_lines,
            picture_height,
        }
    }

    fn draw(&self, canvas: &mut Canvas, top: f32, map: &ColourMap) {
        let mut top = write(canvas, &self.label, PAPER_EDGE, top, COOLER) + 6.0;
        let titles = self.title_lines as f32 * TITLE.line_height();
        let mut bottom = top;
        for (index, cell) in self.cells.iter().enumerate() {
            let left = PAPER_EDGE + index as f32 * (CELL + SPACE);
            write(canvas, &cell.title, left, top, TITLE);
            let (width, height) = cell.thumbnail.size();
            let picture = Area::new(left, (top + titles + 5.0).round(), width, height);
            cell.thumbnail.draw(canvas, picture.left, picture.top, map);
            let below = picture.top + self.picture_height + 5.0;
            bottom = write(canvas, &cell.caption, left, below, CAPTION).max(bottom);
        }
        top = bottom + 4.0;
        if let Some(words) = &self.more {
            draw(canvas, words, PAPER_EDGE, top + MORE.baseline(), MORE);
        }
    }
}

impl<'a> Cell<'a> {
    fn new(panel: &'a Panel) -> Self {
        let lines = |text: &str, style: Style| wrapped(text, style, CELL, 2);
        let captions = panel.caption.iter().take(MOST_CAPTION_LINES);
        Self {
            title: lines(&panel.title, TITLE),
            caption: captions.flat_map(|line| lines(line, CAPTION)).collect(),
            thumbnail: &panel.thumbnail,
        }
    }
}

/// Writes lines below each other and returns where the next would start.
fn write(canvas: &mut Canvas, lines: &[String], left: f32, top: f32, style: Style) -> f32 {
    let mut top = top;
    for line in lines {
        draw(canvas, line, left, top + style.baseline(), style);
        top += style.line_height();
    }
    top
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::{Samples, ThermalImage};
    use crate::picture::thumbnail;
    use crate::session::Pixels;

    /// A panel of one temperature, °C.
    fn panel(celsius: f32) -> Panel {
        let image = ThermalImage {
            samples: Samples::F32(ndarray::Array2::from_elem((120, 160), celsius)),
            pixels: Pixels::Linear {
                step: 1.0,
                zero: 273.15,
            },
            container: "made up".to_owned(),
            assumed: None,
            pages: 1,
            captured: None,
            palette: None,
        };
        Panel {
            title: "hold 1".to_owned(),
            caption: vec!["a very long line of words ".repeat(9); 40],
            thumbnail: thumbnail(&image, &[], 320, 240),
        }
    }

    fn row(label: &str, panels: Vec<Panel>) -> PanelRow {
        PanelRow {
            label: label.to_owned(),
            panels,
            more: 0,
        }
    }

    #[test]
    fn the_same_temperature_has_the_same_colour_in_every_row() {
        let rows = [
            row("a", vec![panel(40.0), panel(60.0)]),
            row("b", vec![panel(60.0)]),
        ];
        let scale = Scale {
            low: 20.0,
            high: 70.0,
        };
        let canvas = draw_rows(&rows, scale).unwrap();
        let map = ColourMap::new(scale);
        let count = |celsius: f32| {
            let [red, green, blue] = map.colour(map.index(celsius), 0, 0);
            let pixels = canvas.pixmap.pixels().iter();
            pixels
                .filter(|p| [p.red(), p.green(), p.blue()] == [red, green, blue])
                .count()
        };
        assert!((320 * 240..320 * 240 + 200).contains(&count(40.0)));
        assert!((2 * 320 * 240..2 * 320 * 240 + 200).contains(&count(60.0)));
    }

    #[test]
    fn what_is_left_out_is_counted() {
        assert_eq!(left_out(6, 6, "picture"), None);
        assert_eq!(
            left_out(7, 6, "picture").unwrap(),
            "1 more picture is not shown"
        );
        assert_eq!(
            left_out(30, 24, "cooler").unwrap(),
            "6 more coolers are not shown"
        );
    }

    #[test]
    fn pictures_that_are_only_counted_look_as_if_they_had_been_given() {
        let all = row("a", vec![panel(40.0); MOST_PANELS + 3]);
        let bounded = PanelRow {
            more: 3,
            ..row("a", vec![panel(40.0); MOST_PANELS])
        };
        let laid = [&all, &bounded].map(|row| Row::new(row, 2000.0));
        assert_eq!(
            laid[0].more.as_deref(),
            Some("3 more pictures are not shown")
        );
        assert_eq!(laid[0].more, laid[1].more);
        assert_eq!(laid[0].height, laid[1].height);
    }

    #[test]
    fn the_fullest_drawing_stays_within_bounds() {
        let fullest = row(&"label ".repeat(99), vec![panel(40.0); 9]);
        let laid = Row::new(&fullest, row_width(&fullest.panels));
        assert_eq!(laid.cells.len(), MOST_PANELS);
        let tallest = MOST_ROWS as f32 * (laid.height + ROW_SPACE) + 200.0;
        assert!(tallest < 16_000.0, "{tallest}");
    }
}
