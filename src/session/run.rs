//! `[[run]]`: one steady hold of one cooler.

use std::collections::HashSet;

use super::conditions::{self, Stated};
use super::log::{self, Beside, Logged};
use super::names::Names;
use super::reader::{Entry, Table};
use super::snapshot::{self, Known};
use super::value::Spec;
use super::{Declared, PerTank, Run, Tank, expected, spot};
use crate::log::Channel;
use crate::units::Dimension;

/// Keys of a run that would be taken for a snapshot's, reading's or condition's if they were written after one.
pub(super) const OWN_KEYS: &[&str] = &[
    "cooler",
    "engine-speed",
    "hold",
    "start-skin",
    "inlet-pressure",
    "outlet-pressure",
    "differential-pressure",
    "intake-air",
    "inlet-air",
    "outlet-air",
    "air-flow",
    "change",
    "expect",
    "log",
    "name",
    "time",
];

const WHY: &str =
    "belongs to the run, but stands below a table inside the run and so belongs to that";
const MEND: &str = "move it up, directly below [[run]] and above the first [[run.snapshot]], [[run.pistol]], [[run.contact]] or [run.conditions]";

/// What can make a run worth having.
const EVIDENCE: &[&str] = &[
    "snapshot",
    "pistol",
    "contact",
    "inlet-pressure",
    "outlet-pressure",
    "differential-pressure",
    "intake-air",
    "inlet-air",
    "outlet-air",
    "expect",
    "log",
];

/// Gives every run a name of its own.
#[derive(Default)]
pub(super) struct RunNames(HashSet<String>);

impl RunNames {
    fn of(&mut self, table: &Table<'_>, number: usize) -> String {
        let name = match table.get("name") {
            Some(entry) => table
                .text_of(&entry)
                .map(|text| (text.trim().to_owned(), entry.span())),
            None => Some((format!("run {number}"), table.span.clone())),
        };
        let (name, span) = name.unwrap_or_else(|| (format!("run {number}"), table.span.clone()));
        if name.is_empty() {
            table.problem(
                span,
                "a run with an empty name",
                "give it a name, or leave `name` out",
            );
        } else if !self.0.insert(name.clone()) {
            let mend = "give each run its own name";
            table.problem(span, format!("two runs are named `{name}`"), mend);
        }
        name
    }
}

/// The time of day of a run, s since midnight: hours and minutes, and seconds if need be.
fn time_of_day(table: &Table<'_>) -> Option<f64> {
    let entry = table.get("time")?;
    let text = table.text_of(&entry)?;
    let parts: Vec<&str> = text.trim().split(':').collect();
    let part = |index: usize, below: u32| -> Option<u32> {
        let part = parts.get(index).copied().unwrap_or("0");
        let digits = matches!(part.len(), 1 | 2) && part.bytes().all(|byte| byte.is_ascii_digit());
        part.parse().ok().filter(|&number| digits && number < below)
    };
    let read = matches!(parts.len(), 2 | 3)
        .then(|| Some((part(0, 24)?, part(1, 60)?, part(2, 60)?)))
        .flatten();
    if read.is_none() {
        let mend = "write hours and minutes, for instance time = \"14:05\"";
        table.problem(
            entry.span(),
            format!("`time`: `{text}` is no time of day"),
            mend,
        );
    }
    let (hours, minutes, seconds) = read?;
    Some(f64::from(hours * 3600 + minutes * 60 + seconds))
}

pub(super) fn read<'t>(
    mut table: Table<'t>,
    number: usize,
    names: &mut RunNames,
    coolers: &Names<'t>,
    session: &Stated,
    known: &Known<'t>,
) -> Option<Run> {
    let name = names.of(&table, number);
    table.place = format!("run.{name}");
    let cooler = table.require(
        "cooler",
        "name the cooler that was fitted, for instance cooler = \"original\"",
    );
    let cooler = cooler.and_then(|entry| coolers.find(&table, &entry));
    if !EVIDENCE.iter().any(|key| table.has(key)) {
        let mend = "add a [[run.snapshot]], a [[run.pistol]] or the pressures";
        let what = format!("{} has nothing measured in it", table.title());
        table.absent(what, mend);
    }
    let own = own_conditions(&table);
    let notes = notes(&table);
    let barometer = own.barometer().or(session.barometer());
    let mut logged = logged(&table, &notes, barometer, known);
    let conditions = conditions::of_run(&table, session, own, &mut logged);
    let notes = notes.completed(&mut logged);
    let time = time_of_day(&table);
    let contacts = inner_list(&table, "contact", |inner| {
        spot::contact(inner, &known.surfaces)
    });
    let pistols = inner_list(&table, "pistol", |inner| {
        spot::pistol(inner, &known.surfaces, &known.instruments)
    });
    let expected = expected::read(&table, &known.surfaces, &known.instruments);
    let snapshots = inner_list(&table, "snapshot", |inner| snapshot::read(inner, known));
    table.finish();
    Some(Run {
        cooler: cooler?,
        name,
        conditions: conditions?,
        contacts: contacts?,
        snapshots: snapshots?,
        pistols: pistols?,
        span: table.span.clone(),
        time,
        engine_speed: notes.engine_speed,
        hold: notes.hold,
        start_skin: notes.start_skin,
        pressure: notes.pressure,
        differential_pressure: notes.differential_pressure,
        intake_air: notes.intake_air,
        air: notes.air,
        air_flow: notes.air_flow,
        change: notes.change,
        expected: expected?,
        log: logged.log,
    })
}

