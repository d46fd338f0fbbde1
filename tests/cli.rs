//! The commands as a technician types them.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::io::Read;
use std::process::Stdio;

use workshop::{contents, copy, program, repository, results, run, sample, text};

#[test]
fn annotate_writes_one_picture_for_each_snapshot_and_nothing_else() {
    let (folder, session) = sample();
    let before = contents(folder.path());
    let output = run("annotate", &session, &[]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("9 annotated pictures"));
    let mut after = contents(folder.path());
    after.retain(|path, bytes| before.get(path) != Some(bytes));
    let results = folder.path().join("session-results");
    assert!(after.remove(&results).is_some());
    assert!(after.remove(&results.join("annotated")).is_some());
    assert_eq!(after.len(), 9);
    for (path, bytes) in &after {
        assert!(path.starts_with(results.join("annotated")));
        let decoder = png::Decoder::new(std::io::Cursor::new(bytes));
        let reader = decoder.read_info().unwrap();
        assert!(reader.info().width >= 240, "{}", path.display());
    }
    let elsewhere = folder.path().join("elsewhere");
    let output = run(
        "annotate",
        &session,
        &["--out", elsewhere.to_str().unwrap()],
    );
    assert!(output.status.success(), "{}", text(&output.stderr));
    assert_eq!(contents(&elsewhere.join("annotated")).len(), 9);
}

#[test]
fn annotated_pictures_are_the_same_from_both_commands() {
    let (folder, session) = sample();
    let annotated = || {
        contents(&folder.path().join("session-results/annotated"))
            .into_iter()
            .map(|(path, bytes)| (path.file_name().unwrap().to_owned(), bytes))
            .collect::<Vec<_>>()
    };
    let report = folder.path().join("session-results/report.html");
    assert!(run("annotate", &session, &[]).status.success());
    let first = annotated();
    assert!(!report.exists());
    // Their folder becomes the results folder; there, annotating leaves the rest alone.
    let output = run("compare", &session, &[]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    assert!(first == annotated());
    let written = std::fs::read(&report).unwrap();
    assert!(run("annotate", &session, &[]).status.success());
    assert!(first == annotated());
    assert!(written == std::fs::read(&report).unwrap());
}

#[test]
fn check_writes_nothing() {
    let (folder, session) = sample();
    let before = contents(folder.path());
    let output = run("check", &session, &[]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    assert!(!output.stdout.is_empty());
    assert!(before == contents(folder.path()));
}

#[cfg(unix)]
#[test]
fn check_works_in_a_folder_that_cannot_be_written() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, session) = sample();
    let mode = |mode| std::fs::set_permissions(folder.path(), PermissionsExt::from_mode(mode));
    mode(0o555).unwrap();
    let output = run("check", &session, &[]);
    mode(0o755).unwrap();
    assert!(output.status.success(), "{}", text(&output.stderr));
}

#[test]
fn the_demo_can_be_compared_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let demo = folder.path().join("demo");
    let output = run("demo", &demo, &[]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    let session = demo.join("session.toml");
    assert!(text(&output.stdout).contains(&session.display().to_string()));
    assert_eq!(workshop::results(&session)["baseline"], "original");
    let before = contents(&demo);
    let again = run("demo", &demo, &[]);
    assert_eq!(again.status.code(), Some(1));
    assert!(before == contents(&demo));
}

#[test]
fn completions_name_the_commands_in_every_shell() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let output = program().args(["completions", shell]).output().unwrap();
        assert!(output.status.success(), "{shell}");
        let script = text(&output.stdout);
        for command in ["compare", "annotate", "check", "demo"] {
            assert!(script.contains(command), "{shell}: {command}");
        }
    }
}

#[test]
fn man_prints_one_page_or_writes_all_and_replaces_none() {
    let output = program().arg("man").output().unwrap();
    assert!(output.status.success());
    let page = text(&output.stdout);
    assert!(
        page.contains(".TH endtank 1") && page.contains(".SH \"EXIT STATUS\""),
        "{page}"
    );
    let folder = tempfile::tempdir().unwrap();
    let write = || {
        let mut command = program();
        command.args(["man", "--folder", "man/man1"]);
        command.current_dir(folder.path()).output().unwrap()
    };
    let output = write();
    assert!(output.status.success(), "{}", text(&output.stderr));
    let written = contents(&folder.path().join("man/man1"));
    assert_eq!(text(&output.stdout).lines().count(), written.len());
    assert_eq!(
        written[&folder.path().join("man/man1/endtank.1")],
        page.as_bytes()
    );
    assert!(written.contains_key(&folder.path().join("man/man1/endtank-compare.1")));
    let output = write();
    assert_eq!(output.status.code(), Some(1));
    assert!(text(&output.stderr).contains("endtank.1 exists already"));
    assert!(text(&output.stderr).contains("--folder"));
    assert!(written == contents(&folder.path().join("man/man1")));
}

