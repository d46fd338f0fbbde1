//! Where labels go: on the picture beside their regions where all of them fit, else all in margins beside it.
//!
//! All or none, because a picture with some labels on it and some beside it is hard to read. Everything is in pixels of
//! the drawing from the picture's top left; labels in the left margin have negative x.

use super::geometry::{Area, Point, cross, touches};
use super::outline::Outline;

/// Between a label and its own region, and between two labels.
const GAP: f32 = 6.0;
/// Between a label without a leader and regions that are not its own, so that nobody doubts whose it is.
const CLEAR: f32 = 14.0;
/// Between the picture and labels in its margin: room for leaders to fan out.
const GUTTER: f32 = 36.0;
/// Between two labels in a margin.
const STACK_GAP: f32 = 8.0;

/// A label's place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placed {
    pub(super) area: Area,
    /// From the label to its region's outline, where it does not stand directly beside it.
    pub(super) leader: Option<[Point; 2]>,
}

/// All labels' places, and the room that they need.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placement {
    /// In the order of the regions.
    pub(super) labels: Vec<Placed>,
    /// Width of the margin left of the picture; 0 where nothing stands there.
    pub(super) left: f32,
    /// Width of the margin right of it.
    pub(super) right: f32,
    /// Height that labels need from the picture's top; at least the picture's.
    pub(super) height: f32,
}

/// Places a label of a size for each outline. Labels overlap neither each other nor the picture's outer edge.
pub(super) fn place(picture: (f32, f32), outlines: &[Outline], sizes: &[(f32, f32)]) -> Placement {
    match on_picture(picture, outlines, sizes) {
        Some(labels) => Placement {
            labels,
            left: 0.0,
            right: 0.0,
            height: picture.1,
        },
        None => in_margins(picture, outlines, sizes),
    }
}

/// A label still to be placed.
#[derive(Debug, Clone, Copy)]
struct Item<'a> {
    index: usize,
    outline: &'a Outline,
    size: (f32, f32),
}

/// Pairs outlines with the sizes of their labels.
fn items<'a>(outlines: &'a [Outline], sizes: &[(f32, f32)]) -> Vec<Item<'a>> {
    let pairs = outlines.iter().zip(sizes).enumerate();
    pairs
        .map(|(index, (outline, &size))| Item {
            index,
            outline,
            size,
        })
        .collect()
}

/// Puts places back into the order of the regions.
fn in_order(mut placed: Vec<(usize, Placed)>) -> Vec<Placed> {
    placed.sort_by_key(|&(index, _)| index);
    placed.into_iter().map(|(_, place)| place).collect()
}

/// All labels on the picture; `None` where one finds no place.
fn on_picture(
    (width, height): (f32, f32),
    outlines: &[Outline],
    sizes: &[(f32, f32)],
) -> Option<Vec<Placed>> {
    let picture = Area::new(0.0, 0.0, width, height);
    let mut items = items(outlines, sizes);
    // The ones with the fewest free places choose first.
    items.sort_by_key(|item| {
        beside(item)
            .filter(|area| stands_clear(item, area, &picture, outlines, CLEAR))
            .count()
    });
    let mut placed: Vec<(usize, Placed)> = Vec::with_capacity(items.len());
    for item in &items {
        let found = directly(item, &picture, outlines, &placed)
            .or_else(|| with_leader(item, &picture, outlines, &placed))?;
        placed.push((item.index, found));
    }
    Some(in_order(placed))
}

/// Places that touch the box around a region, best first: right, left, above, below; level with its middle, top, bottom.
fn beside(item: &Item<'_>) -> impl Iterator<Item = Area> + use<> {
    let (bounds, (width, height)) = (item.outline.bounds, item.size);
    let centre = bounds.centre();
    let rows = [
        centre.y - height / 2.0,
        bounds.top,
        bounds.bottom() - height,
    ];
    let columns = [centre.x - width / 2.0, bounds.left, bounds.right() - width];
    let sides = [bounds.right() + GAP, bounds.left - GAP - width];
    let ends = [bounds.top - GAP - height, bounds.bottom() + GAP];
    let level = sides
        .into_iter()
        .flat_map(move |left| rows.map(|top| (left, top)));
    let stacked = ends
        .into_iter()
        .flat_map(move |top| columns.map(|left| (left, top)));
    level
        .chain(stacked)
        .map(move |(left, top)| Area::new(left.round(), top.round(), width, height))
}

