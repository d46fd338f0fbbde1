//! Tables for docs/coverage.md, from 20 000 simulated sessions each, or as many as the second argument says.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod air;
mod simulation;

use air::By;
use simulation::{SOUND, World, coverage};

/// Sessions of each row: the shares then wander by ± 0.3 %.
const SESSIONS: u64 = 20_000;

/// Draws of each session of air.
const AIR_DRAWS: u64 = 3_000;

fn main() {
    let wanted = std::env::args().nth(1);
    let sessions = std::env::args().nth(2).map_or(SESSIONS, |number| {
        number
            .parse()
            .expect("the second argument is the number of sessions")
    });
    let parts = ["three", "six", "worlds", "air", "air-three", "air-six"];
    if let Some(part) = wanted.as_deref().filter(|wanted| !parts.contains(wanted)) {
        eprintln!("there is no part {part:?}: {parts:?}");
        std::process::exit(2);
    }
    let wants = |part: &str| wanted.as_deref().is_none_or(|wanted| wanted == part);
    for (part, runs) in [("three", 3), ("six", 6)] {
        if wants(part) {
            println!("{part} holds of each cooler\n");
            figures(runs, sessions);
        }
    }
    if wants("worlds") {
        worlds(sessions);
    }
    for (part, runs) in [("air-three", 3), ("air-six", 6)] {
        if wants(part) || wants("air") {
            of_air(runs, sessions);
        }
    }
}

/// How often the intervals of charge air and effectiveness hold the truth, and verdicts on coolers that differ in their
/// walls alone: a row as soon as it is done.
fn of_air(runs: usize, sessions: u64) {
    let figures = air::FIGURES.join(" | ");
    println!("{runs} holds of each cooler\n\n| charge air | {figures} | verdict |");
    println!("| --- |{} --- |", " --- |".repeat(air::FIGURES.len()));
    for (name, by) in [
        ("through the wall", By::Wall),
        ("by probes", By::Probes(0.05)),
        ("by probes, noted to within 0.5 °C", By::Probes(0.5)),
    ] {
        let trials = air::trials(by, runs, sessions, AIR_DRAWS);
        let cells: Vec<String> = (0..air::FIGURES.len())
            .map(|index| {
                let held: Vec<_> = trials.iter().map(|trial| trial.held[index]).collect();
                let (held, given) = air::shares(&held);
                assert!(given > 0.999, "{name}: given in {given:.3}");
                format!("{:.1} %", 100.0 * held)
            })
            .collect();
        let decided = 100.0 * air::decided(&trials);
        println!("| {name} | {} | {decided:.1} % |", cells.join(" | "));
    }
}

/// How often each figure's interval holds the truth where the world is as stated.
fn figures(runs: usize, sessions: u64) {
    let with = |emissivity| World {
        emissivity,
        candidate_emissivity: emissivity,
        runs,
        ..SOUND
    };
    println!("| figure | ε 0.95 | ε 0.4 | ε 0.2 |\n| --- | --- | --- | --- |");
    let tables = [0.95, 0.4, 0.2].map(|emissivity| coverage(&with(emissivity), sessions));
    for (index, (figure, ..)) in tables[0].figures.iter().enumerate() {
        let cells = tables
            .each_ref()
            .map(|table| format!("{:.1} %", 100.0 * table.figures[index].1));
        println!("| {figure} | {} |", cells.join(" | "));
    }
    println!();
}

/// The primary where the world is not as stated, and verdicts on coolers that are the same.
fn worlds(sessions: u64) {
    println!(
        "| world | primary's interval holds the truth | verdict on identical coolers |\n| --- | --- | --- |"
    );
    let same = World {
        candidate: SOUND.baseline,
        ..SOUND
    };
    let worlds = [
        ("as stated", same),
        (
            "stated drift of 1 K, which the scatter between runs shows as well",
            World {
                stated_drift: 1.0,
                ..same
            },
        ),
        (
            "drift of 1 K from reading to reading, not stated",
            World { drift: 1.0, ..same },
        ),
        (
            "reflections 20 K warmer than stated, ε 0.4",
            World {
                warmer: 20.0,
                emissivity: 0.4,
                candidate_emissivity: 0.4,
                ..same
            },
        ),
        (
            "scatter of 0.2 K and 1.5 K, pooled",
            World {
                scatter: [0.2, 1.5],
                ..same
            },
        ),
        (
            "one run each, scatter stated truly",
            World {
                runs: 1,
                repeatability: Some(0.8),
                ..same
            },
        ),
        (
            "one run each, scatter stated as half",
            World {
                runs: 1,
                repeatability: Some(0.4),
                ..same
            },
        ),
        (
            "one run each, scatter not stated",
            World { runs: 1, ..same },
        ),
    ];
    for (name, world) in worlds {
        let found = coverage(&world, sessions);
        let primary = found.figures.last().map_or(f64::NAN, |figure| figure.1);
        println!(
            "| {name} | {:.1} % | {:.1} % |",
            100.0 * primary,
            100.0 * found.decided
        );
    }
}
