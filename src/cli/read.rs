//! `endtank read`: one-off readings without a session file.
//!
//! The options become the text of a session, so that they are checked and worked out as a session is, and by the same
//! engine; problems are told of the options, never of that text.

mod cautions;
mod draft;
mod grid;
mod output;
mod problems;
mod shapes;

use std::path::PathBuf;

use clap::Args;

use super::Status;
use super::compare::{DRAWS, MOST_DRAWS, in_pool};
use super::draws::Draws;
use super::progress::Progress;
use super::terminal::Terminal;
use crate::outcome::Outcome;
use crate::pipeline;
use draft::Draft;
use shapes::Shapes;

/// Read single pictures or a pistol without a session
///
/// Corrects what an instrument showed for one surface, with the interval of a session's readings. Every shape is read in
/// every picture. Values are written as in a session: "0.94 ± 0.02", "19 °C ± 2", "35 to 40 °C". Nothing is written, but
/// for --grid.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Thermal pictures.
    #[arg(
        value_name = "PICTURE",
        required_unless_present = "pistol",
        conflicts_with = "pistol",
        requires = "shapes"
    )]
    pictures: Vec<PathBuf>,
    /// A number that an infrared pistol showed, instead of pictures; several may be given.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pistol: Vec<String>,
    #[command(flatten)]
    shapes: Shapes,
    #[command(flatten)]
    scene: Scene,
    #[command(flatten)]
    instrument: Instrument,
    #[command(flatten)]
    picture: Picture,
    #[command(flatten)]
    spot: Spot,
    #[command(flatten)]
    grid: Grid,
    #[command(flatten)]
    output: Output,
}

/// A picture to read regions off.
#[derive(Debug, Args)]
#[command(next_help_heading = "Coordinates")]
struct Grid {
    /// Read nothing, but draw each picture with pixel coordinates along its edges, to read regions off, as
    /// PICTURE-grid.png. Files that exist are not replaced.
    #[arg(long, conflicts_with_all = ["pistol", "csv", "json"])]
    grid: bool,
    /// The folder to write the drawings into; default: the working folder.
    #[arg(
        long,
        value_name = "DIR",
        requires = "grid",
        default_value = ".",
        hide_default_value = true
    )]
    out: PathBuf,
}

/// What was looked at, and what lay around it.
#[derive(Debug, Args)]
#[command(next_help_heading = "Surface and surroundings")]
struct Scene {
    /// A preset of `endtank surfaces`: what the surface is.
    #[arg(
        long,
        value_name = "NAME",
        required_unless_present_any = ["emissivity", "grid"],
        conflicts_with = "emissivity"
    )]
    surface: Option<String>,
    /// Emissivity of the surface.
    #[arg(long, value_name = "VALUE")]
    emissivity: Option<String>,
    /// Reflected apparent temperature; default: from 5 K below to 15 K above the ambient, with a caution.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    reflected: Option<String>,
    /// Air in the shop; default: 20 °C ± 5, with a caution where it matters.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    ambient: Option<String>,
    /// Transmittance of the air path; default: 1.
    #[arg(long, value_name = "VALUE")]
    transmittance: Option<String>,
}

/// What it was read with.
#[derive(Debug, Args)]
#[command(next_help_heading = "Instrument")]
struct Instrument {
    /// The emissivity that the instrument was set to; 1: none applied. Not for raw signal.
    #[arg(
        long,
        value_name = "NUMBER",
        required_unless_present_any = ["sakuma_hattori", "grid"]
    )]
    set_emissivity: Option<String>,
    /// The reflected temperature that the instrument was set to; default: the ambient, with a caution.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    set_reflected: Option<String>,
    /// Spectral band; default: "8 to 14 µm".
    #[arg(long, value_name = "WAVELENGTHS")]
    band: Option<String>,
    /// File with the spectral response: wavelength in µm, relative response.
    #[arg(long, value_name = "FILE", conflicts_with = "band")]
    response: Option<PathBuf>,
    /// Limits of the instrument; default: "2 °C or 2 %", with a caution.
    #[arg(long, value_name = "LIMITS")]
    accuracy: Option<String>,
    /// Limits of the change from one picture to the next; default: 0.5 K.
    #[arg(long, value_name = "DIFFERENCE")]
    drift: Option<String>,
    /// Distance over spot of a pistol, for instance 12:1.
    #[arg(long, value_name = "RATIO", requires = "pistol")]
    distance_ratio: Option<String>,
}

