//! Flip points against sessions that state the moved value: on the near side the verdict holds, beyond it is lost.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::path::Path;

use serde_json::Value;

/// What a session states and what a test states anew.
#[derive(Clone, Copy)]
struct Stated {
    emissivity: f64,
    moulded: f64,
    ambient: f64,
    reflected: f64,
    /// What the replacement's outlet reads, °C.
    outlet: f64,
    matters: &'static str,
}

const STATED: Stated = Stated {
    emissivity: 0.6,
    moulded: 0.94,
    ambient: 20.0,
    reflected: 22.0,
    outlet: 28.0,
    matters: "",
};

impl Stated {
    /// The value that stands at a place of the session.
    fn at(&mut self, place: &str) -> &mut f64 {
        match place {
            "surface.painted.emissivity (replacement)" => &mut self.emissivity,
            "surface.moulded.emissivity (original)" => &mut self.moulded,
            "conditions.ambient" => &mut self.ambient,
            "conditions.reflected" => &mut self.reflected,
            other => panic!("{other} cannot be stated anew"),
        }
    }
}

/// Two coolers by pistol, one hold each, with the scatter stated so that verdicts are earned.
fn session(stated: Stated) -> String {
    let Stated {
        emissivity,
        moulded,
        ambient,
        reflected,
        outlet,
        matters,
    } = stated;
    format!(
        r#"primary = "outlet_surface_normalised"
{matters}
[conditions]
ambient = "{ambient} °C ± 1"
reflected = "{reflected} °C ± 2"

[repeatability]
temperature = "0.3 K"

[instrument.pistol]
emissivity = 1
accuracy = "0.2 °C"
drift = "0.1 K"

[surface.moulded]
emissivity = "{moulded} ± 0.02"

[surface.painted]
emissivity = "{emissivity} ± 0.05"

[cooler.original]
inlet = "moulded"
outlet = "moulded"

[cooler.replacement]
inlet = "painted"
outlet = "painted"

[[run]]
cooler = "original"
name = "hold 1"
[[run.pistol]]
tank = "inlet"
reading = "60.0 °C"
[[run.pistol]]
tank = "outlet"
reading = "33.0 °C"

[[run]]
cooler = "replacement"
name = "hold 2"
[[run.pistol]]
tank = "inlet"
reading = "50.0 °C"
[[run.pistol]]
tank = "outlet"
reading = "{outlet} °C ± 0.05"
"#
    )
}

fn results(folder: &Path, session: &str) -> Value {
    let file = folder.join("session.toml");
    std::fs::write(&file, session).unwrap();
    let _ = std::fs::remove_dir_all(folder.join("session-results"));
    workshop::results(&file)
}

fn row(results: &Value, quantity: &str) -> Value {
    let rows = results["comparison"].as_array().unwrap();
    rows.iter()
        .find(|row| row["quantity"] == quantity)
        .unwrap()
        .clone()
}

/// Finds the flip point of the primary and states its input anew on either side of it.
fn held_and_lost(stated: Stated, verdict: &str) {
    let folder = tempfile::tempdir().unwrap();
    let primary = |stated| {
        row(
            &results(folder.path(), &session(stated)),
            "outlet_surface_normalised",
        )
    };
    let first = primary(stated);
    assert_eq!(first["verdict"], verdict, "{first}");
    let flip = &first["flip"];
    let place = flip["input"].as_str().unwrap();
    let mut moved = stated;
    let central = *moved.at(place);
    assert!((flip["stated"].as_f64().unwrap() - central).abs() < 1e-9);
    let value = flip["value"].as_f64().unwrap();
    let side = if value < central { "below" } else { "above" };
    assert_eq!(flip["side"], side);
    *moved.at(place) = central + 0.94 * (value - central);
    let near = primary(moved);
    assert_eq!(near["verdict"], verdict, "{near}");
    *moved.at(place) = central + 1.06 * (value - central);
    let far = primary(moved);
    assert_eq!(far["verdict"], flip["verdict"], "{far}");
    assert_ne!(far["verdict"], verdict);
}

#[test]
fn a_verdict_is_lost_beyond_its_flip_point_and_held_before_it() {
    held_and_lost(STATED, "lower");
    // With the replacement's outlet a little warmer the two cannot be told apart, and warmer still it is the worse one.
    let outlet = |outlet| Stated { outlet, ..STATED };
    held_and_lost(outlet(30.0), "not distinguishable");
    held_and_lost(outlet(33.0), "higher");
}

#[test]
fn a_difference_that_does_not_matter_flips_where_it_begins_to() {
    let stated = Stated {
        outlet: 30.0,
        matters: "matters = \"4 K\"",
        ..STATED
    };
    held_and_lost(stated, "equal");
}

/// Close to its flip point the few draws of a search do not always see a verdict go that the session's many lose.
#[test]
fn no_verdict_flips_into_itself() {
    let folder = tempfile::tempdir().unwrap();
    let mut flips = 0;
    for outlet in [29.2, 29.6, 30.4, 30.8, 31.2] {
        for matters in ["", "matters = \"1 K\""] {
            let stated = Stated {
                outlet,
                matters,
                ..STATED
            };
            let results = results(folder.path(), &session(stated));
            for row in results["comparison"].as_array().unwrap() {
                if let Some(flip) = row.get("flip") {
                    assert_ne!(flip["verdict"], row["verdict"], "{row}");
                    flips += 1;
                }
            }
        }
    }
    assert!(flips > 20, "{flips}");
}

/// Of repeated holds a single reading cannot change the verdict, since moving it widens their scatter; the ambient can.
#[test]
fn a_flip_point_is_found_behind_inputs_that_lead_nowhere() {
    let hold = |cooler: &str, inlet: f64, outlet: f64| {
        format!(
            r#"
[[run]]
cooler = "{cooler}"
pistol = [{{ tank = "inlet", reading = "{inlet} °C ± 0.5" }}, {{ tank = "outlet", reading = "{outlet} °C ± 0.5" }}]
"#
        )
    };
    let text = |ambient: f64| {
        format!(
            r#"
[conditions]
ambient = "{ambient} °C ± 1"
reflected = "22 °C ± 5"
[instrument.gun]
emissivity = 0.95
reflected = "20 °C"
accuracy = "1 °C or 1 %"
[surface.plastic]
emissivity = "0.92 ± 0.03"
[cooler.a]
inlet = "plastic"
outlet = "plastic"
[cooler.b]
inlet = "plastic"
outlet = "plastic"
{}{}{}{}"#,
            hold("a", 75.0, 41.0),
            hold("b", 45.0, 30.0),
            hold("a", 79.0, 42.0),
            hold("b", 48.1, 30.2),
        )
    };
    let folder = tempfile::tempdir().unwrap();
    let primary = |ambient| {
        row(
            &results(folder.path(), &text(ambient)),
            "outlet_surface_normalised",
        )
    };
    let first = primary(20.0);
    assert_eq!(first["verdict"], "not distinguishable");
    assert!(first["flip"]["value"].is_number(), "{first}");
    assert_eq!(primary(25.0)["verdict"], "lower");
}

#[test]
fn nothing_flips_without_a_verdict() {
    let folder = tempfile::tempdir().unwrap();
    let unstated = session(STATED).replace("temperature = \"0.3 K\"", "");
    let row = row(
        &results(folder.path(), &unstated),
        "outlet_surface_normalised",
    );
    assert_eq!(row["verdict"], "needs repeats");
    assert!(row.get("flip").is_none());
}
