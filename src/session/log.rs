//! `log = { … }` of a run: a logger's file, and the values that the means of its columns give.

mod columns;

use std::fs::File;
use std::path::PathBuf;

use super::reader::Table;
use super::value::TEMPERATURES;
use super::{Declared, PerTank, Sensor, Span, Tank};
use crate::heat::air::STANDARD_ATMOSPHERE;
use crate::log::{self, About, Channel, Fault, Mean, Surroundings};
use crate::units::{Dimension, Law};
pub(super) use columns::{Asked, ask};

/// The log of a run.
#[derive(Debug, Clone)]
pub struct RunLog {
    /// The file as written.
    pub file: String,
    /// Where it is.
    pub path: PathBuf,
    /// The window as written.
    pub window: String,
    /// What was read; `None` where files were not looked for.
    pub reading: Option<log::Reading>,
    /// The channels whose means are values of the run.
    pub used: Vec<Channel>,
    /// The channels whose means gave way to what is written by hand: the channel, what is written, the mean.
    pub overruled: Vec<(Channel, String, String)>,
    /// Whether its pressures at the taps are absolute.
    absolute: PerTank<bool>,
    /// The channels with an accuracy of their own.
    accurate: Vec<Channel>,
}

impl RunLog {
    /// Whether the accuracy of a channel's sensor is stated with its column.
    #[must_use]
    pub fn states_accuracy(&self, channel: Channel) -> bool {
        self.accurate.contains(&channel)
    }

    /// Whether a tap pressure of the run, by its key, is absolute; `None` where it is not the log's.
    #[must_use]
    pub fn reads_absolute(&self, key: &str) -> Option<bool> {
        let of = |channel, absolute| self.used.contains(&channel).then_some(absolute);
        match key {
            "inlet-pressure" => of(Channel::InletPressure, self.absolute.inlet),
            "outlet-pressure" => of(Channel::OutletPressure, self.absolute.outlet),
            _ => None,
        }
    }
}

/// What the rest of a run says that a log's pull takes where the log does not have it.
#[derive(Default)]
pub(super) struct Beside<'a> {
    pub barometer: Option<&'a Declared>,
    pub air: [Option<&'a Declared>; 2],
    pub intake_air: Option<&'a Declared>,
}

/// A run's log with its values, on their way to their places.
#[derive(Default)]
pub(super) struct Logged {
    pub log: Option<RunLog>,
    values: Vec<(Channel, Declared)>,
    asked: Vec<Channel>,
}

impl Logged {
    /// Of a log whose keys are not understood: it may map anything.
    pub fn unreadable() -> Self {
        Self {
            asked: Channel::ALL.to_vec(),
            ..Self::default()
        }
    }

    /// Whether the run maps a column for a channel, readable or not.
    pub fn asks_for(&self, channel: Channel) -> bool {
        self.asked.contains(&channel)
    }

    /// The value of a channel: as written by hand, else the log's.
    pub fn or(&mut self, channel: Channel, hand: Option<Declared>) -> Option<Declared> {
        let logged = self.values.iter().find(|(other, _)| *other == channel);
        let (Some((_, logged)), Some(log)) = (logged, &mut self.log) else {
            return hand;
        };
        match hand {
            Some(hand) => {
                let entry = (channel, hand.written.clone(), logged.written.clone());
                log.overruled.push(entry);
                Some(hand)
            }
            None => {
                log.used.push(channel);
                Some(logged.clone())
            }
        }
    }
}

impl Asked {
    /// Reads the log and makes values of its means; what is wrong is noted.
    pub fn read(mut self, table: &Table<'_>, beside: &Beside<'_>) -> Logged {
        let absolute = PerTank {
            inlet: self.is_absolute(Tank::Inlet),
            outlet: self.is_absolute(Tank::Outlet),
        };
        self.request.surroundings = surroundings(beside, absolute);
        let mut log = RunLog {
            file: self.file.clone(),
            path: self.path.clone(),
            window: self.window.clone(),
            reading: None,
            used: Vec::new(),
            overruled: Vec::new(),
            absolute,
            accurate: self.accurate(),
        };
        // A session that was never a file has no folder to read from.
        if table.context.folder.is_none() {
            return Logged {
                log: Some(log),
                ..Logged::default()
            };
        }
        let read = File::open(&self.path).map_err(|error| vec![self.unopened(&error)]);
        let reading = match read.and_then(|file| log::read(file, &self.request)) {
            Ok(reading) => reading,
            Err(faults) => {
                faults.into_iter().for_each(|fault| self.note(table, fault));
                let asked = self.columns.iter().map(|column| column.channel);
                return Logged {
                    asked: asked.collect(),
                    ..Logged::default()
                };
            }
        };
        let means = reading.means.iter();
        let values = means.filter_map(|mean| Some((mean.channel, self.declared(table, mean)?)));
        let values = values.collect();
        log.reading = Some(reading);
        Logged {
            log: Some(log),
            values,
            asked: self.columns.iter().map(|column| column.channel).collect(),
        }
    }

