//! The text of a first session: what is known, what is proposed and what is blank, with remarks that teach the keys.

use super::names::{self, Cooler};
use super::scan::{Found, Meaning};
use crate::propose::Proposal;
use crate::session::Tank;

/// Columns of a remark.
const WIDTH: usize = 118;

/// The column at which a remark stands beside its key.
const BESIDE: usize = 33;

/// Lines being written.
#[derive(Default)]
struct Lines(String);

impl Lines {
    fn line(&mut self, line: &str) {
        self.0.push_str(line.trim_end());
        self.0.push('\n');
    }

    fn blank(&mut self) {
        self.0.push('\n');
    }

    /// A key with a remark beside it.
    fn key(&mut self, key: &str, remark: &str) {
        let gap = BESIDE.saturating_sub(key.chars().count()).max(1);
        self.line(&format!("{key}{}# {remark}", " ".repeat(gap)));
    }

    /// A remark, broken into lines.
    fn remark(&mut self, text: &str) {
        let mut line = "#".to_owned();
        for word in text.split_whitespace() {
            if line.len() > 1 && line.chars().count() + 1 + word.chars().count() > WIDTH {
                self.line(&line);
                "#".clone_into(&mut line);
            }
            line.push(' ');
            line.push_str(word);
        }
        self.line(&line);
    }
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// The session of pictures in their order.
pub(super) fn write(title: &str, found: &[Found], remarks: &[String]) -> String {
    let files: Vec<&str> = found.iter().map(|picture| picture.file.as_str()).collect();
    let (coolers, of_file) = names::coolers(&files);
    let views = names::views(&files);
    let of_camera = of_camera(found);
    let mut out = Lines::default();
    head(&mut out, title, &coolers);
    camera(&mut out, found, of_camera);
    tanks(&mut out, &coolers);
    of_coolers(&mut out, &coolers);
    out.remark("Where to read in the pictures, in pixels from the top left corner: x, y, width, height. Stay a few pixels inside the edges, where the picture is blurred. If the camera stood on a tripod, one view serves several pictures: keep it, and name it in each [[run.snapshot]].");
    for (picture, view) in found.iter().zip(&views) {
        out.blank();
        regions(&mut out, picture, view);
    }
    out.blank();
    out.remark("The runs: one for each picture. Where several pictures show one hold, put their [[run.snapshot]] below one [[run]]. Two holds or more of each cooler tell a difference from chance.");
    if found.iter().all(|picture| picture.captured.is_some()) {
        out.remark("They are in the order in which the pictures were taken.");
    } else {
        out.remark("They are in the order of the pictures' names: not all of them say when they were taken.");
    }
    for (index, (picture, view)) in found.iter().zip(&views).enumerate() {
        out.blank();
        let cooler = of_file.get(index).and_then(|&cooler| coolers.get(cooler));
        run(&mut out, index, picture, view, cooler);
        snapshot(&mut out, picture, of_camera);
    }
    if !remarks.is_empty() {
        out.blank();
        out.remark("Files of this folder that are not in the session:");
        for remark in remarks {
            out.remark(remark);
        }
    }
    out.0
}

fn head(out: &mut Lines, title: &str, coolers: &[Cooler]) {
    out.remark("A first session, written from the pictures of this folder. Every \"?\" is a blank to fill in; `endtank check` lists what is left. What is proposed has to be confirmed. Lines that begin with # are remarks: take the # away where such a line is wanted.");
    out.remark("Every value that has a unit is written in quotes, with its unit. \"± 0.5\" means: somewhere within half a degree.");
    out.blank();
    out.line(&format!("title = {}", quoted(title)));
    if let Some(first) = coolers.first() {
        let key = format!("baseline = {}", quoted(&first.key));
        out.key(
            &key,
            "the cooler that the others are compared with: confirm",
        );
    }
    out.key(
        "# matters = \"2 K\"",
        "a smaller difference at the outlet is nothing to the customer",
    );
    out.blank();
    out.remark("What holds for all runs. A run may say otherwise in its own [run.conditions].");
    out.line("[conditions]");
    out.key(
        "ambient = \"?\"",
        "the air in the shop, for instance \"18 °C ± 0.5\"",
    );
    out.key(
        "# reflected = \"21 °C ± 3\"",
        "what the tanks mirror, as crumpled foil beside them shows it",
    );
    out.key(
        "# barometer = \"1012 hPa ± 2\"",
        "in the shop, not the sea-level figure of the forecast",
    );
    out.blank();
}

/// The container whose numbers the camera's own `pixels` explain: the commonest of those that do not say what they mean.
/// `None` where grey pictures would be taken for numbers then.
fn of_camera(found: &[Found]) -> Option<&str> {
    let unknown = || {
        found.iter().filter_map(|picture| match &picture.meaning {
            Meaning::Unknown { container, .. } => Some(container.as_str()),
            _ => None,
        })
    };
    let grey = |picture: &Found| matches!(picture.meaning, Meaning::Colours { grey: true, .. });
    if found.iter().any(grey) {
        return None;
    }
    let count = |container: &str| unknown().filter(|other| *other == container).count();
    // The first of those that are as common.
    unknown().fold(None, |best, container| match best {
        Some(best) if count(best) >= count(container) => Some(best),
        _ => Some(container),
    })
}

fn camera(out: &mut Lines, found: &[Found], of_camera: Option<&str>) {
    out.remark("The camera. Copy its settings from its menu and its accuracy from its data sheet.");
    out.line("[instrument.camera]");
    out.key(
        "emissivity = \"?\"",
        "what it was set to, for instance 0.95; endtank undoes this setting",
    );
    out.key(
        "# reflected = \"20 °C\"",
        "what it was set to; taken as the ambient where it is not stated",
    );
    out.key(
        "# accuracy = \"2 °C or 2 %\"",
        "whichever is greater; this is taken where it is not stated",
    );
    out.key(
        "# band = \"8 to 14 µm\"",
        "this is taken where it is not stated",
    );
    let meant = found.iter().find_map(|picture| match &picture.meaning {
        Meaning::Unknown { container, mend } if Some(container.as_str()) == of_camera => {
            Some((container, mend))
        }
        _ => None,
    });
    if let Some((container, mend)) = meant {
        meanings(out, container, mend);
        out.line("pixels = \"?\"");
    }
    out.blank();
    out.remark("A gauge, if pressures were read: its own error is in all its readings alike.");
    out.line("# [instrument.gauge]");
    out.line("# measures = [\"inlet-pressure\", \"outlet-pressure\"]");
    out.line("# accuracy = \"2 kPa\"");
    out.blank();
}

/// How the loader begins to propose what numbers may mean; the proposals follow.
const CHOOSE: &str = "State it on the instrument, choosing what fits the picture: ";

/// What numbers may mean, an example a line.
fn meanings(out: &mut Lines, container: &str, mend: &str) {
    out.remark(&format!(
        "What the numbers mean ({container}): the file does not say."
    ));
    match mend.strip_prefix(CHOOSE) {
        Some(proposals) => {
            for proposal in proposals.trim_end_matches('.').split(';') {
                out.line(&format!("# {}", proposal.trim()));
            }
            out.remark(
                "Another step is possible too: the camera's manual or the export says which.",
            );
        }
        None => out.remark(mend),
    }
}

fn tanks(out: &mut Lines, coolers: &[Cooler]) {
    out.remark("What the tanks are made of. Matt black plastic radiates nearly all it can; bare aluminium mostly mirrors and is better read on tape. `endtank surfaces` lists the presets. Instead of `like`, emissivity = \"0.94 ± 0.02\" serves too.");
    for cooler in coolers {
        out.line(&format!("[surface.{}-tanks]", cooler.key));
        out.key(
            "like = \"?\"",
            "for instance \"plastic-black\" or \"aluminium-sheet\"",
        );
        out.key(
            "# wall = \"3 mm ± 0.2\"",
            "leads from the skin to the air inside",
        );
        out.blank();
    }
    out.remark("For patches of tape on a bare tank; their regions then say surface = \"tape\".");
    out.line("# [surface.tape]");
    out.line("# emissivity = \"0.95 ± 0.02\"");
    out.line("# shared = true");
    out.blank();
}

fn of_coolers(out: &mut Lines, coolers: &[Cooler]) {
    out.remark(if coolers.len() > 1 {
        "The coolers, guessed from the names of the pictures: confirm."
    } else {
        "The names of the pictures do not tell coolers apart: copy this table and that of its surface for each further cooler, and name it in its runs."
    });
    for cooler in coolers {
        out.line(&format!("[cooler.{}]", cooler.key));
        let label = if cooler.label.is_empty() {
            &cooler.key
        } else {
            &cooler.label
        };
        out.key(
            &format!("label = {}", quoted(label)),
            "what the customer calls it",
        );
        for tank in Tank::BOTH {
            out.line(&format!("{} = \"{}-tanks\"", tank.word(), cooler.key));
        }
        out.blank();
    }
}

fn regions(out: &mut Lines, picture: &Found, view: &str) {
    let grid = &picture.grid;
    if picture.regions.is_empty() {
        out.remark(&format!(
            "nothing here looks like two tanks: read both off {grid}"
        ));
    } else {
        out.remark(&format!(
            "proposed: look at {grid} and confirm; the hotter tank was taken for the inlet"
        ));
    }
    let of = |tank: Tank| {
        picture
            .regions
            .iter()
            .filter(move |region| region.tank == tank)
    };
    if Tank::BOTH.iter().any(|&tank| of(tank).count() > 1) {
        out.remark(
            "Pieces of one tank may be patches of tape: then add surface = \"tape\" to each.",
        );
    }
    out.line(&format!("[view.{view}]"));
    out.line("regions = [");
    for tank in Tank::BOTH {
        let mut rectangles: Vec<String> = of(tank).map(rectangle).collect();
        if rectangles.is_empty() {
            rectangles.push("\"?\"".to_owned());
        }
        for rectangle in rectangles {
            out.line(&format!(
                "  {{ tank = \"{}\", rectangle = {rectangle} }},",
                tank.word()
            ));
        }
    }
    out.line("  # { role = \"reflector\", name = \"foil\", rectangle = [x, y, width, height] },");
    out.line("]");
}

fn rectangle(region: &Proposal) -> String {
    let [x, y, width, height] = region.rectangle;
    format!("[{x}, {y}, {width}, {height}]")
}

fn run(out: &mut Lines, index: usize, picture: &Found, view: &str, cooler: Option<&Cooler>) {
    if let Some(captured) = picture.captured {
        out.remark(&format!("taken {captured}"));
    }
    out.line("[[run]]");
    out.line(&format!(
        "cooler = \"{}\"",
        cooler.map_or("cooler-a", |cooler| &cooler.key)
    ));
    out.line(&format!("name = \"hold {}\"", index + 1));
    if index == 0 {
        out.key(
            "# engine-speed = \"2500 rpm ± 20\"",
            "what was noted of the hold, here and in the runs below",
        );
        out.key("# hold = \"300 s ± 5\"", "load held before the picture");
        out.key(
            "# start-skin = { inlet = \"30 °C ± 2\", outlet = \"24 °C ± 2\" }",
            "before the load came on",
        );
        out.line("# inlet-pressure = \"148 kPa ± 1\"");
        out.line("# outlet-pressure = \"139 kPa ± 1\"");
        out.key("# intake-air = \"44 °C ± 1\"", "the engine's own sensor");
        out.key("# air-flow = \"120 g/s ± 3\"", "the engine's air meter");
    }
    out.blank();
    out.line("[[run.snapshot]]");
    out.line(&format!("file = {}", quoted(&picture.file)));
    out.line(&format!("view = \"{view}\""));
}

fn snapshot(out: &mut Lines, picture: &Found, of_camera: Option<&str>) {
    match &picture.meaning {
        Meaning::Unit(unit, why) => {
            out.remark(&format!("{why}: confirm."));
            out.line(&format!("pixels = {{ unit = \"{unit}\" }}"));
        }
        Meaning::Unknown { container, .. } if Some(container.as_str()) == of_camera => {}
        Meaning::Unknown { container, mend } => {
            meanings(out, container, mend);
            out.line("pixels = \"?\"");
        }
        Meaning::Colours { bar, .. } => {
            let [x, y, width, height] = bar;
            let key = format!("colour-bar = [{x}, {y}, {width}, {height}]");
            out.key(
                &key,
                &format!("found: look at {} and confirm", picture.grid),
            );
            out.key(
                "low = \"?\"",
                "the number printed at the bar's cold end, for instance \"20.1 °C\"",
            );
            out.key("high = \"?\"", "and at its hot end");
        }
    }
}
