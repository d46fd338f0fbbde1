//! The pictures of a folder, and what each says of itself.

use std::collections::BTreeMap;
use std::io;
use std::path::Path;

use rayon::prelude::*;

use super::names;
use crate::load::{self, Captured, LoadError, Scale, ThermalImage, Wanted};
use crate::picture::{self, GridRegion, PictureError};
use crate::pipeline::read_bounded;
use crate::propose::{self, Proposal};
use crate::session::{BarLaw, ColourBar, Declared, Pixels};
use crate::units::{Dimension, Law};

/// How the drawings that are written beside the pictures end.
pub(super) const GRID: &str = "-grid.png";

/// A smaller picture shows no tanks, pixels a side: it is a table of numbers.
const SMALLEST: usize = 8;

/// A picture for the session.
#[derive(Debug)]
pub(super) struct Found {
    /// Its name in the folder.
    pub file: String,
    /// What its numbers or colours mean.
    pub meaning: Meaning,
    /// When it was taken.
    pub captured: Option<Captured>,
    /// Where its tanks may be.
    pub regions: Vec<Proposal>,
    /// The name of its drawing.
    pub grid: String,
    /// The drawing, PNG.
    pub drawing: Vec<u8>,
}

/// What is known of a picture's numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Meaning {
    /// Temperatures in a unit, which was inferred, and how.
    Unit(&'static str, String),
    /// Numbers of a container that does not say what they mean, and what they may mean.
    Unknown {
        /// In words.
        container: String,
        /// What to write.
        mend: String,
    },
    /// Colours with a bar at x, y, width, height; grey ones may be read as numbers too.
    Colours {
        /// Where the bar is.
        bar: [usize; 4],
        /// Whether the picture has no colours but grey.
        grey: bool,
    },
}

/// Pictures in the order of the session, and remarks on what was left out.
///
/// # Errors
/// The folder cannot be listed.
pub(super) fn folder(folder: &Path) -> io::Result<(Vec<Found>, Vec<String>)> {
    let mut files = Vec::new();
    let mut remarks = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let entry = entry?;
        let kind = entry.file_type()?;
        let name = entry.file_name();
        let shown = names::printable(&name.to_string_lossy());
        let passed = shown.starts_with('.') || shown.ends_with(GRID) || shown.ends_with(".toml");
        if passed || kind.is_dir() {
            continue;
        }
        match name.into_string() {
            _ if kind.is_symlink() => remarks.push(format!(
                "{shown} was left out: it is a link; copy the file itself into the folder"
            )),
            _ if !kind.is_file() => {
                remarks.push(format!("{shown} was left out: it is no plain file"));
            }
            Ok(name) if name == shown && !name.contains('\\') => files.push(name),
            _ => remarks.push(format!(
                "{shown} was left out: a session cannot hold its name; give it a plainer one"
            )),
        }
    }
    files.sort_by(|one, other| names::in_order(one, other));
    let looked: Vec<_> = files
        .par_iter()
        .map(|file| look(folder, file, grid_name(file, &files)))
        .collect();
    let mut found = Vec::new();
    for (file, picture) in files.iter().zip(looked) {
        match picture {
            Ok(picture) => found.push(picture),
            Err(why) => remarks.push(format!("{file} was left out: {}", names::printable(&why))),
        }
    }
    by_time(&mut found);
    Ok((found, remarks))
}

/// `STEM-grid.png`, or with the whole name where another file could have that one.
fn grid_name(file: &str, files: &[String]) -> String {
    let stem = names::stem(file);
    let other = |other: &String| other != file && (names::stem(other) == stem || other == stem);
    let base = if files.iter().any(other) { file } else { stem };
    format!("{base}{GRID}")
}

/// By the moment they were taken where every picture has noted it; else the order of names stays.
fn by_time(found: &mut [Found]) {
    let moments: Option<Vec<Captured>> = found.iter().map(|picture| picture.captured).collect();
    let Some(first) = moments.and_then(|moments| moments.first().copied()) else {
        return;
    };
    let since = |picture: &Found| picture.captured.map_or(0.0, |moment| moment.since(&first));
    found.sort_by(|one, other| since(one).total_cmp(&since(other)));
}

