//! The first three stages for every snapshot of a session: load, locate, measure.

use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;

use super::{digest, picture_problem};
use crate::correct::Detectors;
use crate::diagnostics::Problem;
use crate::load::{self, Scale, ThermalImage, Wanted};
use crate::locate::{Mask, NoPixels};
use crate::measure::{self, Measurement, PictureMeasurement};
use crate::outcome::{InputFile, Picture};
use crate::radiometry::Detector;
use crate::session::{NamedFile, Pixels, Region, Run, Session, Snapshot};

/// Measures all snapshots, in the order of the session.
///
/// # Errors
/// All problems with all pictures.
pub(super) fn measure(
    session: &Session,
    detectors: &Detectors,
    progress: &(dyn Fn() + Sync),
) -> Result<Vec<PictureMeasurement>, Vec<Problem>> {
    let all: Vec<(usize, &Run, usize, &Snapshot)> = session
        .runs
        .iter()
        .enumerate()
        .flat_map(|(index, run)| {
            run.snapshots
                .iter()
                .enumerate()
                .map(move |(number, entry)| (index, run, number, entry))
        })
        .collect();
    let results: Vec<Result<PictureMeasurement, Vec<Problem>>> = all
        .par_iter()
        .map(|&(run, _, number, snapshot)| {
            let band = detectors.bands.get(snapshot.instrument).cloned().flatten();
            let measured = measure_one(run, number, snapshot, band);
            progress();
            measured
        })
        .collect();
    let mut pictures = Vec::new();
    let mut problems: Vec<Problem> = Vec::new();
    for result in results {
        match result {
            Ok(picture) => pictures.push(picture),
            // A view that does not fit is one problem, however many pictures share it.
            Err(list) => problems.extend(list),
        }
    }
    problems.dedup();
    if problems.is_empty() {
        Ok(pictures)
    } else {
        Err(problems)
    }
}

