//! What makes figures less trustworthy: gathered from all stages.

use super::{Evidence, fairness, inference, pressures, verdict};
use crate::caution::{Caution, CautionId};
use crate::correct::notes::{ASSUMED_CONTACT, assumes_barometer, contact_is_assumed};
use crate::correct::{Reading, Source, instrument_limit};
use crate::load::PaletteReading;
use crate::measure::PictureMeasurement;
use crate::quantity::QuantityId;
use crate::session::{Emissivity, InstrumentKind, Pistol, Role, Tank};
use crate::units::temperature::ZERO_CELSIUS;

/// Below this emissivity a surface mirrors more than it radiates.
const LOW_EMISSIVITY: f64 = 0.5;

/// With a greater share of its pixels at the end of the range a region has a bound, not a value.
pub(super) const CLIPPED: f64 = 0.01;

/// Emissivity falls beyond this angle from the square on, degrees (Fresnel's equations for a smooth plastic: 0.94 at 50°,
/// 0.88 at 65°, computed).
const STEEP: f64 = 50.0;

/// The cautions that concern one reading.
pub(super) fn of_reading(evidence: &Evidence<'_>, reading: &Reading) -> Vec<Caution> {
    let place = place(evidence, reading);
    let mut found = Vec::new();
    let mut add = |id, message: String| found.push(Caution::new(id, &place, message));
    if reading.small {
        let (valid, _) = reading.pixels.unwrap_or_default();
        add(
            CautionId::SmallRegion,
            format!(
                "{valid} valid pixel{}, or narrower than 3 pixels",
                if valid == 1 { "" } else { "s" }
            ),
        );
    }
    if reading.cut {
        add(
            CautionId::CutByEdge,
            "a part of the region lies outside the picture".to_owned(),
        );
    }
    if let Some(shift) = reading.edge_shift {
        let way = if shift < 0.0 { "lowers" } else { "raises" };
        add(
            CautionId::MixedEdge,
            format!(
                "the region's rim differs from its inside, which {way} its mean by {:.1} K",
                shift.abs()
            ),
        );
    }
    if reading.clipped > CLIPPED {
        let share = 100.0 * reading.clipped;
        add(
            CautionId::Clipped,
            if reading.palette.is_some() {
                format!("{share:.0} % of the pixels have the colour of an end of the colour bar")
            } else {
                format!("{share:.0} % of the pixels lie at the end of the instrument's range")
            },
        );
    }
    if let Some(palette) = &reading.palette {
        of_palette(reading, palette, &mut add);
    }
    if let Some(emissivity) = reading
        .emissivity
        .and_then(|slot| evidence.central.get(slot))
        && emissivity < LOW_EMISSIVITY
        && reading.role != Role::Reflector
    {
        let share = 100.0 * (1.0 - emissivity);
        let possible = inference::possible_emissivity(evidence, reading).unwrap_or_default();
        add(
            CautionId::LowEmissivity,
            format!(
                "emissivity {emissivity:.2}: {share:.0} % of what is seen is mirrored{possible}"
            ),
        );
    }
    if let Some(interval) = reading
        .skin
        .and_then(|slot| evidence.intervals.of_slot(slot))
    {
        match interval.reach() {
            None => add(
                CautionId::NotMeasurable,
                format!(
                    "{:.0} % of the draws leave nothing for the skin: its temperature is withheld",
                    100.0 * interval.unsolved
                ),
            ),
            Some(reach) if reach > verdict::NOT_MEASURABLE => {
                add(
                    CautionId::NotMeasurable,
                    format!("the skin is known to ± {reach:.0} K only; no verdict rests on it"),
                );
            }
            Some(_) => {}
        }
    }
    found_elsewhere(evidence, reading, &mut add);
    inference::of_reading(evidence, reading, &mut add);
    if let Some(above) = near_reflected(evidence, reading) {
        add(
            CautionId::NearReflected,
            format!("the skin is only {above:.1} K from what it mirrors"),
        );
    }
    if reading.reflected_assumed && reading.skin.is_some() {
        add(
            CautionId::ReflectedAssumed,
            "reflected temperature not stated; 5 K above the ambient taken, −5 to +15 K possible"
                .to_owned(),
        );
    }
    if reading.setting_assumed {
        add(
            CautionId::SettingAssumed,
            "the instrument's reflected setting is not stated; the ambient taken".to_owned(),
        );
    }
    found
}