/// One file as a picture of the session; else why it is none.
fn look(folder: &Path, file: &str, grid: String) -> Result<Found, String> {
    let bytes = read_bounded(&folder.join(file), load::MAX_BYTES).map_err(|(what, _)| what)?;
    let colours = load::colours(&bytes, false).map_err(told)?;
    let (meaning, image) = match &colours {
        Some(_) => in_colours(&bytes)?,
        None => in_numbers(&bytes)?,
    };
    let size = [image.width(), image.height()];
    if size.iter().any(|&side| side < SMALLEST) {
        let [width, height] = size;
        return Err(format!(
            "{width} × {height} numbers are too few for a picture"
        ));
    }
    let regions = propose::regions(&image);
    let marks = marks(&regions, &meaning);
    let drawing = match &colours {
        Some(colours) => picture::grid_in_colours(colours, file, &marks),
        None if matches!(meaning, Meaning::Unknown { .. }) => {
            picture::grid_of_numbers(&image, file, &marks)
        }
        None => picture::grid(&image, file, &marks),
    };
    Ok(Found {
        file: file.to_owned(),
        meaning,
        captured: image.captured,
        regions,
        grid,
        drawing: drawing.map_err(|error: PictureError| error.to_string())?,
    })
}

fn told(error: LoadError) -> String {
    error.what
}

fn in_numbers(bytes: &[u8]) -> Result<(Meaning, ThermalImage), String> {
    let unknown = match load::read(bytes, Wanted::default()) {
        Ok(image) => {
            let kelvin = matches!(image.pixels, Pixels::Linear { zero, .. } if zero == 0.0);
            let unit = if kelvin { "K" } else { "°C" };
            let why = image.assumed.clone().unwrap_or_default();
            return Ok((Meaning::Unit(unit, why), image));
        }
        Err(error) => error,
    };
    // Any scale serves for proposals and drawings; this one has no number below absolute zero.
    let any = Pixels::Linear {
        step: 1.0,
        zero: 1e6,
    };
    let wanted = Wanted {
        pixels: Some(&any),
        ..Wanted::default()
    };
    // Where a scale does not help, it is the file that cannot be read.
    let image = load::read(bytes, wanted).map_err(|_| unknown.what)?;
    let meaning = Meaning::Unknown {
        container: image.container.clone(),
        mend: unknown.mend,
    };
    Ok((meaning, image))
}

fn in_colours(bytes: &[u8]) -> Result<(Meaning, ThermalImage), String> {
    // The limits are not known: any will do, for what is hotter stays hotter.
    let [low, high] = [273.15, 373.15]
        .map(|value| Declared::unwritten("", Dimension::Temperature, value, Law::Exact, 0..0));
    let scale = Scale {
        bar: &ColourBar::Find,
        low_end: None,
        low: &low,
        high: &high,
        law: BarLaw::Temperature,
        detector: None,
        printed: &[],
    };
    let wanted = Wanted {
        scale: Some(scale),
        ..Wanted::default()
    };
    let image = load::read(bytes, wanted).map_err(|error| {
        format!(
            "it holds colours, and {}; if it is a thermal picture, add it as a [[run.snapshot]] with its colour-bar",
            error.what
        )
    })?;
    let Some(palette) = &image.palette else {
        return Err("it holds colours without a colour bar".to_owned());
    };
    let meaning = Meaning::Colours {
        bar: palette.bar.rectangle(),
        grey: !load::holds_colours(bytes),
    };
    Ok((meaning, image))
}

/// What is outlined in the drawing: the proposals, numbered within their tank as a session would name them, and the bar.
fn marks(regions: &[Proposal], meaning: &Meaning) -> Vec<GridRegion> {
    let mut numbers: BTreeMap<&str, usize> = BTreeMap::new();
    let mut marks: Vec<GridRegion> = regions
        .iter()
        .map(|region| {
            let word = region.tank.word();
            let number = numbers.entry(word).or_default();
            *number += 1;
            GridRegion {
                rectangle: region.rectangle,
                words: match *number {
                    1 => word.to_owned(),
                    number => format!("{word} {number}"),
                },
            }
        })
        .collect();
    if let Meaning::Colours { bar, .. } = meaning {
        marks.push(GridRegion {
            rectangle: *bar,
            // Numbers are printed around it, which a label would cover.
            words: String::new(),
        });
    }
    marks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_pictures_have_one_drawing() {
        let files = ["a.csv", "a.png", "a.csv.tiff", "b.tiff", "c"].map(str::to_owned);
        let names: Vec<String> = files.iter().map(|file| grid_name(file, &files)).collect();
        let wanted = [
            "a.csv-grid.png",
            "a.png-grid.png",
            "a.csv.tiff-grid.png",
            "b-grid.png",
            "c-grid.png",
        ];
        assert_eq!(names, wanted);
    }
}
