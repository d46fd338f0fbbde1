//! Broken sessions: each fault is found, shown with its line, and comes with what to write instead.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

use std::path::Path;

use endtank::diagnostics::Problems;
use endtank::session;

/// A sound session with every kind of table, to break in one place at a time.
const SOUND: &str = r#"title = "Two coolers"
baseline = "original"
primary = "outlet_normalised"

[conditions]
ambient = "18 °C ± 0.5"
reflected = "19 °C ± 2"
barometer = "1008 hPa"

[instrument.camera]
band = "8 to 14 µm"
emissivity = 0.95
accuracy = "2 °C or 2 %"
pixels = { unit = "°C" }

[instrument.gauge]
measures = ["inlet-pressure", "outlet-pressure"]

[surface.moulded]
emissivity = "0.94 ± 0.02"
wall = "3 mm"

[cooler.original]
inlet = "moulded"
outlet = "moulded"

[cooler.alloy]
inlet = "moulded"
outlet = "moulded"
tank-diameter = "55 mm"

[view.front]
regions = [
  { tank = "inlet", rectangle = [40, 60, 50, 90] },
  { tank = "outlet", polygon = [[230, 60], [280, 60], [276, 150]] },
  { role = "reflector", circle = [30, 30, 8] },
]

[[run]]
cooler = "original"
name = "first"
engine-speed = "2400 rpm"

[[run.snapshot]]
file = "original-1.tiff"
view = "front"

[[run]]
cooler = "alloy"
name = "second"

[[run.pistol]]
tank = "outlet"
reading = "31 °C"
"#;

fn refused(text: &str) -> Problems {
    match session::from_text(Path::new("session.toml"), text) {
        Ok(_) => panic!("this was accepted:\n{text}"),
        Err(problems) => problems,
    }
}

/// Breaks the sound session by replacing `from`, and asserts that exactly one problem is found: on the line that
/// holds `place`, saying `what` and offering `mend`.
fn broken(from: &str, to: &str, place: &str, what: &str, mend: &str) {
    assert!(SOUND.contains(from), "the sound session has no {from:?}");
    let text = SOUND.replacen(from, to, 1);
    let problems = refused(&text);
    let shown = problems.render(false);
    assert_eq!(problems.list.len(), 1, "{shown}");
    let before = text.find(place).expect("the place");
    let line = text[..before].matches('\n').count() + 1;
    assert!(
        shown.contains(&format!("session.toml:{line}:")),
        "line {line}\n{shown}"
    );
    assert!(problems.list[0].what.contains(what), "{what}\n{shown}");
    assert!(problems.list[0].mend.contains(mend), "{mend}\n{shown}");
    assert!(
        shown.contains("1 problem in session.toml; nothing was written"),
        "{shown}"
    );
}

#[test]
fn the_sound_session_is_sound() {
    session::from_text(Path::new("session.toml"), SOUND).unwrap();
}

/// What to replace, by what; where the problem is; what it says, and what it offers.
type Case = (
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    &'static str,
);

fn all_broken(cases: &[Case]) {
    for (from, to, place, what, mend) in cases {
        broken(from, to, place, what, mend);
    }
}

#[test]
fn traps_of_toml_itself() {
    all_broken(&[
        (
            "\"18 °C ± 0.5\"",
            "18 °C ± 0.5",
            "ambient =",
            "needs quotation marks",
            "\"18 °C ± 0.5\"",
        ),
        (
            "emissivity = 0.95",
            "emissivity = 0,95",
            "0,95",
            "decimal comma",
            "0.95",
        ),
        (
            "emissivity = 0.95",
            "emissivity = .95",
            "= .95",
            "point",
            "write 0.95",
        ),
        (
            "emissivity = 0.95",
            "emissivity = 1.",
            "= 1.",
            "point",
            "write 1.0",
        ),
        (
            "emissivity = 0.95",
            "emissivity = 00.95",
            "= 00.95",
            "zero too many",
            "without",
        ),
        (
            "emissivity = 0.95",
            "emissivity =",
            "emissivity =\n",
            "`emissivity` has no value",
            "after `=`",
        ),
        (
            "title = \"Two coolers\"",
            "title = “Two coolers”",
            "title",
            "typographic",
            "\"Two coolers\"",
        ),
        (
            "title = \"Two coolers\"",
            "title = \"Two coolers",
            "title",
            "not closed",
            "both ends",
        ),
        (
            "title = \"Two coolers\"",
            "title \"Two coolers\"",
            "title",
            "not understood",
            "key = \"value\"",
        ),
        (
            "[view.front]",
            "[view.front view]\nregions = [{ tank = \"inlet\", point = [1, 2] }]\n[view.front]",
            "[view.front view]",
            "space",
            "[view.front-view]",
        ),
        (
            "[conditions]",
            "[conditions",
            "[conditions",
            "not understood",
            "header",
        ),
        (
            "title = \"Two coolers\"",
            "title = \"a\"\ntitle = \"b\"",
            "title = \"b\"",
            "twice",
            "keep one",
        ),
        (
            "original-1.tiff",
            "folder\\x.tiff",
            "file =",
            "backslash",
            "`/`",
        ),
        (
            "original-1.tiff",
            "folder\\new.tiff",
            "file =",
            "backslash",
            "`/`",
        ),
    ]);
}

