//! The documents are tested: commands, sessions, keys, cautions and links in them are those of the program.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use endtank::caution::CautionId;
use endtank::quantity::QuantityId;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn text(name: &str) -> String {
    std::fs::read_to_string(root().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn endtank(arguments: &[&str], folder: &Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_endtank"));
    command.args(arguments).current_dir(folder);
    command.output().unwrap()
}

/// The first fenced block of a language.
fn fenced<'t>(page: &'t str, language: &str) -> &'t str {
    let (_, after) = page.split_once(&format!("```{language}\n")).unwrap();
    after.split_once("```").unwrap().0
}

/// Everything that stands in single back-ticks.
fn quoted(text: &str) -> BTreeSet<String> {
    text.split('`')
        .skip(1)
        .step_by(2)
        .map(str::to_owned)
        .collect()
}

#[test]
fn the_two_commands_of_the_readme_are_checked() {
    let (readme, checks) = (text("README.md"), text(".ci/run"));
    let commands: Vec<&str> = fenced(&readme, "sh").lines().collect();
    assert_eq!(commands.len(), 2, "{commands:?}");
    for command in commands {
        assert!(checks.lines().any(|line| line == command), "{command}");
    }
}

#[test]
fn the_first_session_of_the_readme_works() {
    let readme = text("README.md");
    let session = fenced(&readme, "toml");
    assert!(session.lines().count() <= 10);
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("session.toml"), session).unwrap();
    for (name, inlet, outlet) in [("original", 62.5, 34.2), ("replacement", 64.0, 30.0)] {
        let mut picture = String::new();
        for _ in 0..50 {
            let cells = (0..80).map(|column| match column {
                10..20 => inlet,
                60..70 => outlet,
                _ => 22.0_f64,
            });
            let cells: Vec<String> = cells.map(|celsius| format!("{celsius:.1}")).collect();
            writeln!(picture, "{}", cells.join(",")).unwrap();
        }
        std::fs::write(folder.path().join(format!("{name}.csv")), picture).unwrap();
    }
    let done = endtank(&["compare", "session.toml"], folder.path());
    let said = String::from_utf8_lossy(&done.stdout);
    assert_eq!(
        done.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    assert!(
        said.contains("Outlet skin, like for like") && said.contains("needs repeats"),
        "{said}"
    );
    for file in [
        "report.html",
        "readings.csv",
        "comparison.csv",
        "results.json",
        "side-by-side.png",
    ] {
        assert!(
            folder.path().join("session-results").join(file).is_file(),
            "{file}"
        );
        assert!(readme.contains(file), "{file}");
    }
}

/// The example of a picture in colours reads a sensible temperature of the tape.
#[test]
fn the_picture_in_colours_of_the_readme_is_read() {
    let readme = text("README.md");
    let (_, after) = readme.split_once("## Pictures in colours").unwrap();
    let command = fenced(after, "sh").replace("\\\n", " ");
    let options = command.trim().strip_prefix("cargo run --release -- ");
    // What stands in quotes is one word.
    let words: Vec<&str> = options
        .unwrap()
        .split('"')
        .enumerate()
        .flat_map(|(at, part)| match at % 2 {
            0 => part.split_whitespace().collect(),
            _ => vec![part],
        })
        .chain(["--json"])
        .collect();
    let done = endtank(&words, &root());
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(0), "{said}");
    let results: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
    let skin = results["readings"][0]["surface_temperature"]["value"].as_f64();
    // The truth of the sample is 64.0 °C.
    assert!((62.0..66.0).contains(&skin.unwrap()), "{skin:?}");
}

#[test]
fn the_readme_has_the_commands_of_the_help() {
    let help = endtank(&["--help"], &root());
    let help = String::from_utf8(help.stdout).unwrap();
    let (_, commands) = help.split_once("Commands:\n").unwrap();
    let names = commands.lines().take_while(|line| !line.trim().is_empty());
    let names: BTreeSet<String> = names
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .map(|line| line.split_whitespace().next().unwrap().to_owned())
        .collect();
    let readme = text("README.md");
    let rows = readme
        .lines()
        .filter_map(|line| line.strip_prefix("| `endtank "));
    let written: BTreeSet<String> = rows
        .map(|row| row.split([' ', '`']).next().unwrap().to_owned())
        .collect();
    assert_eq!(names, written);
    for option in ["--out", "--jobs", "--seed", "--draws", "--quiet", "--scale"] {
        assert!(readme.contains(option), "{option}");
    }
}

