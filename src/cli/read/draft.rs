//! The text of a session from the options, and which option each stretch of it came from.

use std::fmt::Write as _;
use std::path::Path;

use super::Arguments;
use super::shapes::{PrintedNumber, Shapes};
use crate::diagnostics::Problem;
use crate::session::{self, Emissivity, InstrumentKind, Response, Session, Span};

/// What the air of a shop is taken to be where it is not stated.
pub(super) const AMBIENT: &str = "20 °C ± 5";

/// Where a value of the draft came from.
#[derive(Debug)]
pub(super) struct Origin {
    pub span: Span,
    /// The session's key.
    pub key: &'static str,
    /// The option, with its dashes.
    pub option: String,
}

/// A session that was never a file.
#[derive(Debug, Default)]
pub(super) struct Draft {
    pub text: String,
    pub origins: Vec<Origin>,
    pub ambient_stated: bool,
}

impl Draft {
    /// The session that the options describe; pictures and response have placeholders for names, since a session takes
    /// files from its own folder only.
    pub fn of(arguments: &Arguments) -> Self {
        let mut draft = Self {
            ambient_stated: arguments.scene.ambient.is_some(),
            ..Self::default()
        };
        draft.surroundings(arguments);
        draft.instrument(arguments);
        draft.pixels(arguments);
        draft.header("[surface.surface]", None);
        draft.maybe("like", "--surface", arguments.scene.surface.as_deref());
        let emissivity = arguments.scene.emissivity.as_deref();
        draft.maybe(
            "emissivity",
            "--emissivity",
            emissivity.or(unread(arguments)),
        );
        draft
            .text
            .push_str("[cooler.cooler]\ninlet = \"surface\"\noutlet = \"surface\"\n");
        let statistic = arguments.picture.statistic.as_deref().unwrap_or("mean");
        draft.view(&arguments.shapes, statistic);
        draft
            .text
            .push_str("[[run]]\nname = \"read\"\ncooler = \"cooler\"\n");
        draft.snapshots(arguments);
        draft.pistols(arguments);
        draft
    }

    /// The option that a stretch of the text came from.
    pub fn origin(&self, span: &Span) -> Option<&Origin> {
        let within =
            |origin: &&Origin| origin.span.start <= span.start && span.start < origin.span.end;
        self.origins.iter().find(within)
    }

    /// Validates the draft and puts the real files into the session.
    ///
    /// # Errors
    /// All problems with the options, and all files that are not there.
    pub fn session(&self, arguments: &Arguments) -> Result<Session, Vec<Problem>> {
        let read = session::from_text(Path::new("read"), &self.text);
        let mut problems = match &read {
            Ok(session) => unstated_emissivity(session),
            Err(found) => found.list.clone(),
        };
        let files = arguments
            .pictures
            .iter()
            .chain(&arguments.instrument.response);
        // Who draws reads each file once more and tells of all that is wrong with it.
        let files = files.filter(|_| !arguments.grid.grid);
        problems.extend(files.filter_map(|path| missing(path)));
        match read {
            Ok(mut session) if problems.is_empty() => {
                with_files(&mut session, arguments);
                Ok(session)
            }
            _ => Err(problems),
        }
    }

