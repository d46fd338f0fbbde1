//! Broken sessions and pictures through the real program: each is refused with its line and a mend, and nothing moves.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::path::Path;

use workshop::{contents, run, text};

const SOUND: &str = r#"title = "Two tanks"

[conditions]
ambient = "18 °C ± 0.5"
reflected = "20 °C ± 2"

[instrument.camera]
emissivity = 1
pixels = { unit = "°C" }

[surface.moulded]
emissivity = "0.94 ± 0.02"

[surface.tape]
emissivity = "0.95 ± 0.02"

[cooler.original]
inlet = "moulded"
outlet = "moulded"

[[run]]
cooler = "original"
name = "hold 1"

[[run.contact]]
tank = "outlet"
temperature = "31 °C ± 1"

[[run.snapshot]]
file = "one.csv"
regions = [
  { tank = "inlet", rectangle = [0, 0, 4, 6] },
  { tank = "outlet", rectangle = [8, 0, 4, 6] },
]
"#;

/// Twelve columns, six rows: 60 °C on the left, 30 °C on the right.
fn picture() -> String {
    let row = (0..12)
        .map(|x| if x < 6 { "60.0" } else { "30.0" })
        .collect::<Vec<_>>()
        .join(",");
    format!("{row}\n").repeat(6)
}

fn sound(folder: &Path) {
    std::fs::write(folder.join("session.toml"), SOUND).unwrap();
    std::fs::write(folder.join("one.csv"), picture()).unwrap();
}

/// A fault: what it is, how it is made, the text on the line it is shown at (the first that has it), and words of the
/// message and the mend.
struct Fault {
    name: &'static str,
    make: fn(&Path),
    line: &'static str,
    says: &'static [&'static str],
}

/// Replaces part of the session.
fn edit(folder: &Path, from: &str, to: &str) {
    let path = folder.join("session.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.contains(from), "no {from:?} in the sound session");
    std::fs::write(path, text.replacen(from, to, 1)).unwrap();
}

/// Puts a file beside the session and has it read in place of the sound picture.
fn put(folder: &Path, name: &str, bytes: &[u8]) {
    std::fs::write(folder.join(name), bytes).unwrap();
    edit(folder, "one.csv", name);
}

fn data(path: &str) -> Vec<u8> {
    std::fs::read(workshop::repository(path)).unwrap()
}

/// A PNG of one colour with samples of the given type.
fn png(colour: png::ColorType, bytes_per_pixel: usize) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, 12, 6);
    encoder.set_color(colour);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().unwrap();
    writer
        .write_image_data(&vec![90; 12 * 6 * bytes_per_pixel])
        .unwrap();
    writer.finish().unwrap();
    file
}

const FILE: &str = "file = ";
const INLET: &str = r#"{ tank = "inlet""#;

