use super::*;

const OURS: &[u8] = br#"{"schema": 1, "endtank": "0.1.0"}"#;

fn entries(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn write_results(target: &Path, report: &[u8]) -> Result<(), WriteError> {
    let folder = Folder::prepare(target, &[], Purpose::Results)?;
    folder.write("results.json", OURS)?;
    folder.write("report.html", report)?;
    folder.write("annotated/a.png", b"a")?;
    folder.finish()
}

#[test]
fn appears_whole_and_leaves_nothing_else() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("session-results");
    let folder = Folder::prepare(&target, &[], Purpose::Results).unwrap();
    folder.write("results.json", OURS).unwrap();
    folder.write("annotated/a.png", b"a").unwrap();
    assert!(!target.exists());
    folder.finish().unwrap();
    assert_eq!(entries(&target), ["annotated", "results.json"]);
    assert_eq!(fs::read(target.join("annotated/a.png")).unwrap(), b"a");
    assert_eq!(entries(parent.path()), ["session-results"]);
}

#[cfg(unix)]
#[test]
fn has_the_permissions_of_any_new_folder() {
    use std::os::unix::fs::PermissionsExt as _;
    let parent = tempfile::tempdir().unwrap();
    let plain = parent.path().join("plain");
    fs::create_dir(&plain).unwrap();
    let target = parent.path().join("results");
    write_results(&target, b"1").unwrap();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode();
    assert_eq!(mode(&target), mode(&plain));
}

#[test]
fn makes_missing_folders_above_only_when_done() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("a/b/results");
    let folder = Folder::prepare(&target, &[], Purpose::Results).unwrap();
    folder.write("results.json", OURS).unwrap();
    assert!(!parent.path().join("a").exists());
    folder.finish().unwrap();
    assert!(target.join("results.json").is_file());
    assert_eq!(entries(parent.path()), ["a"]);
}

#[test]
fn a_failure_midway_leaves_nothing() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("results");
    let folder = Folder::prepare(&target, &[], Purpose::Results).unwrap();
    folder.write("results.json", OURS).unwrap();
    let long = format!("annotated/{}.png", "x".repeat(300));
    let error = folder.write(&long, b"").unwrap_err();
    assert!(error.path.starts_with(&target), "{error}");
    drop(folder);
    assert!(entries(parent.path()).is_empty());
}

#[test]
fn replaces_its_own_and_only_its_own() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("results");
    write_results(&target, b"1").unwrap();
    fs::write(target.join("annotated/stale.png"), b"").unwrap();
    write_results(&target, b"2").unwrap();
    assert_eq!(fs::read(target.join("report.html")).unwrap(), b"2");
    assert_eq!(entries(&target.join("annotated")), ["a.png"]);
    assert_eq!(entries(parent.path()), ["results"]);

    fs::write(target.join("my notes.txt"), b"mine").unwrap();
    let error = write_results(&target, b"3").unwrap_err();
    assert!(error.what.contains("my notes.txt"), "{error}");
    assert_eq!(fs::read(target.join("report.html")).unwrap(), b"2");
}

#[test]
fn refuses_what_it_did_not_write() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("photos");
    fs::create_dir(&target).unwrap();
    write_results(&target, b"empty folders are free").unwrap();
    fs::write(target.join("results.json"), br#"{"schema": 1}"#).unwrap();
    let error = write_results(&target, b"").unwrap_err();
    assert!(
        error.what.contains("not an earlier results folder"),
        "{error}"
    );
    fs::write(target.join("results.json"), b"not JSON").unwrap();
    assert!(write_results(&target, b"").is_err());
    assert_eq!(entries(parent.path()), ["photos"]);

    let file = parent.path().join("file");
    fs::write(&file, b"").unwrap();
    assert!(
        write_results(&file, b"")
            .unwrap_err()
            .what
            .contains("is a file")
    );
    assert!(
        write_results(&file.join("inner"), b"")
            .unwrap_err()
            .what
            .contains("is a file")
    );
    assert!(write_results(&parent.path().join("none/../x"), b"").is_err());
}

#[test]
fn refuses_to_hold_an_input() {
    let parent = tempfile::tempdir().unwrap();
    let session = parent.path().join("work/session.toml");
    fs::create_dir(parent.path().join("work")).unwrap();
    fs::write(&session, b"").unwrap();
    let inputs = [session];
    for target in ["work", "work/.", "work/session.toml", "."] {
        let target = parent.path().join(target);
        assert!(
            Folder::prepare(&target, &inputs, Purpose::Results).is_err(),
            "{target:?}"
        );
        assert!(
            Folder::prepare(&target, &inputs, Purpose::New).is_err(),
            "{target:?}"
        );
    }
    // Not even where the pictures lie in what looks like an earlier result.
    let target = parent.path().join("results");
    write_results(&target, b"1").unwrap();
    let inputs = [target.join("annotated/a.png")];
    let error = Folder::prepare(&target, &inputs, Purpose::Results).unwrap_err();
    assert!(error.what.contains("inputs are never replaced"), "{error}");
}

