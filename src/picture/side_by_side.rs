//! All coolers in one picture, all on one scale: of each a row as the instrument saw it, and one with corrected tanks.

use super::PictureError;
use super::canvas::{Canvas, ink};
use super::colour::ColourMap;
use super::geometry::Point;
use super::legend::{self, Beyond, SHOWN_OR_CORRECTED, legend};
use super::scale::Scale;
use super::text::{Style, draw, wrapped};
use super::thumbnail::{Thumbnail, Thumbnails};

/// Most pictures of a cooler; how many more there are is said instead.
pub const MOST_PANELS: usize = 6;
/// Most coolers; how many more there are is said instead.
pub const MOST_ROWS: usize = 16;

/// Most lines of a caption, each broken once where it is long: then 16 coolers stay within a drawing's greatest height.
const MOST_CAPTION_LINES: usize = 3;
/// Around everything.
const PAPER_EDGE: f32 = 24.0;
/// Between panels: six of the widest then make a drawing 2028 pixels wide.
const SPACE: f32 = 12.0;
/// Between coolers.
const ROW_SPACE: f32 = 30.0;
/// Between the two rows of a cooler.
const PART_SPACE: f32 = 12.0;
/// Narrowest panel: captions need room below a narrow picture.
const NARROWEST_PANEL: f32 = 200.0;
/// Narrowest content: the scale needs room even below one small panel.
const NARROWEST: f32 = 560.0;

const COOLER: Style = Style::new(20.0, true, ink::TEXT);
const PART: Style = Style::new(15.0, false, ink::QUIET);
const TITLE: Style = Style::new(14.0, true, ink::TEXT);
const CAPTION: Style = Style::new(14.0, false, ink::TEXT);
const MORE: Style = Style::new(14.0, false, ink::QUIET);

/// What each of a cooler's rows shows.
const PARTS: [&str; 2] = [
    "As the instrument saw it",
    "With each tank at its corrected temperature, inside its outlines",
];

/// One picture of a cooler.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Above the picture: its run.
    pub title: String,
    /// Below it as the instrument saw it, a line each; the first three are drawn.
    pub seen: Vec<String>,
    /// The same below it as corrected.
    pub corrected: Vec<String>,
    /// The picture.
    pub thumbnails: Thumbnails,
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

/// Draws two rows of panels for each cooler (its label first), all on one scale that is drawn once below them, as PNG.
///
/// # Errors
/// [`PictureError::TooLarge`] where captions need a drawing that is too large.
pub fn side_by_side(rows: &[PanelRow], scale: Scale) -> Result<Vec<u8>, PictureError> {
    draw_rows(rows, scale)?.encode()
}

fn draw_rows(rows: &[PanelRow], scale: Scale) -> Result<Canvas, PictureError> {
    let scale = scale.usable();
    let columns = column_widths(rows);
    let content = across(&columns).max(NARROWEST);
    let laid: Vec<Row<'_>> = rows
        .iter()
        .take(MOST_ROWS)
        .map(|row| Row::new(row, &columns, content))
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
        let all = row.cells.iter().flat_map(|cell| cell.thumbnails());
        beyond = all.map(|one| one.beyond(scale)).fold(beyond, Beyond::or);
    }
    if let Some(words) = more {
        draw(&mut canvas, &words, PAPER_EDGE, top + MORE.baseline(), MORE);
        top += more_height;
    }
    let at = Point::new(PAPER_EDGE, top);
    legend(&mut canvas, SHOWN_OR_CORRECTED, at, content, scale, beyond);
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

/// The width of each column of panels: that of its widest picture, so that columns line up from row to row.
fn column_widths(rows: &[PanelRow]) -> Vec<f32> {
    let mut columns = Vec::new();
    for row in rows.iter().take(MOST_ROWS) {
        for (at, panel) in row.panels.iter().take(MOST_PANELS).enumerate() {
            if at == columns.len() {
                columns.push(NARROWEST_PANEL);
            }
            if let Some(column) = columns.get_mut(at) {
                *column = column.max(panel.thumbnails.seen.size().0);
            }
        }
    }
    columns
}

/// The width of columns and the space between them.
fn across(columns: &[f32]) -> f32 {
    let all: f32 = columns.iter().map(|column| column + SPACE).sum();
    (all - SPACE).max(0.0)
}

