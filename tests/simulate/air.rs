//! Simulated sessions of charge air: do the 95 % intervals of what is inferred hold the truth, and do identical coolers
//! with different walls get a verdict?
//!
//! Truths are drawn from the very limits that the sessions state; skins follow from the charge air by the wall's equation,
//! readings are pistol numbers, which go the same way as regions. Shared by the test and the release example.

use std::fmt::Write as _;
use std::path::Path;

use endtank::heat::{wall, wall::Wall};
use endtank::outcome::{Outcome, Q, Verdict};
use endtank::quantity::QuantityId;
use endtank::radiometry::{Band, Detector, equation};
use endtank::uncertainty::{Generator, Settings, Stream};

/// Even on `value` ± `half`.
pub fn even(chance: &mut Generator, value: f64, half: f64) -> f64 {
    value - half + 2.0 * half * chance.even()
}

/// Even in the logarithm within a factor of `value`.
pub fn factor(chance: &mut Generator, value: f64, factor: f64) -> f64 {
    value * factor.powf(2.0 * chance.even() - 1.0)
}

/// The session's outcome with so many draws.
pub fn evaluate(text: &str, seed: u64, draws: u64) -> Outcome {
    let session = endtank::session::from_text(Path::new("simulated.toml"), text)
        .unwrap_or_else(|problems| panic!("{problems}"));
    let settings = Settings {
        draws,
        seed,
        what_ifs: false,
    };
    endtank::pipeline::evaluate(&session, settings, &|| {})
        .unwrap_or_else(|problems| panic!("{problems}"))
}

/// What a tank's surroundings truly are.
#[derive(Clone, Copy)]
pub struct Truth {
    /// Air in the shop, K.
    pub ambient: f64,
    /// What the tank mirrors, K.
    pub reflected: f64,
    /// The skin's emissivity.
    pub emissivity: f64,
    /// Outside film, W/(m² K).
    pub outer: f64,
    /// Inside film, W/(m² K).
    pub inner: f64,
    /// The wall itself.
    pub wall: Wall,
}

impl Truth {
    fn flux(&self, skin: f64) -> f64 {
        wall::flux(
            self.outer,
            skin,
            self.ambient,
            self.emissivity,
            self.reflected,
        )
    }

    /// The skin that the charge air keeps steady, K: the wall's equation turned round by bisection.
    pub fn skin(&self, charge: f64) -> f64 {
        let (mut low, mut high) = (self.ambient.min(charge), self.ambient.max(charge));
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.wall.charge(middle, self.flux(middle), self.inner) < charge {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }

    /// The apparent temperature of a skin, K.
    pub fn apparent(&self, skin: f64, detector: &Detector) -> f64 {
        let signal = |kelvin| detector.signal(kelvin);
        let arriving = equation::arriving(
            signal(skin),
            signal(self.reflected),
            self.emissivity,
            0.0,
            1.0,
        );
        detector.temperature(arriving)
    }
}

/// Wall, m, conductivity, W/(m K), and density times specific heat, J/(m³ K), as stated.
pub const PLASTIC: (f64, f64, f64) = (0.003, 0.30, 1370.0 * 1500.0);
/// The same of an aluminium tank.
pub const ALUMINIUM: (f64, f64, f64) = (0.002, 160.0, 2700.0 * 900.0);

/// What tells the charge air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum By {
    /// The skins, through walls of plastic and of aluminium.
    Wall,
    /// Two probes in the air stream, each with an error of its own in all its readings, which are noted to within so much, °C.
    Probes(f64),
}

/// True mean charge air of both coolers, K: inlet, outlet.
const CHARGE: [f64; 2] = [393.15, 323.15];

/// Standard deviation of the charge air between holds, K.
const SCATTER: f64 = 0.8;

/// The figures that are looked at.
pub const FIGURES: [&str; 6] = [
    "inlet_charge",
    "outlet_charge",
    "effectiveness",
    "difference of outlet_charge",
    "difference of effectiveness",
    "difference of outlet_normalised",
];

/// What became of one session.
pub struct Trial {
    /// For each figure whether its interval held the truth; `None` where none was given.
    pub held: Vec<Option<bool>>,
    /// The verdict on the primary quantity.
    pub verdict: Option<Verdict>,
}

/// Whether an interval holds the truth.
pub fn holds(q: Option<&Q>, truth: f64) -> Option<bool> {
    q.map(|q| q.low.unwrap() <= truth && truth <= q.high.unwrap())
}

/// Share of the given that hold, and share that is given.
pub fn shares(all: &[Option<bool>]) -> (f64, f64) {
    let given: Vec<bool> = all.iter().copied().flatten().collect();
    let held = given.iter().filter(|&&held| held).count();
    (
        held as f64 / given.len().max(1) as f64,
        given.len() as f64 / all.len() as f64,
    )
}

/// Simulates so many sessions of two coolers of plastic and of aluminium tanks, with the same charge air in both, on all
/// threads.
pub fn trials(by: By, runs: usize, sessions: u64, draws: u64) -> Vec<Trial> {
    use rayon::prelude::*;
    let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
    (0..sessions)
        .into_par_iter()
        .map(|number| {
            let mut chance = Stream::new(number, "air").block(0);
            let (text, air) = session(&mut chance, by, runs, &detector);
            let outcome = evaluate(&text, number, draws);
            assert_eq!(outcome.results.primary, QuantityId::OutletNormalised);
            judge(&outcome, air)
        })
        .collect()
}

