//! The detectors of a session's instruments.

use std::sync::Arc;

use super::pictures::read_bounded;
use crate::correct::Detectors;
use crate::diagnostics::Problem;
use crate::radiometry::{Band, Detector};
use crate::session::{Response, Session};

/// One detector for each thermal instrument; instruments of the same band share theirs.
///
/// # Errors
/// Every spectral response that cannot be used.
pub(super) fn of_session(session: &Session) -> Result<Detectors, Vec<Problem>> {
    let mut made: Vec<(&Response, Arc<Detector>)> = Vec::new();
    let mut bands = Vec::new();
    let mut problems = Vec::new();
    for instrument in &session.instruments {
        let Some(thermal) = instrument.thermal() else {
            bands.push(None);
            continue;
        };
        if let Some((_, known)) = made.iter().find(|(response, _)| **response == thermal.band) {
            bands.push(Some(known.clone()));
            continue;
        }
        match detector(&thermal.band) {
            Ok(detector) => {
                let detector = Arc::new(detector);
                made.push((&thermal.band, detector.clone()));
                bands.push(Some(detector));
            }
            Err((what, mend)) => {
                problems.push(Problem::at(
                    instrument.span.clone(),
                    format!("instrument `{}`: {what}", instrument.name),
                    mend,
                ));
            }
        }
    }
    if problems.is_empty() {
        Ok(Detectors { bands })
    } else {
        Err(problems)
    }
}

fn detector(response: &Response) -> Result<Detector, (String, String)> {
    let band = match response {
        Response::Flat { low, high } => Band::flat(*low, *high),
        Response::Curve { file, path, .. } => Band::curve(curve(file, path)?),
    };
    band.map(|band| Detector::band(&band)).map_err(|error| {
        (
            error.to_string(),
            "write the band as \"8 to 14 µm\" or mend the response file".to_owned(),
        )
    })
}

/// A response file is far smaller.
const MOST_BYTES: usize = 1 << 20;

/// Wavelengths (µm) and relative responses from a text file of two columns.
fn curve(file: &str, path: &std::path::Path) -> Result<Vec<(f64, f64)>, (String, String)> {
    let bytes = read_bounded(path, MOST_BYTES)
        .map_err(|(what, mend)| (format!("{file} {what}"), mend.to_owned()))?;
    crate::load::response(&bytes).map_err(|error| (format!("{file}: {}", error.what), error.mend))
}
