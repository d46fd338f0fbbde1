//! The session after validation: names resolved, defaults applied, every value in its base unit.
//!
//! What holds once a [`Session`] exists (the only way to get one is [`crate::session::read`]):
//! - there is at least one run, and every run's cooler, every cooler's two surfaces, every snapshot's and pistol
//!   reading's instrument, and every region's surface exist (they are indices into the session's own lists);
//! - every snapshot has at least one region; shapes have finite coordinates and a positive extent;
//! - a region of role `tank` or `patch` names its tank, one of role `reference` has a temperature;
//! - emissivities are in (0, 1], absolute temperatures above 0 K, lengths, times, pressures' units and flows sensible;
//! - picture files lie inside the session's folder and exist.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::PathBuf;
use std::sync::Arc;

use super::Expected;
use super::RunLog;
use crate::locate::shape::Shape;
use crate::quantity::QuantityId;
use crate::units::{Dimension, Law};

/// The text of a session file, kept for messages that show its lines.
#[derive(Debug, Clone)]
pub struct SourceText {
    /// The path as the user gave it.
    pub path: PathBuf,
    /// The file's whole text.
    pub text: String,
}

/// A stretch of the session's text, in bytes.
pub type Span = Range<usize>;

/// A value as it stands in the session: what it is, how sure it is, and where it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Declared {
    /// Its place in the session, for instance `conditions.ambient` or `run.hold 1.inlet-pressure`.
    /// A run that inherits a value holds the same place: it is one input, drawn once.
    pub place: String,
    /// What it is a value of.
    pub dimension: Dimension,
    /// The value in the base unit of its dimension.
    pub value: f64,
    /// How the truth may lie about it.
    pub law: Law,
    /// Whether the limits were assumed from the last written digit.
    pub limits_assumed: bool,
    /// What the sensor that read it errs by beyond that, where it is stated with the value.
    pub sensor: Option<Sensor>,
    /// As written, without quotes.
    pub written: String,
    /// Where it was written.
    pub span: Span,
}

/// The error of a sensor, which all that it read have in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensor {
    /// Its place: one place is one error.
    pub place: String,
    /// The error is even within ± this, in the base unit.
    pub limit: f64,
}

/// One comparison, as read from its file.
#[derive(Debug, Clone)]
pub struct Session {
    /// The file it came from.
    pub source: Arc<SourceText>,
    /// The folder that holds the session and its pictures.
    pub folder: PathBuf,
    /// Free text.
    pub title: Option<String>,
    /// The cooler that the others are compared with; an index into `coolers`.
    pub baseline: usize,
    /// The quantity that answers the customer, where the session names one.
    pub primary: Option<QuantityId>,
    /// A difference smaller than this is equal for the customer; in the unit of the primary quantity's difference.
    pub matters: Option<Declared>,
    /// Standard deviation between repeated holds, where stated.
    pub repeatability: Repeatability,
    /// What the runs' own scatter is taken to be; as they show it unless a plan asks.
    pub scatter: Scatter,
    /// What pictures, pistol readings and notes were taken with, in the order of the file.
    pub instruments: Vec<Instrument>,
    /// Materials and finishes, in the order of the file.
    pub surfaces: Vec<Surface>,
    /// Coolers, in the order of the file.
    pub coolers: Vec<Cooler>,
    /// Runs, in the order of the file.
    pub runs: Vec<Run>,
    /// The file of palette pictures' limits, where there is one.
    pub limits: Option<NamedFile>,
}

/// A file that a session reads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedFile {
    /// As written.
    pub file: String,
    /// Where it is.
    pub path: PathBuf,
}

impl Session {
    /// Every file that it reads besides itself, each once, in the order of the file.
    #[must_use]
    pub fn files(&self) -> Vec<NamedFile> {
        let responses =
            self.instruments
                .iter()
                .filter_map(|instrument| match &instrument.thermal()?.band {
                    Response::Curve { file, path, .. } => Some(NamedFile {
                        file: file.clone(),
                        path: path.clone(),
                    }),
                    Response::Flat { .. } => None,
                });
        let pictures = self.runs.iter().flat_map(|run| &run.snapshots);
        let pictures = pictures.map(|picture| NamedFile {
            file: picture.file.clone(),
            path: picture.path.clone(),
        });
        let mut files: Vec<NamedFile> = Vec::new();
        let logs = self.runs.iter().filter_map(|run| run.log.as_ref());
        let logs = logs.map(|log| NamedFile {
            file: log.file.clone(),
            path: log.path.clone(),
        });
        let named = self.limits.iter().cloned().chain(responses);
        for file in named.chain(pictures).chain(logs) {
            if !files.contains(&file) {
                files.push(file);
            }
        }
        files
    }
}