/// Of a palette picture, with a greater share of its pixels left out a region is spoken of.
const LEFT_OUT: f64 = 0.01;

/// A bar of fewer colours is spoken of.
const FEW_COLOURS: usize = 64;

/// What follows from the colours of a palette picture.
fn of_palette(
    reading: &Reading,
    palette: &PaletteReading,
    add: &mut impl FnMut(CautionId, String),
) {
    let (valid, invalid) = reading.pixels.unwrap_or_default();
    let share = |count: usize| count as f64 / (valid + invalid).max(1) as f64;
    let percent = |count: usize| 100.0 * share(count);
    if share(palette.off_bar) > LEFT_OUT {
        let message = format!(
            "{:.0} % of the pixels have colours that the colour bar does not hold, or touch such; they were left out",
            percent(palette.off_bar)
        );
        add(CautionId::OffBar, message);
    }
    let riddles = palette.ambiguous + palette.decided;
    if share(riddles) > LEFT_OUT {
        let alike = palette.alike.as_deref().unwrap_or("two temperatures");
        let message = format!(
            "{:.0} % of the pixels have colours that stand for two temperatures, such as {alike}; of them what is around decided {:.0} %, the rest were left out",
            percent(riddles),
            100.0 * palette.decided as f64 / riddles as f64
        );
        add(CautionId::AmbiguousColour, message);
    }
    if palette.colours < FEW_COLOURS {
        let message = format!(
            "the colour bar tells {} colours apart: {:.1} K from one to the next",
            palette.colours, palette.resolution
        );
        add(CautionId::FewColours, message);
    }
}

/// What follows from how the reading was taken: a steep view, a spot larger than its target.
fn found_elsewhere(
    evidence: &Evidence<'_>,
    reading: &Reading,
    add: &mut impl FnMut(CautionId, String),
) {
    let run = &evidence.session.runs[reading.run];
    match reading.source {
        Source::Region { snapshot, .. } => {
            if let Some(angle) = run.snapshots[snapshot]
                .angle
                .as_ref()
                .filter(|angle| angle.value > STEEP)
            {
                add(
                    CautionId::SteepView,
                    format!("seen at {}, beyond {STEEP}°", angle.written),
                );
            }
        }
        Source::Pistol(index) => {
            let pistol = &run.pistols[index];
            let spot = spot(evidence, pistol);
            let (Some(spot), Some(target)) = (spot, &pistol.target) else {
                return;
            };
            let share = spot / target.value;
            if share > 0.5 {
                let wide = if share > 1.0 {
                    "wider than"
                } else {
                    "over half of"
                };
                add(
                    CautionId::PistolOverfills,
                    format!(
                        "the measured spot is {:.0} mm across, {wide} the target's {}",
                        1e3 * spot,
                        target.written
                    ),
                );
            }
        }
    }
}

/// Diameter of what a pistol measures, m: the distance over the distance ratio.
fn spot(evidence: &Evidence<'_>, pistol: &Pistol) -> Option<f64> {
    let thermal = evidence
        .session
        .instruments
        .get(pistol.instrument)?
        .thermal()?;
    Some(pistol.distance.as_ref()?.value / thermal.distance_ratio?)
}

/// How far a tank's skin is from what it mirrors, K, where that is less than twice what the instrument may err by.
fn near_reflected(evidence: &Evidence<'_>, reading: &Reading) -> Option<f64> {
    let skin = evidence
        .central
        .get(reading.skin.filter(|_| reading.role == Role::Tank)?)?;
    let apart = (skin - evidence.central.get(reading.reflected?)?).abs();
    let limit = instrument_limit(evidence.session, reading)?;
    (apart < 2.0 * limit && !reading.error_measured).then_some(apart)
}