/// Whether a place is inside the picture, off the label's own region, and at a distance from all others.
fn stands_clear(
    item: &Item<'_>,
    area: &Area,
    picture: &Area,
    outlines: &[Outline],
    distance: f32,
) -> bool {
    picture.grown(-4.0).holds(area)
        && outlines.iter().enumerate().all(|(index, outline)| {
            let distance = if index == item.index { 2.0 } else { distance };
            !outline.meets(&area.grown(distance))
        })
}

/// Whether a place keeps off the labels and leaders that are there already.
fn is_free(area: &Area, placed: &[(usize, Placed)]) -> bool {
    placed.iter().all(|(_, other)| {
        !other.area.overlaps(&area.grown(GAP))
            && other
                .leader
                .is_none_or(|leader| !touches(leader, &area.grown(3.0)))
    })
}

fn directly(
    item: &Item<'_>,
    picture: &Area,
    outlines: &[Outline],
    placed: &[(usize, Placed)],
) -> Option<Placed> {
    if item.outline.is_loose() {
        // The box around a slanting line is no place to stand beside: a leader tells more.
        return None;
    }
    beside(item)
        .find(|area| stands_clear(item, area, picture, outlines, CLEAR) && is_free(area, placed))
        .map(|area| Placed { area, leader: None })
}

/// The nearest free place from which a leader reaches the region without crossing other labels and leaders.
fn with_leader(
    item: &Item<'_>,
    picture: &Area,
    outlines: &[Outline],
    placed: &[(usize, Placed)],
) -> Option<Placed> {
    let (width, height) = item.size;
    let reach = 0.4 * picture.width.hypot(picture.height);
    let step = (picture.width / 64.0).max(8.0);
    let columns = ((picture.width - width) / step).max(0.0) as usize;
    let rows = ((picture.height - height) / step).max(0.0) as usize;
    let mut free: Vec<(f32, Area)> = (0..=rows)
        .flat_map(|row| (0..=columns).map(move |column| (row, column)))
        .map(|(row, column)| {
            let (left, top) = (column as f32 * step + 4.0, row as f32 * step + 4.0);
            let area = Area::new(left.round(), top.round(), width, height);
            let centre = item.outline.bounds.centre();
            (area.nearest(centre).distance(centre), area)
        })
        .filter(|(distance, area)| {
            *distance < reach
                && stands_clear(item, area, picture, outlines, GAP)
                && is_free(area, placed)
        })
        .collect();
    free.sort_by(|a, b| a.0.total_cmp(&b.0));
    free.into_iter().take(200).find_map(|(_, area)| {
        let leader = leader(&area.side_middles(), item.outline);
        let passes = placed.iter().all(|(_, other)| {
            !touches(leader, &other.area.grown(3.0))
                && other.leader.is_none_or(|line| !cross(line, leader))
        });
        passes.then_some(Placed {
            area,
            leader: Some(leader),
        })
    })
}

/// The shortest line from one of some points to an outline.
fn leader(from: &[Point], outline: &Outline) -> [Point; 2] {
    from.iter()
        .map(|&start| [start, outline.nearest(start)])
        .min_by(|[a, b], [c, d]| a.distance(*b).total_cmp(&c.distance(*d)))
        .unwrap_or([outline.bounds.centre(); 2])
}

