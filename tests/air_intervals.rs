//! The 95 % interval of charge air, effectiveness and fitted steady skins holds the truth in 95 of 100 simulated sessions,
//! and identical coolers with different walls seldom get a verdict.
//!
//! Truths are drawn from the very limits that the sessions state; skins follow from the charge air by the wall's equation,
//! in time by the slab's transient; readings are pistol numbers, which go the same way as regions.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::fmt::Write as _;
use std::path::Path;

use endtank::heat::{slab::Slab, wall, wall::Wall};
use endtank::outcome::{Outcome, Q, Verdict};
use endtank::quantity::QuantityId;
use endtank::radiometry::{Band, Detector, equation};
use endtank::uncertainty::{Generator, Settings, Stream};
use rayon::prelude::*;

const SESSIONS: u64 = 800;

fn even(chance: &mut Generator, value: f64, half: f64) -> f64 {
    value - half + 2.0 * half * chance.even()
}

fn factor(chance: &mut Generator, value: f64, factor: f64) -> f64 {
    value * factor.powf(2.0 * chance.even() - 1.0)
}

fn evaluate(text: &str, seed: u64) -> Outcome {
    let session = endtank::session::from_text(Path::new("simulated.toml"), text)
        .unwrap_or_else(|problems| panic!("{problems}"));
    let settings = Settings {
        draws: 3000,
        seed,
        what_ifs: false,
    };
    endtank::pipeline::evaluate(&session, settings, &|| {})
        .unwrap_or_else(|problems| panic!("{problems}"))
}