/// Share of the sessions with the verdict `higher` or `lower` on the primary quantity.
pub fn decided(trials: &[Trial]) -> f64 {
    let decided = trials
        .iter()
        .filter(|trial| matches!(trial.verdict, Some(Verdict::Higher | Verdict::Lower)));
    decided.count() as f64 / trials.len() as f64
}

fn judge(outcome: &Outcome, air: f64) -> Trial {
    let of = |id: QuantityId| outcome.results.coolers[0].quantities.get(&id);
    let row = |id: QuantityId| {
        let mut rows = outcome.results.comparison.iter();
        rows.find(|row| row.quantity == id)
    };
    let difference = |id| row(id).map(|row| &row.difference);
    let effectiveness = (CHARGE[0] - CHARGE[1]) / (CHARGE[0] - air);
    Trial {
        held: vec![
            holds(of(QuantityId::InletCharge), CHARGE[0] - 273.15),
            holds(of(QuantityId::OutletCharge), CHARGE[1] - 273.15),
            holds(of(QuantityId::Effectiveness), effectiveness),
            holds(difference(QuantityId::OutletCharge), 0.0),
            holds(difference(QuantityId::Effectiveness), 0.0),
            holds(difference(QuantityId::OutletNormalised), 0.0),
        ],
        verdict: row(QuantityId::OutletNormalised).and_then(|row| row.verdict),
    }
}

/// What the technician writes down, and the true cooling air, K.
fn session(chance: &mut Generator, by: By, runs: usize, detector: &Detector) -> (String, f64) {
    let ambient = even(chance, 291.15, 0.5);
    let air = even(chance, 292.15, 1.0);
    let mut truth = Truth {
        ambient,
        reflected: even(chance, 294.15, 2.0),
        emissivity: 0.0,
        outer: factor(chance, 25.0, 1.5),
        inner: 0.0,
        wall: Wall {
            thickness: 0.0,
            conductivity: 0.0,
            area_ratio: 1.0,
        },
    };
    let errors = [(); 2].map(|()| even(chance, 0.0, 1.0));
    let mut text = "[conditions]\nambient = \"18 °C ± 0.5\"\ncooling-air = \"19 °C ± 1\"\nreflected = \"21 °C ± 2\"\n\
         outer-film = \"25 ×/÷ 1.5 W/(m2 K)\"\n"
        .to_owned();
    text.push_str(match by {
        By::Wall => "[instrument.pistol]\nemissivity = 1\naccuracy = \"1 °C\"\ndrift = \"0.2 K\"\n",
        By::Probes(_) => {
            "[instrument.hot]\nmeasures = [\"inlet-air\"]\naccuracy = \"1 °C\"\n\
             [instrument.cold]\nmeasures = [\"outlet-air\"]\naccuracy = \"1 °C\"\n"
        }
    });
    for (key, (thickness, conductivity, _)) in [("a", PLASTIC), ("b", ALUMINIUM)] {
        truth.emissivity = even(chance, 0.93, 0.03);
        truth.inner = factor(chance, 80.0, 1.3);
        truth.wall.thickness = even(chance, thickness, 0.0003);
        truth.wall.conductivity = conductivity * even(chance, 1.0, 0.1);
        let millimetres = 1e3 * thickness;
        write!(
            text,
            "[surface.{key}]\nemissivity = \"0.93 ± 0.03\"\nwall = \"{millimetres} mm ± 0.3\"\nconductivity = \"{conductivity} W/(m K) ± 10 %\"\n\
             [cooler.{key}]\ninlet = \"{key}\"\noutlet = \"{key}\"\ninner-film = \"80 ×/÷ 1.3 W/(m2 K)\"\n"
        )
        .unwrap();
        for run in 1..=runs {
            write!(
                text,
                "[[run]]\ncooler = \"{key}\"\nname = \"{key} {run}\"\n"
            )
            .unwrap();
            for (index, mean) in CHARGE.into_iter().enumerate() {
                let charge = mean + SCATTER * chance.normal();
                let tank = ["inlet", "outlet"][index];
                match by {
                    By::Wall => {
                        let apparent = truth.apparent(truth.skin(charge), detector) - 273.15;
                        let share = ((apparent - 20.0) / 100.0).clamp(0.0, 1.0);
                        let error = (1.0 - share) * errors[0] + share * errors[1];
                        let shown = apparent - error - even(chance, 0.0, 0.2);
                        writeln!(
                            text,
                            "[[run.pistol]]\ntank = \"{tank}\"\nreading = \"{shown:.6} °C\""
                        )
                    }
                    By::Probes(note) => {
                        let shown = charge - 273.15 - errors[index] - even(chance, 0.0, note);
                        writeln!(text, "{tank}-air = \"{shown:.6} °C ± {note}\"")
                    }
                }
                .unwrap();
            }
        }
    }
    // The session is read in order of tables: conditions, instruments, surfaces, coolers and runs may be mixed.
    (text, air)
}
