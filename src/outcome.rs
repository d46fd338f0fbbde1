//! The outcome of a session: all that reports, tables and pictures are written from. Plain data, in the units of the face.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::caution::{Caution, CautionId};
use crate::correct::EmissivityOrigin;
use crate::measure::Shown;
use crate::place::kind;
use crate::quantity::{QuantityId, Unit};
use crate::session::BetweenRuns;

/// A value with its unit and, where it has been worked out, its doubt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Q {
    /// The model at the central values of its inputs.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
    /// Lower end of the 95 % interval.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// Upper end of the 95 % interval.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
    /// Standard uncertainty.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub standard_uncertainty: Option<f64>,
}

impl Q {
    /// How far the interval reaches to either side: half of its width; `None` where it has no ends.
    #[must_use]
    pub fn reach(&self) -> Option<f64> {
        Some(0.5 * (self.high? - self.low?))
    }
}

/// `results.json`, as written. Quantities that are not known are left out.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Results {
    /// Version of this layout.
    pub schema: u32,
    /// Version of the program.
    pub endtank: String,
    /// The session's title.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub title: Option<String>,
    /// Key of the cooler that the others are compared with.
    pub baseline: String,
    /// The quantity that answers the customer.
    pub primary: QuantityId,
    /// Every file that was read.
    pub inputs: Vec<InputFile>,
    /// Seed of the random numbers.
    pub seed: u64,
    /// How many draws the intervals rest on; 0 where none were made.
    pub draws: u64,
    /// A row per region and pistol reading, in the order of the session.
    pub readings: Vec<Reading>,
    /// Coolers in the order of the session.
    pub coolers: Vec<CoolerResult>,
    /// A row per candidate and quantity that both it and the baseline have.
    pub comparison: Vec<Comparison>,
    /// Where the doubt comes from: of every quantity of every cooler, then of every difference.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub budget: Vec<Budget>,
    /// What makes figures less trustworthy.
    pub cautions: Vec<Caution>,
    /// Series of readings of a tank in one hold, through which its steady skin was fitted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub settling: Vec<SettlingSeries>,
    /// Of each log the greatest rise of the engine speed, where it is a pull.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pulls: Vec<Pull>,
}

/// A pull: the greatest rise of the engine speed in a run's log.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Pull {
    /// Key of the cooler.
    pub cooler: String,
    /// Name of the run.
    pub run: String,
    /// The log as written in the session.
    pub file: String,
    /// Its steps of 100 rpm, by rising engine speed.
    pub steps: Vec<PullStep>,
    /// Δp = offset + K ṁ²/ρ̄, fitted through the steps; left out where the log does not have what it takes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fit: Option<PullFit>,
    /// The keys that are missing for the fit.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub missing: Vec<String>,
}

/// Means over the rows of a step of engine speed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct PullStep {
    /// Engine speed, rpm.
    pub engine_speed: f64,
    /// Inlet less outlet pressure, kPa.
    pub pressure_drop: f64,
    /// Air flow, g/s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub air_flow: Option<f64>,
    /// How many rows.
    pub rows: u64,
}

/// What is fitted through a pull; the intervals are those of the scatter about the line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct PullFit {
    /// Pressure drop at no flow: what the two sensors differ by.
    pub offset: Q,
    /// K.
    pub loss_coefficient: Q,
}

/// A series of readings of one tank in one hold.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SettlingSeries {
    /// Key of the cooler.
    pub cooler: String,
    /// Name of the run.
    pub run: String,
    /// `inlet` or `outlet`.
    pub tank: String,
    /// The readings, by time.
    pub points: Vec<Point>,
    /// The steady skin that is fitted; left out where the series does not tell.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub steady: Option<Q>,
    /// A of T(t) = T_∞ − A exp(−t/τ), t from the first reading, K.
    pub amplitude: f64,
    /// τ of it, s.
    pub time_constant: f64,
}

/// A reading of a series.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Point {
    /// Time into the hold (from the first picture where the hold is not stated), s.
    pub time: f64,
    /// Mean of the skins at that time, °C.
    pub skin: f64,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct InputFile {
    /// As written in the session; the session file itself by its name.
    pub file: String,
    /// SHA-256 of its bytes, in lower-case hexadecimal.
    pub sha256: String,
}

/// One region or pistol reading.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Reading {
    /// Key of the cooler.
    pub cooler: String,
    /// Name of the run.
    pub run: String,
    /// The picture as written in the session, or `pistol`.
    pub source: String,
    /// Name of the region; for a pistol reading its tank.
    pub region: String,
    /// `tank`, `patch`, `reflector` or `reference`.
    pub role: String,
    /// `inlet` or `outlet`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tank: Option<String>,
    /// Name of the surface.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub surface: Option<String>,
    /// Emissivity of the surface.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub emissivity: Option<Q>,
    /// Where that comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub emissivity_origin: Option<EmissivityOrigin>,
    /// Reflected apparent temperature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reflected: Option<Q>,
    /// Valid pixels.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pixels: Option<usize>,
    /// Pixels that hold no temperature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub invalid_pixels: Option<usize>,
    /// Statistics of the shown temperatures, °C; of a pistol reading the number itself.
    pub shown: Shown,
    /// Blackbody temperature of the same radiation, °C, before the air path is removed.
    pub apparent: f64,
    /// Corrected temperature of the skin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub surface_temperature: Option<Q>,
    /// Charge air behind the skin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub charge_air: Option<Q>,
    /// Kinds of the cautions that concern it.
    pub cautions: Vec<CautionId>,
}

/// What one cooler does, over all its runs.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CoolerResult {
    /// Its key.
    pub cooler: String,
    /// What people call it.
    pub label: String,
    /// How many runs it has.
    pub runs: usize,
    /// What is known of it.
    pub quantities: BTreeMap<QuantityId, Q>,
    /// Kinds of the cautions that concern it.
    pub cautions: Vec<CautionId>,
}