/// All labels in two columns beside the picture.
fn in_margins(
    (width, height): (f32, f32),
    outlines: &[Outline],
    sizes: &[(f32, f32)],
) -> Placement {
    let (left, right) = sides(items(outlines, sizes), width, height);
    let tall = |side: &[Item<'_>]| {
        let labels: f32 = side.iter().map(|item| item.size.1 + STACK_GAP).sum();
        labels - STACK_GAP
    };
    let wide = |side: &[Item<'_>]| {
        let widest = side.iter().map(|item| item.size.0).fold(0.0, f32::max);
        if side.is_empty() {
            0.0
        } else {
            widest + GUTTER
        }
    };
    let height = height.max(tall(&left)).max(tall(&right));
    let (left_width, right_width) = (wide(&left), wide(&right));
    let mut labels = column(left, height, |size| (-GUTTER - size, -GUTTER));
    labels.extend(column(right, height, |_| (width + GUTTER, width + GUTTER)));
    Placement {
        labels: in_order(labels),
        left: left_width,
        right: right_width,
        height,
    }
}

/// Each label to the side its region is nearer to; where one column would be much taller than the picture, the regions
/// nearest to the middle change sides.
fn sides(mut items: Vec<Item<'_>>, width: f32, height: f32) -> (Vec<Item<'_>>, Vec<Item<'_>>) {
    let middle = |item: &Item<'_>| item.outline.bounds.centre().x;
    items.sort_by(|a, b| middle(a).total_cmp(&middle(b)));
    let tall = |side: &[Item<'_>]| side.iter().map(|item| item.size.1 + STACK_GAP).sum::<f32>();
    let room = (height + STACK_GAP).max(tall(&items) / 2.0);
    let mut cut = items.partition_point(|item| middle(item) < width / 2.0);
    let taller = |cut: usize| {
        let (left, right) = items.split_at(cut.min(items.len()));
        (tall(left), tall(right))
    };
    while cut > 0 && taller(cut).0 > room && taller(cut - 1).1 <= taller(cut).0 {
        cut -= 1;
    }
    while cut < items.len() && taller(cut).1 > room && taller(cut + 1).0 <= taller(cut).1 {
        cut += 1;
    }
    let right = items.split_off(cut.min(items.len()));
    (items, right)
}

/// Stacks labels in a column, level with their regions as far as that goes, so that leaders do not cross.
///
/// `span` gives, for a label's width, its left edge and the edge that faces the picture.
fn column(
    mut side: Vec<Item<'_>>,
    height: f32,
    span: impl Fn(f32) -> (f32, f32),
) -> Vec<(usize, Placed)> {
    side.sort_by(|a, b| {
        let level = |item: &Item<'_>| item.outline.bounds.centre().y;
        level(a).total_cmp(&level(b))
    });
    let draw = |side: &[Item<'_>]| -> Vec<(usize, Placed)> {
        let tops = stacked(side, height);
        let places = side.iter().zip(tops).map(|(item, top)| {
            let (left, facing) = span(item.size.0);
            let area = Area::new(left, top, item.size.0, item.size.1);
            let start = Point::new(facing, area.centre().y);
            let leader = Some(leader(&[start], item.outline));
            (item.index, Placed { area, leader })
        });
        places.collect()
    };
    // Neighbours whose leaders cross change places: that shortens both, so it ends; the count is a belt to the braces.
    for _ in 0..side.len() * side.len() {
        let drawn = draw(&side);
        let leaders = drawn.iter().map(|(_, placed)| placed.leader);
        let crossing = leaders
            .clone()
            .zip(leaders.skip(1))
            .position(|(a, b)| a.zip(b).is_some_and(|(a, b)| cross(a, b)));
        match crossing {
            Some(at) => side.swap(at, at + 1),
            None => return drawn,
        }
    }
    draw(&side)
}

/// The tops of labels in a column of a height: each level with its region, pushed apart where they would touch.
fn stacked(side: &[Item<'_>], height: f32) -> Vec<f32> {
    let mut floor = 0.0_f32;
    let mut tops: Vec<f32> = side
        .iter()
        .map(|item| {
            let top = (item.outline.bounds.centre().y - item.size.1 / 2.0)
                .max(floor)
                .round();
            floor = top + item.size.1 + STACK_GAP;
            top
        })
        .collect();
    let mut ceiling = height;
    for (top, item) in tops.iter_mut().zip(side).rev() {
        *top = top.min(ceiling - item.size.1).max(0.0);
        ceiling = *top - STACK_GAP;
    }
    tops
}
