//! A quantity from its text: `23.5 °C ± 0.5`, `25 ×/÷ 1.5 W/(m2 K)`, `2350 to 2450 rpm`.

use super::number::{Number, leading, shortened};
use super::spelling::{Unit, example, find, plain, resolve};
use super::{Dimension, Law, Parsed, Unreadable};

/// A pure number is its own unit.
const ONE: Unit = Unit {
    scale: 1.0,
    offset: 0.0,
};

/// Ways to write a symmetric interval, the longer first.
const PLUS_MINUS: &[&str] = &["±", "+/-", "+-"];
/// Ways to write a factor, the longer first.
const TIMES_OVER: &[&str] = &["×/÷", "x/÷", "*/÷", "×/", "x/", "*/"];

/// Reads a quantity of a dimension.
///
/// | text | law |
/// |------|-----|
/// | `23.5 °C` | exact; `half_last_digit` says what could be assumed |
/// | `23.5 °C ± 0.5`, `25 ± 15 W/(m2 K)`, `40 °C ± 2 %` | evenly between the ends (GUM 4.3.7) |
/// | `23.5 °C ± 0.5 (k=2)` | normal, standard uncertainty U/k (GUM 6.2.1) |
/// | `3 ×/÷ 1.5` | evenly in the logarithm between value/f and value × f |
/// | `2350 to 2450 rpm` | evenly between the ends, the value in their middle |
///
/// The unit stands after the value, after the limits or after both. `± 2 %` is relative to the number as written,
/// unless the value itself is in %: then it is percentage points.
///
/// # Errors
/// Where the text is no quantity of this dimension: what is wrong, and what to write.
pub fn parse(text: &str, dimension: Dimension) -> Result<Parsed, Unreadable> {
    let text = plain(text);
    let text = text.trim();
    let parsed = if let Some((value, limit)) = split(text, PLUS_MINUS) {
        interval(value, limit, dimension)?
    } else if let Some((value, factor)) = split(text, TIMES_OVER) {
        scaled(value, factor, dimension)?
    } else if let Some((low, high)) = ends(text) {
        range(low, high, dimension)?
    } else {
        plain_value(text, dimension)?
    };
    checked(parsed, text, dimension)
}

fn split<'t>(text: &'t str, marks: &[&str]) -> Option<(&'t str, &'t str)> {
    marks.iter().find_map(|mark| text.split_once(mark))
}

/// The two ends of `a to b`; only a `to` that stands between spaces or digits counts.
fn ends(text: &str) -> Option<(&str, &str)> {
    text.match_indices("to").find_map(|(at, word)| {
        let (before, after) = (text.get(..at)?, text.get(at + word.len()..)?);
        let left = before.ends_with(|c: char| c == ' ' || c.is_ascii_digit());
        let right = after.starts_with(|c: char| c == ' ' || c.is_ascii_digit());
        (left && right).then_some((before, after))
    })
}

/// A unit that is written, or `None`; a pure number without one is complete.
fn written_unit(rest: &str, dimension: Dimension) -> Result<Option<Unit>, Unreadable> {
    if rest.is_empty() {
        return Ok(None);
    }
    resolve(rest, dimension).map(Some)
}

/// The unit to read a number in, where at most one of two places says so.
fn needed(
    unit: Option<Unit>,
    number: &Number<'_>,
    dimension: Dimension,
) -> Result<Unit, Unreadable> {
    match unit {
        Some(unit) => Ok(unit),
        None if dimension == Dimension::Ratio => Ok(ONE),
        None => Err(missing_unit(number.written, dimension)),
    }
}

/// A number without the unit that it needs.
pub(super) fn missing_unit(number: &str, dimension: Dimension) -> Unreadable {
    let number = shortened(number);
    Unreadable::new(
        format!(
            "`{number}` has no unit, but {} needs one",
            dimension.words()
        ),
        format!("write {}", example(&number, dimension)),
    )
}

fn plain_value(text: &str, dimension: Dimension) -> Result<Parsed, Unreadable> {
    let number = leading(text)?;
    if coverage(number.rest)?.1.is_some() {
        return Err(Unreadable::new(
            format!(
                "`{}` states a coverage factor but no limits",
                shortened(text)
            ),
            "write the expanded uncertainty too, for instance `± 0.5 (k=2)`",
        ));
    }
    if number.rest.starts_with('-')
        && number.rest.contains(|c: char| c.is_ascii_digit())
        && find(number.rest, dimension).is_none()
    {
        return Err(Unreadable::new(
            format!("`{}` is not understood as a range", shortened(text)),
            "write the two ends with `to` between them, for instance `8 to 14 µm`",
        ));
    }
    let unit = needed(written_unit(number.rest, dimension)?, &number, dimension)?;
    Ok(stated(&number, unit, Law::Exact, false))
}

fn stated(number: &Number<'_>, unit: Unit, law: Law, limits_stated: bool) -> Parsed {
    Parsed {
        value: unit.offset + unit.scale * number.value,
        law,
        half_last_digit: unit.scale * number.half_last_digit,
        limits_stated,
    }
}

