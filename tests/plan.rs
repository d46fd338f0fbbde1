//! The plan: its chance of a verdict against the share of simulated sessions that earn one, and what it says of better
//! sessions against planning those.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

#[allow(dead_code)] // coverage of single figures is the concern of another test
#[path = "simulate/simulation.rs"]
mod simulation;
mod workshop;

use std::path::Path;

use approx::assert_abs_diff_eq;
use endtank::advise::Improvement;
use endtank::outcome::Verdict;
use endtank::plan::{Choice, Plan};
use endtank::quantity::QuantityId;
use endtank::session;
use endtank::uncertainty::{Generator, Settings, Stream};
use simulation::{SOUND, World, coverage};

const SETTINGS: Settings = Settings {
    draws: 20_000,
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
    // Of a camera that may err by much; where a reference brings nothing it is not offered.
    let camera = text
        .replace("distance-ratio = 12\n", "")
        .replace("accuracy = \"2 °C or 2 %\"", "accuracy = \"12 °C or 12 %\"");
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

fn choice(plan: &Plan, improvement: Improvement) -> &Choice {
    let mut options = plan.options.iter();
    let found = options.find(|choice| choice.improvement == improvement);
    found.unwrap_or_else(|| panic!("no {improvement:?}"))
}

/// A measured session of two coolers read by pistol. Holds are cooler, more keys of the run, inlet and outlet as shown.
fn measured(head: &str, pistol: &str, holds: &[(&str, String, [f64; 2])]) -> String {
    let mut text = format!(
        "{head}[conditions]\nambient = \"18 °C ± 0.5\"\nreflected = \"19 °C ± 1\"\n[instrument.pistol]\n\
         distance-ratio = \"12:1\"\ndrift = \"0.05 K\"\n{pistol}[surface.moulded]\nshared = true\n\
         emissivity = \"0.9999 ± 0.0001\"\n[cooler.a]\ninlet = \"moulded\"\noutlet = \"moulded\"\n\
         [cooler.b]\ninlet = \"moulded\"\noutlet = \"moulded\"\n"
    );
    for (number, (cooler, more, [inlet, outlet])) in holds.iter().enumerate() {
        text += &format!(
            "[[run]]\ncooler = \"{cooler}\"\nname = \"{cooler} {number}\"\n{more}pistol = [\
             {{ tank = \"inlet\", reading = \"{inlet:.6} °C\" }}, {{ tank = \"outlet\", reading = \"{outlet:.6} °C\" }}]\n"
        );
    }
    text
}

const ACCURATE: &str = "emissivity = 1\naccuracy = \"0.5 °C\"\n";

/// A load that goes up and down from hold to hold, and with it both tanks: standard deviations of the inlet, K, and of the
/// outlet about what the effectiveness makes of it.
const SWINGS: (f64, f64) = (3.0, 0.3);

/// Four holds of each of two coolers of these effectivenesses; `chance` gives how far a hold is off, in standard deviations.
fn swinging(
    effectiveness: [f64; 2],
    ambient: f64,
    chance: &mut dyn FnMut(usize) -> [f64; 2],
    shown: &mut dyn FnMut(f64) -> f64,
) -> String {
    let mut holds = Vec::new();
    for (cooler, effectiveness) in ["a", "b"].into_iter().zip(effectiveness) {
        for hold in 0..4 {
            let [load, own] = chance(hold);
            let inlet = 75.0 + SWINGS.0 * load;
            let outlet = inlet - effectiveness * (inlet - ambient) + SWINGS.1 * own;
            holds.push((cooler, String::new(), [shown(inlet), shown(outlet)]));
        }
    }
    measured("", ACCURATE, &holds)
}

/// The session whose runs scatter by just the standard deviations: of four values a away from their mean s² = 4/3 a².
fn typical(effectiveness: [f64; 2]) -> String {
    let a = 0.75_f64.sqrt();
    let patterns = [[a, a], [a, -a], [-a, a], [-a, -a]];
    swinging(
        effectiveness,
        18.0,
        &mut |hold| patterns[hold],
        &mut |skin| skin,
    )
}

/// One session drawn from what it states: the ambient, the pistol's error (one for all), its drift, the load.
fn drawn(effectiveness: [f64; 2], number: u64) -> Option<Verdict> {
    let mut world = Stream::new(number, "swings").block(0);
    let mut reading = Stream::new(number, "readings").block(0);
    let even = |chance: &mut Generator| 2.0 * chance.even() - 1.0;
    let ambient = 18.0 + 0.5 * even(&mut world);
    let (offset, gain) = (0.5 * even(&mut world), 0.5 * even(&mut world));
    let text = swinging(
        effectiveness,
        ambient,
        &mut |_| [world.normal(), world.normal()],
        &mut |skin| {
            let share = ((skin - 20.0) / 100.0).clamp(0.0, 1.0);
            skin - (1.0 - share) * offset - share * gain - 0.05 * even(&mut reading)
        },
    );
    let session = session::from_text(Path::new("drawn.toml"), &text).unwrap();
    let settings = Settings {
        draws: 2_000,
        seed: number,
        what_ifs: false,
    };
    let outcome = endtank::pipeline::evaluate(&session, settings, &|| {}).unwrap();
    let mut rows = outcome.results.comparison.iter();
    rows.find(|row| row.quantity == QuantityId::OutletSurfaceNormalised)?
        .verdict
}

/// Of measured sessions too the chance is within 3 points of the share of such sessions that earn a verdict, where both tanks
/// go up and down together and what is worked out from them scatters far less than either.
#[test]
fn the_chance_holds_where_both_tanks_move_together() {
    use rayon::prelude::*;
    for effectiveness in [[0.55, 0.55], [0.55, 0.56]] {
        let plan = plan(&typical(effectiveness));
        let chance = plan.chances[&(1, QuantityId::OutletSurfaceNormalised)].any();
        let earned = (0..SESSIONS).into_par_iter().filter(|&number| {
            let verdict = drawn(effectiveness, number);
            matches!(verdict, Some(Verdict::Higher | Verdict::Lower))
        });
        let earned = earned.count() as f64 / SESSIONS as f64;
        assert_abs_diff_eq!(chance, earned, epsilon = 0.03);
        let alike = effectiveness[0] == effectiveness[1];
        assert!(
            if alike {
                chance < 0.06
            } else {
                (0.2..0.9).contains(&chance)
            },
            "{chance}"
        );
        for choice in plan.options.iter().filter(|_| alike) {
            assert!(choice.chance < 0.06, "{choice:?}");
        }
    }
}

/// Chance alone earns no more verdicts than 5 %, on any quantity of coolers that are alike.
#[test]
fn alike_coolers_have_no_chance_of_a_verdict() {
    let taps = |cooler: &'static str| {
        [142, 140, 142, 140].map(|outlet| {
            let noted = format!(
                "inlet-pressure = \"150 kPa ± 0.01\"\noutlet-pressure = \"{outlet} kPa ± 0.01\"\n"
            );
            (cooler, noted, [70.0, 41.0])
        })
    };
    let pressed = measured(
        "primary = \"pressure_drop\"\n",
        ACCURATE,
        &[taps("a"), taps("b")].concat(),
    );
    for text in [typical([0.55, 0.55]), pressed] {
        for (key, chance) in &plan(&text).chances {
            assert!(chance.any() < 0.06, "{key:?}: {chance:?}");
        }
    }
}