#[test]
fn keys_and_tables_in_the_wrong_place() {
    all_broken(&[
        (
            "barometer",
            "barometre",
            "barometre",
            "unknown key `barometre` in `conditions`",
            "`barometer`",
        ),
        (
            "wall = ",
            "zzzzzz = ",
            "zzzzzz",
            "unknown key",
            "its keys are `like`, `emissivity`",
        ),
        (
            "title",
            "titel",
            "titel",
            "unknown key `titel` in the session",
            "`title`",
        ),
        (
            "view = \"front\"\n",
            "view = \"front\"\nhold = \"60 s\"\n",
            "hold =",
            "belongs to the run",
            "above the first",
        ),
        (
            "reading = \"31 °C\"\n",
            "reading = \"31 °C\"\n[run.conditions]\nair-flow = \"1 kg/s\"\n",
            "air-flow",
            "belongs to the run",
            "directly below [[run]]",
        ),
        (
            "[[run.snapshot]]",
            "[run.snapshot]",
            "[run.snapshot]",
            "several snapshots",
            "[[run.snapshot]]",
        ),
        (
            "[surface.moulded]",
            "[surface]\nnote = 1\n[surface.moulded]",
            "note",
            "only named tables",
            "[surface.NAME]",
        ),
    ]);
}

#[test]
fn names_that_do_not_exist() {
    all_broken(&[
        (
            "baseline = \"original\"",
            "baseline = \"orignal\"",
            "orignal",
            "no cooler `orignal`",
            "`original`",
        ),
        (
            "outlet_normalised",
            "outlet-normalized",
            "primary",
            "no quantity",
            "`outlet_normalised`",
        ),
        (
            "inlet = \"moulded\"",
            "inlet = \"molded\"",
            "molded",
            "no surface `molded`",
            "`moulded`",
        ),
        (
            "view = \"front\"",
            "view = \"rear\"",
            "rear",
            "no view `rear`",
            "the session's views are `front`",
        ),
        (
            "view = \"front\"",
            "view = \"front\"\ninstrument = \"camra\"",
            "camra",
            "no instrument `camra`",
            "`camera`",
        ),
        (
            "view = \"front\"",
            "view = \"front\"\ninstrument = \"gauge\"",
            "\"gauge\"",
            "is a gauge",
            "thermal",
        ),
        (
            "\"alloy\"",
            "\"alloys\"",
            "alloys",
            "no cooler `alloys`",
            "`alloy`",
        ),
        (
            "role = \"reflector\"",
            "role = \"reflektor\"",
            "reflektor",
            "unknown role",
            "`reflector`",
        ),
        (
            "tank = \"outlet\"\nreading",
            "tank = \"exit\"\nreading",
            "exit",
            "unknown tank",
            "`inlet`, `outlet`",
        ),
        (
            "\"inlet-pressure\"",
            "\"inlet-presure\"",
            "presure",
            "no gauge measures",
            "`inlet-pressure`",
        ),
    ]);
}

