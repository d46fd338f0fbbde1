//! A session as it would have been with better preparation: the same scene, read in another way.

use crate::correct::{Detectors, Source, accuracy_limit, stored_signal};
use crate::measure::{Measurement, PictureMeasurement};
use crate::outcome::Reading;
use crate::radiometry::Detector;
use crate::radiometry::equation::{arriving, path_removed, skin_signal};
use crate::session::{
    Declared, Emissivity, Pistol, Region, Role, Run, Session, Snapshot, Span, Surface,
    ThermalInstrument, Use,
};
use crate::surface::Preset;
use crate::units::temperature::ZERO_CELSIUS;
use crate::units::{Dimension, Law};

/// A session and the measurements of its pictures, to be changed.
#[derive(Debug, Clone)]
pub(crate) struct Altered {
    pub session: Session,
    pub pictures: Vec<PictureMeasurement>,
}

/// A reading's place in the session.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Place {
    pub run: usize,
    pub source: Source,
}

/// The places of all readings, in the order of the results: run by run, first the pictures.
pub(crate) fn places(session: &Session, pictures: &[PictureMeasurement]) -> Vec<Place> {
    let mut places = Vec::new();
    for (run, entry) in session.runs.iter().enumerate() {
        for picture in pictures.iter().filter(|picture| picture.run == run) {
            let snapshot = picture.snapshot;
            places.extend((0..picture.regions.len()).map(|region| Place {
                run,
                source: Source::Region { snapshot, region },
            }));
        }
        places.extend((0..entry.pistols.len()).map(|pistol| Place {
            run,
            source: Source::Pistol(pistol),
        }));
    }
    places
}

/// What a reading saw, at central values: signals of its detector, and the share that the air lets through.
struct Seen {
    skin: f64,
    reflected: f64,
    ambient: f64,
    transmittance: f64,
}

impl Seen {
    /// `None` where the central values leave nothing for the skin.
    fn of(reading: &Reading, run: &Run, detector: &Detector) -> Option<Self> {
        let stated = run.conditions.transmittance.as_ref();
        let transmittance = stated.map_or(1.0, |stated| stated.value);
        let ambient = detector.signal(run.conditions.ambient.value);
        let reflected = detector.signal(reading.reflected?.value + ZERO_CELSIUS);
        let arrived = detector.signal(reading.apparent + ZERO_CELSIUS);
        let leaving = path_removed(arrived, ambient, transmittance);
        let skin = skin_signal(leaving, reflected, reading.emissivity?.value);
        detector.temperature(skin).is_finite().then_some(Self {
            skin,
            reflected,
            ambient,
            transmittance,
        })
    }

    /// What would arrive from the same skin with another emissivity.
    fn with(&self, emissivity: f64) -> f64 {
        let (skin, reflected) = (self.skin, self.reflected);
        arriving(
            skin,
            reflected,
            emissivity,
            self.ambient,
            self.transmittance,
        )
    }
}

impl Altered {
    /// The same scene with a preset's finish on the spots of some readings; `None` where one of them saw nothing of its skin.
    pub fn with_finish(
        mut self,
        preset: &Preset,
        readings: &[(Place, &Reading)],
        detectors: &Detectors,
    ) -> Option<Self> {
        let finish = self.session.surfaces.len();
        self.session.surfaces.push(surface(preset));
        for &(place, reading) in readings {
            let (detector, seen) = self.seen(place, reading, detectors)?;
            let stored = self.stored(place, seen.with(preset.emissivity.value), &detector)?;
            self.read_anew(place, stored, &detector)?;
            match place.source {
                Source::Region { region, .. } => {
                    self.snapshot(place)?.regions.get_mut(region)?.surface = Some(finish);
                }
                Source::Pistol(index) => self.pistol(place, index)?.surface = Some(finish),
            }
        }
        Some(self)
    }

