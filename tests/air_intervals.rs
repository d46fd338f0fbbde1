//! The 95 % interval of charge air, effectiveness and fitted steady skins holds the truth in 95 of 100 simulated sessions,
//! and identical coolers with different walls seldom get a verdict.
//!
//! Truths are drawn from the very limits that the sessions state; skins follow from the charge air by the wall's equation,
//! in time by the slab's transient; readings are pistol numbers, which go the same way as regions.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::fmt::Write as _;

use endtank::heat::{slab::Slab, wall, wall::Wall};
use endtank::radiometry::{Band, Detector};
use endtank::uncertainty::Stream;
use rayon::prelude::*;

#[path = "simulate/air.rs"]
mod air;

use air::{ALUMINIUM, By, FIGURES, PLASTIC, Truth, evaluate, even, factor, holds, shares};

const SESSIONS: u64 = 800;

const DRAWS: u64 = 3000;

/// The intervals hold, and identical coolers seldom get a verdict. A share of 800 wanders by ± 1.5 %.
fn check(by: By) {
    let trials = air::trials(by, 3, SESSIONS, DRAWS);
    for (index, name) in FIGURES.into_iter().enumerate() {
        let held: Vec<_> = trials.iter().map(|trial| trial.held[index]).collect();
        let (held, given) = shares(&held);
        println!("{by:?}, {name}: {held:.3} held, {given:.3} given");
        assert!(given > 0.99, "{name} given in {given:.3}");
        assert!(
            (0.925..=0.985).contains(&held),
            "{name} held the truth in {held:.3}"
        );
    }
    let decided = air::decided(&trials);
    println!("{by:?}, false verdicts: {decided:.3}");
    assert!(
        decided <= 0.065,
        "a false verdict in {decided:.3} of the sessions"
    );
}

#[test]
fn charge_air_through_walls_holds_the_truth_and_walls_make_no_verdicts() {
    check(By::Wall);
}

#[test]
fn charge_air_by_probes_holds_the_truth() {
    check(By::Probes(0.05));
}

/// Holds that are read at some times with 0.1 K of noise, normal, where the session states a drift of the same spread.
#[test]
fn fitted_steady_skins_hold_the_truth() {
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
    for (name, wall, times) in worlds {
        let held = held_by_fits(name, wall, times, 0.1, 0.173);
        assert!(held > 0.93, "{name}: held the truth in {held:.3}");
    }
}

/// Noise that no stated drift explains is known from the scatter about the fit alone, with few degrees of freedom.
#[test]
fn a_scatter_known_from_few_readings_is_not_taken_for_known() {
    for (name, times) in [
        ("four readings", &[60.0, 120.0, 180.0, 240.0][..]),
        ("five readings", &[60.0, 100.0, 140.0, 190.0, 240.0][..]),
        (
            "eight readings",
            &[60.0, 90.0, 120.0, 150.0, 180.0, 210.0, 240.0, 270.0][..],
        ),
    ] {
        let held = held_by_fits(name, PLASTIC, times, 0.3, 0.001);
        assert!(
            (0.92..=0.99).contains(&held),
            "{name}: held the truth in {held:.3}"
        );
    }
}

/// The share of simulated holds whose fitted steady skin holds the truth.
fn held_by_fits(
    name: &str,
    (thickness, conductivity, capacity): (f64, f64, f64),
    times: &[f64],
    noise: f64,
    drift: f64,
) -> f64 {
    let detector = Detector::band(&Band::flat(8.0, 14.0).unwrap());
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
                let mut text = format!("[conditions]\nambient = \"18 °C ± 0.1\"\nreflected = \"21 °C ± 0.001\"\n[instrument.pistol]\nemissivity = 1\n\
                     accuracy = \"0.001 °C\"\ndrift = \"{drift} K\"\n[surface.s]\nemissivity = \"0.95 ± 0.00001\"\n[cooler.a]\ninlet = \"s\"\n\
                     outlet = \"s\"\n[[run]]\ncooler = \"a\"\n");
                for &time in times {
                    let skin = 305.0 + slab.share(time) * (steady - 305.0);
                    let shown = truth.apparent(skin, &detector) + noise * chance.normal() - 273.15;
                    write!(text, "[[run.pistol]]\ntank = \"inlet\"\nreading = \"{shown:.6} °C\"\nat = \"{time} s\"\n").unwrap();
                }
                let outcome = evaluate(&text, number, DRAWS);
                holds(outcome.results.settling[0].steady.as_ref(), steady - 273.15)
            })
            .collect();
    let (held, given) = shares(&trials);
    println!("{name}: {held:.3} held, {given:.3} given");
    assert!(given > 0.9, "{name}: given in {given:.3}");
    held
}
