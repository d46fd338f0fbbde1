//! Labels in two columns beside the picture, where they do not fit on it.

use super::geometry::{Area, Point, cross};
use super::place::{Item, Placed, Placement, in_order, leader};

/// Between the picture and labels in its margin: room for leaders to fan out.
const GUTTER: f32 = 36.0;
/// Most exchanges of two labels to uncross their leaders: enough for about thirty in the reverse order.
const MOST_SWAPS: usize = 400;
/// Between two labels in a margin.
const STACK_GAP: f32 = 8.0;

/// All labels in two columns beside the picture.
pub(super) fn in_margins((width, height): (f32, f32), items: Vec<Item<'_>>) -> Placement {
    let (left, right) = sides(items, width, height);
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
    for _ in 0..MOST_SWAPS {
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
