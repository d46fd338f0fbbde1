//! How a log is laid out: its delimiter, where the names of its columns stand, which of them are wanted, and their units.
//!
//! The names that the session asks for decide: of all delimiters and all rows at the top of the file the one that holds
//! the most of them is taken, so that remarks above it need no marks of their own.

use std::io::{Read, Seek, SeekFrom};

use super::cell::{self, Cell};
use super::records::{builder, unreadable};
use super::rows::is_comment;
use super::{About, Channel, Column, Fault, Request, Unit};
use crate::session::did_you_mean;
use crate::units;

/// How much of the file is looked at, bytes.
const HEAD: u64 = 1 << 18;

/// How many rows the names of the columns may lie below the top.
const MOST_ABOVE: usize = 500;

/// What may stand between cells, the likelier first.
const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// How a log is laid out.
#[derive(Debug)]
pub struct Layout {
    /// What stands between cells.
    pub delimiter: u8,
    /// Rows above the first one with numbers.
    pub before_rows: u64,
    /// The wanted columns.
    pub columns: Vec<Found>,
}

impl Layout {
    /// Whether a single comma in a cell is a decimal one.
    pub const fn decimal_comma(&self) -> bool {
        self.delimiter != b','
    }

    /// Whether a channel has a column.
    pub fn has(&self, channel: Channel) -> bool {
        self.columns.iter().any(|column| column.channel == channel)
    }
}

/// A wanted column.
#[derive(Debug)]
pub struct Found {
    /// What it holds.
    pub channel: Channel,
    /// Its name as the session writes it.
    pub name: String,
    /// Its place in a row, from 0.
    pub index: usize,
    /// Its unit.
    pub unit: Unit,
}

/// The cells of a row, as text.
type Cells = Vec<String>;

/// The delimiter, the index of the row with the names, and all rows at the top.
type Names = (u8, usize, Vec<Cells>);

/// How many wanted names a row holds, and how many words.
type Score = (usize, usize);

