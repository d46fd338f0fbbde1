//! The bar's colours as a line through a space of colours, and the nearest point on it: the exact search.

use super::bar::Profile;
use super::lab::{self, LEVEL, Lab, Levels, Space};

/// The bar as a line: a node for each different colour along it.
#[derive(Debug, Clone)]
pub(super) struct Locus {
    /// The space that it lies in.
    pub(super) space: Space,
    /// The levels of each node.
    levels: Vec<Levels>,
    /// Where each node is in it.
    pub(super) labs: Vec<Lab>,
    /// Its place along the bar, 0 at the cold end and 1 at the hot one.
    pub(super) places: Vec<f32>,
    /// Half of how far its colour reaches along the bar: at least half a pixel.
    pub(super) halves: Vec<f32>,
    /// Farthest from the line that a colour still belongs to the bar, by segment.
    pub(super) limits: Vec<f32>,
    /// Two parts of the line nearer than this to a colour, one as near as the other within it, look alike.
    pub(super) margin: f32,
    /// The same for the mean colour of many pixels.
    pub(super) mean_margin: f32,
    /// Length from the cold end to each node.
    lengths: Vec<f32>,
}

/// The point of the line that is nearest to a colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Nearest {
    /// Its place along the bar.
    pub(super) place: f32,
    /// How far the colour lies from it.
    pub(super) distance: f32,
    /// Whether it is near enough to belong to the bar.
    pub(super) on_bar: bool,
    /// Another place, far along the bar, that is as near.
    pub(super) other: Option<f32>,
}

/// Parts of the bar nearer along it than this are one part: a colour between them is no riddle.
const SEPARATE: f32 = 0.04;

impl Locus {
    /// Of a bar's profile. Steps of one colour become one node in their middle.
    pub(super) fn of(profile: &Profile) -> Self {
        let steps = (profile.levels.len().max(2) - 1) as f32;
        let (mut labs, mut places, mut halves) = (Vec::new(), Vec::new(), Vec::new());
        let mut levels = Vec::new();
        let mut start = 0;
        while let Some(&colour) = profile.levels.get(start) {
            let same = profile.levels.iter().skip(start).take_while(|&&next| {
                let apart = |at: usize| (next[at] - colour[at]).abs();
                apart(0).max(apart(1)).max(apart(2)) < 0.05
            });
            let count = same.count().max(1);
            levels.push(colour);
            labs.push(profile.space.of_levels(colour));
            places.push((start as f32 + (count - 1) as f32 / 2.0) / steps);
            halves.push(count as f32 / 2.0 / steps);
            start += count;
        }
        let spans: Vec<f32> = labs.windows(2).map(|w| lab::distance(w[0], w[1])).collect();
        // Between two pixels of the bar the true line may bend: half as far as they are apart at a right angle.
        let base = 2.5 * LEVEL + 6.0 * profile.pixel_noise;
        let limits = spans.iter().map(|span| base + 0.5 * span).collect();
        let mut lengths = vec![0.0];
        for span in &spans {
            lengths.push(lengths.last().copied().unwrap_or(0.0) + span);
        }
        // Corners between two pixels of a bar of a compressed picture are smoothed by a part of how far those are apart.
        let usual = spans.iter().sum::<f32>() / spans.len().max(1) as f32;
        let unsure = match profile.space {
            Space::Plain => 1.5 * LEVEL,
            Space::Stored(_) => 1.5 * LEVEL + 0.25 * usual,
        };
        Self {
            space: profile.space,
            levels,
            labs,
            places,
            halves,
            limits,
            margin: unsure + 5.0 * profile.pixel_noise,
            mean_margin: unsure + 4.0 * profile.noise,
            lengths,
        }
    }

    /// How many segments it has.
    pub(super) fn segments(&self) -> usize {
        self.labs.len().saturating_sub(1)
    }

    /// Its whole length.
    pub(super) fn length(&self) -> f32 {
        self.lengths.last().copied().unwrap_or(0.0)
    }

    /// The greatest limit of any segment.
    pub(super) fn greatest_limit(&self) -> f32 {
        self.limits.iter().copied().fold(0.0, f32::max)
    }

    /// Share along a segment of the point nearest to a colour, and how far that is.
    pub(super) fn to_segment(&self, segment: usize, colour: Lab) -> (f32, f32) {
        let (from, to) = (self.labs[segment], self.labs[segment + 1]);
        let along = lab::minus(to, from);
        let squared = lab::dot(along, along);
        let share = if squared > 0.0 {
            (lab::dot(lab::minus(colour, from), along) / squared).clamp(0.0, 1.0)
        } else {
            0.5
        };
        (share, lab::distance(colour, lab::between(from, to, share)))
    }