#[test]
fn readings_say_where_their_emissivity_comes_from() {
    let folder = tempfile::tempdir().unwrap();
    copy(&repository("tests/data/sessions/patches"), folder.path());
    let session = folder.path().join("session.toml");
    let written = std::fs::read_to_string(&session).unwrap();
    let stated = "[surface.moulded]\nemissivity = 0.94";
    assert!(written.contains(stated));
    let preset = written.replace(stated, "[surface.moulded]\nlike = \"plastic-black\"");
    std::fs::write(&session, preset).unwrap();
    let results = results(&session);
    let origin = |run: &str, region: &str| {
        let mut readings = results["readings"].as_array().unwrap().iter();
        let reading = readings.find(|reading| reading["run"] == run && reading["region"] == region);
        reading.unwrap()["emissivity_origin"].clone()
    };
    // Solved once, used wherever the surface is.
    for run in ["with tape", "without tape"] {
        let patch = origin(run, "hot");
        assert_eq!(patch["kind"], "patch");
        assert_eq!(patch["surfaces"], serde_json::json!(["tape"]));
        assert_eq!(patch["runs"], serde_json::json!(["with tape"]));
    }
    let contact = origin("without probe", "hot");
    assert_eq!(contact["kind"], "contact");
    assert_eq!(contact["runs"], serde_json::json!(["with probe"]));
    let tape = origin("without tape", "taped cold");
    assert_eq!(
        (&tape["kind"], &tape["written"]),
        (&"stated".into(), &"0.95 ± 0.02".into())
    );
    let plastic = origin("with probe", "cold");
    assert_eq!(
        (&plastic["kind"], &plastic["name"]),
        (&"preset".into(), &"plastic-black".into())
    );
    assert!(!plastic["sources"].as_array().unwrap().is_empty());
    let page = std::fs::read_to_string(folder.path().join("session-results/report.html")).unwrap();
    for said in [
        "emissivity measured against a patch of tape in with tape",
        "emissivity measured against a contact probe in with probe",
        "emissivity stated in the session: 0.95 ±\u{a0}0.02",
        "emissivity preset plastic-black (J. H. Henninger 1984 and ",
    ] {
        assert!(page.contains(said), "{said}");
    }
}

#[test]
fn quiet_prints_nothing_but_errors() {
    let (folder, session) = sample();
    for command in ["check", "annotate", "compare"] {
        let output = run(command, &session, &["--quiet"]);
        assert!(output.status.success(), "{command}");
        assert!(
            output.stdout.is_empty() && output.stderr.is_empty(),
            "{command}"
        );
    }
    assert!(folder.path().join("session-results/report.html").exists());
    std::fs::remove_file(folder.path().join("original-1.tiff")).unwrap();
    let output = run("compare", &session, &["--quiet"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(text(&output.stderr).contains("original-1.tiff"));
}

#[test]
fn output_that_is_no_terminal_has_no_colours() {
    let (folder, session) = sample();
    for no_colour in ["", "1"] {
        let output = program()
            .env("NO_COLOR", no_colour)
            .args(["compare"])
            .arg(&session)
            .output()
            .unwrap();
        assert!(output.status.success());
        assert!(!output.stdout.contains(&0x1b) && !output.stderr.contains(&0x1b));
    }
    std::fs::write(&session, "[conditions]\nambient = 18\n").unwrap();
    let output = run("compare", &session, &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        !output.stderr.contains(&0x1b),
        "{}",
        folder.path().display()
    );
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let (_folder, session) = sample();
    let commands: [Vec<&std::ffi::OsStr>; 4] = [
        vec!["compare".as_ref(), session.as_os_str()],
        vec!["check".as_ref(), session.as_os_str()],
        vec!["completions".as_ref(), "bash".as_ref()],
        vec!["--help".as_ref()],
    ];
    for arguments in &commands {
        let mut child = program()
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let status = child.wait().unwrap();
        let mut said = String::new();
        child
            .stderr
            .take()
            .unwrap()
            .read_to_string(&mut said)
            .unwrap();
        assert_eq!(status.code(), Some(0), "{arguments:?}: {said}");
        assert!(!said.contains("panicked"), "{arguments:?}: {said}");
    }
}

#[test]
fn results_replace_earlier_ones_whole() {
    let (folder, session) = sample();
    assert!(run("compare", &session, &[]).status.success());
    let results = folder.path().join("session-results");
    let first = contents(&results);
    // One run less: its picture must not linger among the new results.
    let written = std::fs::read_to_string(&session).unwrap();
    let at = written.rfind("[[run]]").unwrap();
    std::fs::write(&session, &written[..at]).unwrap();
    assert!(run("compare", &session, &[]).status.success());
    let second = contents(&results);
    assert_eq!(second.len() + 1, first.len());
    std::fs::write(&session, &written).unwrap();
    assert!(run("compare", &session, &[]).status.success());
    assert!(first == contents(&results), "the first results again");
    // A fault leaves them as they are.
    std::fs::write(&session, &written[..at - 40]).unwrap();
    assert_eq!(run("compare", &session, &[]).status.code(), Some(1));
    assert!(first == contents(&results), "results after a fault");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 13);
}

#[test]
fn results_go_where_they_are_asked_to() {
    let (folder, session) = sample();
    let place = folder.path().join("for the customer");
    for _ in 0..2 {
        let output = run("compare", &session, &["--out", place.to_str().unwrap()]);
        assert!(output.status.success(), "{}", text(&output.stderr));
    }
    assert!(place.join("report.html").exists());
    assert!(!folder.path().join("session-results").exists());
}

#[test]
fn a_wrong_command_line_is_status_2() {
    for arguments in [
        &["compare"][..],
        &["compere", "session.toml"],
        &["compare", "session.toml", "--draws", "many"],
        &["compare", "session.toml", "--jobs", "0"],
        &["compare", "session.toml", "--colour"],
        &["compare", "session.toml", "--scale", "70,20"],
        &["annotate", "session.toml", "--scale", "20"],
        &["completions", "no-shell"],
        &[],
    ] {
        let output = program().args(arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(
            !output.stderr.is_empty() && output.stdout.is_empty(),
            "{arguments:?}"
        );
    }
}

#[test]
fn a_session_that_is_not_there_is_status_1() {
    let folder = tempfile::tempdir().unwrap();
    for path in [folder.path().join("none.toml"), folder.path().to_owned()] {
        let output = run("compare", &path, &[]);
        let said = text(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains(&path.display().to_string()), "{said}");
    }
    assert!(contents(folder.path()).is_empty());
}
