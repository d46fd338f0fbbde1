//! A logger's file: columns of numbers over time, of which a window is averaged and a pull is tabled.
//!
//! The file is read row by row and never held: what is kept of it does not grow with its length. How the means, their doubt
//! and the pull come about is told in `docs/logs.md`.

pub mod blocking;
mod cell;
mod channel;
mod fit;
mod layout;
mod peak;
mod pull;
mod records;
mod rows;
mod source;

use std::io::{Read, Seek};

use blocking::Blocking;
pub use channel::{Channel, Row};
pub use fit::Fit;
pub use pull::{Bin, Pull, Surroundings};
use rows::Rows;

/// A column that is wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// What it holds.
    pub channel: Channel,
    /// Its name in the file.
    pub name: String,
    /// Its unit where the session says it: base = offset + scale × number.
    pub unit: Option<Unit>,
}

/// The unit of a column: base = offset + scale × number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// The base unit in one of this.
    pub scale: f64,
    /// The base unit at 0 of this.
    pub offset: f64,
}

/// Which rows are averaged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Window {
    /// Those with an engine speed between two, rpm, ends included.
    Speed {
        /// rpm.
        low: f64,
        /// rpm.
        high: f64,
    },
    /// Those with a time between two, s, ends included.
    Time {
        /// s.
        low: f64,
        /// s.
        high: f64,
    },
    /// The second with the greatest mean inlet pressure.
    PeakBoost,
}

impl Window {
    /// The channels that it goes by.
    #[must_use]
    pub const fn needs(self) -> &'static [Channel] {
        match self {
            Self::Speed { .. } => &[Channel::EngineSpeed],
            Self::Time { .. } => &[Channel::Time],
            Self::PeakBoost => &[Channel::Time, Channel::InletPressure],
        }
    }
}

/// What is wanted of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// The columns, each channel at most once.
    pub columns: Vec<Column>,
    /// Which rows are averaged; [`Window::needs`] are among the columns.
    pub window: Window,
    /// What a pull takes that the log does not give.
    pub surroundings: Surroundings,
}

/// Something wrong with a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// What it concerns.
    pub about: About,
    /// What is wrong, in a sentence without a full stop.
    pub what: String,
    /// What to do.
    pub mend: String,
}

/// What a fault concerns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// The file.
    File,
    /// A column.
    Column(Channel),
    /// The window.
    Window,
}

impl Fault {
    fn new(about: About, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            about,
            what: what.into(),
            mend: mend.into(),
        }
    }
}

/// The mean of a column over the window, in the base unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// What it is of.
    pub channel: Channel,
    /// The arithmetic mean.
    pub value: f64,
    /// Its standard uncertainty, as of values that remember those before them, without what rounding hides; 0 where they
    /// are all the same.
    pub standard: f64,
    /// Standard deviation of the single values.
    pub scatter: f64,
    /// Half a unit of the last written digit, of the values the finest.
    pub half_last_digit: f64,
    /// How many values.
    pub count: u64,
}

impl Mean {
    /// What rounding hides of it, as a standard uncertainty. Values that scatter by a digit and more are rounded up as often
    /// as down; of steadier ones the mean may be off by half a digit, even between those bounds (GUM 4.3.7).
    #[must_use]
    pub fn resolution(&self) -> f64 {
        if self.scatter < 2.0 * self.half_last_digit {
            self.half_last_digit / 3_f64.sqrt()
        } else {
            0.0
        }
    }

    /// Its standard uncertainty, with what rounding hides.
    #[must_use]
    pub fn doubt(&self) -> f64 {
        self.standard.hypot(self.resolution())
    }
}

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// SHA-256 of the file's bytes, in lower-case hexadecimal.
    pub sha256: String,
    /// Rows with numbers.
    pub rows: u64,
    /// Rows in the window.
    pub in_window: u64,
    /// The window by time, s, where it was to be found.
    pub found: Option<(f64, f64)>,
    /// The means, in the order of [`Channel::ALL`].
    pub means: Vec<Mean>,
    /// The greatest rise of the engine speed, where it is a pull.
    pub pull: Option<Pull>,
}

/// Reads a log.
///
/// # Errors
/// All faults that were found.
pub fn read<R: Read + Seek + Send>(mut file: R, request: &Request) -> Result<Reading, Vec<Fault>> {
    let layout = layout::of(&mut file, request)?;
    let (window, found) = match request.window {
        Window::PeakBoost => {
            let (low, high) = peak::find(&mut file, &layout)?;
            (Window::Time { low, high }, Some((low, high)))
        }
        window => (window, None),
    };
    let mut gathered = Gathered::new(&layout, window, request.surroundings);
    let (count, sha256) = rows::each(&mut file, &layout, |row, rows| {
        gathered.take(row, rows);
        Ok(())
    })?;
    let means = gathered.means(count, request)?;
    Ok(Reading {
        sha256,
        rows: count,
        in_window: gathered.in_window,
        found,
        means,
        pull: gathered.pull.finish(),
    })
}

