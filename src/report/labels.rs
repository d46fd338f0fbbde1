//! What is written beside each region of an annotated picture.

use super::number::{self, Kind};
use crate::outcome::{Outcome, Picture, Q, Reading};

/// The lines of each region's label: what it is and of what material, its corrected and its shown temperature.
#[must_use]
pub fn of(outcome: &Outcome, picture: &Picture) -> Vec<Vec<String>> {
    let readings = picture
        .readings
        .iter()
        .filter_map(|&index| outcome.results.readings.get(index));
    readings.map(lines).collect()
}

fn lines(reading: &Reading) -> Vec<String> {
    let what = match &reading.surface {
        Some(surface)
            if reading.role != "reflector" && !reading.region.ends_with(surface.as_str()) =>
        {
            format!("{}, {surface}", reading.region)
        }
        _ => reading.region.clone(),
    };
    let mut lines = vec![what];
    match &reading.surface_temperature {
        Some(skin) => lines.push(format!("skin {}", with_reach(skin))),
        None if reading.emissivity.is_some() => lines.push("skin not measurable".to_owned()),
        None => {}
    }
    lines.push(format!("shown {:.1} °C", reading.shown.mean));
    lines
}

/// A value with how far its interval reaches: `64.4 ± 2.0 °C`, or both ends where it reaches further to one side.
#[must_use]
pub fn with_reach(q: &Q) -> String {
    let (Some(low), Some(high)) = (q.low, q.high) else {
        return number::value(q, Kind::Level);
    };
    let (below, above) = (q.value - low, high - q.value);
    let reach = 0.5 * (high - low);
    // A label is read at a glance, beside shown temperatures to a tenth.
    let tenths = if reach >= 0.5 { 1 } else { i32::MAX };
    let decimals = number::decimals(q, Kind::Level).min(tenths);
    if (below - above).abs() > 0.3 * reach {
        let ends = number::interval(q, Kind::Level).unwrap_or_default();
        return format!("{} ({ends})", number::value(q, Kind::Level));
    }
    let value = number::typeset(q.value, decimals);
    number::with_unit(
        &format!("{value} ± {}", number::typeset(reach, decimals)),
        q.unit,
    )
}