/// Finds out how a log is laid out.
///
/// # Errors
/// What the file is instead of a log, every column that is not in it and every unit that cannot be told.
pub fn of<R: Read + Seek>(file: &mut R, request: &Request) -> Result<Layout, Vec<Fault>> {
    let head = head(file)?;
    let (delimiter, at, rows) = names(&head, &request.columns);
    let header: &[String] = rows.get(at).map_or(&[], Vec::as_slice);
    let indices = located(header, &request.columns)?;
    let below = rows.get(at + 1..).unwrap_or_default();
    let comma = delimiter != b',';
    let holds_number = |row: &Cells| {
        let first = row.first().map_or("", String::as_str);
        let cells = indices.iter().filter_map(|&index| row.get(index));
        let mut cells = cells.map(|cell| Cell::of(cell.as_bytes(), comma));
        !is_comment(first.as_bytes(), delimiter)
            && cells.any(|cell| matches!(cell, Cell::Number(_)))
    };
    let first = below.iter().position(holds_number).unwrap_or(0);
    let above = below.get(..first).unwrap_or_default();
    let mut columns = Vec::new();
    let mut faults = Vec::new();
    for (column, &index) in request.columns.iter().zip(&indices) {
        let name = header.get(index).map_or("", String::as_str);
        match unit(column, name, index, above) {
            Ok(unit) => columns.push(Found {
                channel: column.channel,
                name: column.name.clone(),
                index,
                unit,
            }),
            Err(fault) => faults.push(fault),
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Layout {
        delimiter,
        before_rows: (at + 1 + first) as u64,
        columns,
    })
}

/// The top of the file.
fn head<R: Read + Seek>(file: &mut R) -> Result<Vec<u8>, Vec<Fault>> {
    let mut head = Vec::new();
    file.seek(SeekFrom::Start(0))
        .and_then(|_| file.take(HEAD).read_to_end(&mut head))
        .map_err(|error| unreadable(&error))?;
    match refused(&head) {
        Some(fault) => Err(vec![fault]),
        None => Ok(head),
    }
}

/// What is no text in single bytes.
fn refused(head: &[u8]) -> Option<Fault> {
    let (what, mend) = if head.is_empty() {
        ("the log is empty", "export it again")
    } else if head.starts_with(b"PK\x03\x04") || head.starts_with(b"\xD0\xCF\x11\xE0") {
        (
            "the log is a spreadsheet or an archive, no CSV file",
            "open it and save it as CSV",
        )
    } else if head.starts_with(b"\xFF\xFE") || head.starts_with(b"\xFE\xFF") {
        (
            "the log is text in UTF-16",
            "save it as CSV in UTF-8 (or export it again as plain text)",
        )
    } else if head.contains(&0) {
        (
            "the log is no text file",
            "export it from the logger's program as CSV",
        )
    } else {
        return None;
    };
    Some(Fault::new(About::File, what, mend))
}

/// The delimiter and the row that hold the most wanted names, of equals the one with the most cells; and all rows at the top.
fn names(head: &[u8], wanted: &[Column]) -> Names {
    let mut best: Option<(Score, Names)> = None;
    for delimiter in DELIMITERS {
        let rows = rows(head, delimiter);
        let score = |row: &Cells| {
            let tidied: Vec<Tidy> = row.iter().map(|cell| Tidy::of(cell)).collect();
            let held = wanted.iter().filter(|column| {
                let name = Tidy::of(&column.name);
                tidied.iter().any(|cell| cell.likeness(&name).is_some())
            });
            (held.count(), words(row))
        };
        let scored = rows.iter().take(MOST_ABOVE).map(score).enumerate();
        // Of equals the first: `max_by_key` would take the last.
        let top = scored.fold(None, |top: Option<(usize, Score)>, (at, score)| match top {
            Some((_, greatest)) if greatest >= score => top,
            _ => Some((at, score)),
        });
        if let Some((at, score)) = top
            && best.as_ref().is_none_or(|(greatest, _)| score > *greatest)
        {
            best = Some((score, (delimiter, at, rows)));
        }
    }
    best.map_or((b',', 0, Vec::new()), |(_, found)| found)
}

/// Cells of a row that are words.
fn words(row: &Cells) -> usize {
    let words = row
        .iter()
        .filter(|cell| matches!(Cell::of(cell.as_bytes(), true), Cell::Neither));
    words.count()
}

/// The rows of the head, the names' and more; the last may be cut.
fn rows(head: &[u8], delimiter: u8) -> Vec<Cells> {
    let mut reader = builder(delimiter).from_reader(head);
    let records = reader.byte_records().map_while(Result::ok);
    let cells = |record: csv::ByteRecord| record.iter().map(text).collect();
    records.take(2 * MOST_ABOVE).map(cells).collect()
}

/// A cell as text: UTF-8, else Latin-1, in which every byte is a character.
fn text(bytes: &[u8]) -> String {
    let bytes = cell::trimmed(bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes));
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|&byte| char::from(byte)).collect(),
    }
}

/// A name in the forms in which it is compared.
struct Tidy {
    own: String,
    lower: String,
    without_unit: String,
}

impl Tidy {
    fn of(name: &str) -> Self {
        // The names may stand in a remark.
        let own = name.trim_start_matches(['#', '\u{feff}']).trim();
        let lower = own.to_lowercase();
        let without_unit = bracketed(&lower).map_or(lower.as_str(), |(before, _)| before);
        Self {
            own: own.to_owned(),
            without_unit: without_unit.to_owned(),
            lower,
        }
    }

    /// How like a wanted name a column's is: 0 the same, 1 but for capitals, 2 but for the unit behind it.
    fn likeness(&self, wanted: &Self) -> Option<u8> {
        if wanted.own.is_empty() {
            None
        } else if self.own == wanted.own {
            Some(0)
        } else if self.lower == wanted.lower {
            Some(1)
        } else if self.without_unit == wanted.lower {
            Some(2)
        } else {
            None
        }
    }
}

