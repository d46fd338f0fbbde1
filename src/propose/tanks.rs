//! Which areas look most like the two tanks of a cooler.

use super::areas::Area;
use super::field::Field;

/// Pieces of one tank lie in one line: their sides across it share at least so much of both.
const IN_LINE: f64 = 0.5;

/// Pieces of one tank are of about one temperature: within this share of the picture's span.
const ALIKE: f64 = 0.08;

/// Pieces of one tank are of about one size: the smaller is at least this share of the larger.
const LIKE_SIZED: f64 = 0.4;

/// Two tanks have at least so much of their length opposite each other.
const OPPOSITE: f64 = 0.4;

/// Areas of one tank, by their numbers, and the box around them.
struct Group {
    members: Vec<usize>,
    from: [usize; 2],
    to: [usize; 2],
    pixels: usize,
    mean: f64,
    distinct: f64,
}

/// The areas of the hotter and of the colder tank; `None` where no two groups of areas look like tanks.
pub(super) fn choose(areas: &[Area], field: &Field) -> Option<[Vec<Area>; 2]> {
    let groups = groups(areas, field);
    let pairs = groups
        .iter()
        .enumerate()
        .flat_map(|(index, one)| groups.iter().skip(index + 1).map(move |other| [one, other]));
    let (_, [one, other]) = pairs
        .filter(|[one, other]| !one.members.iter().any(|area| other.members.contains(area)))
        .filter_map(|pair| Some((likeness(pair)?, pair)))
        .max_by(|(one, _), (other, _)| one.total_cmp(other))?;
    let of = |group: &Group| -> Vec<Area> {
        let members = group.members.iter();
        members
            .filter_map(|&area| areas.get(area).cloned())
            .collect()
    };
    Some(if one.mean >= other.mean {
        [of(one), of(other)]
    } else {
        [of(other), of(one)]
    })
}

/// Every area alone, and pieces that lie in a column or a row and are alike.
fn groups(areas: &[Area], field: &Field) -> Vec<Group> {
    let mut groups: Vec<Group> = (0..areas.len())
        .map(|index| group(areas, vec![index]))
        .collect();
    for across in 0..2 {
        for (index, first) in areas.iter().enumerate() {
            let members: Vec<usize> = areas
                .iter()
                .enumerate()
                .filter(|(other, area)| *other == index || pieces(first, area, across, field))
                .map(|(other, _)| other)
                .collect();
            if members.len() > 1 && !groups.iter().any(|group| group.members == members) {
                groups.push(group(areas, members));
            }
        }
    }
    groups
}

fn pieces(one: &Area, other: &Area, across: usize, field: &Field) -> bool {
    let sizes = [one.pixels(), other.pixels()].map(|pixels| pixels as f64);
    shared([one.from, other.from], [one.to, other.to], across) >= IN_LINE
        && (one.mean - other.mean).abs() <= ALIKE * field.span
        && sizes[0].min(sizes[1]) >= LIKE_SIZED * sizes[0].max(sizes[1])
        && one.distinct.min(other.distinct) >= 1.0
}

fn group(areas: &[Area], members: Vec<usize>) -> Group {
    let chosen = || members.iter().filter_map(|&index| areas.get(index));
    let pixels: usize = chosen().map(Area::pixels).sum();
    let mean = chosen()
        .map(|area| area.mean * area.pixels() as f64)
        .sum::<f64>();
    let side = |axis: usize| {
        let from = chosen().map(|area| area.from[axis]).min().unwrap_or(0);
        let to = chosen().map(|area| area.to[axis]).max().unwrap_or(0);
        (from, to)
    };
    let ((left, right), (top, bottom)) = (side(0), side(1));
    Group {
        from: [left, top],
        to: [right, bottom],
        pixels,
        mean: mean / pixels.max(1) as f64,
        distinct: chosen().map(|area| area.distinct).fold(1.0, f64::min),
        members,
    }
}

/// How much two groups look like two tanks: the smaller one's size, less where they are not opposite each other or do not
/// stand out. `None`: not at all.
fn likeness([one, other]: [&Group; 2]) -> Option<f64> {
    let ends = ([one.from, other.from], [one.to, other.to]);
    let apart = |axis: usize| one.to[axis] <= other.from[axis] || other.to[axis] <= one.from[axis];
    let opposite = (0..2)
        .filter(|&axis| apart(axis))
        .map(|axis| shared(ends.0, ends.1, 1 - axis))
        .fold(0.0, f64::max);
    let size = one.pixels.min(other.pixels) as f64;
    (opposite >= OPPOSITE).then_some(size * opposite * one.distinct * other.distinct)
}

/// What two boxes share along an axis, as a share of what they cover together.
fn shared(from: [[usize; 2]; 2], to: [[usize; 2]; 2], axis: usize) -> f64 {
    let [one, other] = [0, 1].map(|index: usize| (from[index][axis], to[index][axis]));
    let both = one.1.min(other.1).saturating_sub(one.0.max(other.0));
    let either = one.1.max(other.1) - one.0.min(other.0);
    both as f64 / either.max(1) as f64
}
