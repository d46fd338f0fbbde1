//! Lettering: measuring, breaking and drawing lines of text.

use std::collections::HashMap;
use std::sync::OnceLock;

use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, MetadataProvider};
use tiny_skia::{Path, PathBuilder, Transform};

use super::canvas::Canvas;
use super::colour::Rgb;

/// DejaVu Sans, cut down to the characters that labels need; see `font/README.md`.
static REGULAR: &[u8] = include_bytes!("font/DejaVuSans-subset.ttf");

/// DejaVu Sans Bold, cut down likewise.
static BOLD: &[u8] = include_bytes!("font/DejaVuSans-Bold-subset.ttf");

/// Advance of the box that stands for a character the font lacks, in em.
const BOX_ADVANCE: f32 = 0.62;

/// How a line is written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    /// Height of the em, pixels of the drawing.
    pub(super) size: f32,
    /// Whether in the bold face.
    pub(super) strong: bool,
    pub(super) rgb: Rgb,
}

impl Style {
    pub(super) const fn new(size: f32, strong: bool, rgb: Rgb) -> Self {
        Self { size, strong, rgb }
    }

    /// From one baseline to the next.
    pub(super) fn line_height(&self) -> f32 {
        (self.size * 1.32).round()
    }

    /// From the top of a line to its baseline.
    pub(super) fn baseline(&self) -> f32 {
        (self.size * 0.98).round()
    }
}

/// A character's outline in em, y down from the baseline.
struct Glyph {
    advance: f32,
    path: Option<Path>,
}

/// All characters of a face.
type Face = HashMap<char, Glyph>;

/// The plain or the bold face, outlined once per program.
fn face(strong: bool) -> &'static Face {
    static FACES: [OnceLock<Face>; 2] = [OnceLock::new(), OnceLock::new()];
    let [regular, bold] = &FACES;
    let (face, bytes) = if strong {
        (bold, BOLD)
    } else {
        (regular, REGULAR)
    };
    face.get_or_init(|| FontRef::new(bytes).map(outline_all).unwrap_or_default())
}

fn outline_all(font: FontRef<'_>) -> Face {
    let metrics = font.glyph_metrics(Size::new(1.0), LocationRef::default());
    let outlines = font.outline_glyphs();
    let mut glyphs = HashMap::new();
    for (code, id) in font.charmap().mappings() {
        let Some(character) = char::from_u32(code) else {
            continue;
        };
        let mut pen = PathPen(PathBuilder::new());
        if let Some(outline) = outlines.get(id) {
            let settings = DrawSettings::unhinted(Size::new(1.0), LocationRef::default());
            if outline.draw(settings, &mut pen).is_err() {
                continue;
            }
        }
        let advance = metrics.advance_width(id).unwrap_or(BOX_ADVANCE);
        let path = pen.0.finish();
        glyphs.insert(character, Glyph { advance, path });
    }
    glyphs
}

/// Collects an outline, turned from y up to y down.
struct PathPen(PathBuilder);

impl OutlinePen for PathPen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to(x, -y);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to(x, -y);
    }
    fn quad_to(&mut self, cx0: f32, cy0: f32, x: f32, y: f32) {
        self.0.quad_to(cx0, -cy0, x, -y);
    }
    fn curve_to(&mut self, cx0: f32, cy0: f32, cx1: f32, cy1: f32, x: f32, y: f32) {
        self.0.cubic_to(cx0, -cy0, cx1, -cy1, x, -y);
    }
    fn close(&mut self) {
        self.0.close();
    }
}

/// The box that stands for a character the font lacks.
fn missing() -> Option<Path> {
    let mut path = PathBuilder::new();
    for (inset, forward) in [(0.0, true), (0.07, false)] {
        let (left, right) = (0.06 + inset, BOX_ADVANCE - 0.06 - inset);
        let (top, bottom) = (-0.72 + inset, -inset);
        path.move_to(left, top);
        if forward {
            path.line_to(right, top);
            path.line_to(right, bottom);
            path.line_to(left, bottom);
        } else {
            path.line_to(left, bottom);
            path.line_to(right, bottom);
            path.line_to(right, top);
        }
        path.close();
    }
    path.finish()
}

/// The character that is drawn for one in a text: whatever would break the line becomes a space.
fn drawn(character: char) -> char {
    if character.is_control() || character.is_whitespace() {
        ' '
    } else {
        character
    }
}

/// How far a character moves the pen, in em.
fn advance(character: char, strong: bool) -> f32 {
    face(strong)
        .get(&drawn(character))
        .map_or(BOX_ADVANCE, |glyph| glyph.advance)
}

