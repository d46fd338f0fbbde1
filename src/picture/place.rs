//! Where labels go: on the picture beside their regions where all of them fit, else all in margins beside it.
//!
//! All or none, because a picture with some labels on it and some beside it is hard to read. Everything is in pixels of
//! the drawing from the picture's top left; labels in the left margin have negative x.

use super::geometry::{Area, Point, cross, touches};
use super::margin::in_margins;
use super::outline::Outline;

/// Between a label and its own region, and between two labels.
const GAP: f32 = 6.0;
/// Between a label without a leader and regions that are not its own, so that nobody doubts whose it is.
const CLEAR: f32 = 14.0;
/// A label without a leader is no further from its region's outline.
const NEAR: f32 = 3.0 * GAP;
/// Shortest leader: a shorter one hides below its own dot.
const SHORTEST: f32 = 14.0;
/// Outlines of more straight pieces in all are not searched for free places between them, which would take long.
const MOST_PIECES: usize = 4000;
/// Between a label and the picture's edge.
const EDGE: f32 = 4.0;

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
    let pieces: usize = outlines.iter().map(Outline::pieces).sum();
    let few = pieces <= MOST_PIECES;
    let on_picture = few.then(|| on_picture(picture, outlines, sizes)).flatten();
    match on_picture {
        Some(labels) => Placement {
            labels,
            left: 0.0,
            right: 0.0,
            height: picture.1,
        },
        None => in_margins(picture, items(outlines, sizes)),
    }
}

/// A label still to be placed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Item<'a> {
    /// Its place among the labels.
    pub(super) index: usize,
    pub(super) outline: &'a Outline,
    /// Width and height.
    pub(super) size: (f32, f32),
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
pub(super) fn in_order(mut placed: Vec<(usize, Placed)>) -> Vec<Placed> {
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
    // The fewer places a label has beside its region, the sooner it chooses; those that have none, such as a patch on a
    // tank, can stand anywhere and come last. Where that leaves one without a place, they come first.
    let places = |item: &Item<'_>| {
        let clear = |area: &Area| stands_clear(item, area, &picture, outlines, CLEAR);
        beside(item, &picture).filter(clear).count()
    };
    items.sort_by_cached_key(|item| places(item).wrapping_sub(1));
    let placed = in_turn(&items, &picture, outlines);
    placed.or_else(|| {
        items.sort_by_cached_key(places);
        in_turn(&items, &picture, outlines)
    })
}

