//! The rows of a log, one after the other.

use std::io::{Read, Seek};

use csv::ByteRecord;

use super::cell::{self, Cell as Number};
use super::layout::Layout;
use super::records::{self, Records};
use super::{About, Channel, Fault, Row};

/// A cell that is no number.
#[derive(Debug, Clone)]
struct Bad {
    channel: Channel,
    line: u64,
    text: String,
    count: u64,
}

/// The rows of a log with numbers in them.
pub struct Rows<'a> {
    records: Records,
    layout: &'a Layout,
    /// Records read, those before the names of the columns included.
    read: u64,
    count: u64,
    before: Option<f64>,
    bad: Vec<Bad>,
    backwards: Option<Fault>,
}

/// Works through the rows of a log from its top: how many there were, and the digest of the file.
///
/// # Errors
/// What `take` says, or what is wrong with the file or in its rows.
pub fn each<R: Read + Seek + Send>(
    file: &mut R,
    layout: &Layout,
    mut take: impl FnMut(Row, &Rows<'_>) -> Result<(), Vec<Fault>>,
) -> Result<(u64, String), Vec<Fault>> {
    records::through(file, layout.delimiter, |records| {
        let mut rows = Rows {
            records,
            layout,
            read: 0,
            count: 0,
            before: None,
            bad: Vec::new(),
            backwards: None,
        };
        while let Some(row) = rows.next() {
            take(row, &rows)?;
        }
        rows.finish()
    })
}

impl Rows<'_> {
    /// The next row that has a number in one of the columns.
    fn next(&mut self) -> Option<Row> {
        while self.records.advance() {
            self.read += 1;
            if self.read <= self.layout.before_rows || self.is_comment() {
                continue;
            }
            if let Some(row) = self.numbers() {
                self.count += 1;
                return Some(row);
            }
        }
        None
    }

    /// A cell of the current record.
    fn cell(&self, index: usize) -> &[u8] {
        let record = self.records.current();
        record
            .and_then(|record| record.get(index))
            .unwrap_or_default()
    }

    fn line(&self) -> u64 {
        let record = self.records.current();
        let position = record.and_then(ByteRecord::position);
        position.map_or(0, csv::Position::line)
    }

    fn is_comment(&self) -> bool {
        let first = self.cell(0).trim_ascii_start();
        is_comment(first, self.layout.delimiter)
    }

    /// The numbers of the record; `None` where it has none.
    fn numbers(&mut self) -> Option<Row> {
        let mut row = Row::default();
        let mut any = false;
        for column in &self.layout.columns {
            let record = self.records.current();
            let bytes = record
                .and_then(|record| record.get(column.index))
                .unwrap_or_default();
            match Number::of(bytes, self.layout.decimal_comma()) {
                Number::Number(number) => {
                    let value = column.unit.offset + column.unit.scale * number;
                    row.set(column.channel, Some(value));
                    any = true;
                }
                Number::Gap => {}
                Number::Neither => {
                    let position = record.and_then(ByteRecord::position);
                    let line = position.map_or(0, csv::Position::line);
                    note(&mut self.bad, column.channel, line, bytes);
                }
            }
        }
        if let Some(time) = row.get(Channel::Time) {
            let before = *self.before.get_or_insert(time);
            if time < before && self.backwards.is_none() {
                self.backwards = Some(backwards(before, time, self.line()));
            }
            self.before = Some(before.max(time));
        }
        any.then_some(row)
    }

    /// A unit of the last digit of a channel's number in this row, in the base unit.
    pub fn last_digit(&self, channel: Channel) -> f64 {
        let mut columns = self.layout.columns.iter();
        let column = columns.find(|column| column.channel == channel);
        column.map_or(0.0, |column| {
            column.unit.scale * cell::last_digit(self.cell(column.index))
        })
    }

    /// How many rows there were; or what was wrong in them.
    fn finish(self) -> Result<u64, Vec<Fault>> {
        let columns = &self.layout.columns;
        let name = |channel| {
            let mut columns = columns.iter();
            let column = columns.find(|column| column.channel == channel);
            column.map_or("", |column| column.name.as_str())
        };
        let mut faults: Vec<Fault> = self
            .bad
            .iter()
            .map(|bad| bad.fault(name(bad.channel)))
            .collect();
        faults.extend(self.backwards);
        if faults.is_empty() {
            Ok(self.count)
        } else {
            Err(faults)
        }
    }
}

/// Whether a row that begins like this is a comment.
pub fn is_comment(first: &[u8], delimiter: u8) -> bool {
    first.starts_with(b"#")
        || first.starts_with(b"//")
        || (delimiter != b';' && first.starts_with(b";"))
}

fn note(bad: &mut Vec<Bad>, channel: Channel, line: u64, bytes: &[u8]) {
    if let Some(known) = bad.iter_mut().find(|known| known.channel == channel) {
        known.count += 1;
        return;
    }
    let text = String::from_utf8_lossy(bytes);
    bad.push(Bad {
        channel,
        line,
        text: text.trim().chars().take(40).collect(),
        count: 1,
    });
}

impl Bad {
    fn fault(&self, name: &str) -> Fault {
        let more = match self.count {
            1 => String::new(),
            count => format!(", and so in {} more", super::counted(count - 1, "row")),
        };
        let what = format!(
            "line {}: `{}` in column `{name}` is no number{more}",
            self.line, self.text
        );
        let clock = self.channel == Channel::Time && self.text.contains(':');
        let mend = if clock {
            "export the time as seconds from the log's start, not as a time of day"
        } else if self.text.contains(',') {
            "export without marks between thousands, and with another delimiter where the decimals have commas"
        } else {
            "take lines that are no rows of the log out of the file, or begin them with #; leave a cell empty where nothing was logged"
        };
        Fault::new(About::Column(self.channel), what, mend)
    }
}

fn backwards(before: f64, time: f64, line: u64) -> Fault {
    let what = format!(
        "line {line}: the time goes back from {} s to {} s",
        super::rounded(before),
        super::rounded(time)
    );
    let mend = "keep one recording in a file, its rows in the order of time";
    Fault::new(About::Column(Channel::Time), what, mend)
}