const FAULTS: &[Fault] = &[
    Fault {
        name: "picture missing",
        make: |f| std::fs::remove_file(f.join("one.csv")).unwrap(),
        line: FILE,
        says: &["one.csv"],
    },
    Fault {
        name: "picture's name misspelt",
        make: |f| edit(f, "one.csv", "onne.csv"),
        line: FILE,
        says: &["onne.csv", "did you mean", "one.csv"],
    },
    Fault {
        name: "empty picture",
        make: |f| put(f, "empty.tiff", b""),
        line: FILE,
        says: &["empty.tiff", "empty"],
    },
    Fault {
        name: "truncated TIFF",
        make: |f| {
            put(
                f,
                "cut.tiff",
                &data("sample-images/tow-truck/original-1.tiff")[..30_000],
            )
        },
        line: FILE,
        says: &["cut.tiff"],
    },
    Fault {
        name: "truncated PNG",
        make: |f| {
            put(
                f,
                "cut.png",
                &data("sample-images/tow-truck/original-2.png")[..20_000],
            )
        },
        line: FILE,
        says: &["cut.png"],
    },
    Fault {
        name: "JPEG",
        make: |f| {
            put(
                f,
                "photo.jpg",
                b"\xff\xd8\xff\xe0\x00\x10JFIF\0\x01\x01\0\0\x01\0\x01\0\0",
            )
        },
        line: FILE,
        says: &["photo.jpg", "JPEG", "export"],
    },
    Fault {
        name: "JPEG that calls itself TIFF",
        make: |f| {
            put(
                f,
                "photo.tiff",
                b"\xff\xd8\xff\xe0\x00\x10JFIF\0\x01\x01\0\0\x01\0\x01\0\0",
            )
        },
        line: FILE,
        says: &["photo.tiff", "JPEG"],
    },
    Fault {
        name: "colour PNG",
        make: |f| put(f, "colour.png", &png(png::ColorType::Rgb, 3)),
        line: FILE,
        says: &["colour.png", "colour"],
    },
    Fault {
        name: "ragged CSV",
        make: |f| {
            let mut rows = picture();
            rows.truncate(rows.len() - 6);
            put(f, "ragged.csv", rows.as_bytes());
        },
        line: FILE,
        says: &["ragged.csv", "line 6"],
    },
    Fault {
        name: "words in a CSV",
        make: |f| {
            put(
                f,
                "words.csv",
                picture().replacen("30.0\n60.0", "30.0\nhot", 1).as_bytes(),
            )
        },
        line: FILE,
        says: &["words.csv", "line 2", "hot"],
    },
    Fault {
        name: "counts of unknown meaning",
        make: |f| {
            put(
                f,
                "counts.tiff",
                &data("sample-images/tow-truck/original-1.tiff"),
            );
            edit(f, "pixels = { unit = \"°C\" }\n", "");
        },
        line: FILE,
        says: &["counts.tiff", "do", "0.01 K", "step = "],
    },
    Fault {
        name: "region outside",
        make: |f| edit(f, "[0, 0, 4, 6]", "[12, 0, 4, 6]"),
        line: INLET,
        says: &["outside", "12", "6"],
    },
    Fault {
        name: "region wholly excluded",
        make: |f| {
            edit(
                f,
                "[0, 0, 4, 6]",
                "[0, 0, 4, 6], exclude = [{ rectangle = [-1, -1, 9, 9] }]",
            )
        },
        line: INLET,
        says: &["exclude"],
    },
    Fault {
        name: "region without a readable pixel",
        make: |f| put(f, "blind.csv", picture().replace("60.0", "nan").as_bytes()),
        line: INLET,
        says: &["blind.csv"],
    },
    Fault {
        name: "region that covers no pixel's centre",
        make: |f| edit(f, "[0, 0, 4, 6]", "[1.6, 1.6, 0.3, 0.3]"),
        line: INLET,
        says: &["inlet"],
    },
    Fault {
        name: "path upwards",
        make: |f| edit(f, "one.csv", "../one.csv"),
        line: FILE,
        says: &["..", "folder"],
    },
    Fault {
        name: "absolute path",
        make: |f| edit(f, "one.csv", "/etc/hostname"),
        line: FILE,
        says: &["/etc/hostname", "not relative"],
    },
    Fault {
        name: "folder as picture",
        make: |f| {
            std::fs::create_dir(f.join("pictures")).unwrap();
            edit(f, "one.csv", "pictures");
        },
        line: FILE,
        says: &["pictures", "folder"],
    },
    Fault {
        name: "colder than what it mirrors",
        make: |f| {
            edit(f, "\"0.94 ± 0.02\"", "\"0.2 ± 0.02\"");
            edit(f, "\"20 °C ± 2\"", "\"60 °C ± 2\"");
        },
        line: r#"{ tank = "outlet""#,
        says: &["reads colder than what it mirrors", "one.csv"],
    },
    Fault {
        name: "solved emissivity above 1",
        make: |f| {
            edit(f, "\"0.94 ± 0.02\"", "\"from contact\"");
            edit(f, "31 °C", "26 °C");
        },
        line: r#"emissivity = "from contact""#,
        says: &["emissivity", "check"],
    },
    Fault {
        name: "from patch without a patch",
        make: |f| edit(f, "\"0.94 ± 0.02\"", "\"from patch\""),
        line: r#"emissivity = "from patch""#,
        says: &["patch", "moulded"],
    },
    Fault {
        name: "a patch where the tank is",
        make: |f| {
            edit(f, "\"0.94 ± 0.02\"", "\"from patch\"");
            edit(
                f,
                "  { tank = \"outlet\"",
                "  { role = \"patch\", tank = \"inlet\", surface = \"tape\", rectangle = [1, 1, 3, 3] },\n  { tank = \"outlet\"",
            );
        },
        line: r#"role = "patch""#,
        says: &["read the same to the last digit", "60.0 °C", "beside it"],
    },
    Fault {
        name: "a patch hardly warmer than what it mirrors",
        make: |f| {
            edit(f, "\"0.94 ± 0.02\"", "\"from patch\"");
            edit(f, "\"20 °C ± 2\"", "\"26 °C ± 2\"");
            edit(
                f,
                "inlet\", rectangle = [0, 0, 4, 6]",
                "outlet\", rectangle = [6, 0, 2, 6]",
            );
            edit(
                f,
                "  { tank = \"outlet\", rectangle = [8",
                "  { role = \"patch\", tank = \"outlet\", surface = \"tape\", rectangle = [9, 1, 3, 3] },\n  { tank = \"outlet\", rectangle = [8",
            );
            let picture = std::fs::read_to_string(f.join("one.csv")).unwrap();
            let colder = picture.replace(
                "30.0,30.0,30.0,30.0,30.0,30.0",
                "29.0,29.0,29.0,30.0,30.0,30.0",
            );
            std::fs::write(f.join("one.csv"), colder).unwrap();
        },
        line: r#"role = "patch""#,
        says: &["4.2 K warmer than what it mirrors", "2.0 K", "at least 6 K"],
    },
    Fault {
        name: "a probe hardly warmer than what the tank mirrors",
        make: |f| {
            edit(f, "\"0.94 ± 0.02\"", "\"from contact\"");
            edit(f, "\"20 °C ± 2\"", "\"26 °C ± 2\"");
        },
        line: "[[run.contact]]",
        says: &["5.0 K above what the skin mirrors", "at least 6 K"],
    },
    Fault {
        name: "a time that no clock shows",
        make: |f| {
            edit(
                f,
                "name = \"hold 1\"",
                "name = \"hold 1\"\ntime = \"14.65\"",
            )
        },
        line: "time = ",
        says: &["`14.65`", "14:05"],
    },
    Fault {
        name: "unit missing",
        make: |f| edit(f, "\"18 °C ± 0.5\"", "18"),
        line: "ambient = ",
        says: &["ambient", "18 °C"],
    },
    Fault {
        name: "unit without quotes",
        make: |f| edit(f, "\"18 °C ± 0.5\"", "18 °C"),
        line: "ambient = ",
        says: &["quotation marks"],
    },
    Fault {
        name: "decimal comma",
        make: |f| edit(f, "\"18 °C ± 0.5\"", "\"18,5 °C\""),
        line: "ambient = ",
        says: &["comma", "18.5"],
    },
    Fault {
        name: "unknown key",
        make: |f| edit(f, "reflected = ", "refelcted = "),
        line: "refelcted",
        says: &["refelcted", "did you mean", "reflected"],
    },
    Fault {
        name: "unknown surface",
        make: |f| edit(f, "inlet = \"moulded\"", "inlet = \"molded\""),
        line: "inlet = \"molded\"",
        says: &["molded", "did you mean", "moulded"],
    },
    Fault {
        name: "unknown cooler",
        make: |f| edit(f, "cooler = \"original\"", "cooler = \"orginal\""),
        line: "cooler = \"orginal\"",
        says: &["orginal", "original"],
    },
    Fault {
        name: "emissivity in per cent without a sign",
        make: |f| edit(f, "\"0.94 ± 0.02\"", "94"),
        line: "emissivity = 94",
        says: &["emissivity"],
    },
    Fault {
        name: "not TOML at all",
        make: |f| edit(f, "[conditions]", "[conditions"),
        line: "[conditions",
        says: &["]"],
    },
    Fault {
        name: "not text at all",
        make: |f| std::fs::write(f.join("session.toml"), b"title = \"\xff\xfe\"\n").unwrap(),
        line: "",
        says: &["session.toml", "UTF-8"],
    },
    Fault {
        name: "no run",
        make: |f| {
            let path = f.join("session.toml");
            let text = std::fs::read_to_string(&path).unwrap();
            std::fs::write(path, text.split("[[run]]").next().unwrap()).unwrap();
        },
        line: "",
        says: &["run"],
    },
];