    /// The same scene with crumpled foil in every picture of some readings; for a pistol the foil is what it was pointed at
    /// to know the reflected temperature, to within what it may err by.
    pub fn with_foil(
        mut self,
        readings: &[(Place, &Reading)],
        detectors: &Detectors,
    ) -> Option<Self> {
        for &(place, reading) in readings {
            let (detector, seen) = self.seen(place, reading, detectors)?;
            match place.source {
                Source::Region { .. } => {
                    let stored = self.stored(place, seen.with(0.0), &detector)?;
                    self.add_foil(place, stored)?;
                }
                Source::Pistol(index) => {
                    let mirrored = reading.reflected?.value;
                    let limit = accuracy_limit(self.instrument(place)?, mirrored);
                    let run = self.session.runs.get_mut(place.run)?;
                    let name = format!("run.{}.pistol {} at foil", run.name, index + 1);
                    let pistol = run.pistols.get_mut(index)?;
                    let kelvin = mirrored + ZERO_CELSIUS;
                    pistol.reflected = Some(within(name, kelvin, limit, &pistol.span));
                }
            }
        }
        Some(self)
    }

    /// How many readings' reflected temperature is read beside them: pictures with foil, pistol readings with their own.
    pub fn foils(&self) -> usize {
        let of_run = |run: &Run| {
            let foil = |region: &Region| region.role == Role::Reflector;
            let pictures = run.snapshots.iter();
            let pictures = pictures.filter(|picture| picture.regions.iter().any(foil));
            let pistols = run
                .pistols
                .iter()
                .filter(|pistol| pistol.reflected.is_some());
            pictures.count() + pistols.count()
        };
        self.session.runs.iter().map(of_run).sum()
    }

    /// The same scene with a body of known temperature, K ± `limit`, and of a preset's finish in every picture of some
    /// readings that has none: as warm as the first of them there. `None` where there is no such picture.
    pub fn with_references(
        mut self,
        readings: &[(Place, &Reading)],
        preset: &Preset,
        limit: f64,
        detectors: &Detectors,
    ) -> Option<Self> {
        let finish = self.session.surfaces.len();
        self.session.surfaces.push(surface(preset));
        let mut added = false;
        let reference = |region: &Region| region.role == Role::Reference;
        for &(place, reading) in readings {
            let bare = |snapshot: &mut Snapshot| !snapshot.regions.iter().any(reference);
            if !self.snapshot(place).is_some_and(bare) {
                continue;
            }
            let kelvin = reading.surface_temperature?.value + ZERO_CELSIUS;
            let (detector, mut seen) = self.seen(place, reading, detectors)?;
            seen.skin = detector.signal(kelvin);
            let stored = self.stored(place, seen.with(preset.emissivity.value), &detector)?;
            let Source::Region { snapshot, .. } = place.source else {
                continue;
            };
            // A place of its own for each picture: one place is one input, and a run's pictures differ in temperature.
            let name = &self.session.runs.get(place.run)?.name;
            let name = format!("run.{name}.snapshot {}.reference", snapshot + 1);
            let snapshot = self.snapshot(place)?;
            let first = snapshot.regions.first()?;
            let known = within(name, kelvin, limit, &first.span);
            let region = Region {
                name: "reference".to_owned(),
                role: Role::Reference,
                tank: None,
                surface: Some(finish),
                reflected: None,
                temperature: Some(known),
                statistic: Use::Mean,
                ..first.clone()
            };
            snapshot.regions.push(region);
            self.add_measurement(place, stored)?;
            added = true;
        }
        added.then_some(self)
    }

    /// The same scene with every run measured once more, at the same time: a drift that is told of the runs is then told
    /// of both alike.
    pub fn repeated(mut self) -> Option<Self> {
        for index in 0..self.session.runs.len() {
            let mut run = self.session.runs.get(index)?.clone();
            let old = format!("run.{}.", run.name);
            run.name = self.free_name(&run.name);
            let new = format!("run.{}.", run.name);
            let mut alone = self.session.clone();
            alone.runs = vec![run];
            alone.amend(&mut |declared| {
                if let Some(key) = declared.place.strip_prefix(&old) {
                    declared.place = format!("{new}{key}");
                }
            });
            let again = self.session.runs.len();
            self.session.runs.append(&mut alone.runs);
            let pictures = self.pictures.iter().filter(|picture| picture.run == index);
            let pictures: Vec<PictureMeasurement> = pictures
                .map(|picture| PictureMeasurement {
                    run: again,
                    // Another picture of the same: not the same file twice.
                    sha256: format!("{} again", picture.sha256),
                    ..picture.clone()
                })
                .collect();
            self.pictures.extend(pictures);
        }
        Some(self)
    }