    fn accurate(&self) -> Vec<Channel> {
        let stated = self
            .columns
            .iter()
            .filter(|column| column.accuracy.is_some());
        stated.map(|column| column.channel).collect()
    }

    fn unopened(&self, error: &std::io::Error) -> Fault {
        Fault {
            about: About::File,
            what: format!("the log cannot be opened: {error}"),
            mend: "check the file and its permissions".to_owned(),
        }
    }

    /// A fault at the line that it concerns.
    fn note(&self, table: &Table<'_>, fault: Fault) {
        let span = match fault.about {
            About::File => self.file_span.clone(),
            About::Window => self.window_span.clone(),
            About::Column(channel) => self.span_of(channel),
        };
        table.problem(span, format!("{}: {}", self.file, fault.what), fault.mend);
    }

    fn span_of(&self, channel: Channel) -> Span {
        let mut columns = self.columns.iter();
        let column = columns.find(|column| column.channel == channel);
        column.map_or_else(|| self.file_span.clone(), |column| column.span.clone())
    }

    /// A mean as a value of the run; `None`, and noted, where it makes no sense.
    fn declared(&self, table: &Table<'_>, mean: &Mean) -> Option<Declared> {
        let channel = mean.channel;
        let written = written(mean);
        let (fits, words) = sense(channel, mean.value);
        if !fits {
            let what = format!(
                "{}: the mean of `{}` in the window is {written}; it must be {words}",
                self.file,
                channel.key()
            );
            table.problem(self.span_of(channel), what, "check the column and its unit");
            return None;
        }
        Some(Declared {
            place: format!("{}.log.{}", table.place, channel.key()),
            dimension: channel.dimension(),
            value: mean.value,
            law: law(mean),
            limits_assumed: false,
            sensor: self.sensor(mean),
            written: format!("{written} (log)"),
            span: self.span_of(channel),
        })
    }

    /// What the sensor errs by, where its accuracy is stated with the column: a column of one name is one sensor, whichever
    /// run's log it stands in.
    fn sensor(&self, mean: &Mean) -> Option<Sensor> {
        let of_channel = |channel| channel == mean.channel;
        let mut asked = self.columns.iter();
        let accuracy = asked.find(|column| of_channel(column.channel))?.accuracy?;
        let mut columns = self.request.columns.iter();
        let name = &columns.find(|column| of_channel(column.channel))?.name;
        let (_, scale, zero) = mean.channel.dimension().face();
        Some(Sensor {
            place: format!("instrument.{name} (log).accuracy"),
            limit: accuracy.limit(zero + scale * mean.value),
        })
    }
}

/// The doubt of a mean without its sensor's. A value that never changes is known to its last digit.
fn law(mean: &Mean) -> Law {
    if mean.standard > 0.0 {
        Law::Normal {
            standard: mean.doubt(),
        }
    } else {
        Law::Rectangular {
            low: mean.value - mean.half_last_digit,
            high: mean.value + mean.half_last_digit,
        }
    }
}

/// Which means make sense, and how to say so: the same as of what is written by hand.
fn sense(channel: Channel, value: f64) -> (bool, &'static str) {
    match channel.dimension() {
        Dimension::Temperature => (
            value > TEMPERATURES.0 && value <= TEMPERATURES.1,
            "between -73 °C and 1227 °C",
        ),
        Dimension::Pressure => (
            value > -1.2e5 && value <= 2e6,
            "between -1.2 bar and 20 bar",
        ),
        _ => (value > 0.0, "above zero"),
    }
}

/// A mean in the unit of the face, to two digits of its standard uncertainty, but to no more than were logged.
fn written(mean: &Mean) -> String {
    let (unit, scale, zero) = mean.channel.dimension().face();
    let logged = -(2.0 * scale * mean.half_last_digit).log10().round();
    let told = 1.0 - (scale * mean.doubt()).log10().floor();
    // Between 0 and 4, so that the cast is exact; a doubt of 0 tells all that was logged.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let decimals = told.min(logged).clamp(0.0, 4.0) as usize;
    format!("{:.decimals$} {unit}", zero + scale * mean.value)
}

fn surroundings(beside: &Beside<'_>, absolute: PerTank<bool>) -> Surroundings {
    let barometer = beside
        .barometer
        .map_or(STANDARD_ATMOSPHERE, |stated| stated.value);
    let added = |absolute| if absolute { 0.0 } else { barometer };
    let [inlet, outlet] = beside.air;
    let value = |declared: Option<&Declared>| declared.map(|declared| declared.value);
    Surroundings {
        inlet_added: added(absolute.inlet),
        outlet_added: added(absolute.outlet),
        inlet_air: value(inlet),
        outlet_air: value(outlet.or(beside.intake_air)),
    }
}