/// Runs `compare` and `check` on a broken session: status 1, no panic, nothing changed. What they said.
fn refused(folder: &Path, name: &str) -> String {
    let before = contents(folder);
    let session = folder.join("session.toml");
    let mut said = String::new();
    for command in ["check", "compare"] {
        let output = run(command, &session, &[]);
        said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{command}, {name}: {said}");
        assert!(output.stdout.is_empty(), "{command}, {name}");
        assert!(!said.contains("panicked"), "{command}, {name}: {said}");
        assert!(
            before == contents(folder),
            "{command}, {name}: files changed"
        );
    }
    said
}

/// What is wrong with the answer to a fault.
fn complaint(fault: &Fault) -> Option<String> {
    let folder = tempfile::tempdir().unwrap();
    sound(folder.path());
    (fault.make)(folder.path());
    let said = refused(folder.path(), fault.name);
    let written = std::fs::read(folder.path().join("session.toml")).unwrap();
    let written = String::from_utf8_lossy(&written);
    let mut wanted: Vec<String> = fault.says.iter().map(|&word| word.to_owned()).collect();
    wanted.push("help: ".to_owned());
    if !fault.line.is_empty() {
        let at = written.lines().position(|line| line.contains(fault.line));
        wanted.push(format!("session.toml:{}:", at.expect(fault.name) + 1));
    }
    let missing: Vec<_> = wanted.iter().filter(|word| !said.contains(*word)).collect();
    (!missing.is_empty()).then(|| format!("{}: no {missing:?} in\n{said}", fault.name))
}