/// A drift that is taken out is no scatter, neither of the session as planned nor of one with more runs or probes.
#[test]
fn a_drift_is_taken_out_of_the_plan() {
    let outlets = [40.0, 36.9, 43.1, 39.8, 46.0, 43.1];
    let holds: Vec<_> = outlets
        .into_iter()
        .zip([0, 20, 40, 60, 80, 100])
        .zip(["a", "b"].into_iter().cycle())
        .map(|((outlet, minute), cooler)| {
            let time = format!("time = \"{}:{:02}\"\n", 10 + minute / 60, minute % 60);
            (cooler, time, [70.0, outlet])
        })
        .collect();
    let text = measured("", "emissivity = 1\naccuracy = \"0.2 °C\"\n", &holds);
    let plan = plan(&text);
    let session = session::from_text(Path::new("drift.toml"), &text).unwrap();
    let outcome = endtank::pipeline::evaluate(&session, SETTINGS, &|| {}).unwrap();
    let reach = |outcome: &endtank::outcome::Outcome| {
        let mut rows = outcome.results.comparison.iter();
        let row = rows.find(|row| row.quantity == outcome.results.primary);
        row.unwrap().difference.reach().unwrap()
    };
    // As much as the session shows: the drift was 3 K an hour.
    let now = reach(&plan.outcome);
    approx::assert_relative_eq!(now, reach(&outcome), max_relative = 0.03);
    assert!(now < 1.0, "{now}");
    for (improvement, share) in [(Improvement::MoreRuns, 0.9), (Improvement::Probes, 1.3)] {
        let choice = choice(&plan, improvement);
        let then = choice.difference.reach().unwrap();
        assert!(then < share * now, "{improvement:?}: {then} of {now}");
        assert!(choice.chance > 0.95, "{choice:?}");
    }
    // The inlets are alike.
    let inlet = plan.chances[&(1, QuantityId::InletSurface)].any();
    assert!(inlet < 0.06, "{inlet}");
}