/// Standard deviations between repeated holds.
#[derive(Debug, Clone, Default)]
pub struct Repeatability {
    /// Of tank temperatures, K.
    pub temperature: Option<Declared>,
    /// Of tap pressures, Pa.
    pub pressure: Option<Declared>,
}

/// What the scatter between the runs of a cooler is taken to be.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Scatter {
    /// As the runs show it.
    #[default]
    Shown,
    /// As [`Repeatability`] states it, drawn for each run even where runs are repeated: what readings not yet taken would be.
    Drawn,
    /// Of each quantity so much: what repeated runs not yet measured would show.
    Planned(BTreeMap<QuantityId, BetweenRuns>),
}

/// The scatter of a quantity between the runs of the same cooler: standard deviations in its base unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BetweenRuns {
    /// About the mean of each cooler's runs.
    pub about_mean: f64,
    /// About a steady drift over the session; `None` where none is told.
    pub about_drift: Option<f64>,
}

impl BetweenRuns {
    /// What stays where a drift is taken out of the quantity, or is not.
    #[must_use]
    pub fn less_drift(self, taken_out: bool) -> f64 {
        let about_drift = self.about_drift.filter(|_| taken_out);
        about_drift.unwrap_or(self.about_mean)
    }
}

/// The surroundings of a run. Values that a run inherits keep the place of the session's own table.
#[derive(Debug, Clone)]
pub struct Conditions {
    /// Air in the shop, K.
    pub ambient: Declared,
    /// Air at the cooler's face, K; `None`: the ambient.
    pub cooling_air: Option<Declared>,
    /// Reflected apparent temperature, K, where stated.
    pub reflected: Option<Declared>,
    /// Barometric pressure, Pa, where stated.
    pub barometer: Option<Declared>,
    /// Transmittance of the air path; `None`: 1.
    pub transmittance: Option<Declared>,
    /// Outside heat-transfer coefficient, W/(m² K).
    pub outer_film: Option<Declared>,
    /// Speed of the cooling air over the tank, m/s.
    pub air_speed: Option<Declared>,
    /// Mass flow of the cooling air, kg/s.
    pub cooling_air_flow: Option<Declared>,
}

impl Conditions {
    /// Air at the cooler's face: as stated, else the ambient (the very same input).
    #[must_use]
    pub fn air_at_face(&self) -> &Declared {
        self.cooling_air.as_ref().unwrap_or(&self.ambient)
    }
}

/// What readings were taken with.
#[derive(Debug, Clone)]
pub struct Instrument {
    /// Its key.
    pub name: String,
    /// A thermal instrument or a gauge.
    pub kind: InstrumentKind,
    /// Where its table stands.
    pub span: Span,
}

impl Instrument {
    /// Its settings, where it is a thermal one.
    #[must_use]
    pub fn thermal(&self) -> Option<&ThermalInstrument> {
        match &self.kind {
            InstrumentKind::Thermal(thermal) => Some(thermal),
            InstrumentKind::Gauge(_) => None,
        }
    }
}

/// The two kinds of instrument.
#[derive(Debug, Clone)]
pub enum InstrumentKind {
    /// A thermal camera or an infrared pistol.
    Thermal(Box<ThermalInstrument>),
    /// What reads handwritten notes: a pressure gauge, a sensor.
    Gauge(Gauge),
}

/// A thermal camera or infrared pistol and its settings.
#[derive(Debug, Clone)]
pub struct ThermalInstrument {
    /// The spectral band, µm.
    pub band: Response,
    /// The emissivity that the instrument was set to; 1: none applied. `None` where pixels are raw signal.
    pub emissivity: Option<f64>,
    /// The reflected temperature that the instrument was set to, K; `None`: the run's ambient.
    pub reflected: Option<f64>,
    /// Limits of the apparent temperature; `None`: the default, assumed.
    pub accuracy: Option<Accuracy>,
    /// Limits of the change from one picture to the next, K; `None`: 0.5 K.
    pub drift: Option<f64>,
    /// What a pixel's number means.
    pub pixels: Option<Pixels>,
    /// The scale drawn in palette pictures.
    pub colour_bar: Option<ColourBar>,
    /// Which end of the scale is cold.
    pub low_end: Option<LowEnd>,
    /// What is evenly spaced along the scale.
    pub bar_law: BarLaw,
    /// Distance over spot diameter of a pistol.
    pub distance_ratio: Option<f64>,
}

