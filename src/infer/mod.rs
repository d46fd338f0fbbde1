//! Stage 5: from the skins to the charge air, as steps of the model.
//!
//! A skin that is still on its way is first carried to where it is going: by a fit through three or more readings of one
//! hold, else by the share of its way that the wall's own transient gives (`hold`). Then the heat that leaves the skin is
//! followed back through wall and inside film (`wall`). Probes in the air stream lead where there are any, and a run that
//! has both calibrates the skin-to-air ratio of its cooler's other runs.

mod hold;
pub(crate) mod scatter;
mod series;
mod wall;

use crate::correct::{Corrected, Reading, notes};
use crate::measure::PictureMeasurement;
use crate::model::{Builder, Slot};
use crate::session::{PerTank, Role, Session, Tank};
use hold::Hold;
pub use hold::{FEWEST, LEAST_SHARE, SETTLED};
use wall::Through;

/// What is inferred of a session.
#[derive(Debug)]
pub struct Inferred {
    /// For each reading the charge air behind its skin, K.
    pub charge: Vec<Option<Slot>>,
    /// For each run its two tanks.
    pub tanks: Vec<PerTank<TankState>>,
}

impl Inferred {
    /// The steady skins that differ from what was read, for their intervals.
    pub fn steady_slots(&self) -> impl Iterator<Item = Slot> + '_ {
        let states = self
            .tanks
            .iter()
            .flat_map(|tanks| [&tanks.inlet, &tanks.outlet]);
        states.filter_map(|state| state.steady.filter(|_| state.steady != state.skin))
    }
}

/// What is inferred of one tank in one run. Temperatures are slots in K.
#[derive(Debug, Clone, Default)]
pub struct TankState {
    /// Mean of the readings as they were taken.
    pub skin: Option<Slot>,
    /// Where the skin is going; `None` where only a bound is known, or nothing at all.
    pub steady: Option<Slot>,
    /// How the steady skin is known.
    pub settling: Settling,
    /// Charge air through the wall.
    pub wall: Option<Slot>,
    /// Charge air through the wall as if an unsettled skin were steady: a bound.
    pub bound: Option<Slot>,
    /// Charge air by a probe in the air stream.
    pub probe: Option<Slot>,
    /// Charge air by the skin-to-air ratio of the cooler's other runs.
    pub calibrated: Option<Slot>,
    /// What is missing for the charge air through the wall, in the session's words.
    pub missing: Vec<&'static str>,
}

impl TankState {
    /// The charge air by the best evidence that this run has.
    #[must_use]
    pub fn charge(&self) -> Option<Slot> {
        self.probe.or(self.calibrated).or(self.wall)
    }
}

/// How a tank's steady skin is known.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Settling {
    /// There is no reading of its skin.
    #[default]
    NoSkin,
    /// When in the hold it was read is not stated: taken as steady.
    HoldUnknown,
    /// What the wall's transient needs is not stated: taken as steady, unless even a quick wall had not gone half its way.
    NotKnown {
        /// Time into the hold, s.
        time: f64,
        /// What is missing, in the session's words.
        missing: Vec<&'static str>,
        /// The share of its way that a usual wall between good films would have gone: hardly less than this skin had.
        share: f64,
    },
    /// The share of its way that the skin had gone, of the readings the least.
    Share {
        /// The share at the central values.
        share: f64,
        /// Time into the hold, s.
        time: f64,
        /// The hold that would reach [`SETTLED`], s.
        enough: Option<f64>,
        /// Whether the skin before the load came on is stated.
        start_stated: bool,
    },
    /// Fitted through a series of readings.
    Fitted(Series),
}

/// A series of readings of a tank in one hold, and its fit at the central values. K and s.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Times and mean skins.
    pub points: Vec<(f64, f64)>,
    /// What is fitted.
    pub fit: crate::heat::settling::Fit,
    /// Whether the series bends too little to say where the skin is going.
    pub too_short: bool,
    /// Scatter of the readings about the fit beyond the instrument's drift, K.
    pub scatter: f64,
}

/// Infers what it can.
#[must_use]
pub fn infer(
    session: &Session,
    pictures: &[PictureMeasurement],
    corrected: &mut Corrected,
) -> Inferred {
    let Corrected {
        model,
        readings,
        tanks: emissivities,
    } = corrected;
    let mut charge = vec![None; readings.len()];
    let mut tanks = Vec::new();
    for (index, run) in session.runs.iter().enumerate() {
        let mut both = PerTank::<TankState>::default();
        for tank in Tank::BOTH {
            let place = Place {
                session,
                pictures,
                readings,
                run: index,
                tank,
                emissivity: emissivities
                    .get(run.cooler)
                    .and_then(|tanks| *tanks.get(tank)),
            };
            *both.get_mut(tank) = place.state(model, &mut charge);
        }
        tanks.push(both);
    }
    calibrate(session, &mut tanks, model);
    Inferred { charge, tanks }
}

