//! The spellings of units, and how each becomes the base unit of its dimension.

use super::temperature::ZERO_CELSIUS;
use super::{Dimension, PSI, Unreadable};

/// A unit: base = offset + scale × number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Unit {
    /// The base unit in one of this.
    pub scale: f64,
    /// The base unit at 0 of this; only temperatures have one.
    pub offset: f64,
}

/// One unit with the ways to write it, the usual one first.
type Row = (&'static [&'static str], f64, f64);

const FAHRENHEIT: f64 = 5.0 / 9.0;
const POUND: f64 = 0.453_592_37;

const TEMPERATURE: &[Row] = &[
    (&["°C", "degC", "C"], 1.0, ZERO_CELSIUS),
    (
        &["°F", "degF", "F"],
        FAHRENHEIT,
        ZERO_CELSIUS - 32.0 * FAHRENHEIT,
    ),
    (&["K"], 1.0, 0.0),
];
const TEMPERATURE_DIFFERENCE: &[Row] = &[
    (&["K"], 1.0, 0.0),
    (&["°C", "degC", "C"], 1.0, 0.0),
    (&["°F", "degF", "F"], FAHRENHEIT, 0.0),
];
/// psi from the pound-force and the inch; inHg by the convention of mercury at 0 °C (both from memory).
const PRESSURE: &[Row] = &[
    (&["kPa"], 1e3, 0.0),
    (&["hPa"], 1e2, 0.0),
    (&["bar"], 1e5, 0.0),
    (&["mbar"], 1e2, 0.0),
    (&["Pa"], 1.0, 0.0),
    (&["psi"], PSI, 0.0),
    (&["inHg"], 3_386.389, 0.0),
];
const LENGTH: &[Row] = &[
    (&["mm"], 1e-3, 0.0),
    (&["m"], 1.0, 0.0),
    (&["cm"], 1e-2, 0.0),
    (&["µm", "um"], 1e-6, 0.0),
    (&["in"], 0.0254, 0.0),
];
const TIME: &[Row] = &[
    (&["s"], 1.0, 0.0),
    (&["min"], 60.0, 0.0),
    (&["h"], 3600.0, 0.0),
    (&["ms"], 1e-3, 0.0),
];
const ENGINE_SPEED: &[Row] = &[(&["rpm", "1/min", "min-1"], 1.0, 0.0)];
const MASS_FLOW: &[Row] = &[
    (&["g/s"], 1e-3, 0.0),
    (&["kg/s"], 1.0, 0.0),
    (&["lb/min"], POUND / 60.0, 0.0),
];
const VELOCITY: &[Row] = &[(&["m/s"], 1.0, 0.0), (&["km/h"], 1.0 / 3.6, 0.0)];
const CONDUCTIVITY: &[Row] = &[(&["W/(m K)", "W/m/K", "W m-1 K-1"], 1.0, 0.0)];
const FILM: &[Row] = &[(&["W/(m2 K)", "W/m2/K", "W m-2 K-1"], 1.0, 0.0)];
const SPECIFIC_HEAT: &[Row] = &[
    (&["J/(kg K)", "J/kg/K", "J kg-1 K-1"], 1.0, 0.0),
    (&["kJ/(kg K)", "kJ/kg/K", "kJ kg-1 K-1"], 1e3, 0.0),
];
const DENSITY: &[Row] = &[
    (&["kg/m3", "kg m-3"], 1.0, 0.0),
    (&["g/cm3", "g cm-3"], 1e3, 0.0),
];
const ANGLE: &[Row] = &[(&["°", "deg"], 1.0, 0.0)];
const RATIO: &[Row] = &[(&["%"], 1e-2, 0.0)];

/// All dimensions, the ones that a unit is more likely meant for first.
pub(super) const DIMENSIONS: &[Dimension] = &[
    Dimension::Temperature,
    Dimension::TemperatureDifference,
    Dimension::Pressure,
    Dimension::Length,
    Dimension::Time,
    Dimension::EngineSpeed,
    Dimension::MassFlow,
    Dimension::Velocity,
    Dimension::Conductivity,
    Dimension::HeatTransferCoefficient,
    Dimension::SpecificHeat,
    Dimension::Density,
    Dimension::Angle,
    Dimension::Ratio,
];

pub(super) const fn rows(dimension: Dimension) -> &'static [Row] {
    match dimension {
        Dimension::Temperature => TEMPERATURE,
        Dimension::TemperatureDifference => TEMPERATURE_DIFFERENCE,
        Dimension::Pressure => PRESSURE,
        Dimension::Length => LENGTH,
        Dimension::Time => TIME,
        Dimension::EngineSpeed => ENGINE_SPEED,
        Dimension::MassFlow => MASS_FLOW,
        Dimension::Velocity => VELOCITY,
        Dimension::Conductivity => CONDUCTIVITY,
        Dimension::HeatTransferCoefficient => FILM,
        Dimension::SpecificHeat => SPECIFIC_HEAT,
        Dimension::Density => DENSITY,
        Dimension::Angle => ANGLE,
        Dimension::Ratio => RATIO,
    }
}

