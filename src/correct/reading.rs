//! Readings: what one region or one pistol number becomes in the model.

use super::Detectors;
use super::setting::Setting;
use crate::diagnostics::Problem;
use crate::measure::{PictureMeasurement, Shown};
use crate::model::{Builder, DetectorSlot, Slot};
use crate::radiometry::Detector;
use crate::session::{
    Declared, InstrumentKind, Pistol, Region, Role, Run, Session, Snapshot, Span, Tank,
    ThermalInstrument,
};
use crate::units::temperature::ZERO_CELSIUS;
use std::sync::Arc;

/// Where a reading comes from; indices into the session.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A region of a snapshot of the run.
    Region {
        /// Index of the snapshot in the run.
        snapshot: usize,
        /// Index of the region in the snapshot.
        region: usize,
    },
    /// A pistol reading of the run.
    Pistol(usize),
}

/// One region or pistol reading.
#[derive(Debug, Clone)]
pub struct Reading {
    /// Index of the run.
    pub run: usize,
    /// Index of the cooler.
    pub cooler: usize,
    /// Where it comes from.
    pub source: Source,
    /// What it is for.
    pub role: Role,
    /// Its tank.
    pub tank: Option<Tank>,
    /// Index of its surface.
    pub surface: Option<usize>,
    /// Its own reflected temperature, where the session states one for it.
    pub own_reflected: Option<Declared>,
    /// Statistics of the shown temperatures, °C.
    pub shown: Shown,
    /// Valid and invalid pixels; `None` for a pistol reading.
    pub pixels: Option<(usize, usize)>,
    /// Blackbody temperature of the radiation that arrived, K.
    pub apparent: f64,
    /// The instrument's detector in the model.
    pub detector: DetectorSlot,
    /// The signal that leaves the skin, with the air path removed.
    pub leaving: Slot,
    /// Reflected apparent temperature, K; assigned once all readings are known.
    pub reflected: Option<Slot>,
    /// Whether the reflected temperature had to be assumed.
    pub reflected_assumed: bool,
    /// Emissivity of its surface.
    pub emissivity: Option<Slot>,
    /// Skin temperature, K.
    pub skin: Option<Slot>,
    /// Whether the instrument's reflected setting had to be assumed.
    pub setting_assumed: bool,
    /// Fewer than 9 valid pixels or narrower than 3.
    pub small: bool,
    /// A part of it lies outside the picture.
    pub cut: bool,
    /// Where it is written in the session.
    pub span: Span,
}

/// Makes a reading of every region and pistol number.
pub(super) fn gather(
    session: &Session,
    pictures: &[PictureMeasurement],
    detectors: &Detectors,
    model: &mut Builder,
) -> Result<Vec<Reading>, Vec<Problem>> {
    let mut readings = Vec::new();
    let mut problems = Vec::new();
    let mut keep = |result: Result<Reading, Problem>| match result {
        Ok(reading) => readings.push(reading),
        Err(problem) => problems.push(problem),
    };
    for (index, run) in session.runs.iter().enumerate() {
        for picture in pictures.iter().filter(|picture| picture.run == index) {
            let Some(snapshot) = run.snapshots.get(picture.snapshot) else {
                continue;
            };
            for (region, measurement) in picture.regions.iter().enumerate() {
                let place = Place {
                    session,
                    index,
                    run,
                };
                keep(place.region(picture, snapshot, region, measurement, model));
            }
        }
        for (pistol, entry) in run.pistols.iter().enumerate() {
            let place = Place {
                session,
                index,
                run,
            };
            if let Some(detector) = detectors.bands.get(entry.instrument).cloned().flatten() {
                keep(place.pistol(pistol, entry, &detector, model));
            }
        }
    }
    if problems.is_empty() {
        Ok(readings)
    } else {
        Err(problems)
    }
}

/// A run of a session.
struct Place<'a> {
    session: &'a Session,
    index: usize,
    run: &'a Run,
}

/// What the two kinds of reading have in common before correction.
struct Raw<'a> {
    shown: Shown,
    /// Signal that arrived at the instrument.
    arriving: f64,
    detector: &'a Arc<Detector>,
    setting_assumed: bool,
    span: &'a Span,
}