/// The instrument's spectral response.
#[derive(Debug, Clone, PartialEq)]
pub enum Response {
    /// Flat between two wavelengths, µm.
    Flat {
        /// Shorter end, µm.
        low: f64,
        /// Longer end, µm.
        high: f64,
    },
    /// A table of wavelength and relative response in a file.
    Curve {
        /// As written.
        file: String,
        /// Resolved inside the session's folder.
        path: PathBuf,
        /// Where it is named.
        span: Span,
    },
}

/// Limits of an instrument: the greater of the two at each reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// In the base unit of what is read (K for thermal instruments).
    pub absolute: f64,
    /// As a share of the reading (for temperatures: of the degrees Celsius).
    pub relative: f64,
}

/// What a pixel's number means.
#[derive(Debug, Clone, PartialEq)]
pub enum Pixels {
    /// A temperature: kelvin = zero + step × number.
    Linear {
        /// Kelvin a count.
        step: f64,
        /// Kelvin at count 0.
        zero: f64,
    },
    /// Raw signal S = c / (exp(c2 / (a T + b)) − 1).
    SakumaHattori {
        /// µm.
        a: f64,
        /// µm K.
        b: f64,
        /// Counts.
        c: f64,
    },
}

impl Accuracy {
    /// The limit at a reading: the greater of the two. The reading is in what the relative part is a share of (for
    /// temperatures °C).
    #[must_use]
    pub fn limit(self, reading: f64) -> f64 {
        self.absolute.max(self.relative * reading.abs())
    }
}

/// Where the scale of a palette picture is.
#[derive(Debug, Clone, PartialEq)]
pub enum ColourBar {
    /// x, y, width, height in pixels.
    Box([f64; 4]),
    /// To be found.
    Find,
}

/// The cold end of a colour bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum LowEnd {
    Bottom,
    Top,
    Left,
    Right,
}

/// What is evenly spaced along a colour bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[allow(missing_docs)]
pub enum BarLaw {
    #[default]
    Temperature,
    Signal,
}

/// What reads handwritten notes.
#[derive(Debug, Clone)]
pub struct Gauge {
    /// The run keys it reads, for instance `inlet-pressure`.
    pub measures: Vec<String>,
    /// Its limits, one error shared by all it reads.
    pub accuracy: Option<Accuracy>,
    /// Whether its pressures are absolute.
    pub absolute: bool,
}

/// A tank's material and finish.
#[derive(Debug, Clone)]
pub struct Surface {
    /// Its key.
    pub name: String,
    /// The preset it builds on.
    pub like: Option<String>,
    /// Whether its emissivity is the preset's.
    pub preset_emissivity: bool,
    /// How its emissivity is known.
    pub emissivity: Emissivity,
    /// Whether every cooler carries the very same piece.
    pub shared: bool,
    /// Wall thickness, m.
    pub wall: Option<Declared>,
    /// Thermal conductivity, W/(m K).
    pub conductivity: Option<Declared>,
    /// Density, kg/m³.
    pub density: Option<Declared>,
    /// Specific heat, J/(kg K).
    pub specific_heat: Option<Declared>,
    /// Outer over inner area of the wall; 1 where there are no ribs.
    pub outer_area_ratio: Option<Declared>,
    /// Where its table stands.
    pub span: Span,
}

impl Surface {
    /// Whether another table describes the same finish and wall under another name.
    #[must_use]
    pub fn is_like(&self, other: &Self) -> bool {
        let same = |a: &Option<Declared>, b: &Option<Declared>| {
            a.as_ref().map(|declared| (declared.value, declared.law))
                == b.as_ref().map(|declared| (declared.value, declared.law))
        };
        let finish = match (&self.emissivity, &other.emissivity) {
            (Emissivity::Stated(a), Emissivity::Stated(b)) => (a.value, a.law) == (b.value, b.law),
            // A solved emissivity says nothing of what the surface is.
            _ => false,
        };
        finish
            && same(&self.wall, &other.wall)
            && same(&self.conductivity, &other.conductivity)
            && same(&self.outer_area_ratio, &other.outer_area_ratio)
    }
}

