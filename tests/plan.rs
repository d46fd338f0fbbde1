//! The plan: its chance of a verdict against the share of simulated sessions that earn one, and what it says of better
//! sessions against planning those.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

#[allow(dead_code)] // coverage of single figures is the concern of another test
#[path = "simulate/simulation.rs"]
mod simulation;

use std::path::Path;

use approx::assert_abs_diff_eq;
use endtank::advise::Improvement;
use endtank::plan::Plan;
use endtank::quantity::QuantityId;
use endtank::session;
use endtank::uncertainty::Settings;
use simulation::{SOUND, World, coverage};

const SETTINGS: Settings = Settings {
    draws: 100_000,
    seed: 3,
    what_ifs: false,
};

/// Sessions that are simulated: their share then wanders by ± 3 % (95 %) at worst.
const SESSIONS: u64 = 1_000;

fn plan(text: &str) -> Plan {
    let session = session::from_text(Path::new("plan.toml"), text)
        .unwrap_or_else(|error| panic!("{error}\n{text}"));
    endtank::pipeline::plan(&session, SETTINGS, &|| {}).unwrap()
}

/// What the technician of a simulated world would write before measuring it.
fn planned(world: &World) -> String {
    let scatter = world.scatter[0];
    let mut text = format!(
        r#"
[conditions]
ambient = "18 °C ± 0.5"
reflected = "21 °C ± 2"
[repeatability]
temperature = "{scatter} K"
[instrument.pistol]
emissivity = 1
accuracy = "2 °C or 2 %"
drift = "{} K"
distance-ratio = 12
"#,
        world.stated_drift
    );
    for (key, emissivity) in [("a", world.emissivity), ("b", world.candidate_emissivity)] {
        text.push_str(&format!(
            "[surface.{key}]\nemissivity = \"{emissivity} ± 10 %\"\n[cooler.{key}]\ninlet = \"{key}\"\noutlet = \"{key}\"\n"
        ));
    }
    for (key, [inlet, outlet]) in [("a", world.baseline), ("b", world.candidate)] {
        for run in 1..=world.runs {
            text.push_str(&format!(
                "[[run]]\ncooler = \"{key}\"\nname = \"{key} {run}\"\nexpect = {{ inlet = \"{inlet} °C\", outlet = \"{outlet} °C\" }}\n"
            ));
        }
    }
    text
}

/// The chance within 3 points of the share of simulated sessions that earn a verdict.
#[test]
fn the_chance_of_a_verdict_is_the_share_of_sessions_that_earn_one() {
    let worlds = [
        World {
            candidate: [85.0, 53.0],
            ..SOUND
        },
        World {
            candidate: [85.0, 52.0],
            runs: 1,
            repeatability: Some(0.8),
            ..SOUND
        },
        World {
            candidate: [85.0, 51.5],
            emissivity: 0.4,
            candidate_emissivity: 0.4,
            ..SOUND
        },
    ];
    for world in worlds {
        let plan = plan(&planned(&world));
        let chance = plan.chances[&(1, QuantityId::OutletSurfaceNormalised)].any();
        let earned = coverage(&world, SESSIONS).decided;
        assert!(
            (0.1..0.95).contains(&earned),
            "{earned} says little: {world:?}"
        );
        assert_abs_diff_eq!(chance, earned, epsilon = 0.03);
    }
}

fn chance(plan: &Plan) -> f64 {
    plan.chances[&(1, plan.outcome.results.primary)].any()
}

/// What is said of more runs is what planning more runs says, and so for tape.
#[test]
fn a_choice_is_the_plan_that_makes_it() {
    let world = World {
        candidate: [85.0, 52.0],
        emissivity: 0.4,
        candidate_emissivity: 0.4,
        runs: 2,
        ..SOUND
    };
    let text = planned(&world);
    let first = plan(&text);
    let choice = |improvement| {
        let mut options = first.options.iter();
        options
            .find(|choice| choice.improvement == improvement)
            .unwrap()
    };
    let twice = plan(&planned(&World { runs: 4, ..world }));
    assert_abs_diff_eq!(
        choice(Improvement::MoreRuns).chance,
        chance(&twice),
        epsilon = 0.02
    );
    let taped = text
        .replace(
            "[surface.a]",
            "[surface.tape]\nlike = \"tape-electrical\"\n[surface.a]",
        )
        .replace(" }\n", ", surface = \"tape\" }\n");
    let taped = plan(&taped);
    assert_abs_diff_eq!(
        choice(Improvement::Tape).chance,
        chance(&taped),
        epsilon = 0.02
    );
    assert!(choice(Improvement::Tape).chance > chance(&first));
    // The greatest gain stands first.
    let chances: Vec<f64> = first.options.iter().map(|choice| choice.chance).collect();
    let falling = chances.windows(2).all(|pair| pair[0] >= pair[1] - 0.01);
    assert!(falling, "{chances:?}");
}

/// One hold each without a stated scatter earns no verdict, and repeats are what is missing.
#[test]
fn single_holds_have_no_chance() {
    let world = World {
        candidate: [85.0, 40.0],
        runs: 1,
        ..SOUND
    };
    let text = planned(&world).replace("[repeatability]\ntemperature = \"0.8 K\"\n", "");
    let plan = plan(&text);
    assert_eq!(chance(&plan), 0.0);
    assert_eq!(
        plan.options.first().unwrap().improvement,
        Improvement::MoreRuns
    );
    assert!(plan.options.first().unwrap().chance > 0.5);
    assert!(plan.assumed_scatter.is_some());
}

/// A camera's expected picture can have foil and a reference; a pistol has no picture for one.
#[test]
fn only_pictures_can_hold_a_reference() {
    let text = planned(&SOUND).replace("reflected = \"21 °C ± 2\"\n", "");
    let has = |text: &str, improvement| {
        let plan = plan(text);
        plan.options
            .iter()
            .any(|choice| choice.improvement == improvement)
    };
    assert!(!has(&text, Improvement::Reference));
    assert!(has(&text, Improvement::Foil));
    let camera = text.replace("distance-ratio = 12\n", "");
    assert!(has(&camera, Improvement::Reference));
    assert!(has(&camera, Improvement::Foil));
    assert!(has(&camera, Improvement::Probes));
    assert!(!has(&camera, Improvement::Tape));
}

/// What is only expected is nothing to compare.
#[test]
fn an_expected_run_is_not_compared() {
    let session = session::from_text(Path::new("plan.toml"), &planned(&SOUND)).unwrap();
    let error = endtank::pipeline::evaluate(&session, SETTINGS, &|| {}).unwrap_err();
    assert_eq!(error.list.len(), 6, "{error}");
    assert!(error.to_string().contains("endtank plan"), "{error}");
}