/// One quantity of a candidate against the baseline.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Comparison {
    /// The quantity.
    pub quantity: QuantityId,
    /// Key of the candidate.
    pub candidate: String,
    /// The baseline's value.
    pub baseline_value: Q,
    /// The candidate's value.
    pub candidate_value: Q,
    /// Candidate less baseline.
    pub difference: Q,
    /// What the measurements allow to be said; left out where no interval has been worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// The single input that comes nearest to changing the verdict; left out where none does within 20 of its standard
    /// uncertainties, or where there is no verdict to change.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flip: Option<Flip>,
}

/// The input of a budget that stands for the scatter between runs.
pub const SCATTER: &str = "scatter between runs";

/// Where the doubt of one figure comes from.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Budget {
    /// Key of the cooler whose quantity it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cooler: Option<String>,
    /// Of a difference, key of the candidate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub candidate: Option<String>,
    /// The quantity.
    pub quantity: QuantityId,
    /// Shares of the variance, the largest first. What they lack of 1 comes from inputs that act together.
    pub shares: Vec<Share>,
    /// Of the primary's difference: what would narrow it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub advice: Option<BudgetAdvice>,
}

impl Budget {
    /// The inputs by kind with the share that they have together, the largest first.
    #[must_use]
    pub fn by_kind(&self) -> Vec<(Vec<&str>, f64)> {
        let mut kinds: Vec<(String, Vec<&str>, f64)> = Vec::new();
        for share in &self.shares {
            let of = kind(&share.input);
            match kinds.iter_mut().find(|(known, ..)| *known == of) {
                Some((_, inputs, sum)) => {
                    inputs.push(&share.input);
                    *sum += share.share;
                }
                None => kinds.push((of, vec![&share.input], share.share)),
            }
        }
        kinds.sort_by(|a, b| b.2.total_cmp(&a.2));
        let kinds = kinds.into_iter();
        kinds.map(|(_, inputs, share)| (inputs, share)).collect()
    }
}

/// An input's share of a figure's variance.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Share {
    /// Its place in the session, or `scatter between runs`. Errors of instruments stand at the instrument.
    pub input: String,
    /// Its share.
    pub share: f64,
}

/// What would narrow the primary's difference.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BudgetAdvice {
    /// The inputs that have the largest share together: one kind of thing, for instance one note in every run.
    pub inputs: Vec<String>,
    /// Their share of the variance.
    pub share: f64,
    /// The difference if they were known exactly, everything else as it is.
    pub known_exactly: Q,
    /// What to do about them, where there is something.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub action: Option<String>,
    /// The difference with that done, as if the same had been read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub with_action: Option<Q>,
}

/// Where one input would have to be for a verdict to change, everything else as the session states it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Flip {
    /// Its place in the session. Errors of instruments are in shares of their limits.
    pub input: String,
    /// Its stated or assumed value.
    pub stated: f64,
    /// To which side of `value` the verdict changes.
    pub side: FlipSide,
    /// Where the verdict changes.
    pub value: f64,
    /// The input's standard uncertainty.
    pub standard_uncertainty: f64,
    /// The unit of all three.
    pub unit: String,
    /// What the verdict becomes.
    pub verdict: Verdict,
}

/// A side of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum FlipSide {
    Below,
    Above,
}

/// What the measurements allow to be said of a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[allow(missing_docs)]
pub enum Verdict {
    #[serde(rename = "higher")]
    Higher,
    #[serde(rename = "lower")]
    Lower,
    #[serde(rename = "not distinguishable")]
    NotDistinguishable,
    #[serde(rename = "needs repeats")]
    NeedsRepeats,
    #[serde(rename = "not comparable")]
    NotComparable,
    #[serde(rename = "equal")]
    Equal,
}

impl Verdict {
    /// As it is written everywhere.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Higher => "higher",
            Self::Lower => "lower",
            Self::NotDistinguishable => "not distinguishable",
            Self::NeedsRepeats => "needs repeats",
            Self::NotComparable => "not comparable",
            Self::Equal => "equal",
        }
    }
}

/// The whole outcome: what `results.json` holds, and what only pictures and reports need.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// As written to `results.json`.
    pub results: Results,
    /// Conditions of each run, in the order of the session.
    pub conditions: Vec<RunConditions>,
    /// Pictures to annotate, in the order of the session.
    pub pictures: Vec<Picture>,
    /// What the figures about the charge air rest on and what is missing for others, in sentences.
    pub grounds: Vec<String>,
    /// Scatter between the runs of the same cooler as they show it, by quantity.
    pub between_runs: BTreeMap<QuantityId, BetweenRuns>,
}

/// A run's conditions and notes, in words and units of the face; for reports.
#[derive(Debug, Clone)]
pub struct RunConditions {
    /// Key of the cooler.
    pub cooler: String,
    /// Name of the run.
    pub run: String,
    /// Cooling air at the cooler's face, °C.
    pub cooling_air: Option<f64>,
    /// What was noted: label, value as written.
    pub notes: Vec<(String, String)>,
}

/// A picture and what to write on it.
#[derive(Debug, Clone)]
pub struct Picture {
    /// The file as written in the session.
    pub file: String,
    /// Index of the run in the session.
    pub run: usize,
    /// Index of the snapshot in the run.
    pub snapshot: usize,
    /// The name of the annotated file, without folder: unique among the session's pictures, ends in `.png`.
    pub annotated: String,
    /// SHA-256 of the bytes that were measured, so that a file changed meanwhile is noticed.
    pub sha256: String,
    /// For each region of the snapshot, in order, the index of its reading in the results.
    pub readings: Vec<usize>,
}