/// How a surface's emissivity is known.
#[derive(Debug, Clone, PartialEq)]
pub enum Emissivity {
    /// Stated.
    Stated(Declared),
    /// Solved from patches of known emissivity beside it; where `from patch` is written.
    FromPatch(Span),
    /// Solved from contact-probe readings; where `from contact` is written.
    FromContact(Span),
}

/// A charge-air cooler under test.
#[derive(Debug, Clone)]
pub struct Cooler {
    /// Its key.
    pub key: String,
    /// What people call it; the key where no label is given.
    pub label: String,
    /// The inlet tank's surface; an index into the session's surfaces.
    pub inlet: usize,
    /// The outlet tank's surface.
    pub outlet: usize,
    /// Inside heat-transfer coefficient, W/(m² K).
    pub inner_film: Option<Declared>,
    /// Hydraulic diameter of the tank, m.
    pub tank_diameter: Option<Declared>,
    /// Height of the tank in the cooling air's direction of flow, m.
    pub tank_height: Option<Declared>,
    /// Inner diameters of the pipes to the inlet and from the outlet tank, where the pressure is tapped, m.
    pub pipes: PerTank<Option<Declared>>,
    /// Where its table stands.
    pub span: Span,
}

impl Cooler {
    /// The surface of one of its tanks.
    #[must_use]
    pub fn surface(&self, tank: Tank) -> usize {
        match tank {
            Tank::Inlet => self.inlet,
            Tank::Outlet => self.outlet,
        }
    }
}

/// One of a cooler's two end tanks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Tank {
    /// The hot end tank.
    Inlet,
    /// The cold end tank.
    Outlet,
}

impl Tank {
    /// Both, hot end first.
    pub const BOTH: [Self; 2] = [Self::Inlet, Self::Outlet];

    /// The quantity that is this tank's skin.
    #[must_use]
    pub const fn skin(self) -> QuantityId {
        match self {
            Self::Inlet => QuantityId::InletSurface,
            Self::Outlet => QuantityId::OutletSurface,
        }
    }

    /// `inlet` or `outlet`, as in the session file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Inlet => "inlet",
            Self::Outlet => "outlet",
        }
    }
}

/// What a region is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// A part of a tank: it enters the tank's mean.
    Tank,
    /// A patch of known emissivity on a tank.
    Patch,
    /// Crumpled foil that shows the reflected apparent temperature.
    Reflector,
    /// Something of known temperature.
    Reference,
}

impl Role {
    /// The word of the session file and the results.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Tank => "tank",
            Self::Patch => "patch",
            Self::Reflector => "reflector",
            Self::Reference => "reference",
        }
    }
}

/// Which of the pixels' signals stands for a region.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[allow(missing_docs)]
pub enum Use {
    #[default]
    Mean,
    Median,
    Max,
}

/// A part of a snapshot.
#[derive(Debug, Clone)]
pub struct Region {
    /// Its name; where none is given, its tank or role, numbered where that repeats in the list (`inlet`, `inlet 2`).
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Its tank, always given for tanks and patches.
    pub tank: Option<Tank>,
    /// Its outline.
    pub shape: Shape,
    /// Parts left out.
    pub exclude: Vec<Shape>,
    /// Its own surface where stated; a tank region without one has its cooler's.
    pub surface: Option<usize>,
    /// Its own reflected apparent temperature, K.
    pub reflected: Option<Declared>,
    /// The known temperature of a reference, K.
    pub temperature: Option<Declared>,
    /// Which of the pixels' signals stands for it.
    pub statistic: Use,
    /// Where it stands.
    pub span: Span,
}