/// How the pictures are to be understood.
#[derive(Debug, Args)]
#[command(next_help_heading = "Pictures")]
struct Picture {
    /// The unit of pixels that are temperatures: °C, °F or K.
    #[arg(long, value_name = "UNIT", conflicts_with_all = ["pixels_step", "sakuma_hattori", "pistol"])]
    pixels_unit: Option<String>,
    /// Temperature is ZERO + STEP × the pixel's number: the step, for instance "0.01 K".
    #[arg(long, value_name = "STEP", conflicts_with_all = ["sakuma_hattori", "pistol"])]
    pixels_step: Option<String>,
    /// The temperature of a pixel of number 0; default: 0 K.
    #[arg(
        long,
        value_name = "ZERO",
        requires = "pixels_step",
        allow_hyphen_values = true
    )]
    pixels_zero: Option<String>,
    /// Pixels are raw signal c / (exp(c2 / (a T + b)) − 1): a in µm, b in µm K, c in counts.
    #[arg(long, value_name = "A,B,C", value_parser = shapes::constants, allow_hyphen_values = true, conflicts_with = "pistol")]
    sakuma_hattori: Option<[f64; 3]>,
    /// The scale in palette pictures: its box in pixels, or "find".
    #[arg(long, value_name = "X,Y,W,H", value_parser = shapes::colour_bar, requires_all = ["low", "high"], conflicts_with_all = ["pistol", "sakuma_hattori"])]
    colour_bar: Option<String>,
    /// The temperature printed at the cold end of the scale.
    #[arg(
        long,
        value_name = "TEMPERATURE",
        requires = "colour_bar",
        allow_hyphen_values = true
    )]
    low: Option<String>,
    /// The temperature printed at the hot end of the scale.
    #[arg(
        long,
        value_name = "TEMPERATURE",
        requires = "colour_bar",
        allow_hyphen_values = true
    )]
    high: Option<String>,
    /// Which end of the scale is cold; default: bottom or left.
    #[arg(long, value_name = "END", value_parser = ["bottom", "top", "left", "right"], requires = "colour_bar")]
    low_end: Option<String>,
    /// What equal steps along the scale are equal steps of; default: temperature.
    #[arg(long, value_name = "LAW", value_parser = ["temperature", "signal"], requires = "colour_bar")]
    bar_law: Option<String>,
    /// A temperature printed in palette pictures and the pixel it stands for, to check the scale; may be repeated.
    #[arg(long, value_name = "X,Y,READING", value_parser = shapes::printed, requires = "colour_bar", allow_hyphen_values = true)]
    printed: Vec<shapes::PrintedNumber>,
    /// The page to read of files with several.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000), conflicts_with = "pistol")]
    page: Option<u32>,
    /// Which of a region's pixels stands for it; default: mean.
    #[arg(long = "use", value_name = "STATISTIC", value_parser = ["mean", "median", "max"], conflicts_with = "pistol")]
    statistic: Option<String>,
    /// Between the line of sight and the square on the surface, for instance "30°".
    #[arg(long, value_name = "ANGLE", conflicts_with = "pistol")]
    angle: Option<String>,
}

/// How a pistol was held.
#[derive(Debug, Args)]
#[command(next_help_heading = "Pistol")]
struct Spot {
    /// From the pistol to the surface.
    #[arg(long, value_name = "LENGTH", requires = "pistol")]
    distance: Option<String>,
    /// Width of what was aimed at.
    #[arg(long, value_name = "LENGTH", requires = "pistol")]
    target: Option<String>,
}

/// How it is worked out and printed.
#[derive(Debug, Args)]
#[command(next_help_heading = "Output")]
struct Output {
    /// Print CSV; cautions go to standard error.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Print JSON.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    draws: Draws<DRAWS, MOST_DRAWS>,
}

pub(super) fn run(arguments: &Arguments, terminal: &Terminal) -> Status {
    let draft = Draft::of(arguments);
    let session = match draft.session(arguments) {
        Ok(session) => session,
        Err(problems) => return problems::print(&problems, &draft, terminal),
    };
    if arguments.grid.grid {
        return grid::write(&session, &arguments.grid.out, terminal);
    }
    let settings = arguments.output.draws.settings(false);
    let progress = Progress::new(arguments.pictures.len(), terminal);
    let worked = in_pool(arguments.output.draws.jobs, || {
        pipeline::evaluate(&session, settings, &|| progress.step())
    });
    progress.clear();
    match worked {
        Ok(Ok(outcome)) => {
            let cautions = cautions::of(&session, &outcome, &draft);
            print(outcome, cautions, arguments, terminal)
        }
        Ok(Err(found)) => problems::print(&found.list, &draft, terminal),
        Err(error) => terminal.failure(&error, "ask for fewer with --jobs"),
    }
}

fn print(
    mut outcome: Outcome,
    cautions: Vec<crate::caution::Caution>,
    arguments: &Arguments,
    terminal: &Terminal,
) -> Status {
    outcome.results.cautions = cautions;
    output::settle(&mut outcome.results, arguments.scene.surface.is_some());
    let printed = if arguments.output.csv {
        if !terminal.quiet && !outcome.results.cautions.is_empty() {
            let text = output::cautions(&outcome.results.cautions, terminal.width());
            terminal.note(text.trim_start());
        }
        output::csv(&outcome.results)
    } else if arguments.output.json {
        output::json(&outcome.results)
    } else {
        let statistic = arguments.picture.statistic.as_deref();
        Ok(output::page(&outcome.results, statistic, terminal.width()))
    };
    match printed {
        Ok(text) => {
            terminal.print(&text);
            Status::Done
        }
        Err(what) => terminal.failure(&what, "this is a fault of the program, please report it"),
    }
}
