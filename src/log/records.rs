//! A log's records, cut from the file by a thread of its own: cutting and hashing take as long as making numbers of them.

use std::cell::Cell;
use std::io::{Read, Seek, SeekFrom};
use std::rc::Rc;
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};

use csv::ByteRecord;

use super::Fault;
use super::source::Source;

/// The buffer between the file and the records, bytes.
const BUFFER: usize = 1 << 16;

/// A batch is handed over with so many records, or so many bytes.
const MOST_RECORDS: usize = 512;
const MOST_BYTES: usize = 1 << 16;

/// Batches that wait: they bound the memory.
const WAITING: usize = 4;

/// A record of more cells is no row of a log, and would fill the memory with where they begin.
const MOST_CELLS: usize = 1 << 16;

/// Records with room for more bytes are not used again.
const KEPT_BYTES: usize = 1 << 13;

/// Records with room for more; only the first `count` are records of this batch.
#[derive(Debug, Default)]
struct Batch {
    records: Vec<ByteRecord>,
    count: usize,
    /// Of its largest record, where its cells begin included.
    largest: usize,
}

/// The records, one after the other, as another thread cuts them.
pub struct Records {
    full: Receiver<Batch>,
    empty: Sender<Batch>,
    batch: Batch,
    next: usize,
}

impl Records {
    /// Whether there was another record; it is then the current one.
    pub fn advance(&mut self) -> bool {
        while self.next == self.batch.count {
            let Ok(full) = self.full.recv() else {
                return false;
            };
            // Where the other end has finished nobody wants it back.
            let _ = self.empty.send(std::mem::replace(&mut self.batch, full));
            self.next = 0;
        }
        self.next += 1;
        true
    }

    /// The record that the last [`Records::advance`] came to; `None` before.
    pub fn current(&self) -> Option<&ByteRecord> {
        self.batch.records.get(self.next.checked_sub(1)?)
    }
}

/// Works through the records of a file from its top; what the work makes, and the digest of the file, if it was read to the end.
///
/// # Errors
/// Why the file cannot be read, before what the work says is wrong.
pub fn through<R: Read + Seek + Send, T>(
    file: &mut R,
    delimiter: u8,
    work: impl FnOnce(Records) -> Result<T, Vec<Fault>>,
) -> Result<(T, String), Vec<Fault>> {
    file.seek(SeekFrom::Start(0))
        .map_err(|error| unreadable(&error))?;
    std::thread::scope(|scope| {
        let (to_work, full) = sync_channel(WAITING);
        let (empty, to_cut) = channel();
        let cutter = std::thread::Builder::new()
            .spawn_scoped(scope, move || cut(file, delimiter, &to_work, &to_cut))
            .map_err(|error| unreadable(&error))?;
        let made = work(Records {
            full,
            empty,
            batch: Batch::default(),
            next: 0,
        });
        let digest = cutter
            .join()
            .unwrap_or_else(|_| Err(unreadable(&"its records cannot be told apart")))?;
        Ok((made?, digest))
    })
}

/// Cuts the file into batches until it ends or nobody takes them; its digest so far.
fn cut<R: Read>(
    file: &mut R,
    delimiter: u8,
    full: &SyncSender<Batch>,
    empty: &Receiver<Batch>,
) -> Result<String, Vec<Fault>> {
    let since_row = Rc::new(Cell::new(0));
    let mut reader = builder(delimiter)
        .buffer_capacity(BUFFER)
        .from_reader(Source::new(file, since_row.clone()));
    let mut more = true;
    while more {
        let used: Option<Batch> = empty.try_recv().ok();
        let mut batch = used
            .filter(|batch| batch.largest <= KEPT_BYTES)
            .unwrap_or_default();
        batch.count = 0;
        let mut bytes = 0;
        while more && batch.count < MOST_RECORDS && bytes < MOST_BYTES {
            since_row.set(0);
            if batch.records.len() == batch.count {
                batch.records.push(ByteRecord::new());
            }
            let Some(record) = batch.records.get_mut(batch.count) else {
                break;
            };
            more = reader
                .read_byte_record(record)
                .map_err(|error| unreadable(&error))?;
            batch.count += usize::from(more);
            if record.len() > MOST_CELLS {
                return Err(unreadable(&"a row of more than 65 536 cells"));
            }
            let size = record.as_slice().len() + size_of::<usize>() * record.len();
            batch.largest = batch.largest.max(size);
            bytes += size;
        }
        if full.send(batch).is_err() {
            break;
        }
    }
    Ok(reader.into_inner().digest())
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

/// That a log cannot be read, and why.
pub fn unreadable(error: &dyn std::fmt::Display) -> Vec<Fault> {
    let what = format!("the log cannot be read: {error}");
    let mend = "check that the file is the logger's CSV and that you may read it";
    vec![Fault::new(super::About::File, what, mend)]
}