/// The cautions that concern one cooler over all its runs.
pub(super) fn of_cooler(evidence: &Evidence<'_>, cooler: usize) -> Vec<Caution> {
    let mut found = Vec::new();
    for (index, run) in evidence
        .session
        .runs
        .iter()
        .enumerate()
        .filter(|(_, run)| run.cooler == cooler)
    {
        let value = |quantity| {
            evidence
                .quantities
                .of_run(index)
                .and_then(|slots| slots.get(&quantity))
                .and_then(|&slot| evidence.central.get(slot))
        };
        let mut add = |id, message: String| found.push(Caution::new(id, &run.name, message));
        if let Some(drop) = value(QuantityId::SurfaceDrop)
            && drop < 0.0
        {
            add(
                CautionId::OutletHotter,
                format!(
                    "the outlet tank's skin reads {:.1} K hotter than the inlet's",
                    -drop
                ),
            );
        }
        let air = run.conditions.air_at_face().value;
        for tank in Tank::BOTH {
            if let Some(skin) = value(tank.skin())
                && skin < air
            {
                let (skin, air) = (skin - ZERO_CELSIUS, air - ZERO_CELSIUS);
                let message = format!(
                    "the {} tank's skin, {skin:.1} °C, is below the cooling air's {air:.1} °C",
                    tank.word()
                );
                add(CautionId::BeyondAmbient, message);
            }
        }
        if let Some(drop) = value(QuantityId::PressureDrop)
            && drop < 0.0
        {
            add(
                CautionId::PressureGain,
                format!(
                    "the outlet tap reads {} above the inlet's",
                    pressures::told(run, -drop)
                ),
            );
        }
        inference::of_run(evidence, index, &mut add);
        if let Some(change) = &run.change {
            add(CautionId::OtherChange, format!("also changed: {change}"));
        }
    }
    found.extend(unmeasurable(evidence, cooler));
    if cooler != evidence.session.baseline {
        found.extend(fairness::cautions(evidence, cooler));
    }
    found
}

/// Tanks of a cooler that no verdict may rest on.
fn unmeasurable(evidence: &Evidence<'_>, cooler: usize) -> Vec<Caution> {
    let label = &evidence.session.coolers[cooler].label;
    let loose = |tank: Tank| {
        evidence.readings.iter().any(|reading| {
            reading.cooler == cooler
                && reading.role == Role::Tank
                && reading.tank == Some(tank)
                && verdict::loose(evidence, reading)
        })
    };
    let known = |tank: Tank| match verdict::unmeasurable(evidence, cooler, tank) {
        Some(reach) if reach.is_finite() => Some(format!("is known to ± {reach:.0} K only")),
        Some(_) => Some("is not known".to_owned()),
        None => loose(tank).then(|| "holds a reading that says next to nothing".to_owned()),
    };
    let caution = |tank: Tank| {
        let message = format!(
            "the skin of the {} tank {}: nothing that rests on it earns a verdict",
            tank.word(),
            known(tank)?
        );
        Some(Caution::new(CautionId::NotMeasurable, label, message))
    };
    Tank::BOTH.into_iter().filter_map(caution).collect()
}

/// The cautions that concern pictures or the session as a whole.
pub(super) fn of_session(evidence: &Evidence<'_>) -> Vec<Caution> {
    let session = evidence.session;
    let mut found = Vec::new();
    for picture in evidence.pictures {
        let run = &session.runs[picture.run];
        let snapshot = &run.snapshots[picture.snapshot];
        let place = format!("{}, {}", run.name, snapshot.file);
        if picture.pages > 1 && snapshot.page.is_none() {
            let message = format!(
                "the file holds {} pictures; the first was read",
                picture.pages
            );
            found.push(Caution::new(CautionId::FirstPage, &place, message));
        }
        if let Some(words) = &picture.bar_found {
            let mut caution = Caution::new(CautionId::SettingAssumed, &place, words.clone());
            caution.advice = "Look at the box in the annotated picture; write colour-bar = [x, y, width, height] where it is \
                              not the bar."
                .to_owned();
            found.push(caution);
        }
        if let Some(assumed) = &picture.assumed {
            let mut caution = Caution::new(CautionId::SettingAssumed, &place, assumed.clone());
            caution.advice =
                "Write `pixels` on the instrument, for instance pixels = { unit = \"°C\" }."
                    .to_owned();
            found.push(caution);
        }
    }
    if session
        .runs
        .iter()
        .any(|run| assumes_barometer(session, run))
    {
        let message = "barometer not stated; 1013.25 ± 30 hPa taken";
        found.push(Caution::new(
            CautionId::BarometerAssumed,
            "conditions",
            message,
        ));
    }
    found.extend(accuracy_assumed(evidence));
    found.extend(contact_assumed(evidence));
    found.extend(super::pulls::accuracy_assumed(session));
    found.extend(few_runs(evidence));
    found.extend(same_pictures(evidence));
    let assumed: Vec<String> = session
        .declared()
        .into_iter()
        .filter(|declared| declared.limits_assumed)
        .map(|declared| format!("{} = {}", declared.place, declared.written))
        .collect();
    if !assumed.is_empty() {
        let message = format!(
            "written without limits, half a unit of the last digit taken: {}",
            assumed.join(", ")
        );
        found.push(Caution::new(CautionId::LimitsAssumed, "session", message));
    }
    found
}

