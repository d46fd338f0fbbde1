//! The sample session to try: a tow truck's two coolers, drawn and photographed by this module from a known truth.
//!
//! ```text
//! truth    what is true in each run
//! scene    a run's cooler, painted on a canvas of temperatures, emissivities and what they mirror
//! camera   the scene's radiation, blurred, with the camera's error, noise and settings
//! encode   the picture files
//! palette  of which one holds colours with their bar
//! write    all files into a folder, or none
//! ```
//!
//! Every byte is the same on every machine: shapes are drawn with exactly rounded arithmetic, noise is made from whole
//! numbers, and what a function such as the logarithm may vary in its last digit vanishes when counts are rounded.

mod camera;
mod canvas;
mod encode;
pub mod palette;
mod scene;
pub mod truth;
mod write;

use std::path::PathBuf;

use crate::radiometry::{Band, Detector};

pub use write::write;

/// Why the sample could not be written.
#[derive(Debug, thiserror::Error)]
pub enum SampleError {
    /// The folder holds something.
    #[error(
        "the folder {path} is not empty; name a new or an empty folder, so that nothing of yours is overwritten"
    )]
    NotEmpty {
        /// The folder.
        path: PathBuf,
    },
    /// The path is a file.
    #[error("{path} is a file, not a folder; name a new or an empty folder")]
    NotAFolder {
        /// The path.
        path: PathBuf,
    },
    /// The system refused.
    #[error("cannot {what} {path}: {cause}; name a folder that you may write to")]
    Io {
        /// What was tried.
        what: &'static str,
        /// With which file or folder.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: std::io::Error,
    },
    /// A picture could not be encoded.
    #[error(
        "cannot draw the sample's pictures: {cause}; this is a fault of the program, please report it"
    )]
    Encode {
        /// What the encoder said.
        cause: String,
    },
}

impl SampleError {
    fn encode(cause: &impl ToString) -> Self {
        Self::Encode {
            cause: cause.to_string(),
        }
    }
}

/// The sample's files: name within the folder, and bytes. Takes about a second in a debug build.
///
/// # Errors
/// [`SampleError::Encode`], which no machine should meet.
pub fn files() -> Result<Vec<(String, Vec<u8>)>, SampleError> {
    let texts = [
        (
            "ABOUT.md",
            include_str!("../../sample-images/tow-truck/ABOUT.md").to_owned(),
        ),
        (
            "session.toml",
            include_str!("../../sample-images/tow-truck/session.toml").to_owned(),
        ),
        ("truth.toml", truth::document()),
    ];
    let mut files: Vec<(String, Vec<u8>)> = texts
        .into_iter()
        .map(|(name, text)| (name.to_owned(), text.into_bytes()))
        .collect();
    let band = Band::flat(8.0, 14.0).map_err(|cause| SampleError::encode(&cause))?;
    let detector = Detector::band(&band);
    for run in truth::RUNS.iter().flat_map(truth::Run::pictures) {
        let kelvin = camera::photograph(&scene::draw(&run), &run, &detector);
        let bytes = encode::picture(&kelvin, run.container)?;
        files.push((run.file.to_owned(), bytes));
    }
    Ok(files)
}