/// One steady hold of one cooler.
#[derive(Debug, Clone)]
pub struct Run {
    /// The cooler; an index into the session's coolers.
    pub cooler: usize,
    /// Its name; `run 1`, `run 2` … by its place among all runs where none is given.
    pub name: String,
    /// Its surroundings.
    pub conditions: Conditions,
    /// Time of day of the hold, s since midnight.
    pub time: Option<f64>,
    /// Engine speed, rpm.
    pub engine_speed: Option<Declared>,
    /// Load held before the first picture, s.
    pub hold: Option<Declared>,
    /// Skin temperatures before the load came on, K.
    pub start_skin: PerTank<Option<Declared>>,
    /// Tap pressures as noted, Pa.
    pub pressure: PerTank<Option<Declared>>,
    /// Inlet less outlet pressure read by one instrument, Pa.
    pub differential_pressure: Option<Declared>,
    /// The engine's own sensor, K.
    pub intake_air: Option<Declared>,
    /// Probes in the air stream, K.
    pub air: PerTank<Option<Declared>>,
    /// Charge-air flow, kg/s.
    pub air_flow: Option<Declared>,
    /// Another modification made at the same time.
    pub change: Option<String>,
    /// What is expected of it, for a plan.
    pub expected: Option<Expected>,
    /// Its logger's file; values that are not written by hand are that one's means.
    pub log: Option<RunLog>,
    /// Contact-probe readings.
    pub contacts: Vec<Contact>,
    /// Pictures.
    pub snapshots: Vec<Snapshot>,
    /// Pistol readings.
    pub pistols: Vec<Pistol>,
    /// Where its table stands.
    pub span: Span,
}

/// A value for each tank.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[allow(missing_docs)]
pub struct PerTank<T> {
    pub inlet: T,
    pub outlet: T,
}

impl<T> PerTank<T> {
    /// The value for one tank.
    pub const fn get(&self, tank: Tank) -> &T {
        match tank {
            Tank::Inlet => &self.inlet,
            Tank::Outlet => &self.outlet,
        }
    }

    /// The value for one tank, to change.
    pub const fn get_mut(&mut self, tank: Tank) -> &mut T {
        match tank {
            Tank::Inlet => &mut self.inlet,
            Tank::Outlet => &mut self.outlet,
        }
    }
}

/// A contact-probe reading of a tank's skin.
#[derive(Debug, Clone)]
pub struct Contact {
    /// The tank.
    pub tank: Tank,
    /// The surface it was held against; the tank's own where not stated.
    pub surface: Option<usize>,
    /// What it read, K.
    pub temperature: Declared,
    /// Where it stands.
    pub span: Span,
}

/// One thermal picture file.
#[derive(Debug, Clone)]
pub struct Snapshot {
    /// The file as written.
    pub file: String,
    /// Where it is.
    pub path: PathBuf,
    /// Its regions.
    pub regions: Vec<Region>,
    /// What it was taken with; an index into the session's instruments, always a thermal one.
    pub instrument: usize,
    /// What a pixel's number means; its own or its instrument's.
    pub pixels: Option<Pixels>,
    /// Time into the hold, s.
    pub at: Option<Declared>,
    /// Between the line of sight and the square on the tank, degrees.
    pub angle: Option<Declared>,
    /// Temperature at the cold end of the colour bar, K.
    pub low: Option<Declared>,
    /// Temperature at the hot end, K.
    pub high: Option<Declared>,
    /// Numbers printed in the picture.
    pub printed: Vec<Printed>,
    /// The colour bar; its own or its instrument's.
    pub colour_bar: Option<ColourBar>,
    /// Which end of the bar is cold; its instrument's.
    pub low_end: Option<LowEnd>,
    /// What is evenly spaced along the bar; its instrument's.
    pub bar_law: BarLaw,
    /// Which page of a file with several, from 1.
    pub page: Option<usize>,
    /// Where `file` is written.
    pub span: Span,
}

/// A number printed in a palette picture.
#[derive(Debug, Clone)]
pub struct Printed {
    /// The pixel it stands for.
    pub at: [f64; 2],
    /// What it says, K.
    pub reading: Declared,
}

/// One number from an infrared pistol.
#[derive(Debug, Clone)]
pub struct Pistol {
    /// The tank.
    pub tank: Tank,
    /// What it showed, K.
    pub reading: Declared,
    /// From the lens to the tank, m.
    pub distance: Option<Declared>,
    /// Width of what was aimed at, m.
    pub target: Option<Declared>,
    /// Its own surface where stated.
    pub surface: Option<usize>,
    /// Its own reflected apparent temperature, K.
    pub reflected: Option<Declared>,
    /// What it was taken with; an index into the session's instruments, always a thermal one.
    pub instrument: usize,
    /// Time into the hold, s.
    pub at: Option<Declared>,
    /// Where it stands.
    pub span: Span,
}