impl Place<'_> {
    fn region(
        &self,
        picture: &PictureMeasurement,
        snapshot: &Snapshot,
        region: usize,
        measurement: &crate::measure::Measurement,
        model: &mut Builder,
    ) -> Result<Reading, Problem> {
        let entry: &Region = &snapshot.regions[region];
        let setting = self.setting(snapshot.instrument).filter(|_| !picture.raw);
        let raw = Raw {
            shown: measurement.shown,
            arriving: setting.map_or(measurement.signal, |known| {
                known.undo(measurement.signal, &picture.detector)
            }),
            detector: &picture.detector,
            setting_assumed: setting.is_some_and(|known| known.assumed),
            span: &entry.span,
        };
        let what = format!("region `{}` of {}", entry.name, snapshot.file);
        let mut reading = self.reading(&what, &raw, model)?;
        reading.source = Source::Region {
            snapshot: picture.snapshot,
            region,
        };
        reading.role = entry.role;
        reading.tank = entry.tank;
        reading.surface = entry
            .surface
            .or_else(|| self.tank_surface(entry.role, entry.tank));
        reading.own_reflected.clone_from(&entry.reflected);
        reading.pixels = Some((measurement.pixels, measurement.invalid_pixels));
        reading.small = measurement.small;
        reading.cut = measurement.cut;
        Ok(reading)
    }

    fn pistol(
        &self,
        index: usize,
        entry: &Pistol,
        detector: &Arc<Detector>,
        model: &mut Builder,
    ) -> Result<Reading, Problem> {
        let shown_signal = detector.signal(entry.reading.value);
        let setting = self.setting(entry.instrument);
        let raw = Raw {
            shown: Shown::of_one(entry.reading.value - ZERO_CELSIUS),
            arriving: setting.map_or(shown_signal, |known| known.undo(shown_signal, detector)),
            detector,
            setting_assumed: setting.is_some_and(|known| known.assumed),
            span: &entry.span,
        };
        let mut reading = self.reading("the pistol reading", &raw, model)?;
        reading.source = Source::Pistol(index);
        reading.tank = Some(entry.tank);
        reading.surface = entry
            .surface
            .or_else(|| self.tank_surface(Role::Tank, Some(entry.tank)));
        reading.own_reflected.clone_from(&entry.reflected);
        Ok(reading)
    }

    /// A reading with the air path removed; its source, role and surface are filled in by the caller.
    fn reading(&self, what: &str, raw: &Raw<'_>, model: &mut Builder) -> Result<Reading, Problem> {
        let apparent = raw.detector.temperature(raw.arriving);
        if !apparent.is_finite() {
            return Err(Problem::at(
                raw.span.clone(),
                format!(
                    "{what} shows {:.1} °C, which its instrument cannot have seen with these settings",
                    raw.shown.mean
                ),
                "check the instrument's `emissivity`, `reflected` and `pixels`",
            ));
        }
        let detector = model.detector(raw.detector.clone());
        let arriving = model.constant(apparent);
        let arriving = model.signal(detector, arriving);
        Ok(Reading {
            run: self.index,
            cooler: self.run.cooler,
            source: Source::Pistol(0),
            role: Role::Tank,
            tank: None,
            surface: None,
            own_reflected: None,
            shown: raw.shown,
            pixels: None,
            apparent,
            detector,
            leaving: self.without_path(model, detector, arriving),
            reflected: None,
            reflected_assumed: false,
            emissivity: None,
            skin: None,
            setting_assumed: raw.setting_assumed,
            small: false,
            cut: false,
            span: raw.span.clone(),
        })
    }

    /// Removes the air path where it is not perfectly clear.
    fn without_path(&self, model: &mut Builder, detector: DetectorSlot, arriving: Slot) -> Slot {
        let Some(transmittance) = &self.run.conditions.transmittance else {
            return arriving;
        };
        let transmittance = model.declared(transmittance);
        let ambient = model.declared(&self.run.conditions.ambient);
        let ambient = model.signal(detector, ambient);
        model.path_removed(arriving, ambient, transmittance)
    }

    fn setting(&self, instrument: usize) -> Option<Setting> {
        let instrument: &ThermalInstrument = match &self.session.instruments.get(instrument)?.kind {
            InstrumentKind::Thermal(thermal) => thermal,
            InstrumentKind::Gauge(_) => return None,
        };
        Some(Setting::of(instrument, self.run))
    }

    /// A tank's region has its cooler's surface unless it names another.
    fn tank_surface(&self, role: Role, tank: Option<Tank>) -> Option<usize> {
        let tank = tank.filter(|_| role == Role::Tank)?;
        Some(self.session.coolers[self.run.cooler].surface(tank))
    }
}