/// A column in the making.
#[derive(Debug, Default)]
struct Gathering {
    blocking: Blocking,
    half_last_digit: f64,
}

/// What is kept of the rows.
struct Gathered {
    window: Window,
    columns: Vec<(Channel, Gathering)>,
    in_window: u64,
    /// Of the channel that the window goes by.
    range: Option<(f64, f64)>,
    pull: pull::Rise,
}

impl Gathered {
    fn new(layout: &layout::Layout, window: Window, surroundings: Surroundings) -> Self {
        let channels = Channel::ALL.into_iter();
        let wanted = channels.filter(|channel| channel.is_value() && layout.has(*channel));
        Self {
            window,
            columns: wanted
                .map(|channel| (channel, Gathering::default()))
                .collect(),
            in_window: 0,
            range: None,
            pull: pull::Rise::new(surroundings),
        }
    }

    fn take(&mut self, row: Row, rows: &Rows<'_>) {
        self.pull.take(&row);
        let (place, low, high) = match self.window {
            Window::Speed { low, high } => (row.get(Channel::EngineSpeed), low, high),
            Window::Time { low, high } => (row.get(Channel::Time), low, high),
            Window::PeakBoost => return,
        };
        let Some(place) = place else { return };
        let (least, most) = self.range.unwrap_or((place, place));
        self.range = Some((least.min(place), most.max(place)));
        if place < low || place > high {
            return;
        }
        self.in_window += 1;
        for (channel, gathering) in &mut self.columns {
            let Some(value) = row.get(*channel) else {
                continue;
            };
            // Loggers that leave out zeros at the end write fewer digits in some rows.
            let half = 0.5 * rows.last_digit(*channel);
            gathering.half_last_digit = match gathering.blocking.count() {
                0 => half,
                _ => half.min(gathering.half_last_digit),
            };
            gathering.blocking.push(value);
        }
    }

    /// The means, or why there are none.
    fn means(&self, rows: u64, request: &Request) -> Result<Vec<Mean>, Vec<Fault>> {
        if self.in_window < blocking::FEWEST_BLOCKS {
            return Err(vec![self.too_few(rows)]);
        }
        let mut means = Vec::new();
        let mut faults = Vec::new();
        for (channel, gathering) in &self.columns {
            let blocking = &gathering.blocking;
            if let (Some(value), Some(standard)) = (blocking.mean(), blocking.standard()) {
                means.push(Mean {
                    channel: *channel,
                    value,
                    standard: if blocking.is_constant() {
                        0.0
                    } else {
                        standard
                    },
                    scatter: blocking.scatter(),
                    half_last_digit: gathering.half_last_digit,
                    count: blocking.count(),
                });
                continue;
            }
            let name = request
                .columns
                .iter()
                .find(|column| column.channel == *channel);
            let name = name.map_or("", |column| &column.name);
            let what = format!(
                "in the window column `{name}` has {}, of {} rows; a mean and its doubt take {} at least",
                counted(blocking.count(), "value"),
                self.in_window,
                blocking::FEWEST_BLOCKS
            );
            let mend = "widen the window, or leave the column out";
            faults.push(Fault::new(About::Column(*channel), what, mend));
        }
        if faults.is_empty() {
            Ok(means)
        } else {
            Err(faults)
        }
    }

    fn too_few(&self, rows: u64) -> Fault {
        if rows == 0 {
            let mend = "check the file: below the names of its columns there should be a row for each moment";
            return Fault::new(About::File, "the log has no rows with numbers", mend);
        }
        let held = match self.in_window {
            0 => "no row of the log lies in the window".to_owned(),
            some => format!(
                "the window holds {}; a mean and its doubt take {} at least",
                counted(some, "row"),
                blocking::FEWEST_BLOCKS
            ),
        };
        let (what, unit) = match self.window {
            Window::Speed { .. } => ("engine speed", "rpm"),
            Window::Time { .. } | Window::PeakBoost => ("time", "s"),
        };
        let mend = match self.range {
            Some((low, high)) => format!(
                "the log's {what} goes from {} to {} {unit}: choose a window in that, or check the column's unit",
                rounded(low),
                rounded(high)
            ),
            None => format!("the column of the {what} is empty: map another one"),
        };
        Fault::new(About::Window, held, mend)
    }
}

fn counted(count: u64, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        count => format!("{count} {what}s"),
    }
}

/// A number for a message, in at most three decimals.
fn rounded(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests;