#[cfg(target_os = "linux")]
#[test]
fn refuses_a_disk_of_its_own() {
    // Every Linux system mounts /proc; elsewhere in the tree a folder shares its parent's disk.
    assert!(
        check::renamable(Path::new("/proc"))
            .unwrap_err()
            .what
            .contains("disk of its own")
    );
    let parent = tempfile::tempdir().unwrap();
    let inner = parent.path().join("inner");
    fs::create_dir(&inner).unwrap();
    check::renamable(&inner).unwrap();
}

#[test]
fn refuses_no_name() {
    let error = Folder::prepare(Path::new(""), &[], Purpose::New).unwrap_err();
    assert!(error.what.contains("no folder is named"), "{error}");
}

#[test]
fn refuses_the_folder_the_user_is_in() {
    let here = std::env::current_dir().unwrap();
    let error = check::keeps_inputs(&here.canonicalize().unwrap(), &[]).unwrap_err();
    assert!(error.what.contains("folder you are in"), "{error}");
}

#[test]
fn the_old_result_is_back_where_the_new_one_fails() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("results");
    write_results(&target, b"1").unwrap();
    let folder = Folder::prepare(&target, &[], Purpose::Results).unwrap();
    fs::remove_dir_all(folder.hidden.path().join(NEW)).unwrap();
    folder.finish().unwrap_err();
    assert_eq!(fs::read(target.join("report.html")).unwrap(), b"1");
    assert_eq!(entries(parent.path()), ["results"]);
}

#[test]
fn an_old_result_that_cannot_go_back_is_kept_and_named() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("results");
    let folder = Folder::prepare(&target, &[], Purpose::Results).unwrap();
    let old = folder.hidden.path().join(OLD);
    fs::create_dir(&old).unwrap();
    let error = folder.keep_old(WriteError::new(&target, "failed", "Try."));
    assert!(error.mend.contains(&old.display().to_string()), "{error}");
    assert!(old.is_dir());
}

#[test]
fn notices_what_appeared_meanwhile() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("results");
    let folder = Folder::prepare(&target, &[], Purpose::Results).unwrap();
    folder.write("results.json", OURS).unwrap();
    fs::create_dir(&target).unwrap();
    fs::write(target.join("mine.txt"), b"mine").unwrap();
    folder.finish().unwrap_err();
    assert_eq!(entries(&target), ["mine.txt"]);
    assert_eq!(entries(parent.path()), ["results"]);
}

#[cfg(unix)]
#[test]
fn a_link_to_an_earlier_result_stays_a_link() {
    let parent = tempfile::tempdir().unwrap();
    let real = parent.path().join("real");
    write_results(&real, b"1").unwrap();
    let link = parent.path().join("link");
    std::os::unix::fs::symlink(&real, &link).unwrap();
    write_results(&link, b"2").unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(fs::read(real.join("report.html")).unwrap(), b"2");
}

#[test]
fn annotated_pictures_replace_only_their_own_folder() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("results");
    let annotate = |names: &[&str], bytes: &[u8]| {
        let purpose = Purpose::Annotated(names.iter().map(|&name| name.to_owned()).collect());
        let folder = Folder::prepare(&target, &[], purpose)?;
        for name in names {
            folder.write(&format!("annotated/{name}"), bytes)?;
        }
        folder.finish()
    };
    annotate(&["a.png"], b"new").unwrap();
    assert_eq!(entries(&target), ["annotated"]);
    annotate(&["a.png"], b"again").unwrap();
    assert_eq!(fs::read(target.join("annotated/a.png")).unwrap(), b"again");
    assert!(
        annotate(&["b.png"], b"")
            .unwrap_err()
            .what
            .contains("a.png")
    );
    assert_eq!(entries(&target), ["annotated"]);

    fs::remove_dir_all(&target).unwrap();
    write_results(&target, b"report").unwrap();
    annotate(&["a.png"], b"new").unwrap();
    assert_eq!(fs::read(target.join("report.html")).unwrap(), b"report");
    assert_eq!(fs::read(target.join("annotated/a.png")).unwrap(), b"new");

    fs::write(target.join("results.json"), b"foreign").unwrap();
    annotate(&["a.png"], b"").unwrap_err();
    assert_eq!(entries(parent.path()), ["results"]);
}

#[test]
fn a_new_folder_replaces_nothing() {
    let parent = tempfile::tempdir().unwrap();
    let target = parent.path().join("demo");
    fs::create_dir(&target).unwrap();
    let folder = Folder::prepare(&target, &[], Purpose::New).unwrap();
    folder.write("any/name.toml", b"x").unwrap();
    folder.finish().unwrap();
    assert!(target.join("any/name.toml").is_file());
    Folder::prepare(&target, &[], Purpose::New).unwrap_err();
}

#[test]
fn names_stay_inside_and_are_those_of_the_purpose() {
    let parent = tempfile::tempdir().unwrap();
    let folder = Folder::prepare(&parent.path().join("x"), &[], Purpose::Results).unwrap();
    for name in ["", "../up", "/abs", "annotated/../../up", "unknown.txt"] {
        assert!(folder.write(name, b"").is_err(), "{name:?}");
    }
}
