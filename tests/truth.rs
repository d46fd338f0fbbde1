//! The sample session against what its pictures were made from, and figures that the trade knows.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use serde_json::Value;

fn truth() -> toml::Table {
    std::fs::read_to_string(workshop::repository("sample-images/tow-truck/truth.toml"))
        .unwrap()
        .parse()
        .unwrap()
}

fn results() -> Value {
    let (_folder, session) = workshop::sample();
    workshop::results(&session)
}

/// The true skins of a run's pictures: those on the way, and the last.
fn pictures(run: &toml::Value) -> Vec<&toml::Value> {
    let earlier = run.get("earlier").and_then(toml::Value::as_array);
    let mut found: Vec<_> = earlier.into_iter().flatten().collect();
    found.push(run);
    found
}

/// Mean over a cooler's runs of a number in the truth; of skins each run's is the mean over its pictures.
fn true_mean(truth: &toml::Table, cooler: &str, table: &str, tank: &str) -> f64 {
    let found: Vec<f64> = truth["run"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|run| run["cooler"].as_str() == Some(cooler))
        .map(|run| {
            let pictures = match table {
                "skin" => pictures(run),
                _ => vec![run],
            };
            let numbers = pictures
                .iter()
                .map(|picture| picture[table][tank].as_float().unwrap());
            numbers.sum::<f64>() / pictures.len() as f64
        })
        .collect();
    found.iter().sum::<f64>() / found.len() as f64
}

fn quantity(results: &Value, cooler: &str, id: &str) -> f64 {
    let coolers = results["coolers"].as_array().unwrap();
    let found = coolers.iter().find(|found| found["cooler"] == cooler);
    found.unwrap()["quantities"][id]["value"].as_f64().unwrap()
}

fn comparison<'a>(results: &'a Value, id: &str) -> &'a Value {
    let rows = results["comparison"].as_array().unwrap();
    rows.iter().find(|row| row["quantity"] == id).unwrap()
}

/// A tank's readings in one picture; the skin is warmer at the top, so only their mean is the tank's.
fn skins(results: &Value, file: &str, tank: &str) -> Vec<f64> {
    let readings = results["readings"].as_array().unwrap().iter();
    readings
        .filter(|reading| {
            reading["source"] == file && reading["role"] == "tank" && reading["tank"] == tank
        })
        .map(|reading| reading["surface_temperature"]["value"].as_f64().unwrap())
        .collect()
}

#[test]
fn every_tank_comes_out_within_the_sample_s_tolerance() {
    let (truth, results) = (truth(), results());
    let tolerance = truth["tolerance-kelvin"].as_float().unwrap();
    for run in truth["run"].as_array().unwrap() {
        for picture in pictures(run) {
            let file = picture["file"].as_str().unwrap();
            for tank in ["inlet", "outlet"] {
                let skins = skins(&results, file, tank);
                let patches = run["cooler"].as_str() == Some("replacement");
                assert_eq!(skins.len(), if patches { 2 } else { 1 }, "{file}, {tank}");
                let got = skins.iter().sum::<f64>() / skins.len() as f64;
                let wanted = picture["skin"][tank].as_float().unwrap();
                assert!(
                    (got - wanted).abs() <= tolerance,
                    "{file}, {tank}: {got} instead of {wanted}"
                );
            }
        }
    }
}

#[test]
fn the_series_tells_where_the_skins_were_going() {
    let (truth, results) = (truth(), results());
    let runs = truth["run"].as_array().unwrap();
    let run = runs
        .iter()
        .find(|run| run.get("earlier").is_some())
        .unwrap();
    let fitted = results["settling"].as_array().unwrap();
    assert_eq!(fitted.len(), 2, "both tanks of one hold");
    for (series, tank) in fitted.iter().zip(["inlet", "outlet"]) {
        assert_eq!(series["run"].as_str(), run["name"].as_str());
        assert_eq!(series["tank"], tank);
        let number = |value: &Value| value.as_f64().unwrap();
        let (low, high) = (
            number(&series["steady"]["low"]),
            number(&series["steady"]["high"]),
        );
        let steady = run["steady-skin"][tank].as_float().unwrap();
        assert!(
            low < steady && steady < high,
            "{tank}: {steady} not in {low} to {high}"
        );
        // Four pictures with a drift of half a kelvin each tell it to a few kelvins at the worst.
        assert!(high - low < 8.0, "{tank}: {low} to {high}");
        let last = run["skin"][tank].as_float().unwrap();
        assert!(steady > last + 0.2, "{tank}: nothing is left to go");
    }
    // The outlet rises by 4 K only: its time constant drowns in the drift.
    let constant = fitted[0]["time_constant"].as_f64().unwrap();
    let wanted = run["time-constant-seconds"].as_float().unwrap();
    assert!(
        (constant / wanted - 1.0).abs() < 0.15,
        "{constant} s, not {wanted} s"
    );
}