    /// A name for a run like another that no run has: one name is one place, and one place one input.
    fn free_name(&self, like: &str) -> String {
        let taken = |name: &str| self.session.runs.iter().any(|run| run.name == name);
        let mut name = format!("{like} again");
        while taken(&name) {
            name.push_str(" again");
        }
        name
    }

    /// The same scene with every run held for so many seconds, and the skins of some readings where they then are, K.
    pub fn settled(
        mut self,
        readings: &[(Place, &Reading, f64)],
        hold: f64,
        detectors: &Detectors,
    ) -> Option<Self> {
        for &(place, reading, kelvin) in readings {
            let (detector, mut seen) = self.seen(place, reading, detectors)?;
            seen.skin = detector.signal(kelvin);
            let emissivity = reading.emissivity?.value;
            let stored = self.stored(place, seen.with(emissivity), &detector)?;
            self.read_anew(place, stored, &detector)?;
            match place.source {
                Source::Region { .. } => self.snapshot(place)?.at = None,
                Source::Pistol(index) => self.pistol(place, index)?.at = None,
            }
        }
        for run in &mut self.session.runs {
            let place = format!("run.{}.hold", run.name);
            let span = run.span.clone();
            let hold = Declared::unwritten(place, Dimension::Time, hold, Law::Exact, span);
            run.hold = Some(hold);
        }
        Some(self)
    }

    /// Puts what a reading's instrument would have stored in the place of what it did.
    fn read_anew(&mut self, place: Place, stored: f64, detector: &Detector) -> Option<()> {
        match place.source {
            Source::Region { region, .. } => {
                self.picture(place)?.regions.get_mut(region)?.signal = stored;
            }
            Source::Pistol(index) => {
                let value = detector.temperature(stored);
                let shown = &mut self.pistol(place, index)?.reading;
                shown.law = shown.law.moved(value - shown.value);
                shown.value = value;
            }
        }
        Some(())
    }

    fn pistol(&mut self, place: Place, index: usize) -> Option<&mut Pistol> {
        self.session.runs.get_mut(place.run)?.pistols.get_mut(index)
    }

    /// Adds the measurement of a further region to a reading's picture: as large and as sound as its first.
    fn add_measurement(&mut self, place: Place, signal: f64) -> Option<()> {
        let picture = self.picture(place)?;
        let measurement = Measurement {
            signal,
            edge_shift: None,
            clipped: 0,
            ..picture.regions.first()?.clone()
        };
        picture.regions.push(measurement);
        Some(())
    }

    /// Adds a reflector region to a reading's picture, unless it has one.
    fn add_foil(&mut self, place: Place, signal: f64) -> Option<()> {
        let snapshot = self.snapshot(place)?;
        let foil = |region: &Region| region.role == Role::Reflector;
        if snapshot.regions.iter().any(foil) {
            return Some(());
        }
        let first = snapshot.regions.first()?;
        let region = Region {
            name: "foil".to_owned(),
            role: Role::Reflector,
            tank: None,
            surface: None,
            reflected: None,
            temperature: None,
            statistic: Use::Mean,
            ..first.clone()
        };
        snapshot.regions.push(region);
        self.add_measurement(place, signal)
    }

    fn seen(
        &self,
        place: Place,
        reading: &Reading,
        detectors: &Detectors,
    ) -> Option<(std::sync::Arc<Detector>, Seen)> {
        let run = self.session.runs.get(place.run)?;
        let detector = match place.source {
            Source::Region { snapshot, .. } => {
                let mut pictures = self.pictures.iter();
                let of = |picture: &&PictureMeasurement| {
                    (picture.run, picture.snapshot) == (place.run, snapshot)
                };
                pictures.find(of)?.detector.clone()
            }
            Source::Pistol(index) => {
                let instrument = run.pistols.get(index)?.instrument;
                detectors.bands.get(instrument)?.clone()?
            }
        };
        let seen = Seen::of(reading, run, &detector)?;
        Some((detector, seen))
    }