/// One tank in one run.
struct Place<'a> {
    session: &'a Session,
    pictures: &'a [PictureMeasurement],
    readings: &'a [Reading],
    run: usize,
    tank: Tank,
    /// Emissivity of the tank's own surface.
    emissivity: Option<Slot>,
}

/// A reading of the tank's skin: its index, its skin and what it mirrors.
#[derive(Debug, Clone, Copy)]
struct Skin {
    index: usize,
    kelvin: Slot,
    reflected: Slot,
}

impl Place<'_> {
    fn run(&self) -> &crate::session::Run {
        &self.session.runs[self.run]
    }

    fn state(&self, model: &mut Builder, charge: &mut [Option<Slot>]) -> TankState {
        let mut state = TankState {
            probe: self.probe(model),
            ..TankState::default()
        };
        let skins = self.skins();
        if skins.is_empty() {
            return state;
        }
        let kelvins: Vec<Slot> = skins.iter().map(|skin| skin.kelvin).collect();
        let reflected: Vec<Slot> = skins.iter().map(|skin| skin.reflected).collect();
        let (mean, reflected) = (model.mean(&kelvins), model.mean(&reflected));
        let read = |run: usize| {
            scatter::of_tank(self.readings, run, self.tank)
                .next()
                .is_some()
        };
        let scatter = |slot, model: &mut Builder| {
            let what = format!("{} skin", self.tank.word());
            scatter::temperature(self.session, self.run, slot, &what, &read, model)
        };
        state.skin = Some(scatter(mean, model));
        let through = Through::of(self, model);
        state.missing = through.missing();
        let hold = Hold {
            place: self,
            through: &through,
        };
        let settled = hold.settle(&skins, mean, model);
        state.settling = settled.how;
        state.steady = settled.steady.map(|steady| scatter(steady, model));
        state.wall = state
            .steady
            .and_then(|steady| through.charge(steady, reflected, model));
        if state.steady.is_none() {
            state.bound = through.charge(mean, reflected, model);
        }
        for (skin, own) in skins.iter().zip(&settled.readings) {
            if let Some(entry) = charge.get_mut(skin.index) {
                *entry = match own {
                    hold::Own::Steady(kelvin) => through.charge(*kelvin, skin.reflected, model),
                    hold::Own::OnItsWay => state.wall,
                    hold::Own::Bound => None,
                };
            }
        }
        state
    }

    /// The tank's readings with their skins.
    fn skins(&self) -> Vec<Skin> {
        let readings = self.readings.iter().enumerate();
        readings
            .filter(|(_, reading)| {
                reading.run == self.run
                    && reading.role == Role::Tank
                    && reading.tank == Some(self.tank)
            })
            .filter_map(|(index, reading)| {
                Some(Skin {
                    index,
                    kelvin: reading.skin?,
                    reflected: reading.reflected?,
                })
            })
            .collect()
    }

    /// The probe in the air stream, with the scatter between holds where that is stated.
    fn probe(&self, model: &mut Builder) -> Option<Slot> {
        let note = self.run().air.get(self.tank).as_ref()?;
        let key = match self.tank {
            Tank::Inlet => "inlet-air",
            Tank::Outlet => "outlet-air",
        };
        let slot = notes::temperature(self.session, key, note, model);
        let has = |run: usize| self.session.runs[run].air.get(self.tank).is_some();
        let what = format!("{} air", self.tank.word());
        Some(scatter::temperature(
            self.session,
            self.run,
            slot,
            &what,
            &has,
            model,
        ))
    }
}

/// Runs with both a probe and a skin give the ratio (T_s − T_amb)/(T_charge − T_amb) of their cooler's tank; it turns the
/// skins of the cooler's other runs into charge air.
fn calibrate(session: &Session, tanks: &mut [PerTank<TankState>], model: &mut Builder) {
    for cooler in 0..session.coolers.len() {
        let runs: Vec<usize> = (0..tanks.len())
            .filter(|&run| session.runs[run].cooler == cooler)
            .collect();
        for tank in Tank::BOTH {
            let mut ratios = Vec::new();
            for &run in &runs {
                let state = tanks[run].get(tank);
                if let (Some(probe), Some(steady)) = (state.probe, state.steady) {
                    let ambient = model.declared(&session.runs[run].conditions.ambient);
                    let (skin, air) = (
                        model.difference(steady, ambient),
                        model.difference(probe, ambient),
                    );
                    ratios.push(model.quotient(skin, air));
                }
            }
            if ratios.is_empty() {
                continue;
            }
            let ratio = model.mean(&ratios);
            for &run in &runs {
                let state = tanks[run].get_mut(tank);
                if let (None, Some(steady)) = (state.probe, state.steady) {
                    let ambient = model.declared(&session.runs[run].conditions.ambient);
                    let skin = model.difference(steady, ambient);
                    let air = model.quotient(skin, ratio);
                    state.calibrated = Some(model.sum(ambient, air));
                }
            }
        }
    }
}
