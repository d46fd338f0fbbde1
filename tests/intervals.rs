//! The 95 % interval holds the truth in 95 of 100 simulated sessions. The tables in docs/coverage.md are made by the
//! release example with ten times as many (`cargo run --release --example coverage`).

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

#[path = "simulate/simulation.rs"]
mod simulation;

use simulation::{SOUND, World, coverage};

/// Sessions of a test: the share that holds the truth then wanders by ± 1 % about 95 %.
const SESSIONS: u64 = 2_000;

#[test]
fn intervals_hold_the_truth() {
    for emissivity in [0.95, 0.4, 0.2] {
        let world = World {
            emissivity,
            candidate_emissivity: emissivity,
            ..SOUND
        };
        for (figure, held, given) in coverage(&world, SESSIONS).figures {
            assert!(
                given > 0.99,
                "ε = {emissivity}: {figure} given in {given:.3} of the sessions"
            );
            assert!(
                (0.93..=0.97).contains(&held),
                "ε = {emissivity}: {figure} held the truth in {held:.3}"
            );
        }
    }
}

#[test]
fn identical_coolers_seldom_get_a_verdict() {
    let world = World {
        candidate: SOUND.baseline,
        ..SOUND
    };
    let decided = coverage(&world, SESSIONS).decided;
    assert!(
        decided <= 0.065,
        "a false verdict in {decided:.3} of the sessions"
    );
}