    /// The signal that a reading's instrument would store of what arrives.
    fn stored(&mut self, place: Place, arriving: f64, detector: &Detector) -> Option<f64> {
        if matches!(place.source, Source::Region { .. }) && self.picture(place)?.raw {
            return Some(arriving);
        }
        let run = self.session.runs.get(place.run)?;
        let instrument = self.instrument(place)?;
        Some(stored_signal(instrument, run, arriving, detector))
    }

    fn instrument(&self, place: Place) -> Option<&ThermalInstrument> {
        let run = self.session.runs.get(place.run)?;
        let instrument = match place.source {
            Source::Region { snapshot, .. } => run.snapshots.get(snapshot)?.instrument,
            Source::Pistol(index) => run.pistols.get(index)?.instrument,
        };
        self.session.instruments.get(instrument)?.thermal()
    }

    fn snapshot(&mut self, place: Place) -> Option<&mut Snapshot> {
        let Source::Region { snapshot, .. } = place.source else {
            return None;
        };
        let run = self.session.runs.get_mut(place.run)?;
        run.snapshots.get_mut(snapshot)
    }

    fn picture(&mut self, place: Place) -> Option<&mut PictureMeasurement> {
        let Source::Region { snapshot, .. } = place.source else {
            return None;
        };
        self.pictures
            .iter_mut()
            .find(|picture| (picture.run, picture.snapshot) == (place.run, snapshot))
    }
}

/// A preset as a surface of a session: the very same roll or tin on every cooler.
fn surface(preset: &Preset) -> Surface {
    let emissivity = &preset.emissivity;
    Surface {
        name: preset.name.clone(),
        like: Some(preset.name.clone()),
        preset_emissivity: true,
        emissivity: Emissivity::Stated(Declared {
            place: format!("surface.{} (advised).emissivity", preset.name),
            dimension: Dimension::Ratio,
            value: emissivity.value,
            law: emissivity.law,
            limits_assumed: false,
            sensor: None,
            written: emissivity.written.clone(),
            span: 0..0,
        }),
        shared: true,
        wall: None,
        conductivity: None,
        density: None,
        specific_heat: None,
        outer_area_ratio: None,
        span: 0..0,
    }
}

/// A temperature, K, known to within some limits.
pub(super) fn within(place: String, kelvin: f64, limit: f64, span: &Span) -> Declared {
    let law = Law::Rectangular {
        low: kelvin - limit,
        high: kelvin + limit,
    };
    Declared::unwritten(place, Dimension::Temperature, kelvin, law, span.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::from_text;
    use std::collections::BTreeSet;
    use std::path::Path;

    /// One name is one place, and one place one input: two runs of one name would err alike.
    #[test]
    fn repeated_runs_have_names_of_their_own() {
        let mut text =
            "[conditions]\nambient = \"18 °C ± 0.5\"\n[surface.m]\nemissivity = \"0.95 ± 0.01\"\n\
            [cooler.a]\ninlet = \"m\"\noutlet = \"m\"\n"
                .to_owned();
        for name in ["hold", "hold again", "hold again again"] {
            text += &format!(
                "[[run]]\ncooler = \"a\"\nname = \"{name}\"\ntime = \"10:00\"\nintake-air = \"40 °C ± 1\"\n"
            );
        }
        let scene = Altered {
            session: from_text(Path::new("again.toml"), &text).unwrap(),
            pictures: Vec::new(),
        };
        let repeated = scene.repeated().unwrap().session;
        let names: BTreeSet<&str> = repeated.runs.iter().map(|run| run.name.as_str()).collect();
        assert_eq!(names.len(), 6, "{names:?}");
        let places: BTreeSet<String> = repeated
            .runs
            .iter()
            .map(|run| run.intake_air.clone().unwrap().place)
            .collect();
        assert_eq!(places.len(), 6, "{places:?}");
        assert!(
            repeated
                .runs
                .iter()
                .all(|run| run.time == repeated.runs[0].time)
        );
    }
}
