//! Simulated sessions: does the 95 % interval hold the truth in 95 of 100?
//!
//! For each session a truth is drawn from the very inputs that the session states, the instrument's readings follow from
//! it by the measurement equation, and the session is evaluated as any other. Readings are pistol numbers, which go the
//! same way as regions and need no picture. Shared by the test and the release example.

use std::path::Path;

use endtank::outcome::{Outcome, Q, Verdict};
use endtank::quantity::QuantityId;
use endtank::radiometry::{Band, Detector, equation};
use endtank::session;
use endtank::uncertainty::{Generator, Settings, Stream};

/// A world to draw sessions from, and what the session says of it.
#[derive(Debug, Clone, Copy)]
pub struct World {
    /// Stated emissivity of the baseline's tanks; its limits are ± 10 % of it.
    pub emissivity: f64,
    /// Stated emissivity of the candidate's tanks.
    pub candidate_emissivity: f64,
    /// True skins of the baseline, °C: inlet, outlet.
    pub baseline: [f64; 2],
    /// True skins of the candidate.
    pub candidate: [f64; 2],
    /// Runs of each cooler.
    pub runs: usize,
    /// Standard deviation between holds, K: baseline, candidate.
    pub scatter: [f64; 2],
    /// How much warmer the reflections are than any stated, K: breaks the model.
    pub warmer: f64,
    /// Limits of the drift from reading to reading, K, as stated and as it is.
    pub stated_drift: f64,
    /// Drift from reading to reading beyond the stated, K: breaks the model.
    pub drift: f64,
    /// Standard deviation between holds that the session states, K.
    pub repeatability: Option<f64>,
}

/// A sound world: what the session states is true of it.
pub const SOUND: World = World {
    emissivity: 0.95,
    candidate_emissivity: 0.95,
    baseline: [85.0, 55.0],
    candidate: [85.0, 50.0],
    runs: 3,
    scatter: [0.8, 0.8],
    stated_drift: 0.05,
    warmer: 0.0,
    drift: 0.0,
    repeatability: None,
};

/// Draws of the Monte Carlo in each session: the ends of an interval then wander by about 3 % of its width, evenly to
/// either side.
const DRAWS: u64 = 4_000;

/// What became of one session.
#[derive(Debug, Clone)]
pub struct Trial {
    /// For each figure whether its interval held the truth; `None` where none was given.
    pub held: Vec<(&'static str, Option<bool>)>,
    /// The verdict on the primary quantity.
    pub verdict: Option<Verdict>,
}

/// Simulates one session and evaluates it.
pub fn trial(world: &World, number: u64, detector: &Detector) -> Trial {
    let mut chance = Stream::new(number, "coverage").block(0);
    let mut scene = Scene::draw(world, &mut chance);
    let text = scene.session(world, &mut chance, detector);
    let session = session::from_text(Path::new("simulated.toml"), &text)
        .unwrap_or_else(|error| panic!("{error}\n{text}"));
    let settings = Settings {
        draws: DRAWS,
        seed: number,
        what_ifs: false,
    };
    match endtank::pipeline::evaluate(&session, settings, &|| {}) {
        Ok(outcome) => scene.judge(&outcome),
        // A reading without a solution is refused with its reason: no interval, no verdict.
        Err(_) => Trial {
            held: FIGURES.iter().map(|&name| (name, None)).collect(),
            verdict: None,
        },
    }
}

/// The figures that are looked at.
pub const FIGURES: [&str; 8] = [
    "skin, first reading",
    "inlet_surface",
    "surface_drop",
    "surface_effectiveness",
    "outlet_surface_normalised",
    "difference of surface_drop",
    "difference of surface_effectiveness",
    "difference of outlet_surface_normalised",
];

/// The truth of one session.
struct Scene {
    ambient: f64,
    reflected: f64,
    emissivity: [f64; 2],
    offset: f64,
    gain: f64,
    skins: [[f64; 2]; 2],
    first: Option<f64>,
}

fn even(chance: &mut Generator, low: f64, high: f64) -> f64 {
    low + (high - low) * chance.even()
}

impl Scene {
    fn draw(world: &World, chance: &mut Generator) -> Self {
        let share = |chance: &mut Generator, stated: f64| {
            even(chance, 0.9 * stated, (1.1 * stated).min(1.0))
        };
        Self {
            ambient: even(chance, 17.5, 18.5),
            reflected: even(chance, 19.0, 23.0) + world.warmer,
            emissivity: [
                share(chance, world.emissivity),
                share(chance, world.candidate_emissivity),
            ],
            offset: even(chance, -1.0, 1.0),
            gain: even(chance, -1.0, 1.0),
            skins: [world.baseline, world.candidate],
            first: None,
        }
    }