fn measure_one(
    run: usize,
    number: usize,
    snapshot: &Snapshot,
    band: Option<Arc<Detector>>,
) -> Result<PictureMeasurement, Vec<Problem>> {
    let (image, sha256) = open(snapshot, band.as_deref()).map_err(|problem| vec![problem])?;
    let raw = matches!(image.pixels, Pixels::SakumaHattori { .. });
    let detector = match (&image.pixels, band) {
        (Pixels::SakumaHattori { a, b, c }, _) => Arc::new(Detector::SakumaHattori {
            a: *a,
            b: *b,
            c: *c,
        }),
        (Pixels::Linear { .. }, Some(band)) => band,
        // The session guarantees a thermal instrument; without one there is nothing to measure with.
        (Pixels::Linear { .. }, None) => {
            let what = "its instrument is not a thermal one";
            return Err(vec![picture_problem(
                &snapshot.span,
                &snapshot.file,
                what,
                "name a camera as its instrument",
            )]);
        }
    };
    let measured: Vec<Result<Measurement, Problem>> = snapshot
        .regions
        .iter()
        .map(|region| measure_region(&image, snapshot, region, &detector))
        .collect();
    let mut regions = Vec::new();
    let mut problems = Vec::new();
    for result in measured {
        match result {
            Ok(region) => regions.push(region),
            Err(problem) => problems.push(problem),
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    Ok(PictureMeasurement {
        run,
        snapshot: number,
        sha256,
        detector,
        raw,
        assumed: image.assumed,
        bar_found: image.palette.and_then(|palette| palette.found),
        captured: image.captured,
        pages: image.pages,
        regions,
    })
}

fn measure_region(
    image: &ThermalImage,
    snapshot: &Snapshot,
    region: &Region,
    detector: &Detector,
) -> Result<Measurement, Problem> {
    let (width, height) = (image.width(), image.height());
    let name = format!("region `{}`", region.name);
    let mask = Mask::new(&region.shape, &region.exclude, width, height).map_err(|why| {
        let (what, mend) = match why {
            NoPixels::Outside => (
                "lies wholly outside the picture",
                "check the coordinates: x grows to the right, y downward",
            ),
            NoPixels::AllExcluded => ("is wholly excluded", "leave out less of it"),
            NoPixels::TooSmall => (
                "is so small that it holds no pixel's centre",
                "draw it larger",
            ),
        };
        let what = format!("{name} {what} of {width} × {height} pixels");
        let what = if why == NoPixels::Outside {
            what
        } else {
            what.replace(&format!(" of {width} × {height} pixels"), "")
        };
        picture_problem(&region.span, &snapshot.file, &what, mend)
    })?;
    let measured = measure::region(image, &mask, region.statistic, detector);
    let off_bar = image
        .palette
        .as_ref()
        .map(|palette| palette.reading(image, &mask).off_bar)
        .filter(|off| 2 * off > mask.count());
    if let Some(off) = off_bar {
        let share = 100.0 * off as f64 / mask.count() as f64;
        let what = format!("{share:.0} % of {name} has colours that its colour bar does not hold");
        let mend = "keep marks, text and logos out of the region, and check the bar's box in the annotated picture or with \
                    colour-bar = \"find\"";
        return Err(picture_problem(&region.span, &snapshot.file, &what, mend));
    }
    measured.ok_or_else(|| {
        let what = format!(
            "none of the {} pixels of {name} holds a temperature",
            mask.count()
        );
        let mend =
            "draw the region where the picture has temperatures, or check `pixels` and its unit";
        picture_problem(&region.span, &snapshot.file, &what, mend)
    })
}

/// Reads and decodes a snapshot's file; also gives the SHA-256 of its bytes.
fn open(
    snapshot: &Snapshot,
    detector: Option<&Detector>,
) -> Result<(ThermalImage, String), Problem> {
    let bytes = read(snapshot)?;
    let scale = scale(snapshot, detector);
    if scale.is_none() && snapshot.colour_bar.is_some() && load::holds_colours(&bytes) {
        return Err(picture_problem(
            &snapshot.span,
            &snapshot.file,
            "is a colour picture, and the limits of its colour bar are not stated",
            "write what is printed at the bar's ends, for instance low = \"20.1 °C\" and high = \"66.3 °C\", or give it a row in limits = \"limits.csv\"",
        ));
    }
    let wanted = Wanted {
        pixels: snapshot.pixels.as_ref(),
        page: snapshot.page,
        scale,
    };
    let image = load::read(&bytes, wanted).map_err(|error| {
        picture_problem(&snapshot.span, &snapshot.file, &error.what, error.mend)
    })?;
    Ok((image, digest(&bytes)))
}

/// The scale of a palette picture, where all of it is stated.
fn scale<'a>(snapshot: &'a Snapshot, detector: Option<&'a Detector>) -> Option<Scale<'a>> {
    Some(Scale {
        bar: snapshot.colour_bar.as_ref()?,
        low_end: snapshot.low_end,
        low: snapshot.low.as_ref()?,
        high: snapshot.high.as_ref()?,
        law: snapshot.bar_law,
        detector,
        printed: &snapshot.printed,
    })
}

fn read(snapshot: &Snapshot) -> Result<Vec<u8>, Problem> {
    read_bounded(&snapshot.path, load::MAX_BYTES)
        .map_err(|(what, mend)| picture_problem(&snapshot.span, &snapshot.file, &what, mend))
}

/// Reads a file of at most `limit` bytes; else what is wrong, and what to do.
pub(crate) fn read_bounded(path: &Path, limit: usize) -> Result<Vec<u8>, (String, &'static str)> {
    let unreadable = |error: std::io::Error| {
        (
            format!("cannot be read: {error}"),
            "check that the file is there and that you may read it",
        )
    };
    let file = File::open(path).map_err(unreadable)?;
    let mut bytes = Vec::new();
    // A limit on what is read, not on what the file system says, so that a file that grows or is none is bounded too.
    file.take(limit as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    if bytes.len() > limit {
        let what = format!("is larger than {} MiB", limit >> 20);
        return Err((
            what,
            "a file of this kind is far smaller: check which file this is",
        ));
    }
    Ok(bytes)
}

/// Decodes the picture of an outcome once more, for drawing.
///
/// # Errors
/// The picture cannot be read any more, or is not the one that was measured.
pub(super) fn read_again(
    session: &Session,
    detectors: &Detectors,
    picture: &Picture,
) -> Result<ThermalImage, Problem> {
    let snapshot = &session.runs[picture.run].snapshots[picture.snapshot];
    let detector = detectors.bands.get(snapshot.instrument).cloned().flatten();
    let (image, sha256) = open(snapshot, detector.as_deref())?;
    if sha256 != picture.sha256 {
        let what = "was changed while it was being worked on";
        return Err(picture_problem(
            &snapshot.span,
            &snapshot.file,
            what,
            "run the command again once nothing writes to it",
        ));
    }
    Ok(image)
}

/// The files that were read, each once, in the order of the session. A response is read once more for its digest.
pub(super) fn inputs(session: &Session, pictures: &[PictureMeasurement]) -> Vec<InputFile> {
    let digest_of = |named: &NamedFile| {
        let measured = pictures.iter().find(|picture| {
            session.runs[picture.run].snapshots[picture.snapshot].path == named.path
        });
        let logs = session.runs.iter().filter_map(|run| run.log.as_ref());
        let log = logs
            .filter(|log| log.path == named.path)
            .find_map(|log| log.reading.as_ref());
        match (measured, log) {
            (Some(picture), _) => Some(picture.sha256.clone()),
            // A log may be larger than any picture: it was hashed as it was read.
            (None, Some(log)) => Some(log.sha256.clone()),
            (None, None) => read_bounded(&named.path, load::MAX_BYTES)
                .ok()
                .map(|bytes| digest(&bytes)),
        }
    };
    let files = session.files().into_iter();
    files
        .filter_map(|named| {
            Some(InputFile {
                sha256: digest_of(&named)?,
                file: named.file,
            })
        })
        .collect()
}
