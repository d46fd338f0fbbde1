//! Single readings without a session, through the real program.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::path::Path;
use std::process::Output;

use serde_json::Value;
use workshop::{program, results, text};

/// A picture of °C: 40 columns, 30 rows; a hot part with a slope, cooler air around it.
fn picture() -> String {
    let cell = |column: usize, row: usize| match column {
        10..30 => format!("{:.2}", 60.0 + 0.1 * row as f64),
        _ => "22.00".to_owned(),
    };
    let row = |row| {
        (0..40)
            .map(|column| cell(column, row))
            .collect::<Vec<_>>()
            .join(",")
    };
    (0..30).map(row).collect::<Vec<_>>().join("\n")
}

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for name in ["a.csv", "b.csv"] {
        std::fs::write(folder.path().join(name), picture()).unwrap();
    }
    folder
}

fn read(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = program();
    command.arg("read").args(arguments).current_dir(folder);
    command.output().unwrap()
}

fn json(folder: &Path, arguments: &[&str]) -> Value {
    let output = read(folder, &[arguments, &["--json"]].concat());
    assert!(output.status.success(), "{}", text(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

const KNOWN: [&str; 6] = [
    "--emissivity",
    "0.94 ± 0.02",
    "--reflected",
    "19 °C ± 2",
    "--set-emissivity",
    "0.95",
];

fn skin(tree: &Value, index: usize) -> f64 {
    tree["readings"][index]["surface_temperature"]["value"]
        .as_f64()
        .unwrap()
}

/// What the engine makes of the same region in a session, one region and so one reading: no number may differ.
/// Each input has its own random numbers by its place, so the session has the names that `read` gives.
#[test]
fn a_reading_is_that_of_a_session() {
    let folder = folder();
    let session = "[conditions]\nambient = \"18 °C ± 1\"\nreflected = \"19 °C ± 2\"\ntransmittance = 0.97\n\
        [instrument.instrument]\nemissivity = 0.95\nreflected = \"20 °C\"\naccuracy = \"1 °C or 1 %\"\ndrift = \"0.2 K\"\n\
        band = \"7.5 to 13 µm\"\npixels = { unit = \"°C\" }\n[surface.surface]\nemissivity = \"0.94 ± 0.02\"\n\
        [cooler.cooler]\ninlet = \"surface\"\noutlet = \"surface\"\n[[run]]\ncooler = \"cooler\"\nname = \"read\"\n[[run.snapshot]]\nfile = \"a.csv\"\n\
        regions = [{ tank = \"inlet\", polygon = [[11, 4], [28, 4], [20, 25]], use = \"median\" }]\n";
    std::fs::write(folder.path().join("session.toml"), session).unwrap();
    let whole = results(&folder.path().join("session.toml"));
    let single = json(
        folder.path(),
        &[
            &[
                "a.csv",
                "--polygon",
                "11,4,28,4,20,25",
                "--use",
                "median",
                "--ambient",
                "18 °C ± 1",
            ][..],
            &[
                "--transmittance",
                "0.97",
                "--set-reflected",
                "20 °C",
                "--accuracy",
                "1 °C or 1 %",
            ],
            &[
                "--drift",
                "0.2 K",
                "--band",
                "7.5 to 13 µm",
                "--pixels-unit",
                "°C",
            ],
            &KNOWN,
        ]
        .concat(),
    );
    let (whole, single) = (&whole["readings"][0], &single["readings"][0]);
    for key in [
        "source",
        "shown",
        "apparent",
        "pixels",
        "emissivity",
        "reflected",
        "surface_temperature",
        "cautions",
    ] {
        assert!(!single[key].is_null(), "{key}");
        assert_eq!(whole[key], single[key], "{key}");
    }
    for key in ["cooler", "run", "role", "tank", "surface"] {
        assert!(single.get(key).is_none(), "{key}");
    }
}

#[test]
fn shapes_are_read_in_every_picture_in_the_order_given() {
    let folder = folder();
    let tree = json(
        folder.path(),
        &[
            &[
                "a.csv",
                "b.csv",
                "--at",
                "15,20",
                "--circle",
                "20,15,4",
                "--at",
                "5,5",
                "--ellipse",
                "20,15,5,3",
            ][..],
            &[
                "--line",
                "12,2,12,20",
                "--point",
                "20,20",
                "--rectangle",
                "12,5,6,10",
            ],
            &KNOWN,
        ]
        .concat(),
    );
    let regions: Vec<&str> = tree["readings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["region"].as_str().unwrap())
        .collect();
    let order = [
        "pixel",
        "circle",
        "pixel 2",
        "ellipse",
        "line",
        "point",
        "rectangle",
    ];
    assert_eq!(regions, [order, order].concat());
    assert_eq!(tree["readings"][7]["source"], "b.csv");
    // One pixel, and the one that was asked for: row 20 shows 62 °C, the corner is the air.
    assert_eq!(tree["readings"][0]["pixels"], 1);
    assert_eq!(tree["readings"][0]["shown"]["mean"], 62.0);
    assert_eq!(tree["readings"][2]["shown"]["mean"], 22.0);
    assert_eq!(tree["readings"][5]["pixels"], 9);
}

/// Every option that bears on a number moves it.
#[test]
fn every_option_counts() {
    let folder = folder();
    std::fs::write(folder.path().join("response.csv"), "8,0\n9,1\n10,0.2\n").unwrap();
    let base = ["a.csv", "--rectangle", "12,4,10,20"];
    let reading = |more: &[&str]| {
        json(folder.path(), &[&base, &KNOWN[..], more].concat())["readings"][0].clone()
    };
    let plain = reading(&[]);
    for more in [
        &["--ambient", "35 °C ± 1", "--transmittance", "0.9"][..],
        &["--transmittance", "0.9"],
        &["--set-reflected", "60 °C"],
        &["--band", "3 to 5 µm"],
        &["--response", "response.csv"],
        &["--accuracy", "5 °C or 5 %"],
        &["--drift", "4 K"],
        &["--pixels-unit", "°F"],
        &["--pixels-step", "2 K", "--pixels-zero", "0 °C"],
        &["--use", "max"],
        &["--draws", "2000"],
        &["--seed", "7"],
        &["--angle", "70°"],
    ] {
        assert_ne!(plain, reading(more), "{more:?}");
    }
    assert_eq!(plain, reading(&["--jobs", "1", "--page", "1"]));
    let preset = [
        "--surface",
        "tape-electrical",
        "--reflected",
        "19 °C ± 2",
        "--set-emissivity",
        "0.95",
    ];
    let tape = json(folder.path(), &[&base[..], &preset].concat());
    assert_eq!(tape["readings"][0]["surface"], "tape-electrical");
    assert_eq!(tape["readings"][0]["emissivity"]["value"], 0.95);
}

#[test]
fn raw_signal_needs_no_setting() {
    let folder = folder();
    // The inverse of S = c / (exp(c2 / (a T + b)) − 1) at 333.15 K, c2 = 14387.769 µm K (CODATA 2018).
    let (a, b, c) = (9.36_f64, 178.4_f64, 36000.0_f64);
    let signal = c / ((14_387.769 / (a * 333.15 + b)).exp() - 1.0);
    let row = vec![format!("{signal:.4}"); 12].join(",");
    std::fs::write(folder.path().join("raw.csv"), vec![row; 12].join("\n")).unwrap();
    let tree = json(
        folder.path(),
        &[
            "raw.csv",
            "--rectangle",
            "1,1,9,9",
            "--sakuma-hattori",
            "9.36,178.4,36000",
            "--emissivity",
            "1",
            "--reflected",
            "20 °C ± 1",
        ],
    );
    assert!((skin(&tree, 0) - 60.0).abs() < 1e-3, "{tree}");
}

#[test]
fn a_pistol_reads_as_a_picture_of_its_number() {
    let folder = folder();
    let flat = vec![["53.2"; 12].join(","); 12].join("\n");
    std::fs::write(folder.path().join("flat.csv"), flat).unwrap();
    let ambient = ["--ambient", "18 °C ± 1"];
    let pistol = json(
        folder.path(),
        &[
            &["--pistol", "53.2 °C", "--pistol", "30 °C"][..],
            &KNOWN,
            &ambient,
        ]
        .concat(),
    );
    let picture = json(
        folder.path(),
        &[
            &["flat.csv", "--rectangle", "1,1,9,9", "--pixels-unit", "°C"][..],
            &KNOWN,
            &ambient,
        ]
        .concat(),
    );
    assert!((skin(&pistol, 0) - skin(&picture, 0)).abs() < 1e-9);
    assert!(skin(&pistol, 1) < 35.0);
    assert_eq!(pistol["readings"][1]["region"], "spot 2");
    assert_eq!(pistol["readings"][0]["source"], "pistol");
    let wide = [
        "--pistol",
        "53.2 °C",
        "--distance-ratio",
        "12:1",
        "--distance",
        "1 m",
        "--target",
        "40 mm",
    ];
    let wide = json(folder.path(), &[&wide[..], &KNOWN].concat());
    assert!(
        wide["readings"][0]["cautions"]
            .to_string()
            .contains("pistol-overfills")
    );
}

#[test]
fn what_was_assumed_is_said_and_nothing_of_placeholders() {
    let folder = folder();
    let surface = ["--surface", "plastic-black", "--set-emissivity", "0.95"];
    let base = [&["a.csv", "--rectangle", "12,4,10,20"][..], &surface].concat();
    let ids = |tree: &Value| -> Vec<String> {
        let list = tree["cautions"].as_array().unwrap().iter();
        list.map(|one| one["id"].as_str().unwrap().to_owned())
            .collect()
    };
    let assumed = json(folder.path(), &base);
    for id in [
        "setting-assumed",
        "reflected-assumed",
        "setting-assumed",
        "accuracy-assumed",
    ] {
        assert!(ids(&assumed).contains(&id.to_owned()), "{id}: {assumed}");
    }
    let stated = [
        "--reflected",
        "19 °C",
        "--set-reflected",
        "20 °C",
        "--accuracy",
        "1 °C",
        "--pixels-unit",
        "°C",
    ];
    let stated = json(folder.path(), &[&base[..], &stated].concat());
    assert_eq!(ids(&stated), ["limits-assumed"]);
    let message = stated["cautions"][0]["message"].as_str().unwrap();
    assert!(message.ends_with(": --reflected 19 °C"), "{message}");
    for tree in [&assumed, &stated] {
        let cautions = tree["cautions"].to_string();
        assert!(
            !cautions.contains("session") && !cautions.contains("inlet"),
            "{cautions}"
        );
    }
}

#[test]
fn the_table_fits_and_csv_has_a_row_a_reading() {
    let folder = folder();
    let base = [
        &["a.csv", "b.csv", "--rectangle", "12,4,10,20", "--at", "3,3"][..],
        &KNOWN,
    ]
    .concat();
    for columns in ["40", "100"] {
        let output = program()
            .arg("read")
            .args(&base)
            .env("COLUMNS", columns)
            .current_dir(folder.path())
            .output()
            .unwrap();
        let said = text(&output.stdout);
        assert!(
            said.contains("a.csv") && said.contains("pixel") && said.contains("61.4 °C"),
            "{said}"
        );
        assert!(
            said.lines()
                .all(|line| line.chars().count() <= columns.parse().unwrap()),
            "{said}"
        );
    }
    let output = read(folder.path(), &[&base[..], &["--csv"]].concat());
    let mut rows = csv::Reader::from_reader(output.stdout.as_slice());
    let heads = rows.headers().unwrap().clone();
    assert_eq!(
        (&heads[0], &heads[1], &heads[2]),
        ("source", "region", "surface")
    );
    assert!(
        !heads
            .iter()
            .any(|head| head.starts_with("charge") || head == "tank")
    );
    assert_eq!(rows.records().map(Result::unwrap).count(), 4);
    assert!(text(&output.stderr).contains("caution: accuracy-assumed"));
    let quiet = read(folder.path(), &[&base[..], &["--csv", "--quiet"]].concat());
    assert!(quiet.stdout.is_empty() && quiet.stderr.is_empty());
}

#[test]
fn all_problems_are_told_by_their_options() {
    let folder = folder();
    let wrong = [
        ("--ambient", "5"),
        ("--reflected", "warm"),
        ("--transmittance", "2"),
        ("--band", "8 µm"),
        ("--accuracy", "x"),
        ("--set-emissivity", "0.95 ± 0.1"),
        ("--set-reflected", "20"),
        ("--drift", "y"),
        ("--pixels-unit", "furlong"),
        ("--emissivity", "1.2"),
        ("--circle", "5,5,-4"),
        ("--angle", "100°"),
    ];
    let options: Vec<&str> = wrong
        .iter()
        .flat_map(|(option, value)| [*option, *value])
        .collect();
    let output = read(
        folder.path(),
        &[&["none.csv", "a.csv"][..], &options].concat(),
    );
    assert_eq!(output.status.code(), Some(1));
    let said = text(&output.stderr);
    for (option, _) in wrong {
        let told = said.matches(&format!("error: {option}")).count();
        assert!(told >= 1, "{option}: {said}");
    }
    assert!(said.contains("there is no file none.csv"), "{said}");
    assert_eq!(said.matches("error: ").count(), wrong.len() + 1, "{said}");
    assert!(
        !said.contains("[instrument") && !said.contains("view") && !said.contains("toml"),
        "{said}"
    );
    assert!(output.stdout.is_empty());
}

#[test]
fn pictures_that_do_not_fit_are_told_each() {
    let folder = folder();
    std::fs::write(folder.path().join("words.csv"), "no picture").unwrap();
    let base = [
        &[
            "a.csv",
            "words.csv",
            "--circle",
            "500,5,4",
            "--pixels-unit",
            "°C",
        ][..],
        &KNOWN,
    ]
    .concat();
    let output = read(folder.path(), &base);
    assert_eq!(output.status.code(), Some(1));
    let said = text(&output.stderr);
    assert!(
        said.contains("error: --circle: a.csv: region `circle` lies wholly outside the picture"),
        "{said}"
    );
    assert!(said.contains("error: words.csv: "), "{said}");
    for (option, value) in [
        ("--surface", "plastic-blac"),
        ("--emissivity", "from patch"),
        ("--emissivity", "a\"b\n\u{1b}[2J"),
    ] {
        let output = read(
            folder.path(),
            &[
                "a.csv",
                "--at",
                "1,1",
                option,
                value,
                "--set-emissivity",
                "1",
            ],
        );
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(
            said.starts_with(&format!("error: {option}: ")) && !said.contains('\u{1b}'),
            "{said}"
        );
    }
    let response = read(
        folder.path(),
        &[
            &["a.csv", "--at", "1,1", "--response", "words.csv"][..],
            &KNOWN,
        ]
        .concat(),
    );
    assert!(
        text(&response.stderr).starts_with("error: --response: words.csv"),
        "{}",
        text(&response.stderr)
    );
}

#[test]
fn a_reading_without_a_solution_speaks_of_no_placeholder() {
    let folder = folder();
    let mirror = [
        "--emissivity",
        "0.05 ± 0.01",
        "--set-emissivity",
        "1",
        "--reflected",
        "90 °C ± 1",
    ];
    for what in [
        &["--pistol", "20 °C"][..],
        &["a.csv", "--at", "1,1", "--pixels-unit", "°C"],
    ] {
        let output = read(folder.path(), &[what, &mirror].concat());
        assert_eq!(output.status.code(), Some(1));
        let said = text(&output.stderr);
        assert!(said.contains("colder than what it mirrors"), "{said}");
        assert!(
            !said.contains("(read)") && !said.contains("inlet"),
            "{said}"
        );
    }
}

#[test]
fn a_wrong_command_line_is_status_2() {
    let folder = folder();
    for wrong in [
        &[][..],
        &[
            "a.csv",
            "--surface",
            "tape-electrical",
            "--set-emissivity",
            "1",
        ],
        &["a.csv", "--at", "1,1", "--set-emissivity", "1"],
        &["a.csv", "--at", "1,1", "--surface", "tape-electrical"],
        &[
            "a.csv",
            "--at",
            "1,x",
            "--surface",
            "tape-electrical",
            "--set-emissivity",
            "1",
        ],
        &[
            "a.csv",
            "--rectangle",
            "1,2,3",
            "--surface",
            "tape-electrical",
            "--set-emissivity",
            "1",
        ],
        &[
            "a.csv",
            "--at",
            "1,1",
            "--surface",
            "tape-electrical",
            "--emissivity",
            "1",
            "--set-emissivity",
            "1",
        ],
        &[
            "a.csv",
            "--at",
            "1,1",
            "--pistol",
            "50 °C",
            "--surface",
            "tape-electrical",
            "--set-emissivity",
            "1",
        ],
        &[
            "--pistol",
            "50 °C",
            "--at",
            "1,1",
            "--surface",
            "tape-electrical",
            "--set-emissivity",
            "1",
        ],
    ] {
        let output = read(folder.path(), wrong);
        assert_eq!(
            output.status.code(),
            Some(2),
            "{wrong:?}: {}",
            text(&output.stderr)
        );
    }
}
