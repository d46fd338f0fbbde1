//! Logs in the units of the face: the pulls, and where the values of a run come from.

use super::drift::student;
use crate::caution::{Caution, CautionId};
use crate::log::{self, Channel, Fit};
use crate::outcome::{Pull, PullFit, PullStep, Q};
use crate::quantity::Unit;
use crate::session::{InstrumentKind, Run, RunLog, Session};

/// The pulls, in the order of the session.
pub(super) fn of_session(session: &Session) -> Vec<Pull> {
    let pull = |run: &Run| {
        let log = run.log.as_ref()?;
        let found = log.reading.as_ref()?.pull.as_ref()?;
        Some(Pull {
            cooler: session.coolers[run.cooler].key.clone(),
            run: run.name.clone(),
            file: log.file.clone(),
            steps: found.bins.iter().map(step).collect(),
            fit: found.fit.as_ref().map(fit),
            missing: found
                .missing
                .iter()
                .map(|key| key.replace('`', ""))
                .collect(),
        })
    };
    session.runs.iter().filter_map(pull).collect()
}

fn step(bin: &log::Bin) -> PullStep {
    PullStep {
        engine_speed: bin.engine_speed,
        pressure_drop: 1e-3 * bin.pressure_drop,
        air_flow: bin.air_flow.map(|flow| 1e3 * flow),
        rows: bin.rows,
    }
}

fn fit(fit: &Fit) -> PullFit {
    let times = student(fit.freedom);
    let q = |value: f64, standard: f64, unit: Unit| Q {
        value,
        unit,
        low: Some(value - times * standard),
        high: Some(value + times * standard),
        standard_uncertainty: Some(standard),
    };
    PullFit {
        offset: q(
            1e-3 * fit.offset,
            1e-3 * fit.offset_standard,
            Unit::Kilopascal,
        ),
        loss_coefficient: q(fit.slope, fit.slope_standard, Unit::PerMetreToTheFourth),
    }
}

/// Where values of runs come from logs: sentences.
pub(super) fn sentences(session: &Session) -> Vec<String> {
    session.runs.iter().flat_map(of_run).collect()
}

fn of_run(run: &Run) -> Vec<String> {
    let mut found = Vec::new();
    let Some(log) = &run.log else { return found };
    if let (Some(reading), false) = (&log.reading, log.used.is_empty()) {
        let second = reading.found.map_or_else(String::new, |(from, to)| {
            format!(", {from:.2} to {to:.2} s")
        });
        found.push(format!(
            "In {} these are means of `{}` over {} of its {} rows (window {}{second}): {}.",
            run.name,
            log.file,
            reading.in_window,
            reading.rows,
            log.window,
            keys(&log.used)
        ));
    }
    let overruled = log.overruled.iter().map(|(channel, hand, logged)| {
        format!(
            "In {} the {} written by hand, {hand}, is taken; `{}` says {}.",
            run.name,
            channel.key().replace('-', " "),
            log.file,
            logged.trim_end_matches(" (log)")
        )
    });
    found.extend(overruled);
    found
}

fn keys(channels: &[Channel]) -> String {
    let mut channels = channels.to_vec();
    channels.sort_unstable();
    let keys: Vec<String> = channels
        .iter()
        .map(|channel| format!("`{}`", channel.key()))
        .collect();
    keys.join(", ")
}

/// Logged values whose sensors' accuracy nothing states.
pub(super) fn accuracy_assumed(session: &Session) -> Option<Caution> {
    let measured = |key: &str| {
        session.instruments.iter().any(|instrument| {
            matches!(&instrument.kind, InstrumentKind::Gauge(gauge) if gauge.measures.iter().any(|measured| measured == key))
        })
    };
    // What the engine turns at enters no figure.
    let counts = |channel: &Channel| *channel != Channel::EngineSpeed && !measured(channel.key());
    let lacking = |log: &RunLog| {
        let used = log.used.iter().filter(|channel| counts(channel));
        used.filter(|channel| !log.states_accuracy(**channel))
            .copied()
            .collect::<Vec<_>>()
    };
    let logs = session.runs.iter().filter_map(|run| run.log.as_ref());
    let mut channels: Vec<Channel> = logs.flat_map(lacking).collect();
    channels.sort_unstable();
    channels.dedup();
    if channels.is_empty() {
        return None;
    }
    let message = format!(
        "accuracy of the logged sensors not stated; taken as exact: {}",
        keys(&channels)
    );
    let mut caution = Caution::new(CautionId::AccuracyAssumed, "log", message);
    caution.advice = "Copy the accuracy from the sensors' data sheets: add an [instrument.NAME] with `measures` and `accuracy` (of \
                      `ambient` and `cooling-air` write it with the column)."
        .to_owned();
    Some(caution)
}