/// The width of a line, pixels of the drawing.
pub(super) fn width(text: &str, style: Style) -> f32 {
    let em: f32 = text
        .chars()
        .map(|character| advance(character, style.strong))
        .sum();
    style.size * em
}

/// The text itself where it fits a width, else as much of it as fits with an ellipsis.
pub(super) fn shortened(text: &str, style: Style, most: f32) -> String {
    if width(text, style) <= most {
        return text.to_owned();
    }
    let room = most / style.size - advance('…', style.strong);
    let mut used = 0.0;
    let kept: String = text
        .chars()
        .take_while(|&character| {
            used += advance(character, style.strong);
            used <= room
        })
        .collect();
    format!("{}…", kept.trim_end())
}

/// The text broken between words into lines that fit a width; what does not fit in the last one is cut with an ellipsis.
pub(super) fn wrapped(text: &str, style: Style, most: f32, lines: usize) -> Vec<String> {
    let mut broken: Vec<String> = Vec::new();
    let mut line = String::new();
    let breaks = |c: char| c.is_whitespace() && c != '\u{a0}';
    for word in text.split(breaks).filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        let last = broken.len() + 1 >= lines;
        if last || line.is_empty() || width(&longer, style) <= most {
            line = longer;
        } else {
            broken.push(std::mem::replace(&mut line, word.to_owned()));
        }
    }
    broken.push(line);
    broken
        .iter()
        .map(|line| shortened(line, style, most))
        .collect()
}

/// Writes a line with its left end on a baseline.
pub(super) fn draw(canvas: &mut Canvas, text: &str, left: f32, baseline: f32, style: Style) {
    let face = face(style.strong);
    let absent = missing();
    let mut line = PathBuilder::new();
    let mut x = left;
    for character in text.chars().map(drawn) {
        let glyph = face.get(&character);
        let path = glyph.map_or(absent.as_ref(), |glyph| glyph.path.as_ref());
        let placed = Transform::from_row(style.size, 0.0, 0.0, style.size, x, baseline);
        if let Some(path) = path.and_then(|path| path.clone().transform(placed)) {
            line.push_path(&path);
        }
        x += style.size * glyph.map_or(BOX_ADVANCE, |glyph| glyph.advance);
    }
    if let Some(path) = line.finish() {
        canvas.fill_path(&path, style.rgb, 255);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::canvas::ink;

    const PLAIN: Style = Style::new(14.0, false, ink::TEXT);

    #[test]
    fn the_font_holds_what_labels_need() {
        for character in "aZ09 äéøßžŁΔρλΩη°±−×÷·…–—‘’“”→←↑↓≈≤≥√∞²³₂µµ½‰€".chars()
        {
            for strong in [false, true] {
                assert!(face(strong).contains_key(&character), "{character}");
            }
        }
    }

    #[test]
    fn widths_add_up() {
        assert!((width("ab", PLAIN) - width("a", PLAIN) - width("b", PLAIN)).abs() < 1e-4);
        // DejaVu Sans: digits advance 1303 of 2048 units (from the font's own tables).
        assert!(
            (width(
                "0",
                Style {
                    size: 2048.0,
                    ..PLAIN
                }
            ) - 1303.0)
                .abs()
                < 1.0
        );
    }

    #[test]
    fn long_text_is_broken_between_words_and_cut_at_the_end() {
        let lines = wrapped(
            "inlet tank upper left corner near the weld",
            PLAIN,
            120.0,
            2,
        );
        assert_eq!(lines.len(), 2);
        assert!(lines.iter().all(|line| width(line, PLAIN) <= 120.0));
        assert!(
            lines[0].starts_with("inlet tank") && lines[1].ends_with('…'),
            "{lines:?}"
        );
        assert_eq!(wrapped("short", PLAIN, 120.0, 2), ["short"]);
        assert_eq!(wrapped("", PLAIN, 120.0, 2), [""]);
        assert!(width(&shortened(&"x".repeat(500), PLAIN, 90.0), PLAIN) <= 90.0);
    }

    #[test]
    fn unknown_characters_are_a_visible_box() {
        let inked = |text: &str| {
            let mut canvas = Canvas::new(40.0, 30.0).unwrap();
            draw(
                &mut canvas,
                text,
                5.0,
                22.0,
                Style::new(20.0, false, ink::TEXT),
            );
            canvas
                .pixmap
                .pixels()
                .iter()
                .filter(|p| p.red() < 128)
                .count()
        };
        assert!(inked("漢") > 20);
        assert_eq!(inked(" \n\t"), 0);
        assert!(inked("°") > 3);
    }
}