    /// What the technician writes down.
    fn session(&mut self, world: &World, chance: &mut Generator, detector: &Detector) -> String {
        let stated = |key: &str, emissivity: f64| {
            format!(
                "[surface.{key}]\nemissivity = \"{emissivity} ± 10 %\"\n[cooler.{key}]\ninlet = \"{key}\"\noutlet = \"{key}\"\n"
            )
        };
        let mut text =
            "[conditions]\nambient = \"18 °C ± 0.5\"\nreflected = \"21 °C ± 2\"\n".to_owned();
        if let Some(standard) = world.repeatability {
            text.push_str(&format!(
                "[repeatability]\ntemperature = \"{standard} K\"\n"
            ));
        }
        let drift = world.stated_drift;
        text.push_str(&format!(
            "[instrument.pistol]\nemissivity = 1\naccuracy = \"2 °C or 2 %\"\ndrift = \"{drift} K\"\n"
        ));
        text.push_str(&stated("a", world.emissivity));
        text.push_str(&stated("b", world.candidate_emissivity));
        for (cooler, key) in ["a", "b"].into_iter().enumerate() {
            for run in 1..=world.runs {
                text.push_str(&format!(
                    "[[run]]\ncooler = \"{key}\"\nname = \"{key} {run}\"\n"
                ));
                for (tank, name) in ["inlet", "outlet"].into_iter().enumerate() {
                    let skin = self.skins[cooler][tank] + world.scatter[cooler] * chance.normal();
                    self.first.get_or_insert(skin);
                    let shown = self.shown(skin, self.emissivity[cooler], world, chance, detector);
                    text.push_str(&format!(
                        "[[run.pistol]]\ntank = \"{name}\"\nreading = \"{shown:.9} °C\"\n"
                    ));
                }
            }
        }
        text
    }

    /// What the instrument shows of a skin: the apparent temperature less the error that the model adds back.
    fn shown(
        &self,
        skin: f64,
        emissivity: f64,
        world: &World,
        chance: &mut Generator,
        detector: &Detector,
    ) -> f64 {
        let signal = |celsius: f64| detector.signal(celsius + 273.15);
        let arriving =
            equation::arriving(signal(skin), signal(self.reflected), emissivity, 0.0, 1.0);
        let apparent = detector.temperature(arriving) - 273.15;
        let drift =
            even(chance, -world.stated_drift, world.stated_drift) + world.drift * chance.normal();
        let error = |shown: f64| {
            let limit = f64::max(2.0, 0.02 * shown.abs());
            let share = ((shown - 20.0) / 100.0).clamp(0.0, 1.0);
            limit * ((1.0 - share) * self.offset + share * self.gain) + drift
        };
        // shown + error(shown) = apparent; the error hardly depends on what is shown.
        (0..20).fold(apparent, |shown, _| apparent - error(shown))
    }

    fn judge(&self, outcome: &Outcome) -> Trial {
        let results = &outcome.results;
        let truth = |cooler: usize| {
            let [inlet, outlet] = self.skins[cooler];
            (
                inlet,
                inlet - outlet,
                (inlet - outlet) / (inlet - self.ambient),
            )
        };
        // The normalised outlet's references are the baseline's own central values.
        let of = |cooler: usize, id: QuantityId| results.coolers.get(cooler)?.quantities.get(&id);
        let reference = of(0, QuantityId::InletSurface).map_or(f64::NAN, |q| q.value);
        let normalised = |cooler: usize| reference - truth(cooler).2 * (reference - 18.0);
        let difference = |id: QuantityId| results.comparison.iter().find(|row| row.quantity == id);
        let spread = |id| difference(id).map(|row| &row.difference);
        let figures: [(Option<&Q>, f64); 8] = [
            (
                results
                    .readings
                    .first()
                    .and_then(|reading| reading.surface_temperature.as_ref()),
                self.first.unwrap_or(f64::NAN),
            ),
            (of(0, QuantityId::InletSurface), truth(0).0),
            (of(0, QuantityId::SurfaceDrop), truth(0).1),
            (of(0, QuantityId::SurfaceEffectiveness), truth(0).2),
            (of(0, QuantityId::OutletSurfaceNormalised), normalised(0)),
            (spread(QuantityId::SurfaceDrop), truth(1).1 - truth(0).1),
            (
                spread(QuantityId::SurfaceEffectiveness),
                truth(1).2 - truth(0).2,
            ),
            (
                spread(QuantityId::OutletSurfaceNormalised),
                normalised(1) - normalised(0),
            ),
        ];
        let held = |q: Option<&Q>, truth: f64| {
            q.map(|q| q.low.unwrap() <= truth && truth <= q.high.unwrap())
        };
        Trial {
            held: FIGURES
                .into_iter()
                .zip(figures)
                .map(|(name, (q, truth))| (name, held(q, truth)))
                .collect(),
            verdict: difference(QuantityId::OutletSurfaceNormalised).and_then(|row| row.verdict),
        }
    }
}

/// Shares over many sessions.
#[derive(Debug, Clone)]
pub struct Coverage {
    /// Figure, share of the intervals given that held the truth, share of sessions that gave one.
    pub figures: Vec<(&'static str, f64, f64)>,
    /// Share of sessions with the verdict `higher` or `lower` on the primary quantity.
    pub decided: f64,
}

/// Simulates so many sessions, on all threads.
pub fn coverage(world: &World, sessions: u64) -> Coverage {
    use rayon::prelude::*;
    let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
    let trials: Vec<Trial> = (0..sessions)
        .into_par_iter()
        .map(|number| trial(world, number, &detector))
        .collect();
    let figures = FIGURES
        .iter()
        .enumerate()
        .map(|(index, &name)| {
            let given: Vec<bool> = trials
                .iter()
                .filter_map(|trial| trial.held[index].1)
                .collect();
            let held = given.iter().filter(|&&held| held).count() as f64;
            (
                name,
                held / given.len().max(1) as f64,
                given.len() as f64 / sessions as f64,
            )
        })
        .collect();
    let decided = trials
        .iter()
        .filter(|trial| matches!(trial.verdict, Some(Verdict::Higher | Verdict::Lower)))
        .count();
    Coverage {
        figures,
        decided: decided as f64 / sessions as f64,
    }
}
