//! Places in the session, which name a model's inputs, in words.

use super::answer;
use crate::correct::instrument_of;
use crate::outcome::Outcome;

/// What stands at a place, for a sentence: `surface.bare.emissivity (welded)` is "the emissivity of `bare` on Welded
/// replacement". A place that has no words of its own is named as it is.
#[must_use]
pub fn words(outcome: &Outcome, place: &str) -> String {
    let (base, bracket) = bracket(place);
    if let Some((instrument, at)) = instrument_of(place) {
        return format!("the error of `{instrument}`{at}");
    }
    if let Some(occasion) = place.strip_suffix(" drift") {
        let occasion = occasion.strip_prefix("run.").unwrap_or(occasion);
        return format!("the drift in {}", occasion.replacen('.', ", ", 1));
    }
    if let Some((run, reading)) = after(place, "run.")
        && let Some(pistol) = run.rsplit_once(".pistol ").filter(|_| reading == "reading")
    {
        return format!(
            "what the pistol showed in {}, reading {}",
            pistol.0, pistol.1
        );
    }
    if let Some(key) = base.strip_prefix("conditions.") {
        return match bracket {
            Some(remark) => format!("the {} ({remark})", spoken(key)),
            None => format!("the {}", spoken(key)),
        };
    }
    if let Some((surface, key)) = after(base, "surface.") {
        let on = bracket.map_or_else(String::new, |cooler| {
            format!(" on {}", answer::label(outcome, cooler))
        });
        return format!("the {} of `{surface}`{on}", spoken(key));
    }
    if let Some((cooler, key)) = after(base, "cooler.") {
        return format!("the {} of {}", spoken(key), answer::label(outcome, cooler));
    }
    if let Some((run, key)) = after(base, "run.") {
        if let Some(run) = run.strip_suffix(".start-skin") {
            return format!("the {key} skin before the load in {run}");
        }
        let run = run.strip_suffix(".conditions").unwrap_or(run);
        return format!("the {} of {run}", spoken(key));
    }
    if base == "contact probe" {
        return "the error of the contact probe (assumed)".to_owned();
    }
    format!("`{place}`")
}

/// `a.b (c)` as `a.b` and `c`.
fn bracket(place: &str) -> (&str, Option<&str>) {
    place
        .strip_suffix(')')
        .and_then(|place| place.rsplit_once(" ("))
        .map_or((place, None), |(base, bracket)| (base, Some(bracket)))
}

/// `surface.NAME.KEY` as name and key.
fn after<'a>(place: &'a str, table: &str) -> Option<(&'a str, &'a str)> {
    place.strip_prefix(table)?.rsplit_once('.')
}

/// A key as it is spoken.
#[must_use]
pub fn spoken(key: &str) -> String {
    match key {
        "ambient" => "ambient temperature".to_owned(),
        "cooling-air" => "cooling air's temperature".to_owned(),
        "reflected" => "reflected temperature".to_owned(),
        "reflected above ambient" => "reflected temperature above the ambient".to_owned(),
        "barometer" => "barometric pressure".to_owned(),
        key => key.replace('-', " "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn places_are_spoken() {
        let mut outcome = fixture::outcome(true);
        outcome.results.coolers[1].label = "Welded".to_owned();
        for (place, said) in [
            (
                "surface.bare.emissivity (welded)",
                "the emissivity of `bare` on Welded",
            ),
            ("surface.tape.emissivity", "the emissivity of `tape`"),
            ("conditions.reflected", "the reflected temperature"),
            (
                "conditions.reflected above ambient (assumed)",
                "the reflected temperature above the ambient (assumed)",
            ),
            (
                "conditions.barometer (assumed)",
                "the barometric pressure (assumed)",
            ),
            ("cooler.welded.inner-film", "the inner film of Welded"),
            (
                "run.hold 1.conditions.ambient",
                "the ambient temperature of hold 1",
            ),
            (
                "run.hold 1.start-skin.inlet",
                "the inlet skin before the load in hold 1",
            ),
            (
                "run.pull no. 2.inlet-pressure",
                "the inlet pressure of pull no. 2",
            ),
            (
                "run.hold 1.snapshot 2 drift",
                "the drift in hold 1, snapshot 2",
            ),
            (
                "instrument.camera.accuracy at 120 °C",
                "the error of `camera` at 120 °C",
            ),
            ("instrument.gauge.accuracy", "the error of `gauge`"),
            (
                "run.hold 1.pistol 2.reading",
                "what the pistol showed in hold 1, reading 2",
            ),
            ("elsewhere", "`elsewhere`"),
        ] {
            assert_eq!(words(&outcome, place), said);
        }
    }
}