#[test]
fn the_exit_statuses_are_those_of_the_readme() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(
        endtank(&["check", "nothing.toml"], folder.path())
            .status
            .code(),
        Some(1)
    );
    assert_eq!(endtank(&["chekc"], folder.path()).status.code(), Some(2));
    assert_eq!(
        endtank(&["completions", "zsh"], folder.path())
            .status
            .code(),
        Some(0)
    );
}

/// A key that no table has, put into every kind of table so that the reader lists the keys it knows.
const UNKNOWN: &str = "qqqqqqqqqqqqqqqq = 1";

/// Kind of table, as headed in `docs/session.md`; its place in messages; where to put the unknown key in the full session.
const KINDS: &[(&str, &str, &str)] = &[
    ("session", "the session", "baseline ="),
    ("conditions", "`conditions`", "ambient ="),
    (
        "repeatability",
        "`repeatability`",
        "temperature = \"0.8 K\"",
    ),
    ("instrument", "`instrument.camera`", "band ="),
    ("gauge", "`instrument.gauge`", "measures ="),
    ("surface", "`surface.moulded`", "like ="),
    ("cooler", "`cooler.original`", "label ="),
    ("view", "`view.front`", "regions = ["),
    ("run", "`run.hold 1`", "engine-speed ="),
    ("log", "`run.hold 1.log`", "  window ="),
    (
        "column",
        "`run.hold 1.log.inlet-pressure`",
        "    unit = \"kPa\"",
    ),
    (
        "contact",
        "`run.hold 1.contact 1`",
        "temperature = \"71.3 °C ± 1\"",
    ),
    ("snapshot", "`run.hold 1.snapshot 1`", "at = \"60 s\""),
    ("pistol", "`run.hold 1.pistol 1`", "reading ="),
    ("region", "`view.front.rib`", "    use = \"median\""),
];

/// The keys of every kind of table, as the reader itself lists them.
fn known_keys() -> BTreeMap<&'static str, BTreeSet<String>> {
    let full = text("tests/data/session/full.toml");
    let mut keys = BTreeMap::new();
    for (kind, place, line) in KINDS {
        let at_line_start = format!("\n{line}");
        assert!(full.contains(&at_line_start), "{line}");
        let inline = ["region", "log", "column"].contains(kind);
        let ending = if inline { "," } else { "" };
        let broken = full.replacen(
            &at_line_start,
            &format!("\n{UNKNOWN}{ending}{at_line_start}"),
            1,
        );
        let problems = endtank::session::from_text(Path::new("full.toml"), &broken).unwrap_err();
        let listed = problems.list.iter().find(|problem| {
            problem.what.starts_with("unknown key") && problem.what.ends_with(place)
        });
        let listed = listed.unwrap_or_else(|| panic!("{place}: {problems}"));
        assert!(listed.mend.starts_with("its keys are"), "{}", listed.mend);
        assert!(!listed.mend.contains('…'), "{}", listed.mend);
        keys.insert(*kind, quoted(&listed.mend));
    }
    keys
}

/// The rows of each section of `docs/session.md`: key and the rest, by the kind in the section's `<a id>`.
fn documented_keys() -> BTreeMap<String, BTreeMap<String, String>> {
    let page = text("docs/session.md");
    let mut sections: BTreeMap<String, BTreeMap<String, String>> = BTreeMap::new();
    let mut kind = String::new();
    for line in page.lines() {
        if let Some(id) = line.strip_prefix("<a id=\"") {
            id.split('"').next().unwrap().clone_into(&mut kind);
        } else if let Some(row) = line.strip_prefix("| `") {
            let (key, rest) = row.split_once('`').unwrap();
            let section = sections.entry(kind.clone()).or_default();
            assert!(
                section.insert(key.to_owned(), rest.to_owned()).is_none(),
                "{key} twice"
            );
        }
    }
    sections
}