    fn header(&mut self, header: &str, origin: Option<(&'static str, &str)>) {
        let start = self.text.len();
        self.text.push_str(header);
        if let Some((key, option)) = origin {
            self.note(start, key, option);
        }
        self.text.push('\n');
    }

    fn note(&mut self, start: usize, key: &'static str, option: &str) {
        self.origins.push(Origin {
            span: start..self.text.len(),
            key,
            option: option.to_owned(),
        });
    }

    /// A key with a value that is TOML already.
    fn entry(&mut self, key: &'static str, option: &str, value: &str) {
        let start = self.text.len();
        let _ = write!(self.text, "{key} = {value}");
        self.note(start, key, option);
        self.text.push('\n');
    }

    /// A key with a text, where there is one.
    fn maybe(&mut self, key: &'static str, option: &str, value: Option<&str>) {
        if let Some(value) = value {
            self.entry(key, option, &quoted(value));
        }
    }

    fn surroundings(&mut self, arguments: &Arguments) {
        let scene = &arguments.scene;
        self.header("[conditions]", None);
        let ambient = scene.ambient.as_deref().unwrap_or(AMBIENT);
        self.maybe("ambient", "--ambient", Some(ambient));
        self.maybe("reflected", "--reflected", scene.reflected.as_deref());
        self.maybe(
            "transmittance",
            "--transmittance",
            scene.transmittance.as_deref(),
        );
    }

    fn instrument(&mut self, arguments: &Arguments) {
        let instrument = &arguments.instrument;
        // What cannot be made of a band or response is told at the instrument's header.
        let response = instrument.response.is_some();
        let origin = if response {
            ("response", "--response")
        } else {
            ("band", "--band")
        };
        self.header("[instrument.instrument]", Some(origin));
        self.maybe("band", "--band", instrument.band.as_deref());
        self.maybe("response", "--response", response.then_some("response"));
        let set_emissivity = instrument.set_emissivity.as_deref();
        self.maybe(
            "emissivity",
            "--set-emissivity",
            set_emissivity.or(unread(arguments)),
        );
        self.maybe(
            "reflected",
            "--set-reflected",
            instrument.set_reflected.as_deref(),
        );
        self.maybe("accuracy", "--accuracy", instrument.accuracy.as_deref());
        self.maybe("drift", "--drift", instrument.drift.as_deref());
        self.maybe(
            "distance-ratio",
            "--distance-ratio",
            instrument.distance_ratio.as_deref(),
        );
        let picture = &arguments.picture;
        if let Some(bar) = &picture.colour_bar {
            self.entry("colour-bar", "--colour-bar", bar);
        }
        self.maybe("low-end", "--low-end", picture.low_end.as_deref());
        self.maybe("bar-law", "--bar-law", picture.bar_law.as_deref());
    }

    fn pixels(&mut self, arguments: &Arguments) {
        let picture = &arguments.picture;
        if let Some([a, b, c]) = picture.sakuma_hattori {
            let option = "--sakuma-hattori";
            let origin = Some(("sakuma-hattori", option));
            self.header("[instrument.instrument.pixels.sakuma-hattori]", origin);
            for (key, value) in [("a", a), ("b", b), ("c", c)] {
                self.entry(key, option, &format!("{value:?}"));
            }
        } else if let Some(unit) = &picture.pixels_unit {
            self.header("[instrument.instrument.pixels]", None);
            self.maybe("unit", "--pixels-unit", Some(unit));
        } else if let Some(step) = &picture.pixels_step {
            self.header("[instrument.instrument.pixels]", None);
            self.maybe("step", "--pixels-step", Some(step));
            self.maybe("zero", "--pixels-zero", picture.pixels_zero.as_deref());
        }
    }

    fn view(&mut self, shapes: &Shapes, statistic: &str) {
        self.text.push_str("[view.view]\nregions = [\n");
        if shapes.0.is_empty() {
            // A drawing to read regions off has none yet, and a snapshot must.
            self.text
                .push_str("{ tank = \"inlet\", point = [0, 0] },\n");
        }
        for (index, outline) in shapes.0.iter().enumerate() {
            let option = outline.option;
            let alike = shapes.0.iter().take(index + 1);
            let number = alike.filter(|shape| shape.option == option).count();
            let name = match (option, number) {
                ("at", 1) => "pixel".to_owned(),
                ("at", _) => format!("pixel {number}"),
                (_, 1) => option.to_owned(),
                _ => format!("{option} {number}"),
            };
            let start = self.text.len();
            let entry = &outline.entry;
            let _ = write!(
                self.text,
                "{{ name = \"{name}\", tank = \"inlet\", use = \"{statistic}\", {entry} }}"
            );
            self.note(start, "regions", &format!("--{option}"));
            self.text.push_str(",\n");
        }
        self.text.push_str("]\n");
    }

    fn snapshots(&mut self, arguments: &Arguments) {
        for (index, _) in arguments.pictures.iter().enumerate() {
            let _ = writeln!(
                self.text,
                "[[run.snapshot]]\nfile = \"picture-{index}\"\nview = \"view\""
            );
            if let Some(page) = arguments.picture.page {
                self.entry("page", "--page", &page.to_string());
            }
            self.maybe("angle", "--angle", arguments.picture.angle.as_deref());
            self.maybe("low", "--low", arguments.picture.low.as_deref());
            self.maybe("high", "--high", arguments.picture.high.as_deref());
            self.printed(&arguments.picture.printed);
        }
    }

    fn printed(&mut self, numbers: &[PrintedNumber]) {
        if numbers.is_empty() {
            return;
        }
        self.text.push_str("printed = [\n");
        for number in numbers {
            let start = self.text.len();
            let (at, reading) = (&number.at, quoted(&number.reading));
            let _ = write!(self.text, "{{ at = {at}, reading = {reading} }}");
            self.note(start, "printed", "--printed");
            self.text.push_str(",\n");
        }
        self.text.push_str("]\n");
    }

    fn pistols(&mut self, arguments: &Arguments) {
        for reading in &arguments.pistol {
            self.text.push_str("[[run.pistol]]\ntank = \"inlet\"\n");
            self.maybe("reading", "--pistol", Some(reading));
            self.maybe("distance", "--distance", arguments.spot.distance.as_deref());
            self.maybe("target", "--target", arguments.spot.target.as_deref());
        }
    }
}

/// An emissivity to stand in a session whose pictures are only drawn.
fn unread(arguments: &Arguments) -> Option<&'static str> {
    let raw = arguments.picture.sakuma_hattori.is_some();
    let named = arguments.scene.surface.is_some();
    (arguments.grid.grid && !raw && !named).then_some("1")
}