    fn place(&self, segment: usize, share: f32) -> f32 {
        let (from, to) = (self.places[segment], self.places[segment + 1]);
        from + share * (to - from)
    }

    /// Length from the cold end to a point.
    fn length_at(&self, segment: usize, share: f32) -> f32 {
        let (from, to) = (self.lengths[segment], self.lengths[segment + 1]);
        from + share * (to - from)
    }

    /// The nearest point among some segments, which must hold every one that can be nearest within the margin.
    pub(super) fn nearest(&self, segments: &[u16], colour: Lab, margin: f32) -> Nearest {
        let mut best = (0_usize, 0.0_f32, f32::INFINITY);
        for &segment in segments {
            let segment = usize::from(segment);
            let (share, distance) = self.to_segment(segment, colour);
            if distance < best.2 {
                best = (segment, share, distance);
            }
        }
        let (segment, share, distance) = best;
        if !distance.is_finite() {
            return Nearest {
                place: 0.0,
                distance,
                on_bar: false,
                other: None,
            };
        }
        Nearest {
            place: self.place(segment, share),
            distance,
            on_bar: distance <= self.limits[segment],
            other: self.other(segments, colour, best, margin),
        }
    }

    /// The nearest place that is far along the bar and reached only by leaving the colour's surroundings.
    fn other(
        &self,
        segments: &[u16],
        colour: Lab,
        best: (usize, f32, f32),
        margin: f32,
    ) -> Option<f32> {
        let (segment, share, distance) = best;
        let (place, length) = (self.place(segment, share), self.length_at(segment, share));
        let mut found: Option<(f32, f32)> = None;
        for &candidate in segments {
            let candidate = usize::from(candidate);
            let (share, away) = self.to_segment(candidate, colour);
            let there = self.place(candidate, share);
            let far = (there - place).abs() > SEPARATE
                && (self.length_at(candidate, share) - length).abs() > 4.0 * margin;
            if far && away <= distance + margin && found.is_none_or(|(nearest, _)| away < nearest) {
                found = Some((away, there));
            }
        }
        found.map(|(_, there)| there)
    }

    /// How fast the colour changes at a place: distance over a whole bar. Taken over two steps to each side, so that a single
    /// even step does not make it vanish.
    pub(super) fn slope(&self, place: f32) -> f32 {
        let reach = 2.0 / self.places.len().max(2) as f32;
        let (from, to) = ((place - reach).max(0.0), (place + reach).min(1.0));
        lab::distance(self.at(from), self.at(to)) / (to - from).max(1e-6)
    }

    /// The direction in which the colour changes at a place, of length 1.
    pub(super) fn direction(&self, place: f32) -> Lab {
        let reach = 2.0 / self.places.len().max(2) as f32;
        let (from, to) = ((place - reach).max(0.0), (place + reach).min(1.0));
        let step = lab::minus(self.at(to), self.at(from));
        let length = lab::dot(step, step).sqrt().max(1e-9);
        step.map(|part| part / length)
    }

    /// The colour at a place.
    pub(super) fn at(&self, place: f32) -> Lab {
        self.mixed(&self.labs, place)
    }

    /// The levels at a place.
    pub(super) fn levels_at(&self, place: f32) -> Levels {
        self.mixed(&self.levels, place)
    }

    fn mixed(&self, nodes: &[[f32; 3]], place: f32) -> [f32; 3] {
        let next = self.places.partition_point(|&at| at < place);
        let next = next.clamp(1, self.places.len().saturating_sub(1).max(1));
        let (Some(&from), Some(&to)) = (self.places.get(next - 1), self.places.get(next)) else {
            return nodes.first().copied().unwrap_or_default();
        };
        let share = ((place - from) / (to - from).max(1e-9)).clamp(0.0, 1.0);
        lab::between(nodes[next - 1], nodes[next], share)
    }

    /// Half of how far the colour at a place reaches along the bar.
    pub(super) fn half(&self, place: f32) -> f32 {
        let next = self.places.partition_point(|&at| at < place);
        let near = |at: usize| self.halves.get(at).copied().unwrap_or(0.0);
        near(next.saturating_sub(1)).max(near(next))
    }
}
