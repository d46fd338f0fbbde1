//! Pictures of an outcome: annotated ones, and all coolers on one temperature scale.
//!
//! Each goes into the folder as soon as it is drawn, so that memory holds one picture a thread, however many there are.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::detectors;
use super::panels;
use super::pictures::read_again;
use crate::correct::Detectors;
use crate::diagnostics::{Problem, Problems};
use crate::load::ThermalImage;
use crate::locate::shape::Shape;
use crate::outcome::{Outcome, Picture};
use crate::picture::{
    self, MOST_PANELS, MOST_ROWS, PictureError, RegionNote, Scale, THUMBNAIL_HEIGHT,
    THUMBNAIL_WIDTH, Thumbnails,
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
    /// The scale that it needs, as seen and corrected.
    scale: Option<Scale>,
    /// Only of pictures that the side-by-side picture has room for.
    thumbnails: Option<Thumbnails>,
}

/// Why one picture could not be drawn or written.
enum Failure {
    Problem(Problem),
    Write(WriteError),
}

/// Draws all pictures of an outcome into a results folder, decoding each once more; returns their names there, all
/// coolers side by side first, then the annotated ones in the order of the session.
///
/// With a scale, all of them use it; without, each annotated picture has its own, and the coolers side by side have one
/// that holds all.
///
/// `progress` is called once for every picture, from the threads of the current rayon pool.
///
/// # Errors
/// All problems with the pictures, or else the first drawing that could not be written.
pub fn draw(
    session: &Session,
    outcome: &Outcome,
    scale: Option<Scale>,
    folder: &Folder,
    progress: &(dyn Fn() + Sync),
) -> Result<Vec<String>, DrawError> {
    let mut drawn = draw_annotated(session, outcome, scale, folder, progress)?;
    let mut names = Vec::new();
    // Pictures beyond the side-by-side picture's room have their say in its scale.
    let needed = drawn.iter().filter_map(|kept| kept.scale);
    if let Some(all) = needed.reduce(Scale::union) {
        let thumbnails = drawn.iter_mut().map(|kept| kept.thumbnails.take());
        let rows = panels::rows(session, outcome, thumbnails);
        let scale = scale.unwrap_or(all);
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
pub fn annotate(
    session: &Session,
    outcome: &Outcome,
    scale: Option<Scale>,
    folder: &Folder,
) -> Result<(), DrawError> {
    draw_annotated(session, outcome, scale, folder, &|| {}).map(drop)
}

fn draw_annotated(
    session: &Session,
    outcome: &Outcome,
    scale: Option<Scale>,
    folder: &Folder,
    progress: &(dyn Fn() + Sync),
) -> Result<Vec<Kept>, DrawError> {
    let fail = |list| Problems::new(session.source.clone(), list);
    let detectors = detectors::of_session(session).map_err(fail)?;
    let work = Work {
        session,
        detectors: &detectors,
        outcome,
        scale,
        folder,
    };
    let results: Vec<Result<Kept, Failure>> = outcome
        .pictures
        .par_iter()
        .zip(with_room(session, outcome))
        .map(|(picture, room)| {
            let drawn = work.draw(picture, room);
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

/// What drawing any picture needs.
struct Work<'a> {
    session: &'a Session,
    detectors: &'a Detectors,
    outcome: &'a Outcome,
    /// The scale of all pictures, where it is given.
    scale: Option<Scale>,
    folder: &'a Folder,
}

impl Work<'_> {
    /// Draws and writes one annotated picture.
    fn draw(&self, picture: &Picture, room: bool) -> Result<Kept, Failure> {
        let image = read_again(self.session, self.detectors, picture).map_err(Failure::Problem)?;
        let run = &self.session.runs[picture.run];
        let notes = self.notes(picture, &image);
        let title = format!(
            "{}\n{} · {}",
            self.session.coolers[run.cooler].label,
            panels::occasion(self.session, picture),
            picture.file
        );
        let scale = self.scale.or_else(|| Scale::of_picture(&image));
        let png = picture::annotate(&image, &title, &notes, scale)
            .map_err(|error| Failure::Problem(undrawable(self.session, picture, &error)))?;
        let name = format!("annotated/{}", picture.annotated);
        self.folder.write(&name, &png).map_err(Failure::Write)?;
        let regions = &run.snapshots[picture.snapshot].regions;
        let corrected = panels::corrected(self.outcome, picture, regions);
        let size = (THUMBNAIL_WIDTH, THUMBNAIL_HEIGHT);
        let thumbnails = picture::thumbnails(&image, &notes, &corrected, size.0, size.1);
        Ok(Kept {
            name,
            scale: thumbnails.scale(),
            thumbnails: room.then_some(thumbnails),
        })
    }

    /// The regions of a picture and what is written beside them.
    fn notes(&self, picture: &Picture, image: &ThermalImage) -> Vec<RegionNote> {
        let snapshot = &self.session.runs[picture.run].snapshots[picture.snapshot];
        let mut notes: Vec<RegionNote> = snapshot
            .regions
            .iter()
            .zip(labels::of(self.outcome, picture))
            .map(|(region, lines)| RegionNote {
                shape: region.shape.clone(),
                exclude: region.exclude.clone(),
                lines,
                role: region.role,
            })
            .collect();
        notes.extend(bar_note(image));
        notes
    }
}

/// The colour bar of a palette picture, outlined so that a person sees whether it is the right one.
fn bar_note(image: &ThermalImage) -> Option<RegionNote> {
    let palette = image.palette.as_ref()?;
    let rectangle = palette.bar.rectangle();
    let words = if palette.found.is_some() {
        "colour bar (found)"
    } else {
        "colour bar"
    };
    Some(RegionNote {
        shape: Shape::Rectangle(rectangle.map(|at| at as f64)),
        exclude: Vec::new(),
        lines: vec![words.to_owned()],
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
