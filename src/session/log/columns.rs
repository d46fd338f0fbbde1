//! The keys of a log: its file, its window, and which column holds what.

use std::path::PathBuf;

use crate::log::{Channel, Column, Request, Surroundings, Unit, Window};
use crate::session::reader::{Entry, Table};
use crate::session::{Accuracy, Span, Tank, files};
use crate::units::{self, Dimension, Law};

const FILE: &str = "file = \"pull.csv\"";

const WINDOWS: &str = "write a range of engine speed or of the log's time, for instance window = \"2350 to 2450 rpm\" or \
                       \"12 to 18 s\", or \"peak-boost\"";

/// What a session asks of a log.
pub(in crate::session) struct Asked {
    pub file: String,
    pub path: PathBuf,
    pub file_span: Span,
    pub window: String,
    pub window_span: Span,
    pub request: Request,
    pub columns: Vec<AskedColumn>,
    /// Tap pressures that the session's gauges read absolute.
    absolute_notes: Vec<String>,
}

/// A column that a session asks for.
pub(in crate::session) struct AskedColumn {
    pub channel: Channel,
    pub span: Span,
    /// Whether the pressure is absolute, where that is said.
    pub absolute: Option<bool>,
    /// What the sensor may err by, where that is said with the column.
    pub accuracy: Option<Accuracy>,
}

impl Asked {
    /// Whether the logged pressure of a tank is absolute: as its column says, else as the session's gauge.
    pub fn is_absolute(&self, tank: Tank) -> bool {
        let channel = match tank {
            Tank::Inlet => Channel::InletPressure,
            Tank::Outlet => Channel::OutletPressure,
        };
        let mut columns = self.columns.iter();
        let column = columns.find(|column| column.channel == channel);
        let said = column.and_then(|column| column.absolute);
        said.unwrap_or_else(|| self.absolute_notes.iter().any(|key| key == channel.key()))
    }
}

/// Reads the keys; `None` where there is no log or it is not sound. `absolute_notes` are the run's keys that a gauge reads
/// absolute.
pub(in crate::session) fn ask(run: &Table<'_>, absolute_notes: &[String]) -> Option<Asked> {
    let table = run.table("log")?;
    let file = file(&table);
    let window = window(&table);
    let mut sound = true;
    let mut columns = Vec::new();
    let mut wanted = Vec::new();
    for channel in Channel::ALL {
        let Some(entry) = table.get(channel.key()) else {
            continue;
        };
        match column(&table, &entry, channel) {
            Some((asked, column)) => {
                columns.push(asked);
                wanted.push(column);
            }
            None => sound = false,
        }
    }
    table.finish();
    let (window, written, window_span) = window?;
    sound &= complete(&table, window, &window_span);
    let (file, path, file_span) = file?;
    sound.then(|| Asked {
        file,
        path,
        file_span,
        window: written,
        window_span,
        request: Request {
            columns: wanted,
            window,
            surroundings: Surroundings::default(),
        },
        columns,
        absolute_notes: absolute_notes.to_vec(),
    })
}

/// The file, where it is, and where it is named.
fn file(table: &Table<'_>) -> Option<(String, PathBuf, Span)> {
    let mend = format!("name the logger's file, for instance {FILE}");
    let entry = table.require("file", &mend)?;
    let name = table.text_of(&entry)?;
    let path = files::resolve(table, &entry, name)?;
    Some((name.to_owned(), path, entry.span()))
}

/// The window, as it is written, and where.
fn window(table: &Table<'_>) -> Option<(Window, String, Span)> {
    let entry = table.require("window", WINDOWS)?;
    let text = table.text_of(&entry)?;
    let written = text.trim().to_owned();
    if written == "peak-boost" {
        return Some((Window::PeakBoost, written, entry.span()));
    }
    let ends = |dimension| match units::parse(text, dimension).ok()?.law {
        Law::Rectangular { low, high } => Some((low, high)),
        _ => None,
    };
    let speed = ends(Dimension::EngineSpeed).map(|(low, high)| Window::Speed { low, high });
    let time = || ends(Dimension::Time).map(|(low, high)| Window::Time { low, high });
    let found = speed.or_else(time);
    if found.is_none() {
        table.problem(
            entry.span(),
            format!("`window`: `{written}` is no window"),
            WINDOWS,
        );
    }
    Some((found?, written, entry.span()))
}