#[test]
fn values_that_cannot_be() {
    all_broken(&[
        ("\"1008 hPa\"", "1008", "barometer", "has no unit", "hPa"),
        (
            "\"1008 hPa\"",
            "\"1008 °C\"",
            "barometer",
            "a pressure is expected",
            "`hPa`",
        ),
        (
            "\"1008 hPa\"",
            "\"1008 Pa\"",
            "barometer",
            "must be between 300 hPa and 1200 hPa",
            "unit",
        ),
        (
            "\"19 °C ± 2\"",
            "\"19,5 °C\"",
            "reflected",
            "decimal comma",
            "19.5",
        ),
        (
            "\"19 °C ± 2\"",
            "\"19 °C ± 0\"",
            "reflected",
            "not above zero",
            "limits",
        ),
        (
            "\"19 °C ± 2\"",
            "\"19 K\"",
            "reflected",
            "between -73 °C and 1227 °C",
            "unit",
        ),
        (
            "\"19 °C ± 2\"",
            "\"19 °C ± 400\"",
            "reflected",
            "absolute zero",
            "limits",
        ),
        (
            "\"19 °C ± 2\"",
            "true",
            "reflected",
            "must be a temperature, but this is true or false",
            "quotes",
        ),
        ("\"3 mm\"", "\"-3 mm\"", "wall", "above zero", "check"),
        (
            "emissivity = 0.95",
            "emissivity = 1.2",
            "1.2",
            "above 0 and at most 1",
            "check",
        ),
        (
            "emissivity = 0.95",
            "emissivity = \"0.95 ± 0.01\"",
            "0.95 ±",
            "setting",
            "alone",
        ),
        (
            "emissivity = 0.95",
            "emissivity = nan",
            "nan",
            "number",
            "write",
        ),
        (
            "\"0.94 ± 0.02\"",
            "0",
            "emissivity = 0\n",
            "above 0",
            "check",
        ),
        (
            "\"0.94 ± 0.02\"",
            "\"from tape\"",
            "from tape",
            "unknown emissivity",
            "\"from patch\"",
        ),
        ("8 to 14 µm", "8 µm", "band", "no two ends", "8 to 14 µm"),
        (
            "2 °C or 2 %",
            "2 °C or 3 K",
            "accuracy",
            "twice",
            "one absolute",
        ),
        (
            "{ unit = \"°C\" }",
            "{ unit = \"bar\" }",
            "pixels",
            "no unit of temperature",
            "\"K\"",
        ),
        (
            "{ unit = \"°C\" }",
            "{ zero = \"0 K\" }",
            "pixels",
            "one thing",
            "step",
        ),
        (
            "{ unit = \"°C\" }",
            "{ sakuma-hattori = { a = -9, b = 1, c = 1 } }",
            "pixels",
            "no signal that rises",
            "above zero",
        ),
        (
            "\"55 mm\"",
            "\"55 mm\"\ninner-film = \"80 W/(m2 K)\"",
            "[cooler.alloy]",
            "both",
            "keep one",
        ),
        (
            "\"1008 hPa\"",
            "\"1008 hPa\"\nair-speed = \"4 m/s\"\nouter-film = \"25 W/(m2 K)\"",
            "[conditions]",
            "both",
            "keep one",
        ),
    ]);
}