/// A cooler laid out; heights in pixels.
struct Row<'a> {
    label: Vec<String>,
    more: Option<String>,
    cells: Vec<Cell<'a>>,
    title_lines: usize,
    /// Of the captions of both rows.
    caption_lines: [usize; 2],
    picture_height: f32,
    height: f32,
}

/// A panel with its text broken to its width.
struct Cell<'a> {
    left: f32,
    title: Vec<String>,
    captions: [Vec<String>; 2],
    panel: &'a Panel,
}

impl<'a> Row<'a> {
    fn new(row: &'a PanelRow, columns: &[f32], content: f32) -> Self {
        let mut left = PAPER_EDGE;
        let panels = row.panels.iter().take(MOST_PANELS).zip(columns);
        let cells: Vec<Cell<'a>> = panels
            .map(|(panel, &wide)| {
                let cell = Cell::new(panel, left, wide);
                left += wide + SPACE;
                cell
            })
            .collect();
        let label = wrapped(&row.label, COOLER, content, 2);
        let pictures = row.panels.len().saturating_add(row.more);
        let more = left_out(pictures, cells.len(), "picture").or_else(|| {
            cells
                .is_empty()
                .then(|| "No pictures of this cooler".to_owned())
        });
        let most = |count: &dyn Fn(&Cell<'a>) -> usize| cells.iter().map(count).max().unwrap_or(0);
        let heights = cells.iter().map(|cell| cell.panel.thumbnails.seen.size().1);
        let mut laid = Self {
            title_lines: most(&|cell| cell.title.len()),
            caption_lines: [0, 1]
                .map(|part: usize| most(&|cell| cell.captions.get(part).map_or(0, Vec::len))),
            picture_height: heights.fold(0.0, f32::max),
            height: 0.0,
            label,
            more,
            cells,
        };
        laid.height = laid.label_height()
            + laid.part_tops().last().copied().unwrap_or(0.0)
            + laid.more.iter().count() as f32 * (MORE.line_height() + 4.0);
        laid
    }

    fn label_height(&self) -> f32 {
        self.label.len() as f32 * COOLER.line_height() + 6.0
    }

    /// Where both rows start below the label, and where they end.
    fn part_tops(&self) -> [f32; 3] {
        if self.cells.is_empty() {
            return [0.0; 3];
        }
        let part = |titles: usize, captions: usize| {
            PART.line_height()
                + 2.0
                + titles as f32 * TITLE.line_height()
                + 5.0
                + self.picture_height
                + 5.0
                + captions as f32 * CAPTION.line_height()
        };
        let [seen, corrected] = self.caption_lines;
        let second = part(self.title_lines, seen) + PART_SPACE;
        [0.0, second, second + part(0, corrected)]
    }

    fn draw(&self, canvas: &mut Canvas, top: f32, map: &ColourMap) {
        write(canvas, &self.label, PAPER_EDGE, top, COOLER);
        let below = top + self.label_height();
        let [seen, corrected, end] = self.part_tops();
        if !self.cells.is_empty() {
            self.draw_part(canvas, 0, below + seen, map);
            self.draw_part(canvas, 1, below + corrected, map);
        }
        if let Some(words) = &self.more {
            let at = below + end + 4.0 + MORE.baseline();
            draw(canvas, words, PAPER_EDGE, at, MORE);
        }
    }

    /// One of the two rows; the panels' titles stand above the first.
    fn draw_part(&self, canvas: &mut Canvas, part: usize, top: f32, map: &ColourMap) {
        let words = PARTS.get(part).copied().unwrap_or_default();
        draw(canvas, words, PAPER_EDGE, top + PART.baseline(), PART);
        let titles = top + PART.line_height() + 2.0;
        let lines = if part == 0 { self.title_lines } else { 0 };
        let pictures = (titles + lines as f32 * TITLE.line_height() + 5.0).round();
        for cell in &self.cells {
            if part == 0 {
                write(canvas, &cell.title, cell.left, titles, TITLE);
            }
            if let Some(thumbnail) = cell.thumbnails().get(part) {
                thumbnail.draw(canvas, cell.left, pictures, map);
            }
            if let Some(caption) = cell.captions.get(part) {
                let below = pictures + self.picture_height + 5.0;
                write(canvas, caption, cell.left, below, CAPTION);
            }
        }
    }
}

impl<'a> Cell<'a> {
    fn new(panel: &'a Panel, left: f32, wide: f32) -> Self {
        let lines = |text: &str, style: Style| wrapped(text, style, wide, 2);
        let caption = |text: &[String]| -> Vec<String> {
            let shown = text.iter().take(MOST_CAPTION_LINES);
            shown.flat_map(|line| lines(line, CAPTION)).collect()
        };
        Self {
            left,
            title: lines(&panel.title, TITLE),
            captions: [caption(&panel.seen), caption(&panel.corrected)],
            panel,
        }
    }

