//! Finding the bar: a thin strip whose colours change along it and hardly across, and which explains the picture's colours.

mod border;
mod ends;
mod exact;
mod fit;
mod settle;
mod sides;
mod strip;

use std::collections::HashMap;

use super::bar::{self, BarBox};
use super::cube::Cube;
use super::decode::Colours;
use super::lab::Space;
use super::locus::Locus;
use crate::load::LoadError;
use crate::session::LowEnd;
use settle::settled;
use strip::View;

/// A bar that was found.
pub(super) struct Found {
    pub(super) bar: BarBox,
    /// Where it is and how sure that is, in a sentence.
    pub(super) words: String,
}

/// What neighbours of one colour may differ by in a picture without loss: a level.
const ALIKE: f32 = 0.004;

/// The same in a compressed one.
const ALIKE_LOSSY: f32 = 0.035;

/// Most pixels of a picture that is searched.
const LARGEST: usize = 40_000_000;

/// How many pixels are asked whether a strip explains them.
const ASKED: usize = 4000;

/// Least share of the picture's colours that its bar explains.
const EXPLAINED: f64 = 0.5;

/// The same of a bar whose ends are told by fitting: any strip of a smooth scene ends somewhere.
const MUCH: f64 = 0.7;

/// A rival that explains this much of what the best one does is as good.
const AS_GOOD: f64 = 0.9;

/// A strip that explains this much of what another one does explains as much.
const AS_MUCH: f64 = 0.97;

/// No colour counts for more than this part of all pixels: paper and frames are no temperatures.
const PAPER: usize = 25;

struct Candidate {
    bar: BarBox,
    sure: bool,
    explained: f64,
}

/// Finds the bar.
///
/// # Errors
/// None, one whose ends are not sure, or two as good as each other.
pub(super) fn find(colours: &Colours) -> Result<Found, LoadError> {
    if colours.pixels.len() > LARGEST {
        return Err(unsure(
            "the picture is too large to look for its bar".to_owned(),
        ));
    }
    let lossy = colours.loss.is_some();
    let labs = colours.pixels.mapv(|pixel| Space::Plain.of(pixel));
    let luma = colours
        .pixels
        .mapv(|pixel| super::lab::to_ycc(pixel.map(f32::from))[0] / 255.0);
    let alike = if lossy { ALIKE_LOSSY } else { ALIKE };
    let asked = asked(colours);
    let with = |pieces: bool| {
        let views = [false, true].map(|lying| View {
            labs: &labs,
            pixels: &colours.pixels,
            loss: colours.loss,
            luma: &luma,
            lying,
            alike,
            pieces,
        });
        candidates(colours, &views, &asked)
    };
    // Pieces only where whole strips do not tell: a bar may have jumps of its own.
    choose(colours, &with(false)).or_else(|error| choose(colours, &with(true)).map_err(|_| error))
}