const WALL: &str = "wall = \"3 mm ± 0.1\"\nconductivity = \"0.3 ± 0.02 W/(m K)\"\ndensity = \"1370 ± 20 kg/m3\"\n\
    specific-heat = \"1500 ± 50 J/(kg K)\"\n";

/// A longer hold changes when a skin is read, not where it was going.
#[test]
fn a_longer_hold_reads_the_skin_that_a_short_one_was_going_to() {
    let holds: Vec<_> = [("a", 40.3), ("b", 36.3)]
        .into_iter()
        .map(|(cooler, outlet)| {
            let more = "hold = \"110 s ± 10\"\nstart-skin = { inlet = \"25 °C ± 2\", outlet = \"22 °C ± 2\" }\n";
            (cooler, more.to_owned(), [70.4, outlet])
        })
        .collect();
    let text = measured(
        "[repeatability]\ntemperature = \"0.3 K\"\n",
        ACCURATE,
        &holds,
    )
    .replace("[surface.moulded]\n", &format!("[surface.moulded]\n{WALL}"))
    .replace(
        "[conditions]\n",
        "[conditions]\nouter-film = \"25 ×/÷ 1.2 W/(m2 K)\"\n",
    )
    .replace(
        "outlet = \"moulded\"\n",
        "outlet = \"moulded\"\ninner-film = \"80 ×/÷ 1.2 W/(m2 K)\"\n",
    )
    .replace(" °C\" }", " °C\", at = \"110 s ± 1\" }");
    let plan = plan(&text);
    let mut rows = plan.outcome.results.comparison.iter();
    let now = rows
        .find(|row| row.quantity == QuantityId::OutletNormalised)
        .unwrap()
        .difference;
    let then = choice(&plan, Improvement::LongerHold);
    assert_eq!(then.primary, QuantityId::OutletNormalised);
    assert_abs_diff_eq!(
        then.difference.value,
        now.value,
        epsilon = 0.02 * now.value.abs()
    );
    assert!(then.difference.reach() < now.reach(), "{then:?} {now:?}");
}

/// Advised probes err by themselves: what the session's own probes are known to is not put on them.
#[test]
fn advised_probes_have_an_error_of_their_own() {
    let air = "inlet-air = \"100.0 °C ± 0.1\"\noutlet-air = \"50.0 °C ± 0.1\"\n";
    let holds = [
        ("a", air.to_owned(), [70.0, 40.0]),
        ("b", String::new(), [70.0, 39.5]),
    ];
    let gauge = "[instrument.thermocouple]\nmeasures = [\"inlet-air\", \"outlet-air\"]\naccuracy = \"0.1 °C\"\n";
    let head = "[repeatability]\ntemperature = \"0.05 K\"\n";
    let reach = |head: &str| {
        let plan = plan(&measured(
            head,
            "emissivity = 1\naccuracy = \"0.1 °C\"\n",
            &holds,
        ));
        choice(&plan, Improvement::Probes)
            .difference
            .reach()
            .unwrap()
    };
    let [known, exact] = [format!("{head}{gauge}"), head.to_owned()].map(|head| reach(&head));
    // Even within 1.5 K on one cooler only.
    assert!(known > 1.0 && exact > 1.0, "{known} and {exact}");
    approx::assert_relative_eq!(known, exact, max_relative = 0.05);
}

/// What is said must be there to do: foil for a pistol is read with the pistol, and no report lists what a terminal leaves out.
#[test]
fn words_are_those_of_the_session() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("session.toml");
    std::fs::write(
        &file,
        typical([0.55, 0.5]).replace("reflected = \"19 °C ± 1\"\n", ""),
    )
    .unwrap();
    let said = |command: &str| {
        let done = workshop::run(command, &file, &[]);
        assert!(done.status.success(), "{}", workshop::text(&done.stderr));
        workshop::text(&done.stdout)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let (plan, check, compare) = (said("plan"), said("check"), said("compare"));
    assert!(
        plan.contains("crumpled foil read with the pistol"),
        "{plan}"
    );
    assert!(!plan.contains("in every picture"), "{plan}");
    for words in [&plan, &check] {
        assert!(words.contains(" 4 more"), "{words}");
        assert!(!words.contains("listed in the report"), "{words}");
    }
    assert!(
        compare.contains(" 4 more, listed in the report"),
        "{compare}"
    );
}