/// Whether the columns that the window goes by are asked for.
fn complete(table: &Table<'_>, window: Window, span: &Span) -> bool {
    let missing: Vec<&str> = window
        .needs()
        .iter()
        .map(|channel| channel.key())
        .filter(|key| !table.has(key))
        .collect();
    for key in &missing {
        let what = format!("the window goes by `{key}`, which has no column");
        let mend = format!("write {key} = \"…\" with the column's name, or choose another window");
        table.problem(span.clone(), what, mend);
    }
    missing.is_empty()
}

/// A column's name alone, or a table with its name and unit.
fn column(table: &Table<'_>, entry: &Entry<'_>, channel: Channel) -> Option<(AskedColumn, Column)> {
    let mut asked = AskedColumn {
        channel,
        span: entry.span(),
        absolute: None,
        accuracy: None,
    };
    let (name, unit) = match entry.value.get_ref().as_str() {
        Some(name) => (name.to_owned(), None),
        None => tabled(table, entry, &mut asked)?,
    };
    if name.trim().is_empty() {
        let mend = "write the column's name as it stands in the file";
        table.problem(entry.span(), "a column without a name", mend);
        return None;
    }
    Some((
        asked,
        Column {
            channel,
            name,
            unit,
        },
    ))
}

/// The name and unit of a column that is a table; what else it says goes into `asked`.
fn tabled(
    table: &Table<'_>,
    entry: &Entry<'_>,
    asked: &mut AskedColumn,
) -> Option<(String, Option<Unit>)> {
    let key = asked.channel.key();
    let example = format!("{key} = {{ column = \"…\", unit = \"…\" }}");
    if entry.value.get_ref().as_table().is_none() {
        let example = format!("{key} = \"…\", or {example}");
        table.wrong_kind(entry, "the name of a column in quotes", &example);
        return None;
    }
    let inner = table.table_of(entry, table.place_of(key))?;
    let name = inner.require("column", &format!("write {example}"));
    let name = name.and_then(|entry| inner.text_of(&entry).map(str::to_owned));
    let unit = unit(&inner, asked.channel);
    let absolute = reference(&inner, asked.channel);
    let accuracy = accuracy(&inner, asked.channel);
    inner.finish();
    asked.absolute = absolute?;
    asked.accuracy = accuracy?;
    Some((name?, unit?))
}

/// The unit where it is said; the outer `None` where it is none.
fn unit(table: &Table<'_>, channel: Channel) -> Option<Option<Unit>> {
    let Some(entry) = table.get("unit") else {
        return Some(None);
    };
    let text = table.text_of(&entry)?;
    match units::parse_unit(text, channel.dimension()) {
        Ok((scale, offset)) => Some(Some(Unit { scale, offset })),
        Err(error) => {
            table.problem(entry.span(), format!("`unit`: {}", error.what), error.mend);
            None
        }
    }
}

/// Whether a tap pressure is absolute, where that is said.
fn reference(table: &Table<'_>, channel: Channel) -> Option<Option<bool>> {
    let written = table.has("reference");
    let said = table.word("reference", &[("gauge", false), ("absolute", true)]);
    let tap = matches!(channel, Channel::InletPressure | Channel::OutletPressure);
    if written && !tap {
        let what = format!(
            "`{}` is no pressure at a tap, and has no reference",
            channel.key()
        );
        table.problem(table.span.clone(), what, "leave `reference` out");
        return None;
    }
    (written == said.is_some()).then_some(said)
}

/// What the sensor may err by, of temperatures that no instrument of the session measures.
fn accuracy(table: &Table<'_>, channel: Channel) -> Option<Option<Accuracy>> {
    let Some(entry) = table.get("accuracy") else {
        return Some(None);
    };
    if !matches!(channel, Channel::Ambient | Channel::CoolingAir) {
        let key = channel.key();
        let what = format!("the accuracy of `{key}` belongs to the instrument that measures it");
        let mend =
            format!("write [instrument.logger] with measures = [\"{key}\"] and its accuracy");
        table.problem(entry.span(), what, mend);
        return None;
    }
    let text = table.text_of(&entry)?;
    match units::parse_accuracy(text, channel.dimension()) {
        Ok((absolute, relative)) => Some(Some(Accuracy { absolute, relative })),
        Err(error) => {
            table.problem(
                entry.span(),
                format!("`accuracy`: {}", error.what),
                error.mend,
            );
            None
        }
    }
}