/// `value ± limit`, with or without a coverage factor.
fn interval(value: &str, limit: &str, dimension: Dimension) -> Result<Parsed, Unreadable> {
    let (limit, coverage) = coverage(limit)?;
    let value = leading(value)?;
    let limit = leading(&limit)?;
    if limit.value <= 0.0 {
        return Err(Unreadable::new(
            format!(
                "limits of `± {}` are not above zero",
                shortened(limit.written)
            ),
            "write how far off the value may be, or leave the limits out",
        ));
    }
    let own = written_unit(value.rest, dimension)?;
    let (unit, half_width) =
        if limit.rest == "%" && (dimension != Dimension::Ratio || own.is_none()) {
            let unit = needed(own, &value, dimension)?;
            (unit, unit.scale * value.value.abs() * limit.value / 100.0)
        } else {
            let unit = match own {
                Some(unit) => Some(unit),
                None => written_unit(limit.rest, dimension)?,
            };
            let unit = needed(unit, &value, dimension)?;
            let scale = match written_unit(limit.rest, width(dimension))? {
                Some(written) => written.scale,
                None => unit.scale,
            };
            (unit, scale * limit.value)
        };
    if half_width <= 0.0 {
        return Err(Unreadable::new(
            "limits in % of zero say nothing",
            "write the limits in the unit of the value",
        ));
    }
    let centre = unit.offset + unit.scale * value.value;
    let law = match coverage {
        Some(k) => Law::Normal {
            standard: half_width / k,
        },
        None => Law::Rectangular {
            low: centre - half_width,
            high: centre + half_width,
        },
    };
    Ok(stated(&value, unit, law, true))
}

/// What the width of an interval is measured in.
const fn width(dimension: Dimension) -> Dimension {
    match dimension {
        Dimension::Temperature => Dimension::TemperatureDifference,
        other => other,
    }
}

/// Takes `(k=2)` out of a limit, wherever it stands in it.
fn coverage(limit: &str) -> Result<(String, Option<f64>), Unreadable> {
    let group = limit.match_indices('(').find_map(|(open, _)| {
        let inside = limit.get(open + 1..)?;
        let close = inside.find(')')?;
        let factor = inside.get(..close)?.trim().strip_prefix(['k', 'K'])?;
        let factor = factor.trim_start().strip_prefix('=')?;
        Some((open, factor.trim(), limit.get(open + close + 2..)?))
    });
    let Some((open, factor, after)) = group else {
        return Ok((limit.to_owned(), None));
    };
    let before = limit.get(..open).unwrap_or_default();
    let number = leading(factor)?;
    if number.value <= 0.0 || !number.rest.is_empty() {
        return Err(Unreadable::new(
            format!(
                "the coverage factor `{}` is no number above zero",
                shortened(factor)
            ),
            "write it as in `± 0.5 (k=2)`",
        ));
    }
    Ok((format!("{before} {after}"), Some(number.value)))
}

/// `value ×/÷ factor`.
fn scaled(value: &str, factor: &str, dimension: Dimension) -> Result<Parsed, Unreadable> {
    let value = leading(value)?;
    let factor = leading(factor)?;
    if factor.value <= 1.0 {
        return Err(Unreadable::new(
            format!("the factor `{}` is not above 1", shortened(factor.written)),
            "write a factor such as `×/÷ 1.5`: the truth lies between value/1.5 and value × 1.5",
        ));
    }
    let own = written_unit(value.rest, dimension)?;
    let after = written_unit(factor.rest, dimension)?;
    if let (Some(own), Some(after)) = (own, after)
        && own != after
    {
        return Err(Unreadable::new(
            "the value and its factor have different units",
            "a factor has no unit: write the unit once",
        ));
    }
    let unit = needed(own.or(after), &value, dimension)?;
    let parsed = stated(
        &value,
        unit,
        Law::Factor {
            factor: factor.value,
        },
        true,
    );
    if parsed.value <= 0.0 || dimension == Dimension::Temperature {
        return Err(Unreadable::new(
            "a factor needs a value above zero that is no temperature",
            "write limits with `±` instead",
        ));
    }
    Ok(parsed)
}

/// `low to high`.
fn range(low: &str, high: &str, dimension: Dimension) -> Result<Parsed, Unreadable> {
    let low = leading(low)?;
    let high = leading(high)?;
    let first = written_unit(low.rest, dimension)?;
    let last = needed(
        written_unit(high.rest, dimension)?.or(first),
        &high,
        dimension,
    )?;
    let first = first.unwrap_or(last);
    let bottom = first.offset + first.scale * low.value;
    let top = last.offset + last.scale * high.value;
    if bottom >= top {
        return Err(Unreadable::new(
            format!(
                "`{} to {}` does not rise",
                shortened(low.written),
                shortened(high.written)
            ),
            "write the lower end first",
        ));
    }
    Ok(Parsed {
        value: bottom + (top - bottom) / 2.0,
        law: Law::Rectangular {
            low: bottom,
            high: top,
        },
        half_last_digit: (first.scale * low.half_last_digit).max(last.scale * high.half_last_digit),
        limits_stated: true,
    })
}

/// What the conversion of a written temperature may lose to rounding, K: −459.67 °F is absolute zero.
const ROUNDING: f64 = 1e-9;

/// Refuses what overflowed or lies below absolute zero.
fn checked(mut parsed: Parsed, text: &str, dimension: Dimension) -> Result<Parsed, Unreadable> {
    let figures = match parsed.law {
        Law::Exact => [parsed.value, 0.0, 0.0],
        Law::Rectangular { low, high } => [parsed.value, low, high],
        Law::Normal { standard } => [parsed.value, standard, 1.0 / standard],
        Law::Factor { factor } => [parsed.value * factor, parsed.value / factor, factor],
    };
    if !figures.iter().all(|figure| figure.is_finite()) || !parsed.half_last_digit.is_finite() {
        return Err(Unreadable::new(
            format!("`{}` is outside the range of numbers", shortened(text)),
            "check the exponent",
        ));
    }
    if dimension == Dimension::Temperature && (-ROUNDING..0.0).contains(&parsed.value) {
        parsed.value = 0.0;
    }
    if dimension == Dimension::Temperature && parsed.value < 0.0 {
        return Err(Unreadable::new(
            format!("`{}` is below absolute zero", shortened(text)),
            "check the number and its unit",
        ));
    }
    Ok(parsed)
}
