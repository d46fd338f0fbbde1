//! Pictures of an outcome: annotated ones, and all coolers on one temperature scale.
//!
//! Each goes into the folder as soon as it is drawn, so that memory holds one picture a thread, however many there are.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::detectors;
use super::pictures::read_again;
use crate::correct::Detectors;
use crate::diagnostics::{Problem, Problems};
use crate::load::ThermalImage;
use crate::locate::shape::Shape;
use crate::outcome::{Outcome, Picture};
use crate::picture::{
    self, MOST_PANELS, MOST_ROWS, Panel, PanelRow, PictureError, RegionNote, Scale,
    THUMBNAIL_HEIGHT, THUMBNAIL_WIDTH, Thumbnail,
};
use crate::report::{Folder, WriteError, labels};
use crate::session::{Role, Session};

/// The name of the picture that shows all coolers on one scale.
pub const SIDE_BY_SIDE: &str = "side-by-side.png";

/// Why pictures could not be drawn.
#[derive(Debug, thiserror::Error)]
pub enum DrawError {
    /// A picture can no longer be read, is no longer the one that was measured, or cannot be drawn.
    #[error(transparent)]
    Problems(#[from] Problems),
    /// A drawing cannot be written.
    #[error(transparent)]
    Write(#[from] WriteError),
}

/// What is kept of a picture that has been drawn.
struct Kept {
    /// Name in the results folder.
    name: String,
    /// The scale of the whole picture.
    scale: Option<Scale>,
    /// Only of pictures that the side-by-side picture has room for.
    thumbnail: Option<Thumbnail>,
}

/// Why one picture could not be drawn or written.
enum Failure {
    Problem(Problem),
    Write(WriteError),
}

/// Draws all pictures of an outcome into a results folder, decoding each once more; returns their names there, all
/// coolers side by side first, then the annotated ones in the order of the session.
///
/// `progress` is called once for every picture, from the threads of the current rayon pool.
///
/// # Errors
/// All problems with the pictures, or else the first drawing that could not be written.
pub fn draw(
    session: &Session,
    outcome: &Outcome,
    folder: &Folder,
    progress: &(dyn Fn() + Sync),
) -> Result<Vec<String>, DrawError> {
    let drawn = draw_annotated(session, outcome, folder, progress)?;
    let mut names = Vec::new();
    // Pictures beyond the side-by-side picture's room have their say in its scale.
    let scale = drawn.iter().filter_map(|kept| kept.scale);
    if let Some(scale) = scale.reduce(Scale::union) {
        let rows = rows(session, outcome, &drawn);
        let png = picture::side_by_side(&rows, scale).map_err(|error| {
            let problem = Problem::general(
                format!("{SIDE_BY_SIDE} cannot be drawn: {error}"),
                "give the coolers shorter labels",
            );
            Problems::new(session.source.clone(), vec![problem])
        })?;
        folder.write(SIDE_BY_SIDE, &png)?;
        names.push(SIDE_BY_SIDE.to_owned());
    }
    names.extend(drawn.into_iter().map(|kept| kept.name));
    Ok(names)
}

/// Draws only the annotated pictures into a folder.
///
/// # Errors
/// As [`draw`].
pub fn annotate(session: &Session, outcome: &Outcome, folder: &Folder) -> Result<(), DrawError> {
    draw_annotated(session, outcome, folder, &|| {}).map(drop)
}

fn draw_annotated(
    session: &Session,
    outcome: &Outcome,
    folder: &Folder,
    progress: &(dyn Fn() + Sync),
) -> Result<Vec<Kept>, DrawError> {
    let fail = |list| Problems::new(session.source.clone(), list);
    let detectors = detectors::of_session(session).map_err(fail)?;
    let results: Vec<Result<Kept, Failure>> = outcome
        .pictures
        .par_iter()
        .zip(with_room(session, outcome))
        .map(|(picture, room)| {
            let drawn = draw_one(session, &detectors, outcome, picture, room, folder);
            progress();
            drawn
        })
        .collect();
    let mut problems = Vec::new();
    let mut unwritten = None;
    let mut drawn = Vec::new();
    for result in results {
        match result {
            Ok(kept) => drawn.push(kept),
            Err(Failure::Problem(problem)) => problems.push(problem),
            Err(Failure::Write(error)) => unwritten = unwritten.or(Some(error)),
        }
    }
    match unwritten {
        _ if !problems.is_empty() => Err(Problems::new(session.source.clone(), problems).into()),
        Some(error) => Err(error.into()),
        None => Ok(drawn),
    }
}

/// Which pictures the side-by-side picture has room for: the first few of each of the first coolers.
fn with_room(session: &Session, outcome: &Outcome) -> Vec<bool> {
    let cooler = |picture: &Picture| session.runs[picture.run].cooler;
    let photographed: BTreeSet<usize> = outcome.pictures.iter().map(cooler).collect();
    let shown: Vec<usize> = photographed.into_iter().take(MOST_ROWS).collect();
    let mut panels = vec![0; session.coolers.len()];
    let mut room = |picture: &Picture| {
        let cooler = cooler(picture);
        panels[cooler] += 1;
        shown.contains(&cooler) && panels[cooler] <= MOST_PANELS
    };
    outcome.pictures.iter().map(&mut room).collect()
}

fn draw_one(
    session: &Session,
    detectors: &Detectors,
    outcome: &Outcome,
    picture: &Picture,
    room: bool,
    folder: &Folder,
) -> Result<Kept, Failure> {
    let image = read_again(session, detectors, picture).map_err(Failure::Problem)?;
    let run = &session.runs[picture.run];
    let snapshot = &run.snapshots[picture.snapshot];
    let mut notes: Vec<RegionNote> = snapshot
        .regions
        .iter()
        .zip(labels::of(outcome, picture))
        .map(|(region, lines)| RegionNote {
            shape: region.shape.clone(),
            exclude: region.exclude.clone(),
            lines,
            role: region.role,
        })
        .collect();
    notes.extend(bar_note(&image));
    let title = format!(
        "{}\n{} · {}",
        session.coolers[run.cooler].label,
        occasion(session, picture),
        picture.file
    );
    let scale = Scale::of_picture(&image);
    let png = picture::annotate(&image, &title, &notes, scale)
        .map_err(|error| Failure::Problem(undrawable(session, picture, &error)))?;
    let name = format!("annotated/{}", picture.annotated);
    folder.write(&name, &png).map_err(Failure::Write)?;
    let thumbnail =
        room.then(|| picture::thumbnail(&image, &notes, THUMBNAIL_WIDTH, THUMBNAIL_HEIGHT));
    Ok(Kept {
        name,
        scale,
        thumbnail,
    })
}

/// The colour bar of a palette picture, outlined so that a person sees whether it is the right one.
fn bar_note(image: &ThermalImage) -> Option<RegionNote> {
    let palette = image.palette.as_ref()?;
    let rectangle = palette.bar.rectangle();
    let how = if palette.found.is_some() {
        "found"
    } else {
        "as stated"
    };
    Some(RegionNote {
        shape: Shape::Rectangle(rectangle.map(|at| at as f64)),
        exclude: Vec::new(),
        lines: vec!["colour bar".to_owned(), how.to_owned()],
        role: Role::Reference,
    })
}

fn undrawable(session: &Session, picture: &Picture, error: &PictureError) -> Problem {
    let span = session.runs[picture.run].snapshots[picture.snapshot]
        .span
        .clone();
    let what = format!(
        "{}: the annotated picture cannot be drawn: {error}",
        picture.file
    );
    Problem::at(
        span,
        what,
        "give the picture fewer regions, or take it in another size",
    )
}

/// Run and, where it is stated, when in the hold: `hold 2, 60 s`.
fn occasion(session: &Session, picture: &Picture) -> String {
    let run = &session.runs[picture.run];
    match &run.snapshots[picture.snapshot].at {
        Some(at) => format!("{}, {}", run.name, at.written),
        None => run.name.clone(),
    }
}

/// A row of thumbnails for every cooler that has pictures.
fn rows(session: &Session, outcome: &Outcome, drawn: &[Kept]) -> Vec<PanelRow> {
    let mut rows: Vec<PanelRow> = session
        .coolers
        .iter()
        .map(|cooler| PanelRow {
            label: cooler.label.clone(),
            panels: Vec::new(),
            more: 0,
        })
        .collect();
    for (picture, kept) in outcome.pictures.iter().zip(drawn) {
        let run = &session.runs[picture.run];
        let row = &mut rows[run.cooler];
        match &kept.thumbnail {
            Some(thumbnail) => row.panels.push(Panel {
                title: occasion(session, picture),
                caption: caption(outcome, picture),
                thumbnail: thumbnail.clone(),
            }),
            None => row.more += 1,
        }
    }
    rows.retain(|row| row.panels.len() + row.more > 0);
    rows
}

/// Corrected skins of a picture's tanks, under its thumbnail.
fn caption(outcome: &Outcome, picture: &Picture) -> Vec<String> {
    let mut lines = Vec::new();
    for tank in ["inlet", "outlet"] {
        let readings = picture
            .readings
            .iter()
            .filter_map(|&index| outcome.results.readings.get(index));
        let skins: Vec<f64> = readings
            .filter(|reading| reading.role == "tank")
            .filter(|reading| reading.tank.as_deref() == Some(tank))
            .filter_map(|reading| Some(reading.surface_temperature?.value))
            .collect();
        if !skins.is_empty() {
            lines.push(format!(
                "{tank} skin {:.1} °C",
                skins.iter().sum::<f64>() / skins.len() as f64
            ));
        }
    }
    lines
}