#[test]
fn every_fault_is_refused_with_its_line_and_a_mend() {
    assert!(FAULTS.len() >= 24);
    let complaints: Vec<_> = FAULTS.iter().filter_map(complaint).collect();
    assert!(complaints.is_empty(), "{}", complaints.join("\n"));
}

#[test]
fn the_sound_session_passes() {
    let folder = tempfile::tempdir().unwrap();
    sound(folder.path());
    let before = contents(folder.path());
    let output = run("check", &folder.path().join("session.toml"), &[]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(before == contents(folder.path()));
    let output = run("compare", &folder.path().join("session.toml"), &[]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let after = contents(folder.path());
    assert!(
        before
            .iter()
            .all(|(path, bytes)| after.get(path) == Some(bytes))
    );
    assert!(after.contains_key(&folder.path().join("session-results/results.json")));
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_out_of_the_folder_is_not_followed() {
    let outside = tempfile::tempdir().unwrap();
    std::fs::write(outside.path().join("far.csv"), picture()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    sound(folder.path());
    std::os::unix::fs::symlink(
        outside.path().join("far.csv"),
        folder.path().join("far.csv"),
    )
    .unwrap();
    edit(folder.path(), "one.csv", "far.csv");
    let said = refused(folder.path(), "link");
    assert!(
        said.contains("far.csv") && said.contains("session.toml:30:"),
        "{said}"
    );
}

#[test]
fn several_faults_are_told_at_once() {
    let folder = tempfile::tempdir().unwrap();
    sound(folder.path());
    edit(folder.path(), "\"18 °C ± 0.5\"", "18");
    edit(folder.path(), "inlet = \"moulded\"", "inlet = \"molded\"");
    edit(folder.path(), "one.csv", "two.csv");
    let said = refused(folder.path(), "several");
    for word in ["ambient", "molded", "two.csv", "3 problems"] {
        assert!(said.contains(word), "no {word} in\n{said}");
    }
}

#[test]
fn several_broken_pictures_are_told_at_once() {
    let folder = tempfile::tempdir().unwrap();
    sound(folder.path());
    edit(folder.path(), "[0, 0, 4, 6]", "[50, 0, 4, 6]");
    let more = "\n[[run.snapshot]]\nfile = \"bad.tiff\"\nregions = [{ tank = \"inlet\", rectangle = [0, 0, 2, 2] }]\n";
    let path = folder.path().join("session.toml");
    let session = std::fs::read_to_string(&path).unwrap() + more;
    std::fs::write(path, session).unwrap();
    std::fs::write(folder.path().join("bad.tiff"), b"II*\0").unwrap();
    let said = refused(folder.path(), "several pictures");
    for word in ["outside", "bad.tiff", "2 problems"] {
        assert!(said.contains(word), "no {word} in\n{said}");
    }
}

#[test]
fn results_are_not_put_over_somebodys_files() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    std::fs::create_dir(at("work")).unwrap();
    std::fs::create_dir(at("foreign")).unwrap();
    std::fs::write(at("foreign/letter.txt"), "Dear customer").unwrap();
    sound(&at("work"));
    let before = contents(folder.path());
    let places = [
        at("work"),
        folder.path().to_owned(),
        at("foreign"),
        at("foreign/letter.txt"),
    ];
    for place in places {
        let session = at("work/session.toml");
        let output = run("compare", &session, &["--out", place.to_str().unwrap()]);
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{}: {said}", place.display());
        assert!(said.contains("--out") || said.contains("folder"), "{said}");
        assert!(before == contents(folder.path()), "{}", place.display());
    }
}

/// What is only expected is for `plan`; `compare` says so and writes nothing.
#[test]
fn a_session_of_expectations_alone_is_sent_to_plan() {
    let folder = tempfile::tempdir().unwrap();
    let session = folder.path().join("session.toml");
    let runs = ["a", "b"].map(|cooler| {
        format!(
            "[[run]]\ncooler = \"{cooler}\"\nexpect = {{ inlet = \"70 °C\", outlet = \"33 °C\" }}\n"
        )
    });
    let text_of = format!(
        "[conditions]\nambient = \"18 °C ± 1\"\nreflected = \"20 °C ± 2\"\n[instrument.pistol]\nemissivity = 0.95\n\
         [surface.s]\nemissivity = \"0.94 ± 0.02\"\n[cooler.a]\ninlet = \"s\"\noutlet = \"s\"\n[cooler.b]\ninlet = \"s\"\n\
         outlet = \"s\"\n{}",
        runs.concat()
    );
    std::fs::write(&session, text_of).unwrap();
    let output = run("compare", &session, &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        text(&output.stderr).contains("endtank plan"),
        "{}",
        text(&output.stderr)
    );
    assert_eq!(contents(folder.path()).len(), 1);
    assert!(run("plan", &session, &[]).status.success());
}