/// Text in quotes, as TOML reads it back.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            // Control characters are at most U+009F.
            c if c.is_control() => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

/// An emissivity `from patch` or `from contact` needs regions and probes that only a session has.
fn unstated_emissivity(session: &Session) -> Vec<Problem> {
    let surface = session.surfaces.first().map(|surface| &surface.emissivity);
    match surface {
        Some(Emissivity::FromPatch(span) | Emissivity::FromContact(span)) => {
            let what = "only a session can solve an emissivity from other readings";
            let mend = "write it, for instance emissivity = \"0.94 ± 0.02\"";
            vec![Problem::at(span.clone(), what, mend)]
        }
        _ => Vec::new(),
    }
}

fn missing(path: &Path) -> Option<Problem> {
    let shown = path.display();
    let (what, mend) = match std::fs::metadata(path) {
        Ok(about) if about.is_dir() => (format!("{shown} is a folder"), "name a file in it"),
        Ok(_) => return None,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            (format!("there is no file {shown}"), "check the name")
        }
        Err(error) => (
            format!("{shown} cannot be opened: {error}"),
            "check the file and its permissions",
        ),
    };
    Some(Problem::general(what, mend))
}

/// Puts the real names where the draft has placeholders.
fn with_files(session: &mut Session, arguments: &Arguments) {
    let snapshots = session.runs.iter_mut().flat_map(|run| &mut run.snapshots);
    for (snapshot, picture) in snapshots.zip(&arguments.pictures) {
        snapshot.file = picture.to_string_lossy().into_owned();
        snapshot.path.clone_from(picture);
    }
    if let (Some(surface), Some(preset)) = (session.surfaces.first_mut(), &arguments.scene.surface)
    {
        surface.name.clone_from(preset);
    }
    let kinds = session.instruments.iter_mut().map(|one| &mut one.kind);
    for kind in kinds {
        if let InstrumentKind::Thermal(thermal) = kind
            && let Response::Curve { file, path, .. } = &mut thermal.band
            && let Some(real) = &arguments.instrument.response
        {
            *file = real.to_string_lossy().into_owned();
            path.clone_from(real);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whatever_is_typed_comes_back_from_toml() {
        for text in [
            "",
            "a\"b\\c",
            "x\n\t\u{1b}\u{7f}\u{9f}'''",
            "\"\"\"",
            "°µ−🙂",
        ] {
            let toml = format!("key = {}", quoted(text));
            let table: toml::Table = toml.parse().unwrap();
            assert_eq!(table["key"].as_str(), Some(text));
        }
    }
}