#[test]
fn what_is_missing() {
    all_broken(&[
        (
            "emissivity = 0.95\n",
            "",
            "[instrument.camera]",
            "has no `emissivity`",
            "emissivity = 0.95",
        ),
        (
            "emissivity = \"0.94 ± 0.02\"\n",
            "",
            "[surface.moulded]",
            "has no `emissivity`",
            "like = \"plastic-black\"",
        ),
        (
            "emissivity = \"0.94 ± 0.02\"\n",
            "like = \"plastic-blak\"\n",
            "plastic-blak",
            "no preset `plastic-blak`",
            "did you mean `plastic-black`?",
        ),
        (
            "emissivity = \"0.94 ± 0.02\"\n",
            "like = \"unobtainium\"\n",
            "unobtainium",
            "no preset `unobtainium`",
            "`tape-electrical`",
        ),
        (
            "inlet = \"moulded\"\n",
            "",
            "[cooler.original]",
            "has no `inlet`",
            "inlet =",
        ),
        (
            "tank = \"inlet\", ",
            "",
            "{ rectangle",
            "has no `tank`",
            "tank = \"inlet\"",
        ),
        (
            ", circle = [30, 30, 8]",
            "",
            "role = \"reflector\"",
            "without a shape",
            "circle = [x, y, radius]",
        ),
        (
            "role = \"reflector\"",
            "role = \"patch\", tank = \"inlet\"",
            "role = \"patch\"",
            "has no `surface`",
            "\"tape\"",
        ),
        (
            "role = \"reflector\"",
            "role = \"reference\"",
            "role = \"reference\"",
            "has no `temperature`",
            "45 °C",
        ),
        (
            "role = \"reflector\"",
            "role = \"reflector\", temperature = \"20 °C\"",
            "temperature =",
            "only a region of role",
            "reference",
        ),
        (
            "file = \"original-1.tiff\"\n",
            "",
            "[[run.snapshot]]",
            "has no `file`",
            "file =",
        ),
        (
            "view = \"front\"\n",
            "",
            "[[run.snapshot]]",
            "without regions",
            "view =",
        ),
        (
            "view = \"front\"\n",
            "view = \"front\"\nregions = []\n",
            "regions = []",
            "both `view` and `regions`",
            "keep one",
        ),
        (
            "cooler = \"alloy\"\n",
            "",
            "[[run]]\nname",
            "has no `cooler`",
            "cooler =",
        ),
        (
            "[[run.pistol]]\ntank = \"outlet\"\nreading = \"31 °C\"\n",
            "",
            "[[run]]\ncooler = \"alloy\"",
            "nothing measured",
            "[[run.snapshot]]",
        ),
        (
            "[instrument.gauge]\nmeasures",
            "[instrument.second]\nemissivity = 1\ndistance-ratio = 12\n[instrument.third]\nemissivity = 1\n[instrument.gauge]\nmeasures",
            "[[run.snapshot]]",
            "several instruments",
            "instrument =",
        ),
        (
            "[cooler.alloy]",
            "[cooler.idle]\ninlet = \"moulded\"\noutlet = \"moulded\"\n[cooler.alloy]",
            "[cooler.idle]",
            "has no run",
            "cooler = \"idle\"",
        ),
        (
            "name = \"second\"",
            "name = \"first\"",
            "name = \"first\"\n\n[[run.pistol]]",
            "two runs are named `first`",
            "own name",
        ),
    ]);
}

#[test]
fn shapes_that_cover_nothing() {
    all_broken(&[
        (
            "[40, 60, 50, 90]",
            "[40, 60, 0, 90]",
            "rectangle",
            "no width above zero",
            "pixels",
        ),
        (
            "[40, 60, 50, 90]",
            "[40, 60, 50]",
            "rectangle",
            "3 numbers instead of 4",
            "[x, y, width, height]",
        ),
        (
            "[40, 60, 50, 90]",
            "[40, 60, 50, \"90\"]",
            "rectangle",
            "plain number",
            "[x, y, width, height]",
        ),
        (
            "[40, 60, 50, 90]",
            "[40, 1e9, 50, 90]",
            "rectangle",
            "too far",
            "pixels",
        ),
        (
            "[40, 60, 50, 90]",
            "[40, inf, 50, 90]",
            "rectangle",
            "finite",
            "[x, y, width, height]",
        ),
        (
            "[[230, 60], [280, 60], [276, 150]]",
            "[[230, 60], [280, 60]]",
            "polygon",
            "2 corners",
            "three",
        ),
        (
            "[[230, 60], [280, 60], [276, 150]]",
            "[[1, 1], [2, 2], [3, 3]]",
            "polygon",
            "one line",
            "corners",
        ),
        (
            "[30, 30, 8]",
            "[30, 30, -8]",
            "circle",
            "no radius above zero",
            "pixels",
        ),
        (
            "circle = [30, 30, 8]",
            "line = [[1, 2], [1, 2]]",
            "line = [[",
            "two different points",
            "line = ",
        ),
        (
            "circle = [30, 30, 8]",
            "circle = [30, 30, 8], point = [1, 1]",
            "point",
            "more than one shape",
            "exclude",
        ),
    ]);
}

