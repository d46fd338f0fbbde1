//! Places in the session, which name the model's inputs.

/// The kind of input that stands at a place: what every run notes, and what an instrument errs by at both ends of its scale,
/// is of one kind.
///
/// `run.hold 1.inlet-pressure` is `run.*.inlet-pressure`, `run.hold 1.snapshot 2 drift` is `run.* drift`,
/// `instrument.camera.accuracy at 20 °C` is `instrument.camera.accuracy`.
#[must_use]
pub fn kind(place: &str) -> String {
    if let Some(rest) = place.strip_prefix("run.") {
        if let Some((_, key)) = rest.rsplit_once(".conditions.") {
            return format!("conditions.{key}");
        }
        if rest.ends_with(" drift") {
            return "run.* drift".to_owned();
        }
        if rest.ends_with(" palette") {
            return "run.* palette".to_owned();
        }
        if rest.contains(".start-skin.") {
            return "run.*.start-skin".to_owned();
        }
        if let Some((reading, "reading")) = rest.rsplit_once('.')
            && reading.contains(".pistol ")
        {
            return "run.*.pistol.reading".to_owned();
        }
        if let Some((_, key)) = rest.rsplit_once('.') {
            return format!("run.*.{key}");
        }
    }
    if place.starts_with("instrument.")
        && let Some((instrument, _)) = place.rsplit_once(".accuracy at ")
    {
        return format!("{instrument}.accuracy");
    }
    if place.starts_with("repeatability.")
        && let Some((stated, _)) = place.split_once(" (")
    {
        return stated.to_owned();
    }
    place.to_owned()
}

#[cfg(test)]
mod tests {
    use super::kind;

    #[test]
    fn places_of_a_kind_are_one() {
        for (place, of) in [
            ("run.hold 1.inlet-pressure", "run.*.inlet-pressure"),
            ("run.pull no. 2.inlet-pressure", "run.*.inlet-pressure"),
            ("run.hold 1.conditions.ambient", "conditions.ambient"),
            ("conditions.ambient", "conditions.ambient"),
            ("run.hold 1.snapshot 2 drift", "run.* drift"),
            ("run.hold 3.snapshot 1 palette", "run.* palette"),
            ("run.hold 1.start-skin.inlet", "run.*.start-skin"),
            ("run.hold 1.pistol 2.reading", "run.*.pistol.reading"),
            (
                "instrument.camera.accuracy at 20 °C",
                "instrument.camera.accuracy",
            ),
            ("instrument.gauge.accuracy", "instrument.gauge.accuracy"),
            (
                "instrument.Temp at rig (log).accuracy",
                "instrument.Temp at rig (log).accuracy",
            ),
            (
                "repeatability.temperature (hold 1, inlet)",
                "repeatability.temperature",
            ),
            (
                "surface.bare.emissivity (welded)",
                "surface.bare.emissivity (welded)",
            ),
            ("scatter between runs", "scatter between runs"),
        ] {
            assert_eq!(kind(place), of);
        }
    }
}