/// The strips of some views that explain the picture's colours, the best first.
fn candidates(colours: &Colours, views: &[View<'_>], asked: &[[usize; 2]]) -> Vec<Candidate> {
    let strips = views.iter().flat_map(|view| {
        let strips = view.strips().into_iter();
        strips.filter_map(|strip| {
            let explained = explained(colours, strip.bar(view.lying), asked);
            let strip = match (explained, view.loss) {
                (EXPLAINED.., None) => exact::followed(view, strip),
                (MUCH.., Some(loss)) => settled(view, strip, loss),
                (EXPLAINED.., Some(_)) => strip,
                _ => return None,
            };
            Some(Candidate {
                bar: strip.bar(view.lying),
                sure: strip.sure == [true; 2],
                explained,
            })
        })
    });
    let mut candidates: Vec<Candidate> = strips.collect();
    candidates.sort_by(|a, b| {
        let length = |one: &Candidate| one.bar.size().0;
        b.explained
            .total_cmp(&a.explained)
            .then(b.sure.cmp(&a.sure))
            .then(length(b).cmp(&length(a)))
    });
    candidates
}

/// The least share of the picture's colours that a stated bar has to hold.
const LEAST: f64 = 0.25;

/// Checks that a stated box holds the picture's palette.
///
/// # Errors
/// It explains hardly any of the picture's colours.
pub(super) fn check(colours: &Colours, bar: BarBox, locus: &Locus) -> Result<(), LoadError> {
    let share = explained_by(locus, colours, bar, &asked(colours));
    if share >= LEAST {
        return Ok(());
    }
    Err(LoadError::new(
        format!(
            "the colour bar at {:?} holds only {:.0} % of the picture's colours",
            bar.rectangle(),
            100.0 * share
        ),
        "Check the bar's box: x, y, width and height of the coloured strip alone, or write colour-bar = \"find\".",
    ))
}

/// The best strip; of those on one another that explain as much the longest one whose ends are sure.
fn best(candidates: &[Candidate]) -> Option<&Candidate> {
    let first = candidates.first()?;
    let as_good = candidates.iter().filter(|other| {
        other.sure && overlap(first.bar, other.bar) && other.explained >= AS_MUCH * first.explained
    });
    as_good
        .max_by_key(|other| other.bar.size().0)
        .or(Some(first))
}

fn choose(colours: &Colours, candidates: &[Candidate]) -> Result<Found, LoadError> {
    let Some(best) = best(candidates) else {
        return Err(unsure(
            "no colour bar was found: no thin strip explains the picture's colours".to_owned(),
        ));
    };
    let rival = candidates
        .iter()
        .find(|other| !overlap(best.bar, other.bar) && !is_part(colours, best.bar, other.bar));
    let percent = 100.0 * best.explained;
    if let Some(rival) = rival.filter(|rival| rival.explained >= AS_GOOD * best.explained) {
        return Err(unsure(format!(
            "two strips could be the colour bar: {:?} explains {percent:.0} % of the picture's colours and {:?} {:.0} %",
            best.bar.rectangle(),
            rival.bar.rectangle(),
            100.0 * rival.explained
        )));
    }
    if !best.sure {
        return Err(LoadError::new(
            format!(
                "the colour bar near {:?} cannot be told from what lies beyond its end",
                best.bar.rectangle()
            ),
            "Look up both its ends in the picture, and write its box: colour-bar = [x, y, width, height], the coloured strip alone, in pixels of the picture. The one told here may be too long or too short.",
        ));
    }
    let next = rival.map_or(String::new(), |rival| {
        format!(
            "; the next best strip explains {:.0} %",
            100.0 * rival.explained
        )
    });
    Ok(Found {
        bar: best.bar,
        words: format!(
            "the colour bar was found at {:?} (x, y, width, height): it explains {percent:.0} % of the picture's colours{next}",
            best.bar.rectangle()
        ),
    })
}

fn unsure(what: String) -> LoadError {
    LoadError::new(
        what,
        "Write its box: colour-bar = [x, y, width, height], the coloured strip alone, in pixels of the picture.",
    )
}

/// Whether another strip holds a part of a bar's colours only, and hardly any others: a stretch of the scene.
fn is_part(colours: &Colours, bar: BarBox, other: BarBox) -> bool {
    let places = |of: BarBox| -> Vec<[usize; 2]> {
        let ([left, top], [right, bottom]) = (of.from, of.to);
        let rows = (top..bottom).step_by(((bottom - top) / 60).max(1));
        rows.flat_map(|row| {
            let columns = (left..right).step_by(((right - left) / 60).max(1));
            columns.map(move |column| [row, column])
        })
        .collect()
    };
    explained(colours, bar, &places(other)) >= 0.9 && explained(colours, other, &places(bar)) < 0.8
}

fn overlap(one: BarBox, other: BarBox) -> bool {
    (0..2).all(|axis| one.from[axis] < other.to[axis] && other.from[axis] < one.to[axis])
}

/// Pixels spread over the picture, few of any one colour.
fn asked(colours: &Colours) -> Vec<[usize; 2]> {
    let (rows, columns) = colours.pixels.dim();
    let step = (((rows * columns) as f64 / ASKED as f64)
        .sqrt()
        .floor()
        .max(1.0)) as usize;
    let places: Vec<[usize; 2]> = (step / 2..rows)
        .step_by(step)
        .flat_map(|row| {
            (step / 2..columns)
                .step_by(step)
                .map(move |column| [row, column])
        })
        .collect();
    let coarse = colours.loss.is_some();
    let key = |place: [usize; 2]| {
        let pixel = colours.pixels.get(place).copied().unwrap_or_default();
        if coarse {
            pixel.map(|level| level / 6)
        } else {
            pixel
        }
    };
    let mut often: HashMap<[u8; 3], usize> = HashMap::new();
    let limit = places.len() / PAPER;
    places
        .into_iter()
        .filter(|&place| {
            let count = often.entry(key(place)).or_default();
            *count += 1;
            *count <= limit
        })
        .collect()
}

/// The share of the asked pixels outside the strip whose colours it holds.
fn explained(colours: &Colours, bar: BarBox, asked: &[[usize; 2]]) -> f64 {
    let cold = if bar.upright() {
        LowEnd::Bottom
    } else {
        LowEnd::Left
    };
    let (length, breadth) = bar.size();
    if !(bar::SHORTEST..=bar::LONGEST).contains(&length) || breadth < bar::NARROWEST {
        return 0.0;
    }
    let profile = bar::profile(colours.compared(), bar, cold, colours.loss);
    // Whatever is uneven enough explains anything.
    if profile.is_uneven() {
        return 0.0;
    }
    explained_by(&Locus::of(&profile), colours, bar, asked)
}

/// The share of the asked pixels outside the strip whose colours lie on a line.
fn explained_by(locus: &Locus, colours: &Colours, bar: BarBox, asked: &[[usize; 2]]) -> f64 {
    let mut cube = Cube::new(locus);
    let (mut on, mut total) = (0_usize, 0_usize);
    for &[row, column] in asked {
        let inside =
            (bar.from[1]..bar.to[1]).contains(&row) && (bar.from[0]..bar.to[0]).contains(&column);
        if inside {
            continue;
        }
        total += 1;
        let pixel = colours
            .compared()
            .get([row, column])
            .copied()
            .unwrap_or_default();
        on += usize::from(cube.nearest(pixel).on_bar);
    }
    if total == 0 {
        0.0
    } else {
        on as f64 / total as f64
    }
}
