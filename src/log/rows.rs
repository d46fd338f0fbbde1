//! The rows of a log, one after the other.

use std::cell::Cell;
use std::io::{Read, Seek, SeekFrom};
use std::rc::Rc;

use csv::ByteRecord;

use super::cell::{self, Cell as Number};
use super::layout::Layout;
use super::source::Source;
use super::{About, Channel, Fault, Row};

/// The buffer between the file and the rows, bytes.
const BUFFER: usize = 1 << 16;

/// A cell that is no number.
#[derive(Debug, Clone)]
struct Bad {
    channel: Channel,
    line: u64,
    text: String,
    count: u64,
}

/// The rows of a log with numbers in them.
pub struct Rows<'a, R> {
    reader: csv::Reader<Source<&'a mut R>>,
    layout: &'a Layout,
    record: ByteRecord,
    since_row: Rc<Cell<usize>>,
    /// Records read, those before the names of the columns included.
    records: u64,
    count: u64,
    before: Option<f64>,
    bad: Vec<Bad>,
    backwards: Option<Fault>,
}

impl<'a, R: Read + Seek> Rows<'a, R> {
    /// Begins at the top of the file.
    pub fn new(file: &'a mut R, layout: &'a Layout) -> Result<Self, Vec<Fault>> {
        file.seek(SeekFrom::Start(0))
            .map_err(|error| unreadable(&error))?;
        let since_row = Rc::new(Cell::new(0));
        let source = Source::new(file, since_row.clone());
        let reader = builder(layout.delimiter)
            .buffer_capacity(BUFFER)
            .from_reader(source);
        Ok(Self {
            reader,
            layout,
            record: ByteRecord::new(),
            since_row,
            records: 0,
            count: 0,
            before: None,
            bad: Vec::new(),
            backwards: None,
        })
    }
}

/// How a log's text is cut into rows and cells, here and where the columns are found.
pub fn builder(delimiter: u8) -> csv::ReaderBuilder {
    let mut builder = csv::ReaderBuilder::new();
    builder
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true);
    builder
}

impl<R: Read> Rows<'_, R> {
    /// The next row that has a number in one of the columns.
    pub fn next(&mut self) -> Result<Option<Row>, Vec<Fault>> {
        loop {
            self.since_row.set(0);
            match self.reader.read_byte_record(&mut self.record) {
                Ok(true) => {}
                Ok(false) => return Ok(None),
                Err(error) => return Err(unreadable(&error)),
            }
            self.records += 1;
            if self.records <= self.layout.before_rows || self.is_comment() {
                continue;
            }
            if let Some(row) = self.numbers() {
                self.count += 1;
                return Ok(Some(row));
            }
        }
    }

    fn is_comment(&self) -> bool {
        let first = self.record.get(0).unwrap_or_default().trim_ascii_start();
        is_comment(first, self.layout.delimiter)
    }

    /// The numbers of the record; `None` where it has none.
    fn numbers(&mut self) -> Option<Row> {
        let mut row = Row::default();
        let mut any = false;
        for column in &self.layout.columns {
            let bytes = self.record.get(column.index).unwrap_or_default();
            match Number::of(bytes, self.layout.decimal_comma()) {
                Number::Number(number) => {
                    let value = column.unit.offset + column.unit.scale * number;
                    row.set(column.channel, Some(value));
                    any = true;
                }
                Number::Gap => {}
                Number::Neither => {
                    let line = self.record.position().map_or(0, csv::Position::line);
                    note(&mut self.bad, column.channel, line, bytes);
                }
            }
        }
        if let Some(time) = row.get(Channel::Time) {
            let before = *self.before.get_or_insert(time);
            if time < before && self.backwards.is_none() {
                self.backwards = Some(backwards(before, time, &self.record));
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
            let bytes = self.record.get(column.index).unwrap_or_default();
            column.unit.scale * cell::last_digit(bytes)
        })
    }

    /// How many rows there were, and the digest of the file; or what was wrong in them.
    pub fn finish(self) -> Result<(u64, String), Vec<Fault>> {
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
            Ok((self.count, self.reader.into_inner().digest()))
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

fn backwards(before: f64, time: f64, record: &ByteRecord) -> Fault {
    let line = record.position().map_or(0, csv::Position::line);
    let what = format!(
        "line {line}: the time goes back from {} s to {} s",
        super::rounded(before),
        super::rounded(time)
    );
    let mend = "keep one recording in a file, its rows in the order of time";
    Fault::new(About::Column(Channel::Time), what, mend)
}

pub fn unreadable(error: &dyn std::fmt::Display) -> Vec<Fault> {
    let what = format!("the log cannot be read: {error}");
    let mend = "check that the file is the logger's CSV and that you may read it";
    vec![Fault::new(About::File, what, mend)]
}