/// One way to write each character: minus signs, degree signs, micro signs, spaces, dots, raised digits.
pub(super) fn plain(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '−' | '‐' | '‑' | '–' => '-',
            'º' | '˚' => '°',
            'μ' => 'µ',
            '⋅' | '∙' | '•' => '·',
            '²' => '2',
            '³' => '3',
            '✕' | '✖' => '×',
            c if c.is_whitespace() => ' ',
            c => c,
        })
        .filter(|c| !matches!(c, '\u{200b}' | '\u{feff}'))
        .collect()
}

/// What is left of a unit where only its letters, digits and slashes count: `W/(m²·K)` and `W/m2K` are the same.
fn bare(unit: &str) -> String {
    plain(unit)
        .replace('¹', "1")
        .replace('⁻', "-")
        .chars()
        .filter(|c| !matches!(c, ' ' | '(' | ')' | '·' | '*' | '^'))
        .collect()
}

/// The unit of a dimension with this spelling.
pub(super) fn find(unit: &str, dimension: Dimension) -> Option<Unit> {
    let wanted = bare(unit);
    let (_, scale, offset) = rows(dimension)
        .iter()
        .find(|(names, ..)| names.iter().any(|name| bare(name) == wanted))?;
    Some(Unit {
        scale: *scale,
        offset: *offset,
    })
}

/// The same for what machines write: capitals or not where that leaves no choice, and some longer spellings.
pub(super) fn find_in_any_case(unit: &str, dimension: Dimension) -> Option<Unit> {
    find(unit, dimension).or_else(|| {
        let wanted = bare(unit).to_lowercase();
        let wanted = match (dimension, wanted.as_str()) {
            (Dimension::Time, "sec" | "secs" | "second" | "seconds") => "s",
            (Dimension::Time, "msec" | "milliseconds") => "ms",
            (Dimension::EngineSpeed, "rev/min" | "r/min" | "u/min") => "rpm",
            (_, wanted) => wanted,
        };
        let mut rows = rows(dimension).iter();
        let same = |name: &&'static str| bare(name).to_lowercase() == wanted;
        let (_, scale, offset) = rows.find(|(names, ..)| names.iter().any(same))?;
        Some(Unit {
            scale: *scale,
            offset: *offset,
        })
    })
}

/// What a pressure unit that says from where it is counted should be: a hint that followed only in its letters would be out
/// by an atmosphere.
fn gauge_or_absolute(unit: &str, dimension: Dimension) -> Option<String> {
    if dimension != Dimension::Pressure {
        return None;
    }
    let (kept, reference) = [
        ("psig", "psi", "gauge"),
        ("psia", "psi", "absolute"),
        ("barg", "bar", "gauge"),
        ("bara", "bar", "absolute"),
        ("kPag", "kPa", "gauge"),
        ("kPaa", "kPa", "absolute"),
    ]
    .into_iter()
    .find_map(|(odd, kept, reference)| {
        bare(unit)
            .eq_ignore_ascii_case(odd)
            .then_some((kept, reference))
    })?;
    let ending = if reference == "gauge" {
        " (as where nothing is said)"
    } else {
        ""
    };
    Some(format!(
        "write `{kept}`, and reference = \"{reference}\" on the instrument that measures it{ending}"
    ))
}

/// The unit of a dimension with this spelling, or what is wrong with it.
pub(super) fn resolve(unit: &str, dimension: Dimension) -> Result<Unit, Unreadable> {
    if let Some(found) = find(unit, dimension) {
        return Ok(found);
    }
    let shown = super::number::shortened(unit);
    let other = DIMENSIONS
        .iter()
        .find(|other| find(unit, **other).is_some());
    if let Some(other) = other {
        return Err(Unreadable::new(
            format!(
                "`{shown}` is the unit of {}, but {} is expected here",
                other.words(),
                dimension.words()
            ),
            format!("write {}", spellings(dimension)),
        ));
    }
    let what = format!("unknown unit `{shown}`");
    if let Some(mend) = gauge_or_absolute(unit, dimension) {
        return Err(Unreadable::new(what, mend));
    }
    let mend = nearest(unit, dimension).map_or_else(
        || format!("write {}", spellings(dimension)),
        |near| format!("did you mean `{near}`?"),
    );
    Err(Unreadable::new(what, mend))
}

fn nearest(unit: &str, dimension: Dimension) -> Option<&'static str> {
    let wanted = bare(unit).to_lowercase();
    rows(dimension)
        .iter()
        .flat_map(|(names, ..)| names.iter())
        .map(|name| {
            (
                strsim::osa_distance(&wanted, &bare(name).to_lowercase()),
                *name,
            )
        })
        .filter(|(distance, name)| *distance <= bare(name).chars().count() / 2)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// The usual spellings of a dimension's units, to show in a message.
pub(super) fn spellings(dimension: Dimension) -> String {
    let usual: Vec<String> = rows(dimension)
        .iter()
        .filter_map(|(names, ..)| names.first())
        .map(|name| format!("`{name}`"))
        .collect();
    match dimension {
        Dimension::Ratio => "a plain number, or `%` after it".to_owned(),
        _ => usual.join(" or "),
    }
}

/// An example of a quantity of a dimension, as it stands in a session.
pub(super) fn example(number: &str, dimension: Dimension) -> String {
    let usual = rows(dimension)
        .iter()
        .filter_map(|(names, ..)| names.first());
    let shown: Vec<String> = usual
        .take(3)
        .map(|name| format!("\"{number} {name}\""))
        .collect();
    match dimension {
        Dimension::Ratio => number.to_owned(),
        _ => shown.join(" or "),
    }
}