#[test]
fn two_regions_of_one_name() {
    let text = SOUND
        .replace(
            "{ tank = \"inlet\", r",
            "{ name = \"a\", tank = \"inlet\", r",
        )
        .replace("{ role", "{ name = \"a\", role");
    let problems = refused(&text);
    assert_eq!(problems.list.len(), 1, "{problems}");
    assert!(problems.list[0].what.contains("named `a`"), "{problems}");
}

#[test]
fn runs_in_single_brackets_or_none() {
    let head = SOUND.split("[[run]]").next().unwrap();
    let problems = refused(&format!(
        "{head}[run]\ncooler = \"original\"\n[[run.snapshot]]\nfile = \"a.tiff\"\n"
    ));
    assert_eq!(problems.list.len(), 1, "{problems}");
    assert!(
        problems.list[0].mend.contains("[[run]] instead of [run]"),
        "{problems}"
    );
    let problems = refused(&format!(
        "{head}[[run.snapshot]]\nfile = \"a.tiff\"\n[[run]]\ncooler = \"original\"\n"
    ));
    assert_eq!(problems.list.len(), 1, "{problems}");
    assert!(
        problems.list[0].what.contains("before any [[run]]"),
        "{problems}"
    );
    let problems = refused(head);
    assert_eq!(problems.list.len(), 1, "{problems}");
    assert!(problems.list[0].mend.contains("[[run]]"), "{problems}");
}

#[test]
fn ambient_may_stand_in_every_run_instead() {
    let without = SOUND.replacen("ambient = \"18 °C ± 0.5\"\n", "", 1);
    let problems = refused(&without);
    assert_eq!(problems.list.len(), 2, "both runs lack it\n{problems}");
    assert!(
        problems
            .list
            .iter()
            .all(|problem| problem.what.contains("has no `ambient`")),
        "{problems}"
    );
    let own = |text: &str, at: &str| {
        text.replacen(
            at,
            &format!("conditions = {{ ambient = \"18 °C\" }}\n{at}"),
            1,
        )
    };
    let with = own(&own(&without, "name = \"first\""), "name = \"second\"");
    session::from_text(Path::new("session.toml"), &with).unwrap();
}

#[test]
fn a_picture_without_any_thermal_instrument_is_said_once() {
    let start = SOUND.find("[instrument.camera]").unwrap();
    let end = SOUND.find("[instrument.gauge]").unwrap();
    let text = format!("{}{}", &SOUND[..start], &SOUND[end..]);
    let problems = refused(&text);
    assert_eq!(problems.list.len(), 1, "{problems}");
    assert!(
        problems.list[0].mend.contains("[instrument.camera]"),
        "{problems}"
    );
}

#[test]
fn a_misspelt_kind_of_table_is_said_once_not_for_everything_that_names_it() {
    for (from, to) in [
        ("[surface.", "[surfaces."),
        ("[instrument.", "[instruments."),
        ("[[run", "[[runs"),
    ] {
        let problems = refused(&SOUND.replace(from, to));
        assert_eq!(problems.list.len(), 1, "{problems}");
        let meant = from.trim_matches(['[', '.']);
        assert!(
            problems.list[0].mend.contains(&format!("`{meant}`")),
            "{problems}"
        );
    }
}

#[test]
fn a_line_that_is_lost_does_not_make_its_key_missing() {
    let text = SOUND.replacen("ambient = ", "ambient ", 1);
    let problems = refused(&text);
    assert_eq!(problems.list.len(), 1, "{problems}");
    assert!(
        problems.render(false).contains("session.toml:6:"),
        "{problems}"
    );
}

#[test]
fn several_problems_are_found_in_one_pass_in_the_order_of_the_file() {
    let problems = refused(include_str!("data/session/broken.toml"));
    insta::assert_snapshot!(problems.render(false));
}

#[test]
fn colours_only_where_they_are_asked_for() {
    let problems = refused("a = 1");
    assert!(!problems.render(false).contains('\u{1b}'));
    assert!(problems.render(true).contains('\u{1b}'));
    assert_eq!(problems.to_string(), problems.render(false));
}

#[test]
fn a_very_long_line_is_shown_in_part() {
    let text = format!("{}titel = 1 # {}", "", "x".repeat(100_000));
    let shown = refused(&text).render(false);
    assert!(shown.contains("did you mean `title`?"), "{shown}");
    assert!(shown.len() < 2_000, "{} bytes", shown.len());
}
