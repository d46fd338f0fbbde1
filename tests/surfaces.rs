//! The surface presets: against the published values they rest on, in a session, and as `endtank surfaces` lists them.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use assert_cmd::Command;
use endtank::session::{self, Emissivity, Session};
use endtank::surface::{Figure, Status, preset, presets};
use endtank::units::Law;

/// A row of a reference table: material, condition, low, high, status, work.
struct Row {
    key: [String; 3],
    ends: [Option<f64>; 2],
    status: String,
}

fn rows(file: &str, columns: [usize; 3]) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/reference");
    let mut reader = csv::Reader::from_path(path.join(file)).unwrap();
    let read = |record: csv::StringRecord| {
        let number = |column: usize| record[column].parse::<f64>().ok();
        let [nominal, low, high] = columns.map(number);
        let stated = low.is_some() || high.is_some();
        let ends = if stated {
            [low, high]
        } else {
            [nominal, nominal]
        };
        let last = record.len() - 1;
        Row {
            key: [0, 1, last].map(|column| record[column].to_owned()),
            ends,
            status: record[last - 1].to_owned(),
        }
    };
    reader
        .records()
        .map(|record| read(record.unwrap()))
        .collect()
}

/// Every cited value is a row of the table as it stands there, and lies within the limits.
fn rests_on(name: &str, figure: &Figure, rows: &[Row]) {
    let (low, high) = figure.ends();
    assert!(low < figure.value && figure.value < high, "{name}");
    for source in &figure.sources {
        let key = [&source.material, &source.condition, &source.work];
        let ends = [source.low, source.high];
        let row = rows
            .iter()
            .find(|row| row.key.iter().eq(key) && row.ends == ends)
            .unwrap_or_else(|| panic!("{name}: no row {key:?} {ends:?}"));
        let status = match row.status.as_str() {
            "SEEN" => Status::Seen,
            "MEMORY" => Status::Memory,
            status if status.contains("COMPUTED") => Status::Computed,
            other => panic!("{other}"),
        };
        assert_eq!(source.status, status, "{name}: {key:?}");
        for value in ends.into_iter().flatten() {
            let inside = low - 1e-9 <= value && value <= high + 1e-9;
            assert!(inside, "{name}: {value} is not within {low} to {high}");
        }
    }
}

#[test]
fn limits_hold_every_published_value_they_cite() {
    let emissivities = rows("emissivity.csv", [5, 6, 7]);
    let conductivities = rows("conductivity.csv", [3, 4, 5]);
    for preset in presets() {
        let emissivity = &preset.emissivity;
        assert!(!emissivity.sources.is_empty(), "{}", preset.name);
        rests_on(&preset.name, emissivity, &emissivities);
        let seen = |status| {
            emissivity
                .sources
                .iter()
                .any(|source| source.status == status)
        };
        assert!(
            seen(Status::Seen) || emissivity.judgement.is_some(),
            "{} rests on memory alone and does not say so",
            preset.name
        );
        if let Some(conductivity) = &preset.conductivity {
            rests_on(&preset.name, conductivity, &conductivities);
        }
    }
}

#[test]
fn no_published_row_is_left_unused() {
    for (file, columns) in [
        ("emissivity.csv", [5, 6, 7]),
        ("conductivity.csv", [3, 4, 5]),
    ] {
        for row in rows(file, columns)
            .iter()
            .filter(|row| row.status != "NOT FOUND")
        {
            let cited = presets()
                .iter()
                .flat_map(|preset| preset.figures())
                .any(|(_, figure)| {
                    let fits = |source: &endtank::surface::Source| {
                        row.key
                            .iter()
                            .eq([&source.material, &source.condition, &source.work])
                    };
                    figure.sources.iter().any(fits)
                });
            assert!(cited, "{file}: {:?}", row.key);
        }
    }
}

#[test]
fn a_name_that_says_too_little_has_limits_that_say_so() {
    assert_eq!(
        preset("aluminium-anodised").unwrap().emissivity.ends(),
        (0.04, 0.88)
    );
    let (low, high) = preset("steel-stainless").unwrap().emissivity.ends();
    assert!(low <= 0.1 && high >= 0.7);
}

/// A session with one surface `skin` of these keys.
fn with_surface(keys: &str) -> Result<Session, String> {
    let text = format!(
        "[conditions]\nambient = \"18 °C ± 0.5\"\n[instrument.pistol]\nemissivity = 0.95\n[surface.skin]\n{keys}\n\
         [cooler.one]\ninlet = \"skin\"\noutlet = \"skin\"\n\
         [[run]]\ncooler = \"one\"\n[[run.pistol]]\ntank = \"inlet\"\nreading = \"60 °C ± 0.5\"\n"
    );
    session::from_text(Path::new("session.toml"), &text).map_err(|problems| problems.to_string())
}