    /// As the instrument saw it, and corrected.
    fn thumbnails(&self) -> [&'a Thumbnail; 2] {
        [
            &self.panel.thumbnails.seen,
            &self.panel.thumbnails.corrected,
        ]
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
    use crate::locate::shape::Shape;
    use crate::picture::{CorrectedRegion, Shows, THUMBNAIL_HEIGHT, THUMBNAIL_WIDTH, thumbnails};
    use crate::session::Pixels;

    /// A panel of one temperature, °C.
    fn panel(celsius: f32) -> Panel {
        corrected_panel(celsius, &[])
    }

    /// The same with some regions corrected.
    fn corrected_panel(celsius: f32, corrected: &[CorrectedRegion]) -> Panel {
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
            seen: vec!["a very long line of words ".repeat(9); 40],
            corrected: vec!["a very long line of words ".repeat(9); 40],
            thumbnails: thumbnails(&image, &[], corrected, THUMBNAIL_WIDTH, THUMBNAIL_HEIGHT),
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
        // Each picture stands in both of its cooler's rows; the rest is the scale's.
        assert!((2 * 320 * 240..2 * 320 * 240 + 200).contains(&count(40.0)));
        assert!((4 * 320 * 240..4 * 320 * 240 + 200).contains(&count(60.0)));
    }

    #[test]
    fn regions_are_corrected_in_the_second_row_alone() {
        let flat = CorrectedRegion {
            shape: Shape::Rectangle([40.0, 30.0, 20.0, 50.0]),
            exclude: Vec::new(),
            shows: Shows::Flat(65.0),
        };
        let rows = [row("a", vec![corrected_panel(30.0, &[flat])])];
        let scale = Scale {
            low: 20.0,
            high: 70.0,
        };
        let canvas = draw_rows(&rows, scale).unwrap();
        let map = ColourMap::new(scale);
        let wide = canvas.pixmap.width() as usize;
        let places = |celsius: f32| -> Vec<(usize, usize)> {
            let rgb = map.colour(map.index(celsius), 0, 0);
            let pixels = canvas.pixmap.pixels().iter().enumerate();
            pixels
                .filter(|(_, p)| [p.red(), p.green(), p.blue()] == rgb)
                .map(|(at, _)| (at % wide, at / wide))
                .collect()
        };
        let top = places(30.0).first().copied().unwrap();
        let laid = Row::new(&rows[0], &column_widths(&rows), 560.0);
        let [first, second, _] = laid.part_tops();
        // The pictures stand below the row's words, the first below the panel's title, too.
        let apart = (second - first - laid.title_lines as f32 * TITLE.line_height()) as usize;
        let hot: Vec<_> = places(65.0)
            .into_iter()
            .filter(|&(_, y)| y < top.1 + apart + 240)
            .collect();
        assert_eq!(hot.len(), 40 * 100);
        assert!(hot.iter().all(|&(x, _)| (80..120).contains(&(x - top.0))));
        let above = hot.iter().map(|&(_, y)| y).min().unwrap() - top.1;
        assert!(above.abs_diff(apart + 60) <= 1, "{above} {apart}");
    }

    #[test]
    fn columns_are_as_wide_as_their_pictures_and_have_room_for_words() {
        let rows = [row("a", vec![panel(40.0); 2]), row("b", vec![panel(40.0)])];
        assert_eq!(column_widths(&rows), [320.0, 320.0]);
        assert_eq!(across(&column_widths(&rows)), 320.0 + SPACE + 320.0);
        assert_eq!(across(&column_widths(&[])), 0.0);
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
        let columns = [320.0; MOST_PANELS];
        let laid = [&all, &bounded].map(|row| Row::new(row, &columns, 2000.0));
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
        let columns = [320.0; MOST_PANELS];
        let laid = Row::new(&fullest, &columns, across(&columns));
        assert_eq!(laid.cells.len(), MOST_PANELS);
        let tallest = MOST_ROWS as f32 * (laid.height + ROW_SPACE) + 200.0;
        assert!(tallest < 16_000.0, "{tallest}");
    }
}
