//! The gallery is kept in step: its pictures, plots and figures are those that the program makes of the sample session.
//!
//! `ENDTANK_REGENERATE=1 cargo test --test gallery` writes `docs/gallery.md` and its pictures anew and fails, so that the
//! change is looked at.
#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod workshop;

use std::fmt::Write as _;
use std::path::Path;

use workshop::{copy, repository, run, sample, text};

/// Share of a picture's bytes that may differ: labels are worked out anew on each kind of processor.
const DIFFERENT: f64 = 0.01;

/// How far a coordinate of a plot may be off, in its own pixels.
const OFF: f64 = 0.25;

/// The styles of the report's plots, for a drawing of its own.
fn styles() -> String {
    let sheet = include_str!("../src/report/html/style.css");
    let (screen, _) = sheet.split_once("@media print").unwrap();
    let (roots, rules) = screen.split_once("* { box-sizing").unwrap();
    let drawn = rules.lines().filter(|line| {
        [".ends ", ".plot", ".mark-"]
            .iter()
            .any(|class| line.starts_with(class))
    });
    let mut styles = roots.to_owned();
    for line in drawn {
        styles.push_str(line);
        styles.push('\n');
    }
    styles
        + "svg { background: var(--sheet); font-family: system-ui, sans-serif; }\n.ends { fill: var(--ink); }\n"
}

/// The plot of a report whose spoken words begin so, as a file.
fn plot(report: &str, words: &str) -> String {
    let (before, after) = report.split_once(&format!("aria-label=\"{words}")).unwrap();
    let tag = &before[before.rfind("<svg").unwrap()..];
    let class = if tag.contains("class=\"plot\"") {
        "plot"
    } else {
        "ends"
    };
    let (_, size) = tag.split_once("viewBox=\"").unwrap();
    let size = size.split('"').next().unwrap();
    let (spoken, after) = after.split_once('"').unwrap();
    let (_, drawing) = after.split_once('>').unwrap();
    let (drawing, _) = drawing.split_once("</svg>").unwrap();
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{size}\" width=\"520\" role=\"img\" aria-label=\"{words}{spoken}\" \
         font-size=\"13\">\n<style>\n{}</style>\n<g class=\"{class}\">{drawing}</g>\n</svg>\n",
        styles()
    )
}