#[test]
fn a_preset_gives_what_the_table_does_not() {
    let session =
        with_surface("like = \"nylon-glass-filled\"\ndensity = \"1400 ± 10 kg/m3\"").unwrap();
    let surface = &session.surfaces[0];
    let Emissivity::Stated(emissivity) = &surface.emissivity else {
        panic!("{:?}", surface.emissivity);
    };
    assert_eq!(emissivity.place, "surface.skin.emissivity");
    assert!(!emissivity.limits_assumed);
    assert_eq!(emissivity.written, "0.90 ± 0.06");
    assert!((emissivity.value - 0.9).abs() < 1e-12);
    let conductivity = surface.conductivity.as_ref().unwrap();
    assert_eq!(conductivity.place, "surface.skin.conductivity");
    assert_eq!(conductivity.law, Law::Factor { factor: 1.55 });
    assert!((surface.density.as_ref().unwrap().value - 1400.0).abs() < 1e-9);
    assert!(surface.specific_heat.is_some());
    assert!(!surface.shared);
    let declared = session.declared();
    let declared: Vec<&str> = declared.iter().map(|value| value.place.as_str()).collect();
    for key in ["emissivity", "conductivity", "density", "specific-heat"] {
        assert!(
            declared.contains(&format!("surface.skin.{key}").as_str()),
            "{key}: {declared:?}"
        );
    }
}

#[test]
fn what_the_table_states_wins() {
    let session = with_surface("like = \"aluminium-sheet\"\nemissivity = \"0.3 ± 0.1\"").unwrap();
    let Emissivity::Stated(emissivity) = &session.surfaces[0].emissivity else {
        panic!("not stated");
    };
    assert_eq!(emissivity.written, "0.3 ± 0.1");
}

#[test]
fn tape_is_the_same_roll_unless_the_table_says_otherwise() {
    assert!(with_surface("like = \"tape-electrical\"").unwrap().surfaces[0].shared);
    assert!(
        !with_surface("like = \"tape-electrical\"\nshared = false")
            .unwrap()
            .surfaces[0]
            .shared
    );
    assert!(
        with_surface("like = \"paint-white\"\nshared = true")
            .unwrap()
            .surfaces[0]
            .shared
    );
}

#[test]
fn an_unknown_preset_is_one_problem_that_offers_others() {
    let said = with_surface("like = \"tape-electric\"").unwrap_err();
    assert!(said.contains("did you mean `tape-electrical`?"), "{said}");
    assert!(said.contains("1 problem in"), "{said}");
    assert!(
        with_surface("like = 3")
            .unwrap_err()
            .contains("1 problem in")
    );
}

fn listing(arguments: &[&str], columns: &str) -> String {
    let output = Command::cargo_bin("endtank")
        .unwrap()
        .arg("surfaces")
        .args(arguments)
        .env("COLUMNS", columns)
        .output()
        .unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_list_names_every_preset_within_the_width() {
    for (columns, width) in [("60", 60), ("100", 100)] {
        let text = listing(&[], columns);
        for preset in presets() {
            assert!(text.contains(&preset.name), "{}", preset.name);
        }
        for line in text.lines() {
            assert!(line.chars().count() <= width, "{line}");
        }
        assert!(text.contains("0.04 to 0.88") && text.contains("memory"));
    }
}

#[test]
fn named_presets_are_explained_with_every_source() {
    let text = listing(&["tape-electrical"], "100");
    assert!(
        text.contains("0.95 to 0.97") && !text.contains("paint-white"),
        "{text}"
    );
    let mut unknown = Command::cargo_bin("endtank").unwrap();
    let output = unknown
        .args(["surfaces", "tape-electric"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("tape-electrical"));
}

#[test]
fn the_list_is_there_for_machines() {
    let list: serde_json::Value = serde_json::from_str(&listing(&["--json"], "80")).unwrap();
    let list = list.as_array().unwrap();
    assert_eq!(list.len(), presets().len());
    let tape = list
        .iter()
        .find(|entry| entry["name"] == "tape-electrical")
        .unwrap();
    assert_eq!(tape["shared"], true);
    assert_eq!(tape["emissivity"]["sources"][0]["status"], "memory");
    assert!((tape["emissivity"]["value"].as_f64().unwrap() - 0.95).abs() < 1e-9);
}
