//! Readings: what one region or one pistol number becomes in the model.

use super::Detectors;
use super::instrument_error::{self, PaletteError};
use super::setting::Setting;
use crate::diagnostics::Problem;
use crate::load::PaletteReading;
use crate::measure::{Measurement, PictureMeasurement, Shown};
use crate::model::{Builder, DetectorSlot, Domain, Slot};
use crate::radiometry::Detector;
use crate::session::{Declared, Pistol, Role, Run, Session, Span, Tank};
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
    /// Whether the instrument's error was measured on a reference in the picture.
    pub error_measured: bool,
    /// Fewer than 9 valid pixels or narrower than 3.
    pub small: bool,
    /// A part of it lies outside the picture.
    pub cut: bool,
    /// How far its outermost ring moves its mean, K, where it differs from the inside.
    pub edge_shift: Option<f64>,
    /// Share of its pixels at the end of the instrument's range.
    pub clipped: f64,
    /// Of a palette picture, what else its colours say.
    pub palette: Option<PaletteReading>,
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
    for (index, run) in session.runs.iter().enumerate() {
        let place = Place {
            session,
            index,
            run,
        };
        for picture in pictures.iter().filter(|picture| picture.run == index) {
            match place.picture(picture, model) {
                Ok(found) => readings.extend(found),
                Err(found) => problems.extend(found),
            }
        }
        for (pistol, entry) in run.pistols.iter().enumerate() {
            if let Some(detector) = detectors.bands.get(entry.instrument).cloned().flatten() {
                match place.pistol(pistol, entry, &detector, model) {
                    Ok(reading) => readings.push(reading),
                    Err(problem) => problems.push(problem),
                }
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

impl Place<'_> {
    /// A reading of every region of a picture.
    fn picture(
        &self,
        picture: &PictureMeasurement,
        model: &mut Builder,
    ) -> Result<Vec<Reading>, Vec<Problem>> {
        let Some(snapshot) = self.run.snapshots.get(picture.snapshot) else {
            return Ok(Vec::new());
        };
        let setting = self.setting(snapshot.instrument).filter(|_| !picture.raw);
        let mut apparent = Vec::new();
        let mut problems = Vec::new();
        for (region, measurement) in snapshot.regions.iter().zip(&picture.regions) {
            let undo = |known: Setting| known.undo(measurement.signal, &picture.detector);
            let kelvin = picture
                .detector
                .temperature(setting.map_or(measurement.signal, undo));
            apparent.push(kelvin);
            if !kelvin.is_finite() {
                let what = format!("region `{}` of {}", region.name, snapshot.file);
                problems.push(impossible(&region.span, &what, measurement.shown.mean));
            }
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let occasion = format!("run.{}.snapshot {}", self.run.name, picture.snapshot + 1);
        let seen: Vec<Slot> = picture
            .regions
            .iter()
            .zip(&snapshot.regions)
            .zip(&apparent)
            .map(|((measurement, region), &kelvin)| {
                let error = palette_error(measurement, setting, &picture.detector);
                instrument_error::with_palette(model, &occasion, &region.name, kelvin, error)
            })
            .collect();
        let regions_seen = instrument_error::Seen {
            apparent: &apparent,
            slots: &seen,
        };
        let taken_out = instrument_error::measured(
            self.session,
            self.run,
            picture,
            snapshot,
            regions_seen,
            model,
        )
        .map_err(|problem| vec![problem])?;
        let detector = model.detector(picture.detector.clone());
        let regions = snapshot
            .regions
            .iter()
            .zip(&picture.regions)
            .zip(apparent.iter().zip(&seen))
            .enumerate();
        let readings = regions.map(|(region, ((entry, measurement), (&apparent, &seen)))| {
            let seen = match taken_out {
                Some(error) => model.difference(seen, error),
                None => self.erring(snapshot.instrument, &occasion, seen, apparent, model),
            };
            Reading {
                source: Source::Region {
                    snapshot: picture.snapshot,
                    region,
                },
                role: entry.role,
                tank: entry.tank,
                surface: entry
                    .surface
                    .or_else(|| self.tank_surface(entry.role, entry.tank)),
                own_reflected: entry.reflected.clone(),
                pixels: Some((measurement.pixels, measurement.invalid_pixels)),
                small: measurement.small,
                cut: measurement.cut,
                edge_shift: measurement.edge_shift,
                clipped: measurement.clipped as f64 / measurement.pixels as f64,
                palette: measurement.palette.clone(),
                setting_assumed: setting.is_some_and(|known| known.assumed),
                error_measured: taken_out.is_some(),
                ..self.reading(
                    measurement.shown,
                    apparent,
                    detector,
                    seen,
                    &entry.span,
                    model,
                )
            }
        });
        Ok(readings.collect())
    }

    fn pistol(
        &self,
        index: usize,
        entry: &Pistol,
        detector: &Arc<Detector>,
        model: &mut Builder,
    ) -> Result<Reading, Problem> {
        let setting = self.setting(entry.instrument);
        let slot = model.detector(detector.clone());
        // The number that was read off has limits of its own, so the setting is undone inside the model.
        let shown = model.declared(&entry.reading);
        let seen = match setting.filter(|known| known.emissivity < 1.0) {
            Some(known) => {
                let signals = [shown, model.constant(known.reflected)]
                    .map(|kelvin| model.signal(slot, kelvin));
                let (emissivity, clear) = (model.constant(known.emissivity), model.constant(1.0));
                let arriving =
                    model.arriving(signals[0], signals[1], emissivity, signals[1], clear);
                model.temperature(slot, arriving)
            }
            None => shown,
        };
        let shown_signal = detector.signal(entry.reading.value);
        let apparent = detector
            .temperature(setting.map_or(shown_signal, |known| known.undo(shown_signal, detector)));
        let celsius = entry.reading.value - ZERO_CELSIUS;
        if !apparent.is_finite() {
            return Err(impossible(&entry.span, "the pistol reading", celsius));
        }
        let occasion = format!("run.{}.pistol {}", self.run.name, index + 1);
        let seen = self.erring(entry.instrument, &occasion, seen, apparent, model);
        Ok(Reading {
            source: Source::Pistol(index),
            tank: Some(entry.tank),
            surface: entry
                .surface
                .or_else(|| self.tank_surface(Role::Tank, Some(entry.tank))),
            own_reflected: entry.reflected.clone(),
            setting_assumed: setting.is_some_and(|known| known.assumed),
            ..self.reading(
                Shown::of_one(celsius),
                apparent,
                slot,
                seen,
                &entry.span,
                model,
            )
        })
    }

    /// A tank's reading with the air path removed, from what the instrument saw (K, its error taken into account); the
    /// caller fills in what it is of.
    fn reading(
        &self,
        shown: Shown,
        apparent: f64,
        detector: DetectorSlot,
        seen: Slot,
        span: &Span,
        model: &mut Builder,
    ) -> Reading {
        let arriving = model.signal(detector, seen);
        Reading {
            run: self.index,
            cooler: self.run.cooler,
            source: Source::Pistol(0),
            role: Role::Tank,
            tank: None,
            surface: None,
            own_reflected: None,
            shown,
            pixels: None,
            apparent,
            detector,
            leaving: self.without_path(model, detector, arriving),
            reflected: None,
            reflected_assumed: false,
            emissivity: None,
            skin: None,
            setting_assumed: false,
            error_measured: false,
            small: false,
            cut: false,
            edge_shift: None,
            clipped: 0.0,
            palette: None,
            span: span.clone(),
        }
    }

    /// What was seen, with the instrument's error.
    fn erring(
        &self,
        instrument: usize,
        occasion: &str,
        seen: Slot,
        central: f64,
        model: &mut Builder,
    ) -> Slot {
        match self.session.instruments.get(instrument) {
            Some(instrument) => {
                instrument_error::erring(model, instrument, occasion, seen, central)
            }
            None => seen,
        }
    }

    /// Removes the air path where it is not perfectly clear.
    fn without_path(&self, model: &mut Builder, detector: DetectorSlot, arriving: Slot) -> Slot {
        let Some(transmittance) = &self.run.conditions.transmittance else {
            return arriving;
        };
        let transmittance = model.declared_in(transmittance, Domain::Share);
        let ambient = model.declared(&self.run.conditions.ambient);
        let ambient = model.signal(detector, ambient);
        model.path_removed(arriving, ambient, transmittance)
    }

    fn setting(&self, instrument: usize) -> Option<Setting> {
        let instrument = self.session.instruments.get(instrument)?.thermal()?;
        Some(Setting::of(instrument, self.run))
    }

    /// A tank's region has its cooler's surface unless it names another.
    fn tank_surface(&self, role: Role, tank: Option<Tank>) -> Option<usize> {
        let tank = tank.filter(|_| role == Role::Tank)?;
        Some(self.session.coolers[self.run.cooler].surface(tank))
    }
}

/// The palette's own error on the apparent temperature, K: what the setting makes of that on the shown one.
fn palette_error(
    measurement: &Measurement,
    setting: Option<Setting>,
    detector: &Detector,
) -> Option<PaletteError> {
    let palette = measurement.palette.as_ref()?;
    let centre = detector.temperature(measurement.signal);
    let apparent = |kelvin: f64| {
        let signal = detector.signal(kelvin);
        detector.temperature(setting.map_or(signal, |known| known.undo(signal, detector)))
    };
    let reach = |shown: f64| {
        let reach = 0.5 * (apparent(centre + shown) - apparent(centre - shown));
        if reach.is_finite() { reach } else { shown }
    };
    Some(PaletteError {
        shared: reach(palette.half_width),
        undecided: reach(palette.undecided),
    })
}

/// A reading that no scene can make.
fn impossible(span: &Span, what: &str, celsius: f64) -> Problem {
    let shown = if celsius.abs() < 1e6 {
        format!("{celsius:.1}")
    } else {
        format!("{celsius:.1e}")
    };
    Problem::at(
        span.clone(),
        format!(
            "{what} shows {shown} °C, which its instrument cannot have seen with these settings"
        ),
        "check the instrument's `emissivity`, `reflected` and `pixels`",
    )
}