/// What a tank's surroundings truly are.
#[derive(Clone, Copy)]
struct Truth {
    ambient: f64,
    reflected: f64,
    emissivity: f64,
    outer: f64,
    inner: f64,
    wall: Wall,
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
    fn skin(&self, charge: f64) -> f64 {
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

    fn apparent(&self, skin: f64, detector: &Detector) -> f64 {
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

/// Wall, conductivity and density times specific heat, as stated.
const PLASTIC: (f64, f64, f64) = (0.003, 0.30, 1370.0 * 1500.0);
const ALUMINIUM: (f64, f64, f64) = (0.002, 160.0, 2700.0 * 900.0);

fn holds(q: Option<&Q>, truth: f64) -> Option<bool> {
    q.map(|q| q.low.unwrap() <= truth && truth <= q.high.unwrap())
}

/// Share of the given that hold, and share that is given.
fn shares(all: &[Option<bool>]) -> (f64, f64) {
    let given: Vec<bool> = all.iter().copied().flatten().collect();
    let held = given.iter().filter(|&&held| held).count();
    (
        held as f64 / given.len().max(1) as f64,
        given.len() as f64 / all.len() as f64,
    )
}

/// One session of two coolers, of plastic and of aluminium, with the true charge air of each, K.
fn session(chance: &mut Generator, charge: [[f64; 2]; 2], detector: &Detector) -> (String, f64) {
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
    let (offset, gain) = (even(chance, 0.0, 1.0), even(chance, 0.0, 1.0));
    let mut text = "[conditions]\nambient = \"18 °C ± 0.5\"\ncooling-air = \"19 °C ± 1\"\nreflected = \"21 °C ± 2\"\n\
         outer-film = \"25 ×/÷ 1.5 W/(m2 K)\"\n[instrument.pistol]\nemissivity = 1\naccuracy = \"1 °C\"\ndrift = \"0.2 K\"\n"
        .to_owned();
    for (key, (thickness, conductivity, _), charge) in
        [("a", PLASTIC, charge[0]), ("b", ALUMINIUM, charge[1])]
    {
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
        for run in 1..=3 {
            write!(
                text,
                "[[run]]\ncooler = \"{key}\"\nname = \"{key} {run}\"\n"
            )
            .unwrap();
            for (tank, mean) in ["inlet", "outlet"].into_iter().zip(charge) {
                let skin = truth.skin(mean + 0.8 * chance.normal());
                let apparent = truth.apparent(skin, detector) - 273.15;
                let share = ((apparent - 20.0) / 100.0).clamp(0.0, 1.0);
                let error = (1.0 - share) * offset + share * gain + even(chance, 0.0, 0.2);
                let shown = apparent - error;
                write!(
                    text,
                    "[[run.pistol]]\ntank = \"{tank}\"\nreading = \"{shown:.6} °C\"\n"
                )
                .unwrap();
            }
        }
    }
    // The session is read in order of tables: conditions, instruments, surfaces, coolers and runs may be mixed.
    (text, air)
}

#[test]
fn charge_air_and_effectiveness_hold_the_truth_and_walls_make_no_verdicts() {
    let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
    let charge = [[393.15, 323.15], [393.15, 323.15]];
    let trials: Vec<(Vec<Option<bool>>, Option<Verdict>)> = (0..SESSIONS)
        .into_par_iter()
        .map(|number| {
            let mut chance = Stream::new(number, "air").block(0);
            let (text, air) = session(&mut chance, charge, &detector);
            let outcome = evaluate(&text, number);
            assert_eq!(outcome.results.primary, QuantityId::OutletNormalised);
            let of = |id: QuantityId| outcome.results.coolers[0].quantities.get(&id);
            let row = |id: QuantityId| {
                outcome
                    .results
                    .comparison
                    .iter()
                    .find(|row| row.quantity == id)
            };
            let difference = |id| row(id).map(|row| &row.difference);
            let effectiveness = (charge[0][0] - charge[0][1]) / (charge[0][0] - air);
            let held = vec![
                holds(of(QuantityId::InletCharge), charge[0][0] - 273.15),
                holds(of(QuantityId::OutletCharge), charge[0][1] - 273.15),
                holds(of(QuantityId::Effectiveness), effectiveness),
                holds(difference(QuantityId::OutletCharge), 0.0),
                holds(difference(QuantityId::Effectiveness), 0.0),
                holds(difference(QuantityId::OutletNormalised), 0.0),
            ];
            (
                held,
                row(QuantityId::OutletNormalised).and_then(|row| row.verdict),
            )
        })
        .collect();
    let names = [
        "inlet_charge",
        "outlet_charge",
        "effectiveness",
        "Δ outlet_charge",
        "Δ effectiveness",
        "Δ outlet_normalised",
    ];
    for (index, name) in names.into_iter().enumerate() {
        let (held, given) = shares(
            &trials
                .iter()
                .map(|trial| trial.0[index])
                .collect::<Vec<_>>(),
        );
        println!("{name}: {held:.3} held, {given:.3} given");
        assert!(given > 0.99, "{name} given in {given:.3}");
        assert!(
            (0.925..=0.985).contains(&held),
            "{name} held the truth in {held:.3}"
        );
    }
    let decided = trials
        .iter()
        .filter(|trial| matches!(trial.1, Some(Verdict::Higher | Verdict::Lower)))
        .count() as f64
        / SESSIONS as f64;
    println!("false verdicts: {decided:.3}");
    assert!(
        decided <= 0.065,
        "a false verdict in {decided:.3} of the sessions"
    );
}

/// Holds that are read at five times with 0.1 K of noise, normal, where the session states a drift of the same spread.
#[test]
fn fitted_steady_skins_hold_the_truth() {
    let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
    let worlds = [
        (
            "plastic, five readings",
            PLASTIC,
            &[60.0, 100.0, 140.0, 190.0, 240.0][..],
        ),
        (
            "plastic, three readings",
            PLASTIC,
            &[60.0, 120.0, 180.0][..],
        ),
        (
            "aluminium, five readings",
            ALUMINIUM,
            &[30.0, 50.0, 70.0, 100.0, 140.0][..],
        ),
        (
            "aluminium, settled",
            ALUMINIUM,
            &[300.0, 320.0, 340.0, 360.0][..],
        ),
    ];
    for (name, (thickness, conductivity, capacity), times) in worlds {
        let trials: Vec<Option<bool>> = (0..SESSIONS)
            .into_par_iter()
            .map(|number| {
                let mut chance = Stream::new(number, name).block(0);
                let truth = Truth {
                    ambient: 291.15,
                    reflected: 294.15,
                    emissivity: 0.95,
                    outer: factor(&mut chance, 25.0, 1.5),
                    inner: factor(&mut chance, 80.0, 1.5),
                    wall: Wall {
                        thickness,
                        conductivity,
                        area_ratio: 1.0,
                    },
                };
                let steady = truth.skin(even(&mut chance, 393.15, 15.0));
                let slab = Slab {
                    thickness,
                    conductivity,
                    capacity,
                    inner_film: truth.inner,
                    outer_film: truth.outer + wall::radiation_film(steady, 0.95, 294.15),
                };
                let mut text = "[conditions]\nambient = \"18 °C ± 0.1\"\nreflected = \"21 °C ± 0.001\"\n[instrument.pistol]\nemissivity = 1\n\
                     accuracy = \"0.001 °C\"\ndrift = \"0.173 K\"\n[surface.s]\nemissivity = \"0.95 ± 0.00001\"\n[cooler.a]\ninlet = \"s\"\n\
                     outlet = \"s\"\n[[run]]\ncooler = \"a\"\n"
                    .to_owned();
                for &time in times {
                    let skin = 305.0 + slab.share(time) * (steady - 305.0);
                    let shown = truth.apparent(skin, &detector) + 0.1 * chance.normal() - 273.15;
                    write!(text, "[[run.pistol]]\ntank = \"inlet\"\nreading = \"{shown:.6} °C\"\nat = \"{time} s\"\n").unwrap();
                }
                let outcome = evaluate(&text, number);
                holds(outcome.results.settling[0].steady.as_ref(), steady - 273.15)
            })
            .collect();
        let (held, given) = shares(&trials);
        println!("{name}: {held:.3} held, {given:.3} given");
        assert!(given > 0.9, "{name}: given in {given:.3}");
        assert!(held > 0.93, "{name}: held the truth in {held:.3}");
    }
}