fn own_conditions(table: &Table<'_>) -> Stated {
    match table.table("conditions") {
        Some(own) => conditions::read(&own.with_elsewhere(OWN_KEYS, WHY, MEND)),
        None => Stated::default(),
    }
}

/// The run's log, read.
fn logged(
    table: &Table<'_>,
    notes: &Notes,
    barometer: Option<&Declared>,
    known: &Known<'_>,
) -> Logged {
    let beside = Beside {
        barometer,
        air: [notes.air.inlet.as_ref(), notes.air.outlet.as_ref()],
        intake_air: notes.intake_air.as_ref(),
    };
    let asked = log::ask(table, &known.absolute_notes);
    match asked {
        Some(asked) => asked.read(table, &beside),
        None if table.has("log") => Logged::unreadable(),
        None => Logged::default(),
    }
}

/// What is noted down in a run.
struct Notes {
    engine_speed: Option<Declared>,
    hold: Option<Declared>,
    start_skin: PerTank<Option<Declared>>,
    pressure: PerTank<Option<Declared>>,
    differential_pressure: Option<Declared>,
    intake_air: Option<Declared>,
    air: PerTank<Option<Declared>>,
    air_flow: Option<Declared>,
    change: Option<String>,
}

impl Notes {
    /// With a log's means where nothing is written by hand.
    fn completed(mut self, logged: &mut Logged) -> Self {
        let (pressure, air) = (&mut self.pressure, &mut self.air);
        let notes = [
            (Channel::EngineSpeed, &mut self.engine_speed),
            (Channel::InletPressure, &mut pressure.inlet),
            (Channel::OutletPressure, &mut pressure.outlet),
            (
                Channel::DifferentialPressure,
                &mut self.differential_pressure,
            ),
            (Channel::IntakeAir, &mut self.intake_air),
            (Channel::InletAir, &mut air.inlet),
            (Channel::OutletAir, &mut air.outlet),
            (Channel::AirFlow, &mut self.air_flow),
        ];
        for (channel, note) in notes {
            *note = logged.or(channel, note.take());
        }
        self
    }
}

fn notes(table: &Table<'_>) -> Notes {
    let temperature = Spec::measured(Dimension::Temperature);
    let pressure =
        Spec::measured(Dimension::Pressure).within(-1.2e5, 2e6, "between -1.2 bar and 20 bar");
    Notes {
        engine_speed: table.quantity("engine-speed", Spec::measured(Dimension::EngineSpeed)),
        hold: table.quantity("hold", Spec::measured(Dimension::Time).or_zero()),
        start_skin: start_skin(table),
        pressure: PerTank {
            inlet: table.quantity("inlet-pressure", pressure),
            outlet: table.quantity("outlet-pressure", pressure),
        },
        differential_pressure: table.quantity("differential-pressure", pressure),
        intake_air: table.quantity("intake-air", temperature),
        air: PerTank {
            inlet: table.quantity("inlet-air", temperature),
            outlet: table.quantity("outlet-air", temperature),
        },
        air_flow: table.quantity("air-flow", Spec::measured(Dimension::MassFlow)),
        change: table.text("change"),
    }
}

fn start_skin(table: &Table<'_>) -> PerTank<Option<Declared>> {
    let mut skin = PerTank::default();
    let Some(inner) = table.table("start-skin") else {
        return skin;
    };
    for tank in Tank::BOTH {
        *skin.get_mut(tank) = inner.quantity(tank.word(), Spec::measured(Dimension::Temperature));
    }
    inner.finish();
    skin
}

/// Reads all tables of a list inside the run; `None` where one of them is not sound.
fn inner_list<'t, T>(
    table: &Table<'t>,
    key: &'static str,
    read: impl Fn(&Table<'t>) -> Option<T>,
) -> Option<Vec<T>> {
    let Some(entry) = table.get(key) else {
        return Some(Vec::new());
    };
    let elements = if entry.value.get_ref().as_table().is_some() {
        let what = format!("a run can have several {key}s, so each has two brackets");
        table.problem(entry.span(), what, format!("write [[run.{key}]]"));
        return None;
    } else {
        table.list_of(
            &entry,
            &format!("[[run.{key}]] and its keys on the lines below"),
        )?
    };
    let one = |(index, element): (usize, &Entry<'t>)| {
        let place = format!("{}.{key} {}", table.place, index + 1);
        let inner = table.table_of(element, place)?;
        read(&inner.with_elsewhere(OWN_KEYS, WHY, MEND))
    };
    let read: Vec<Option<T>> = elements.iter().enumerate().map(one).collect();
    read.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const FULL: &str = include_str!("../../tests/data/session/full.toml");

    #[test]
    fn every_key_said_to_belong_to_a_run_is_accepted_in_one() {
        for key in OWN_KEYS {
            assert!(
                FULL.contains(&format!("\n{key} = ")),
                "{key} is not in the full example"
            );
        }
    }
}