/// Instruments whose accuracy is not stated.
fn accuracy_assumed(evidence: &Evidence<'_>) -> Vec<Caution> {
    let instruments = evidence.session.instruments.iter();
    instruments
        .filter_map(|instrument| {
            let message = match &instrument.kind {
                InstrumentKind::Thermal(thermal) if thermal.accuracy.is_none() => {
                    "accuracy not stated; 2 °C or 2 % taken, whichever is greater"
                }
                InstrumentKind::Gauge(gauge) if gauge.accuracy.is_none() => {
                    "accuracy not stated; taken as exact"
                }
                _ => return None,
            };
            Some(Caution::new(
                CautionId::AccuracyAssumed,
                format!("instrument.{}", instrument.name),
                message,
            ))
        })
        .collect()
}

/// Contact readings of which nothing says how well they are known, where an emissivity rests on one.
fn contact_assumed(evidence: &Evidence<'_>) -> Option<Caution> {
    let session = evidence.session;
    let mut surfaces = session.surfaces.iter();
    let used = surfaces.any(|surface| matches!(surface.emissivity, Emissivity::FromContact(_)));
    let runs = session.runs.iter().filter(|run| {
        let mut contacts = run.contacts.iter();
        contacts.any(|contact| contact_is_assumed(session, &contact.temperature))
    });
    let runs: Vec<&str> = runs.map(|run| run.name.as_str()).collect();
    (used && !runs.is_empty()).then(|| {
        let message = format!(
            "contact readings are written without limits and no instrument measures `contact`; ± {ASSUMED_CONTACT} K taken for \
             the probe"
        );
        let mut caution = Caution::new(CautionId::AccuracyAssumed, runs.join("; "), message);
        caution.advice = "Write what the probe's data sheet says, for instance temperature = \"71.3 °C ± 1\".".to_owned();
        caution
    })
}

/// One caution where verdicts want repeated holds.
fn few_runs(evidence: &Evidence<'_>) -> Option<Caution> {
    let compared = evidence.candidates().next().is_some();
    let lacking: Vec<&str> = QuantityId::ALL
        .iter()
        .filter(|&&id| {
            let known = |cooler| evidence.central(cooler, id).is_some();
            known(evidence.session.baseline) && evidence.candidates().any(known)
        })
        .filter(|&&id| !verdict::scatter_is_known(evidence, id))
        .map(|id| id.label())
        .collect();
    (compared && !lacking.is_empty()).then(|| {
        let message = format!(
            "no cooler has two runs with these, so the scatter between holds is not known: {}",
            lacking.join("; ")
        );
        Caution::new(CautionId::FewRuns, "session", message)
    })
}

/// Runs that rest on the very same picture: they repeat nothing, whatever their number.
fn same_pictures(evidence: &Evidence<'_>) -> Vec<Caution> {
    let mut found = Vec::new();
    for (index, picture) in evidence.pictures.iter().enumerate() {
        let page = |picture: &PictureMeasurement| {
            evidence.session.runs[picture.run].snapshots[picture.snapshot].page
        };
        let earlier = evidence.pictures[..index].iter().find(|other| {
            other.sha256 == picture.sha256
                && other.run != picture.run
                && page(other) == page(picture)
        });
        if let Some(earlier) = earlier {
            let [run, before] =
                [picture, earlier].map(|picture| &evidence.session.runs[picture.run]);
            let file = &run.snapshots[picture.snapshot].file;
            let message = format!(
                "{file} is the very picture that {} has: the two are no repeats of one another",
                before.name
            );
            let mut caution = Caution::new(CautionId::FewRuns, &run.name, message);
            caution.advice = "Name the picture that was taken in this hold.".to_owned();
            found.push(caution);
        }
    }
    found
}

/// What a reading is called in results: run, picture and region.
pub(super) fn place(evidence: &Evidence<'_>, reading: &Reading) -> String {
    let run = &evidence.session.runs[reading.run];
    match reading.source {
        Source::Region { snapshot, region } => {
            let snapshot = &run.snapshots[snapshot];
            format!(
                "{}, {}, {}",
                run.name, snapshot.file, snapshot.regions[region].name
            )
        }
        Source::Pistol(index) => {
            format!("{}, pistol, {}", run.name, run.pistols[index].tank.word())
        }
    }
}