/// A session of two pulls, logged; the second cooler loses 0.7 times as much.
fn pulls(folder: &Path) -> String {
    for (name, loss) in [("original", 1.0), ("replacement", 0.7)] {
        let mut log =
            "Time (s),RPM,MAP (kPa),Tap 2 (kPa),T1 (degC),T2 (degC),MAF (g/s)\n".to_owned();
        for row in 0..1500 {
            let time = f64::from(row) / 100.0;
            let speed = 1500.0 + 100.0 * time;
            let (flow, inlet) = (0.05 * speed, 0.06 * speed);
            let drop = 0.3 + loss * 1e-4 * flow * flow * (1.0 + 0.05 * (7.0 * time).sin());
            let outlet = inlet - drop;
            writeln!(
                log,
                "{time:.2},{speed:.0},{inlet:.3},{outlet:.3},120,45,{flow:.2}"
            )
            .unwrap();
        }
        std::fs::write(folder.join(format!("{name}.csv")), log).unwrap();
    }
    let mut session = "[conditions]\nambient = \"18 °C ± 0.5\"\nbarometer = \"1013 hPa ± 1\"\n\
                       [surface.cast]\nemissivity = \"0.9 ± 0.02\"\n"
        .to_owned();
    for name in ["original", "replacement"] {
        write!(
            session,
            "[cooler.{name}]\ninlet = \"cast\"\noutlet = \"cast\"\n"
        )
        .unwrap();
    }
    for name in ["original", "replacement"] {
        write!(
            session,
            "[[run]]\ncooler = \"{name}\"\nname = \"pull of the {name}\"\n\
             log = {{ file = \"{name}.csv\", window = \"10 to 14 s\", time = \"Time (s)\", engine-speed = \"RPM\", \
             inlet-pressure = \"MAP\", outlet-pressure = \"Tap 2\", inlet-air = \"T1\", outlet-air = \"T2\", air-flow = \"MAF\" }}\n"
        )
        .unwrap();
    }
    let path = folder.join("session.toml");
    std::fs::write(&path, session).unwrap();
    let done = run("compare", &path, &["--draws", "20000"]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    std::fs::read_to_string(folder.join("session-results/report.html")).unwrap()
}

/// The drawing that `new` lays beside a picture.
fn grid() -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    copy(&repository("sample-images/tow-truck"), folder.path());
    std::fs::remove_file(folder.path().join("session.toml")).unwrap();
    let done = run("new", folder.path(), &[]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let drawn = std::fs::read(folder.path().join("replacement-1-grid.png")).unwrap();
    // What its counts mean is not known yet; the tanks have to be seen all the same.
    let colours: std::collections::BTreeSet<Vec<u8>> =
        pixels(&drawn).2.chunks(3).map(<[u8]>::to_vec).collect();
    assert!(colours.len() > 200, "{} colours", colours.len());
    drawn
}

/// The first part of `--budget`: the answer's.
fn budget(said: &str) -> String {
    let at = said.find("Where the doubt comes from").unwrap();
    said[at..].split("\n\n").next().unwrap().to_owned()
}

fn page(budget: &str) -> String {
    format!(
        "# Gallery\n\n\
         What `endtank` makes of [the sample session](../sample-images/tow-truck/ABOUT.md), and which command makes it. \
         The vehicle, the coolers and all figures are invented.\n\n\
         ## A picture with its temperatures\n\n\
         ![Thermal picture of the replacement cooler: two taped places on each tank and a foil are outlined, each with its skin \
         and its shown temperature](images/annotated.png)\n\n\
         Each outlined region says what it is, the corrected temperature of the skin with its 95 % interval, and what the camera \
         showed. The bare aluminium beside the tapes looks as cold as the workshop that it mirrors. Made by \
         `endtank compare` and `endtank annotate`, one for each snapshot.\n\n\
         ## All coolers on one scale\n\n\
         ![Rows of small thermal pictures of both coolers on one temperature scale, as seen and as corrected](images/side-by-side.png)\n\n\
         The same colour is the same temperature in every picture. The upper row of each cooler is as the camera saw it, the lower \
         has the tanks at their corrected temperature. Made by `endtank compare` as `side-by-side.png`.\n\n\
         ## From inlet to outlet\n\n\
         ![Plot of the charge air of both coolers from inlet to outlet: both begin near 112 °C, the replacement ends lower](images/inlet-outlet.svg)\n\n\
         The charge air behind the skins, with 95 % intervals: both coolers are fed alike, and the replacement's outlet lies lower. \
         Made by `endtank compare`, in `report.html`.\n\n\
         ## Where a skin is going\n\n\
         ![Plot of four skin temperatures of a tank over time, with a curve through them that levels out inside a band](images/settling.svg)\n\n\
         Four pictures of one hold: the dots are readings, the curve tells where the skin was going, the band is the 95 % interval \
         of the steady skin. Made by `endtank compare` where a tank is read three times or more in a hold.\n\n\
         ## A pull\n\n\
         ![Plot of the pressure drop of two coolers against engine speed, with marks of different form; the replacement's rise less](images/pull.svg)\n\n\
         The pressure lost between the taps while the engine speed rises, a mark for each step of 100 rpm. The sample has no log: \
         these two are made up, the replacement losing 0.7 times as much. Made by `endtank compare` of runs with a [log](logs.md).\n\n\
         ## Where the doubt comes from\n\n\
         ```text\n{budget}\n```\n\n\
         What to improve first: the shares of the answer's doubt, and what a remedy would bring. Made by \
         `endtank compare SESSION --budget`; the report has it with bars.\n\n\
         ## A picture to read regions off\n\n\
         ![Thermal picture with pixel coordinates along its edges and boxes proposed on both tanks](images/grid.png)\n\n\
         Pixel coordinates along the edges, and where the tanks may be, to be confirmed. Made by [`endtank new`](new.md) beside each \
         picture, and without proposals by `endtank read --grid`.\n"
    )
}

/// The pixels of a PNG, as bytes.
fn pixels(bytes: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    (info.width, info.height, pixels)
}

fn same_picture(a: &[u8], b: &[u8]) -> bool {
    if b.is_empty() {
        return false;
    }
    let (a, b) = (pixels(a), pixels(b));
    let differing = a.2.iter().zip(&b.2).filter(|(a, b)| a != b).count() as f64;
    (a.0, a.1) == (b.0, b.1) && differing <= DIFFERENT * a.2.len() as f64
}

/// Whether two texts have the same words, and numbers that are as close as `off`.
fn same_text(a: &str, b: &str, off: f64) -> bool {
    let split = |text: &str| -> (String, Vec<f64>) {
        let (mut words, mut numbers, mut digits) = (String::new(), Vec::new(), String::new());
        for letter in text.chars().chain([' ']) {
            if letter.is_ascii_digit() || (letter == '.' && !digits.is_empty()) {
                digits.push(letter);
                continue;
            }
            if !digits.is_empty() {
                numbers.push(digits.trim_end_matches('.').parse().unwrap_or(f64::NAN));
                words.push('0');
                digits.clear();
            }
            words.push(letter);
        }
        (words, numbers)
    };
    let ((words, numbers), (other_words, others)) = (split(a), split(b));
    words == other_words
        && numbers.len() == others.len()
        && numbers
            .iter()
            .zip(&others)
            .all(|(a, b)| (a - b).abs() <= off)
}

#[test]
fn the_gallery_is_what_the_program_makes() {
    let (folder, session) = sample();
    let done = run("compare", &session, &["--budget"]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let results = folder.path().join("session-results");
    let report = std::fs::read_to_string(results.join("report.html")).unwrap();
    let logs = tempfile::tempdir().unwrap();
    let logged = pulls(logs.path());
    let read = |name: &str| std::fs::read(results.join(name)).unwrap();
    let page = page(&budget(&text(&done.stdout)));
    let files: [(&str, Vec<u8>); 7] = [
        ("docs/gallery.md", page.into_bytes()),
        (
            "docs/images/annotated.png",
            read("annotated/replacement-1.png"),
        ),
        ("docs/images/side-by-side.png", read("side-by-side.png")),
        ("docs/images/grid.png", grid()),
        (
            "docs/images/inlet-outlet.svg",
            plot(&report, "Charge air from inlet").into_bytes(),
        ),
        (
            "docs/images/settling.svg",
            plot(&report, "Skin over time").into_bytes(),
        ),
        (
            "docs/images/pull.svg",
            plot(&logged, "Pressure drop against").into_bytes(),
        ),
    ];
    let mut stale = Vec::new();
    for (name, made) in files {
        let path = repository(name);
        let kept = std::fs::read(&path).unwrap_or_default();
        let same = if name.ends_with(".png") {
            same_picture(&made, &kept)
        } else {
            let off = if name.ends_with(".svg") { OFF } else { 0.0 };
            same_text(&text(&made), &text(&kept), off)
        };
        if !same {
            stale.push(name);
            if std::env::var_os("ENDTANK_REGENERATE").is_some() {
                std::fs::write(&path, &made).unwrap();
            }
        }
    }
    assert!(
        stale.is_empty(),
        "not what the program makes: {stale:?}; ENDTANK_REGENERATE=1 writes them anew, once"
    );
}

/// The comparison itself can tell: it is what the test above rests on.
#[test]
fn what_differs_is_seen() {
    assert!(same_text("a 1.50 b", "a 1.6 b", 0.2) && !same_text("a 1.50 b", "a 1.8 b", 0.2));
    assert!(!same_text("a 1 b", "a 1 c", 1.0) && !same_text("a 1", "a 1 2", 1.0));
    let kept = std::fs::read(repository("docs/images/annotated.png")).unwrap();
    let other = std::fs::read(repository("docs/images/grid.png")).unwrap();
    assert!(same_picture(&kept, &kept) && !same_picture(&kept, &other));
    assert!(!same_picture(&kept, &[]));
}