#[test]
fn the_manual_has_every_key_of_the_reader_and_no_other() {
    let documented = documented_keys();
    for (kind, keys) in known_keys() {
        let mut rows: BTreeSet<String> = documented[kind].keys().cloned().collect();
        // One reader serves thermal instruments and gauges: it lists the key that tells them apart for both.
        if kind == "instrument" {
            rows.insert("measures".to_owned());
        }
        assert_eq!(rows, keys, "{kind}");
    }
}

/// Fails unless the committed file is the generated one; regenerating never passes for testing.
fn committed(name: &str, generated: &str) {
    let found = std::fs::read_to_string(root().join(name)).unwrap_or_default();
    if std::env::var_os("ENDTANK_REGENERATE").is_some() && found != generated {
        std::fs::write(root().join(name), generated).unwrap();
        panic!("{name} has been regenerated: look at the change, then test again");
    }
    assert!(
        found == generated,
        "{name} is not what the code generates; set ENDTANK_REGENERATE=1 to write it anew"
    );
}

/// All sources below a folder, joined.
fn sources(folder: &Path) -> String {
    let mut joined = String::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            joined += &sources(&path);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            joined += &std::fs::read_to_string(path).unwrap();
        }
    }
    joined
}

#[test]
fn the_table_of_cautions_is_the_generated_one() {
    // What the comparing stage and single readings raise; the other kinds wait for the stages that will.
    let raising = sources(&root().join("src/compare")) + &sources(&root().join("src/cli/read"));
    let mut page = String::from(
        "# Cautions\n\nA questionable figure is reported with its caution, never dropped and never passed off as sound.\n\
         Kinds that are not raised yet belong to what [is not done yet](limits.md).\n\n\
         | id | meaning | advice | raised |\n| --- | --- | --- | --- |\n",
    );
    for id in CautionId::ALL {
        let raised = raising.contains(&format!("CautionId::{id:?}"));
        let raised = if raised { "yes" } else { "not yet" };
        writeln!(
            page,
            "| `{}` | {} | {} | {raised} |",
            id.id(),
            id.meaning(),
            id.advice()
        )
        .unwrap();
    }
    committed("docs/cautions.md", &page);
}

#[test]
fn every_quantity_and_every_key_of_the_results_is_documented() {
    let page = quoted(&text("docs/results.md"));
    for id in QuantityId::ALL {
        assert!(page.contains(id.id()), "{}", id.id());
    }
    let schema: serde_json::Value =
        serde_json::from_str(&text("docs/results.schema.json")).unwrap();
    let definitions = schema["$defs"].as_object().unwrap().values();
    let keys: BTreeSet<&String> = definitions
        .chain([&schema])
        .filter_map(|definition| definition["properties"].as_object())
        .flat_map(|properties| properties.keys())
        .collect();
    assert!(keys.len() > 30);
    for key in keys {
        assert!(page.contains(key), "{key}");
    }
}

#[test]
fn every_link_leads_somewhere() {
    let mut pages = vec!["README.md".to_owned(), "DEVELOPERS.md".to_owned()];
    for entry in std::fs::read_dir(root().join("docs")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".md") {
            pages.push(format!("docs/{name}"));
        }
    }
    let mut links = 0;
    for page in pages {
        let folder = root().join(&page).parent().unwrap().to_owned();
        for part in text(&page).split("](").skip(1) {
            let target = part.split(')').next().unwrap();
            let file = target.split('#').next().unwrap();
            assert!(
                !target.contains("://"),
                "{page}: {target} is outside the repository"
            );
            assert!(
                file.is_empty() || folder.join(file).exists(),
                "{page}: {target}"
            );
            links += 1;
        }
    }
    assert!(links > 20, "{links}");
}

#[test]
fn every_module_has_its_line_for_developers() {
    let page = text("DEVELOPERS.md");
    for line in text("src/lib.rs").lines() {
        if let Some(module) = line.strip_prefix("pub mod ") {
            let module = module.trim_end_matches(';');
            assert!(page.contains(&format!("| `{module}")), "{module}");
        }
    }
}
