//! The rows of the picture that shows all coolers on one scale: which regions are corrected, and what the captions say.

use crate::outcome::{Outcome, Picture, Reading};
use crate::picture::{CorrectedRegion, Panel, PanelRow, Shows, Thumbnails};
use crate::session::{Region, Role, Session, Tank, Use};

/// Below this emissivity more than four tenths of what the instrument sees are reflections: the pattern of the picture
/// is then no longer that of the surface (a judgement, no source).
const FLAT_BELOW: f64 = 0.6;

/// What the regions of a picture show once they are corrected: tanks first, then the patches on them.
pub(super) fn corrected(
    outcome: &Outcome,
    picture: &Picture,
    regions: &[Region],
) -> Vec<CorrectedRegion> {
    let of_role = |role| {
        pairs(outcome, picture, regions)
            .filter(move |(region, _)| region.role == role)
            .map(|(region, reading)| CorrectedRegion {
                shape: region.shape.clone(),
                exclude: region.exclude.clone(),
                shows: shows(region, reading),
            })
    };
    of_role(Role::Tank).chain(of_role(Role::Patch)).collect()
}

fn pairs<'a>(
    outcome: &'a Outcome,
    picture: &'a Picture,
    regions: &'a [Region],
) -> impl Iterator<Item = (&'a Region, &'a Reading)> {
    let readings = picture.readings.iter();
    let readings = readings.map(|&index| outcome.results.readings.get(index));
    regions
        .iter()
        .zip(readings)
        .filter_map(|(region, reading)| Some((region, reading?)))
}

fn shows(region: &Region, reading: &Reading) -> Shows {
    let Some(skin) = reading.surface_temperature else {
        return Shows::Unknown;
    };
    match reading.emissivity {
        Some(emissivity) if emissivity.value < FLAT_BELOW => Shows::Flat(skin.value),
        _ => Shows::Moved(skin.value - shown(region, reading)),
    }
}

/// The shown temperature that stands for a region, °C: of the same statistic as its corrected temperature.
fn shown(region: &Region, reading: &Reading) -> f64 {
    match region.statistic {
        Use::Mean => reading.shown.mean,
        Use::Median => reading.shown.median,
        Use::Max => reading.shown.max,
    }
}

/// A row of panels for every cooler that has pictures; `thumbnails` are those of the outcome's pictures in their order,
/// `None` where there is no room for one.
pub(super) fn rows(
    session: &Session,
    outcome: &Outcome,
    thumbnails: impl Iterator<Item = Option<Thumbnails>>,
) -> Vec<PanelRow> {
    let mut rows: Vec<PanelRow> = session
        .coolers
        .iter()
        .map(|cooler| PanelRow {
            label: cooler.label.clone(),
            panels: Vec::new(),
            more: 0,
        })
        .collect();
    for (picture, thumbnails) in outcome.pictures.iter().zip(thumbnails) {
        let run = &session.runs[picture.run];
        let row = &mut rows[run.cooler];
        let Some(thumbnails) = thumbnails else {
            row.more += 1;
            continue;
        };
        let regions = &run.snapshots[picture.snapshot].regions;
        let tanks: Vec<_> = pairs(outcome, picture, regions)
            .filter(|(region, _)| region.role == Role::Tank)
            .collect();
        row.panels.push(Panel {
            title: occasion(session, picture),
            seen: captions(&tanks, seen),
            corrected: captions(&tanks, skin),
            thumbnails,
        });
    }
    rows.retain(|row| row.panels.len() + row.more > 0);
    rows
}

/// Run and, where it is stated, when in the hold: `hold 2, 60 s`.
pub(super) fn occasion(session: &Session, picture: &Picture) -> String {
    let run = &session.runs[picture.run];
    match &run.snapshots[picture.snapshot].at {
        Some(at) => format!("{}, {}", run.name, at.written),
        None => run.name.clone(),
    }
}

/// A line for each tank that has regions.
fn captions(
    regions: &[(&Region, &Reading)],
    line: fn(&[(&Region, &Reading)]) -> String,
) -> Vec<String> {
    let of_tank = |tank: Tank| {
        let regions: Vec<_> = regions
            .iter()
            .filter(|(region, _)| region.tank == Some(tank))
            .copied()
            .collect();
        (!regions.is_empty()).then(|| format!("{} {}", tank.word(), line(&regions)))
    };
    Tank::BOTH.into_iter().filter_map(of_tank).collect()
}

/// What the instrument showed of a tank.
fn seen(regions: &[(&Region, &Reading)]) -> String {
    let shown = regions
        .iter()
        .map(|(region, reading)| shown(region, reading));
    mean(shown).map_or_else(String::new, |shown| format!("shown {shown:.1} °C"))
}

/// The corrected temperature of a tank, and whether its regions are flat.
fn skin(regions: &[(&Region, &Reading)]) -> String {
    let skins = regions
        .iter()
        .filter_map(|(_, reading)| Some(reading.surface_temperature?.value));
    let Some(skin) = mean(skins) else {
        return "skin not measurable".to_owned();
    };
    let flat = regions
        .iter()
        .filter(|(region, reading)| matches!(shows(region, reading), Shows::Flat(_)))
        .count();
    let how = match flat {
        0 => "",
        all if all == regions.len() => " (flat:\u{a0}emissivity\u{a0}below\u{a0}0.6)",
        _ => " (partly\u{a0}flat:\u{a0}emissivity\u{a0}below\u{a0}0.6)",
    };
    format!("skin {skin:.1} °C{how}")
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (count, sum) = values.fold((0_u32, 0.0), |(count, sum), value| (count + 1, sum + value));
    (count > 0).then(|| sum / f64::from(count))
}
