//! Pictures of an outcome: annotated ones, and all coolers on one temperature scale.

use rayon::prelude::*;

use super::pictures::read_again;
use crate::diagnostics::{Problem, Problems};
use crate::outcome::{Outcome, Picture};
use crate::picture::{self, Panel, PictureError, RegionNote, Thumbnail};
use crate::report::labels;
use crate::session::Session;

/// The name of the picture that shows all coolers on one scale.
pub const SIDE_BY_SIDE: &str = "side-by-side.png";

/// Width and height that a thumbnail of a picture keeps to, pixels.
const THUMBNAIL: [u32; 2] = [320, 240];

/// Drawn pictures, as PNG files.
#[derive(Debug, Clone, Default)]
pub struct Drawn {
    /// Name in the results folder and content, in the order of the session.
    pub annotated: Vec<(String, Vec<u8>)>,
    /// All coolers on one scale; `None` where there is no picture with a temperature in it.
    pub side_by_side: Option<Vec<u8>>,
}

/// Draws all pictures of an outcome, decoding each once more. `progress` is called once for every picture.
///
/// # Errors
/// A picture that can no longer be read or is no longer the one that was measured; one that cannot be drawn.
pub fn draw(
    session: &Session,
    outcome: &Outcome,
    progress: &(dyn Fn() + Sync),
) -> Result<Drawn, Problems> {
    let results: Vec<Result<(Vec<u8>, Thumbnail), Problem>> = outcome
        .pictures
        .par_iter()
        .map(|picture| {
            let drawn = draw_one(session, outcome, picture);
            progress();
            drawn
        })
        .collect();
    let mut problems = Vec::new();
    let mut drawn = Drawn::default();
    let mut thumbnails = Vec::new();
    for (picture, result) in outcome.pictures.iter().zip(results) {
        match result {
            Ok((png, thumbnail)) => {
                drawn
                    .annotated
                    .push((format!("annotated/{}", picture.annotated), png));
                thumbnails.push((picture, thumbnail));
            }
            Err(problem) => problems.push(problem),
        }
    }
    if problems.is_empty() {
        drawn.side_by_side = side_by_side(session, outcome, thumbnails).unwrap_or_else(|problem| {
            problems.push(problem);
            None
        });
    }
    if problems.is_empty() {
        Ok(drawn)
    } else {
        Err(Problems::new(session.source.clone(), problems))
    }
}

fn draw_one(
    session: &Session,
    outcome: &Outcome,
    picture: &Picture,
) -> Result<(Vec<u8>, Thumbnail), Problem> {
    let image = read_again(session, picture)?;
    let run = &session.runs[picture.run];
    let snapshot = &run.snapshots[picture.snapshot];
    let notes: Vec<RegionNote> = snapshot
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
    let title = format!(
        "{}\n{} · {}",
        session.coolers[run.cooler].label, run.name, picture.file
    );
    let png = picture::annotate(&image, &title, &notes, None)
        .map_err(|error| undrawable(session, picture, &error))?;
    Ok((
        png,
        picture::thumbnail(&image, &notes, THUMBNAIL[0], THUMBNAIL[1]),
    ))
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

/// A row of thumbnails for every cooler, all on one scale.
fn side_by_side(
    session: &Session,
    outcome: &Outcome,
    thumbnails: Vec<(&Picture, Thumbnail)>,
) -> Result<Option<Vec<u8>>, Problem> {
    let Some(scale) = Thumbnail::shared_scale(thumbnails.iter().map(|(_, thumbnail)| thumbnail))
    else {
        return Ok(None);
    };
    let mut rows: Vec<(String, Vec<Panel>)> = session
        .coolers
        .iter()
        .map(|cooler| (cooler.label.clone(), Vec::new()))
        .collect();
    for (picture, thumbnail) in thumbnails {
        let run = &session.runs[picture.run];
        let panel = Panel {
            title: run.name.clone(),
            caption: caption(outcome, session, picture),
            thumbnail,
        };
        rows[run.cooler].1.push(panel);
    }
    rows.retain(|(_, panels)| !panels.is_empty());
    picture::side_by_side(&rows, scale)
        .map(Some)
        .map_err(|error| {
            Problem::general(
                format!("{SIDE_BY_SIDE} cannot be drawn: {error}"),
                "give the coolers shorter labels",
            )
        })
}

/// Corrected skins of a picture's tanks, under its thumbnail.
fn caption(outcome: &Outcome, session: &Session, picture: &Picture) -> Vec<String> {
    let run = &session.runs[picture.run].name;
    let mut lines = Vec::new();
    for tank in ["inlet", "outlet"] {
        let skins: Vec<f64> = outcome
            .results
            .readings
            .iter()
            .filter(|reading| {
                &reading.run == run && reading.source == picture.file && reading.role == "tank"
            })
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
