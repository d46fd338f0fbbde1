//! Outlines of regions, as the session writes them.

use super::reader::{Entry, Table};
use crate::locate::shape::Shape;

/// More corners than anyone draws.
const MOST_CORNERS: usize = 10_000;

const RECTANGLE: &str = "rectangle = [x, y, width, height]";
const POLYGON: &str = "polygon = [[x, y], [x, y], [x, y]]";
const CIRCLE: &str = "circle = [x, y, radius]";
const ELLIPSE: &str = "ellipse = [x, y, half-width, half-height]";
const LINE: &str = "line = [[x, y], [x, y]]";
const POINT: &str = "point = [x, y]";

/// The keys that give a shape.
const KEYS: [&str; 6] = ["rectangle", "polygon", "circle", "ellipse", "line", "point"];

/// Takes the one shape of a region.
pub(super) fn read(table: &Table<'_>) -> Option<Shape> {
    let found: Vec<Entry<'_>> = KEYS.iter().filter_map(|key| table.get(key)).collect();
    match found.as_slice() {
        [] => {
            let mend = format!(
                "write one of {RECTANGLE}, {POLYGON}, {CIRCLE}, {ELLIPSE}, {LINE}, {POINT}"
            );
            table.absent("a region without a shape", mend);
            None
        }
        [only] => shape(table, only),
        [_, second, ..] => {
            let what = format!("a region with more than one shape: `{}` too", second.key);
            table.problem(
                second.key_span(),
                what,
                "keep one; what to leave out goes into exclude = [{ … }]",
            );
            None
        }
    }
}

/// Takes the parts left out of a region.
pub(super) fn excluded(table: &Table<'_>) -> Vec<Shape> {
    let elements = table.list("exclude", "exclude = [{ circle = [x, y, radius] }]");
    let part = |element: Entry<'_>| {
        let part = table.table_of(&element, table.place_of("exclude"))?;
        let shape = read(&part);
        part.finish();
        shape
    };
    elements
        .unwrap_or_default()
        .into_iter()
        .filter_map(part)
        .collect()
}

fn shape(table: &Table<'_>, entry: &Entry<'_>) -> Option<Shape> {
    match entry.key {
        "rectangle" => {
            let [x, y, width, height] = table.coordinates_of(entry, RECTANGLE)?;
            extent(table, entry, &[("width", width), ("height", height)])?;
            Some(Shape::Rectangle([x, y, width, height]))
        }
        "circle" => {
            let [x, y, radius] = table.coordinates_of(entry, CIRCLE)?;
            extent(table, entry, &[("radius", radius)])?;
            Some(Shape::Circle([x, y, radius]))
        }
        "ellipse" => {
            let [x, y, across, down] = table.coordinates_of(entry, ELLIPSE)?;
            extent(
                table,
                entry,
                &[("half-width", across), ("half-height", down)],
            )?;
            Some(Shape::Ellipse([x, y, across, down]))
        }
        "line" => line(table, entry),
        "point" => table.coordinates_of(entry, POINT).map(Shape::Point),
        _ => polygon(table, entry),
    }
}

fn extent(table: &Table<'_>, entry: &Entry<'_>, sizes: &[(&str, f64)]) -> Option<()> {
    let mut positive = Some(());
    for (name, _) in sizes.iter().filter(|(_, size)| *size <= 0.0) {
        let what = format!("the {} has no {name} above zero", entry.key);
        table.problem(
            entry.span(),
            what,
            "coordinates are pixels, counted from the top left",
        );
        positive = None;
    }
    positive
}

fn points(table: &Table<'_>, entry: &Entry<'_>, example: &str) -> Option<Vec<[f64; 2]>> {
    let corners = table.list_of(entry, example)?;
    if corners.len() > MOST_CORNERS {
        let what = format!("the {} has {} corners", entry.key, corners.len());
        table.problem(
            entry.key_span(),
            what,
            format!("draw it with at most {MOST_CORNERS}"),
        );
        return None;
    }
    let read: Vec<_> = corners
        .iter()
        .map(|corner| table.coordinates_of(corner, example))
        .collect();
    read.into_iter().collect()
}

fn line(table: &Table<'_>, entry: &Entry<'_>) -> Option<Shape> {
    let points = points(table, entry, LINE)?;
    match points.as_slice() {
        [from, to] if from != to => Some(Shape::Line([*from, *to])),
        _ => {
            table.problem(
                entry.span(),
                "a line runs between two different points",
                format!("write {LINE}"),
            );
            None
        }
    }
}

fn polygon(table: &Table<'_>, entry: &Entry<'_>) -> Option<Shape> {
    let corners = points(table, entry, POLYGON)?;
    if corners.len() < 3 {
        let what = format!("a polygon with {} corners", corners.len());
        table.problem(entry.span(), what, "give at least three");
        return None;
    }
    if flat(&corners) {
        table.problem(
            entry.span(),
            "a polygon without area: its corners lie on one line",
            "check the corners",
        );
        return None;
    }
    Some(Shape::Polygon(corners))
}

/// Whether all corners lie on one line. A figure of eight has a signed area of zero, but it does cover something.
fn flat(corners: &[[f64; 2]]) -> bool {
    let Some(&[x, y]) = corners.first() else {
        return true;
    };
    let from_first = |corner: &[f64; 2]| (corner[0] - x, corner[1] - y);
    let farthest = corners
        .iter()
        .map(from_first)
        .max_by(|a, b| a.0.hypot(a.1).total_cmp(&b.0.hypot(b.1)))
        .unwrap_or_default();
    let length = farthest.0.hypot(farthest.1);
    corners.iter().map(from_first).all(|(dx, dy)| {
        let off_line = (farthest.0 * dy - farthest.1 * dx).abs();
        off_line <= 1e-9 * length.max(1.0) * length.max(1.0)
    })
}