/// `MAP [kPa]` as `MAP` and `kPa`; round brackets too.
fn bracketed(name: &str) -> Option<(&str, &str)> {
    let name = name.trim_end();
    let (open, inside) = match name.strip_suffix(']') {
        Some(rest) => ('[', rest),
        None => ('(', name.strip_suffix(')')?),
    };
    // Units have brackets of their own, but none that a log's columns are in.
    let (before, unit) = inside.split_once(open)?;
    Some((before.trim_end(), unit.trim()))
}

/// Where the wanted columns are.
fn located(header: &[String], wanted: &[Column]) -> Result<Vec<usize>, Vec<Fault>> {
    let tidied: Vec<Tidy> = header.iter().map(|cell| Tidy::of(cell)).collect();
    let mut indices = Vec::new();
    let mut faults = Vec::new();
    for column in wanted {
        let name = Tidy::of(&column.name);
        let name = &name;
        let alike = |likeness: u8| {
            let cells = tidied.iter().enumerate();
            let alike = cells.filter(|(_, cell)| cell.likeness(name) == Some(likeness));
            alike.map(|(index, _)| index).collect::<Vec<_>>()
        };
        let mut levels = [0, 1, 2].into_iter().map(alike);
        match levels.find(|alike| !alike.is_empty()).as_deref() {
            Some(&[index]) => indices.push(index),
            Some(several) => faults.push(Fault::new(
                About::Column(column.channel),
                format!("the log has {} columns `{}`", several.len(), column.name),
                "write the whole name as in the file, with its unit; two columns of one name must be told apart in the file",
            )),
            None => faults.push(absent(header, column)),
        }
    }
    if faults.is_empty() {
        Ok(indices)
    } else {
        Err(faults)
    }
}

fn absent(header: &[String], column: &Column) -> Fault {
    let what = format!("the log has no column `{}`", column.name);
    let names = || {
        header
            .iter()
            .map(String::as_str)
            .filter(|name| !name.is_empty())
    };
    let bare = names().map(|name| bracketed(name).map_or(name, |(before, _)| before));
    let near = did_you_mean(&column.name, bare, "");
    let mend = if near.starts_with("did you mean") {
        near
    } else {
        did_you_mean(&column.name, names(), "its columns are")
    };
    Fault::new(About::Column(column.channel), what, mend)
}

/// The unit of a column: as the session says; else in brackets behind its name, as its name, or in a row below the names.
fn unit(column: &Column, name: &str, index: usize, above: &[Cells]) -> Result<Unit, Fault> {
    if let Some(unit) = column.unit {
        return Ok(unit);
    }
    let dimension = column.channel.dimension();
    let behind = bracketed(name).map(|(_, unit)| unit);
    let below = above.iter().filter_map(|row| row.get(index));
    let below = below
        .map(|cell| inside(cell))
        .filter(|cell| !cell.is_empty());
    let mut written = behind.into_iter().chain([name]).chain(below);
    if let Some((scale, offset)) = written.find_map(|text| units::parse_unit(text, dimension).ok())
    {
        return Ok(Unit { scale, offset });
    }
    let seen = behind.map_or_else(String::new, |unit| {
        format!(" (`{unit}` is none that is known)")
    });
    let what = format!(
        "the unit of column `{}` cannot be told{seen}, and {} needs one",
        column.name,
        dimension.words()
    );
    let mend = format!(
        "write {} = {{ column = {:?}, unit = \"…\" }} with {}",
        column.channel.key(),
        column.name,
        dimension.spellings()
    );
    Err(Fault::new(About::Column(column.channel), what, mend))
}

/// A unit without the brackets around it.
fn inside(cell: &str) -> &str {
    let cell = cell.trim();
    let within = |open, close| cell.strip_prefix(open)?.strip_suffix(close);
    within('[', ']')
        .or_else(|| within('(', ')'))
        .unwrap_or(cell)
        .trim()
}