#[test]
fn differences_have_the_true_sign_and_nearly_the_true_size() {
    let (truth, results) = (truth(), results());
    for (id, tank) in [("inlet_surface", "inlet"), ("outlet_surface", "outlet")] {
        let mean = |cooler| true_mean(&truth, cooler, "skin", tank);
        let wanted = mean("replacement") - mean("original");
        let got = comparison(&results, id)["difference"]["value"]
            .as_f64()
            .unwrap();
        // The camera's offset is the same in both.
        assert!(
            (got - wanted).abs() < 0.3,
            "{id}: {got} instead of {wanted}"
        );
        assert_eq!(got > 0.0, wanted > 0.0, "{id}");
    }
    // Hotter at the inlet and still colder at the outlet: the replacement cools more and loses less pressure.
    for (id, more) in [
        ("surface_effectiveness", true),
        ("outlet_surface_normalised", false),
        ("pressure_drop", false),
        ("pressure_loss", false),
    ] {
        let got = comparison(&results, id)["difference"]["value"]
            .as_f64()
            .unwrap();
        assert_eq!(got > 0.0, more, "{id}: {got}");
    }
}

#[test]
fn pressures_are_those_at_the_taps_within_the_gauge_s_error() {
    const PSI: f64 = 6.894_757_293_168; // kPa, from the pound and the inch
    const SHOP: f64 = 101.2; // kPa, the session's barometer
    let (truth, results) = (truth(), results());
    for cooler in ["original", "replacement"] {
        for (id, tank) in [("inlet_pressure", "inlet"), ("outlet_pressure", "outlet")] {
            let wanted = true_mean(&truth, cooler, "pressure", tank) * PSI + SHOP;
            let got = quantity(&results, cooler, id);
            assert!(
                (got - wanted).abs() < 0.3 * PSI,
                "{cooler} {id}: {got}, {wanted}"
            );
        }
    }
}

#[test]
fn skins_of_different_walls_are_not_compared() {
    let results = results();
    let cautions = results["cautions"].as_array().unwrap();
    assert!(
        cautions
            .iter()
            .any(|caution| caution["id"] == "skins-differ")
    );
    for id in ["inlet_surface", "outlet_surface", "surface_drop"] {
        assert_eq!(
            comparison(&results, id)["verdict"],
            "not comparable",
            "{id}"
        );
    }
    for id in ["surface_effectiveness", "pressure_drop"] {
        assert_ne!(
            comparison(&results, id)["verdict"],
            "not comparable",
            "{id}"
        );
    }
}

/// Two coolers with pistol readings taken at emissivity 1 of skins that radiate all they can, and one gauge.
const TRADE: &str = r#"
[conditions]
ambient = "18 °C ± 0.5"
reflected = "20 °C ± 2"
barometer = "1012 hPa"

[instrument.pistol]
emissivity = 1

[instrument.gauge]
measures = ["inlet-pressure", "outlet-pressure"]

[surface.soot]
emissivity = 1

[cooler.moulded]
inlet = "soot"
outlet = "soot"

[cooler.welded]
inlet = "soot"
outlet = "soot"

[[run]]
cooler = "moulded"
inlet-pressure = "22.9 psi"
outlet-pressure = "21.9 psi"
pistol = [{ tank = "inlet", reading = "53 °C" }, { tank = "outlet", reading = "31 °C" }]

[[run]]
cooler = "welded"
inlet-pressure = "23.4 psi"
outlet-pressure = "22.7 psi"
pistol = [{ tank = "inlet", reading = "64 °C" }, { tank = "outlet", reading = "27 °C" }]
"#;

/// Common practice, no source: typical figures of such a pair of coolers, and the sums anyone can do by hand.
#[test]
fn figures_of_the_trade_come_out_as_by_hand() {
    let folder = tempfile::tempdir().unwrap();
    let session = folder.path().join("trade.toml");
    std::fs::write(&session, TRADE).unwrap();
    let results = workshop::results(&session);
    for (cooler, drop, psi) in [("moulded", 22.0, 1.0), ("welded", 37.0, 0.7)] {
        let got = quantity(&results, cooler, "surface_drop");
        assert!((got - drop).abs() < 1e-4, "{cooler}: {got} K");
        let got = quantity(&results, cooler, "pressure_drop") / 6.894_757_293_168;
        assert!((got - psi).abs() < 1e-9, "{cooler}: {got} psi");
    }
    let effectiveness = quantity(&results, "moulded", "surface_effectiveness");
    assert!(
        (effectiveness - 22.0 / 35.0).abs() < 1e-5,
        "{effectiveness}"
    );
    let difference = comparison(&results, "surface_drop")["difference"]["value"].as_f64();
    assert!((difference.unwrap() - 15.0).abs() < 1e-4, "{difference:?}");
}