/// Places labels on the picture one after the other; `None` where one finds no place.
fn in_turn(items: &[Item<'_>], picture: &Area, outlines: &[Outline]) -> Option<Vec<Placed>> {
    let mut placed: Vec<(usize, Placed)> = Vec::with_capacity(items.len());
    for item in items {
        let found = directly(item, picture, outlines, &placed)
            .or_else(|| with_leader(item, picture, outlines, &placed))?;
        placed.push((item.index, found));
    }
    Some(in_order(placed))
}

/// Places that touch the box around a region, best first: right, left, above, below; level with its middle, top, bottom,
/// pushed along the region into the picture.
fn beside(item: &Item<'_>, picture: &Area) -> impl Iterator<Item = Area> + use<> {
    let (bounds, (width, height)) = (item.outline.bounds, item.size);
    let centre = bounds.centre();
    let inside = |at: f32, room: f32| at.min(room - EDGE).max(EDGE);
    let rows = [
        centre.y - height / 2.0,
        bounds.top,
        bounds.bottom() - height,
    ]
    .map(|top| inside(top, picture.height - height));
    let columns = [centre.x - width / 2.0, bounds.left, bounds.right() - width]
        .map(|left| inside(left, picture.width - width));
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
    picture.grown(-EDGE).holds(area)
        && outlines.iter().enumerate().all(|(index, outline)| {
            let own = index == item.index;
            let distance = if own {
                distance.min(GAP) - 1.0
            } else {
                distance
            };
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

/// The first free place directly beside the region.
fn directly(
    item: &Item<'_>,
    picture: &Area,
    outlines: &[Outline],
    placed: &[(usize, Placed)],
) -> Option<Placed> {
    beside(item, picture)
        .filter(|area| {
            // The box around a slanting line is no place to stand beside: the outline must be near, too.
            leader_length(leader(&area.side_middles(), item.outline)) <= NEAR
        })
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
            let (left, top) = (column as f32 * step + EDGE, row as f32 * step + EDGE);
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
        let long = leader_length(leader) >= SHORTEST;
        let passes = long
            && placed.iter().all(|(_, other)| {
                !touches(leader, &other.area.grown(3.0))
                    && other.leader.is_none_or(|line| !cross(line, leader))
            });
        passes.then_some(Placed {
            area,
            leader: Some(leader),
        })
    })
}

fn leader_length([from, to]: [Point; 2]) -> f32 {
    from.distance(to)
}

/// The shortest line from one of some points to an outline.
pub(super) fn leader(from: &[Point], outline: &Outline) -> [Point; 2] {
    from.iter()
        .map(|&start| [start, outline.nearest(start)])
        .min_by(|[a, b], [c, d]| a.distance(*b).total_cmp(&c.distance(*d)))
        .unwrap_or([outline.bounds.centre(); 2])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::locate::shape::Shape;

    const WIDTH: f32 = 640.0;
    const HEIGHT: f32 = 480.0;

    /// Outlines on a picture of 160 × 120 pixels, enlarged four times.
    fn outlines(shapes: &[Shape]) -> Vec<Outline> {
        let outline = |shape| Outline::new(shape, 4.0, WIDTH, HEIGHT);
        shapes.iter().map(outline).collect()
    }

    fn shapes() -> impl Strategy<Value = Shape> {
        let xy = || (-10.0..170.0_f64, -10.0..130.0_f64);
        prop_oneof![
            (xy(), 1.0..80.0, 1.0..80.0).prop_map(|((x, y), w, h)| Shape::Rectangle([x, y, w, h])),
            (xy(), 1.0..40.0).prop_map(|((x, y), r)| Shape::Circle([x, y, r])),
            (xy(), 1.0..40.0, 1.0..40.0).prop_map(|((x, y), a, b)| Shape::Ellipse([x, y, a, b])),
            (xy(), xy()).prop_map(|((a, b), (c, d))| Shape::Line([[a, b], [c, d]])),
            xy().prop_map(|(x, y)| Shape::Point([x, y])),
            prop::collection::vec(xy().prop_map(|(x, y)| [x, y]), 3..7).prop_map(Shape::Polygon),
        ]
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(96))]

        #[test]
        fn labels_are_apart_and_inside(
            labels in prop::collection::vec((shapes(), 40.0..270.0_f32, 20.0..70.0_f32), 1..13),
        ) {
            let shapes: Vec<Shape> = labels.iter().map(|(shape, _, _)| shape.clone()).collect();
            let sizes: Vec<(f32, f32)> =
                labels.iter().map(|(_, w, h)| (w.ceil(), h.ceil())).collect();
            let seen = outlines(&shapes);
            let placement = place((WIDTH, HEIGHT), &seen, &sizes);
            prop_assert_eq!(placement.labels.len(), sizes.len());
            let on_picture = placement.left + placement.right == 0.0;
            let room = Area::new(
                -placement.left,
                0.0,
                placement.left + WIDTH + placement.right,
                placement.height,
            );
            for (index, label) in placement.labels.iter().enumerate() {
                prop_assert_eq!((label.area.width, label.area.height), sizes[index]);
                prop_assert!(room.holds(&label.area), "{:?} in {:?}", label, room);
                for other in &placement.labels[..index] {
                    prop_assert!(!label.area.overlaps(&other.area), "{:?} {:?}", label, other);
                }
                for outline in &seen {
                    prop_assert!(!outline.meets(&label.area), "{:?} covers {:?}", label, outline);
                }
                if let Some([from, to]) = label.leader {
                    prop_assert!(label.area.grown(0.5).nearest(from) == from);
                    prop_assert!(seen[index].nearest(to).distance(to) < 0.01);
                }
                if on_picture {
                    let crossed = placement.labels.iter().enumerate().any(|(at, other)| {
                        at != index && label.leader.is_some_and(|line| touches(line, &other.area))
                    });
                    prop_assert!(!crossed, "a leader runs below a label");
                } else {
                    let picture = Area::new(0.0, 0.0, WIDTH, HEIGHT);
                    prop_assert!(!picture.overlaps(&label.area));
                }
            }
        }
    }

    #[test]
    fn a_lone_region_has_its_label_directly_beside_it() {
        let seen = outlines(&[Shape::Rectangle([20.0, 30.0, 20.0, 50.0])]);
        let placement = place((WIDTH, HEIGHT), &seen, &[(120.0, 60.0)]);
        let label = placement.labels[0];
        assert_eq!(label.leader, None);
        assert_eq!(label.area.left, 160.0 + GAP);
    }

    #[test]
    fn a_patch_on_a_tank_is_pointed_at_from_beside_the_tank() {
        let seen = outlines(&[
            Shape::Rectangle([20.0, 30.0, 30.0, 60.0]),
            Shape::Circle([35.0, 50.0, 6.0]),
        ]);
        let placement = place((WIDTH, HEIGHT), &seen, &[(120.0, 60.0); 2]);
        assert_eq!(placement.left + placement.right, 0.0);
        assert_eq!(placement.labels[0].leader, None);
        let [_, to] = placement.labels[1].leader.unwrap();
        assert!((to.distance(Point::new(140.0, 200.0)) - 24.0).abs() < 0.2);
    }

    #[test]
    fn where_regions_fill_the_picture_labels_stand_in_the_margins() {
        let halves = [
            Shape::Rectangle([0.0, 0.0, 80.0, 120.0]),
            Shape::Rectangle([80.0, 0.0, 80.0, 120.0]),
        ];
        let placement = place((WIDTH, HEIGHT), &outlines(&halves), &[(120.0, 60.0); 2]);
        assert!(placement.left > 120.0 && placement.right > 120.0);
        assert!(placement.labels[0].area.right() < 0.0);
        assert!(placement.labels[1].area.left > WIDTH);
    }

    #[test]
    fn margin_leaders_of_one_side_do_not_cross() {
        let shapes: Vec<Shape> = (0..8)
            .map(|i| {
                Shape::Circle([
                    10.0 + 60.0 * f64::from(i % 2),
                    10.0 + 12.0 * f64::from(i),
                    3.0,
                ])
            })
            .chain([Shape::Rectangle([0.0, 0.0, 160.0, 120.0])])
            .collect();
        let placement = place((WIDTH, HEIGHT), &outlines(&shapes), &[(150.0, 62.0); 9]);
        let left = placement
            .labels
            .iter()
            .filter(|label| label.area.left < 0.0);
        let leaders: Vec<_> = left.filter_map(|label| label.leader).collect();
        assert!(leaders.len() > 3);
        for (index, &a) in leaders.iter().enumerate() {
            for &b in &leaders[index + 1..] {
                assert!(!cross(a, b), "{a:?} {b:?}");
            }
        }
    }
}
