//! The session's own keys, and the order in which its tables are read.

use std::cell::Cell;
use std::path::Path;
use std::sync::Arc;

use super::conditions::{self, Stated};
use super::names::{Names, did_you_mean};
use super::picks::{Instruments, Traits};
use super::reader::{Entry, Table};
use super::run::RunNames;
use super::snapshot::Known;
use super::value::Spec;
use super::{
    Cooler, Declared, Instrument, InstrumentKind, NamedFile, Pixels, Repeatability, Run, Session,
    SourceText, Surface, cooler, instrument, limits, region, run, surface,
};
use crate::quantity::{QuantityId, Unit};
use crate::units::Dimension;

/// Everything of a session but its text.
pub(super) struct Parts {
    title: Option<String>,
    baseline: Option<usize>,
    primary: Option<QuantityId>,
    matters: Option<Declared>,
    repeatability: Repeatability,
    instruments: Vec<Instrument>,
    surfaces: Vec<Surface>,
    coolers: Vec<Cooler>,
    runs: Vec<Run>,
    limits: Option<NamedFile>,
}

impl Parts {
    pub fn into_session(self, source: Arc<SourceText>, folder: Option<&Path>) -> Session {
        let first = self.runs.first().map_or(0, |run| run.cooler);
        Session {
            source,
            folder: folder.unwrap_or_else(|| Path::new(".")).to_owned(),
            title: self.title,
            baseline: self.baseline.unwrap_or(first),
            primary: self.primary,
            matters: self.matters,
            repeatability: self.repeatability,
            scatter: super::Scatter::Shown,
            instruments: self.instruments,
            surfaces: self.surfaces,
            coolers: self.coolers,
            runs: self.runs,
            limits: self.limits,
        }
    }
}

/// Named tables of one kind, with their names.
type NamedTables<'t> = Vec<(&'t str, Table<'t>)>;

fn names<'t>(tables: &NamedTables<'t>) -> Vec<&'t str> {
    tables.iter().map(|(name, _)| *name).collect()
}

/// Reads the whole session; what is wrong is noted in the table's context. `None` where a part is not sound.
pub(super) fn read(table: &Table<'_>) -> Option<Parts> {
    let title = table.text("title");
    let primary = primary(table);
    let matters = matters(table, primary);
    let limits_file = table.get("limits");
    let stated = match table.table("conditions") {
        Some(own) => conditions::read(&own),
        None => Stated::default(),
    };
    let repeatability = repeatability(table);
    let instrument_tables = table.named_tables("instrument");
    let surface_tables = table.named_tables("surface");
    let cooler_tables = table.named_tables("cooler");
    let view_tables = table.named_tables("view");
    let surface_names = Names::new("surface", names(&surface_tables));
    let cooler_names = Names::new("cooler", names(&cooler_tables));
    let traits = instrument_tables
        .iter()
        .map(|(_, table)| Traits::of(table))
        .collect();
    let instruments: Vec<_> = instrument_tables
        .iter()
        .map(|(name, table)| instrument::read(name, table))
        .collect();
    instrument::shared_notes(
        instrument_tables.iter().map(|(_, table)| table),
        &instruments,
    );
    let surfaces: Vec<_> = surface_tables
        .iter()
        .map(|(name, table)| surface::read(name, table))
        .collect();
    let coolers: Vec<_> = cooler_tables
        .iter()
        .map(|(key, table)| cooler::read(key, table, &surface_names))
        .collect();
    let views = view_tables
        .iter()
        .map(|(_, table)| region::view(table, &surface_names))
        .collect();
    let known = Known {
        view_names: Names::new("view", names(&view_tables)),
        views,
        instruments: Instruments::new(names(&instrument_tables), traits),
        surfaces: surface_names,
        points: Cell::new(0),
        absolute_notes: absolute_notes(&instruments),
    };
    let runs = runs(table, &cooler_names, &stated, &known);
    let baseline = table
        .get("baseline")
        .map(|entry| cooler_names.find(table, &entry));
    table.finish();
    idle_coolers(&cooler_tables, runs.as_deref());
    let mut parts = Parts {
        title,
        baseline: baseline.flatten(),
        primary,
        matters,
        repeatability,
        instruments: instruments.into_iter().collect::<Option<_>>()?,
        surfaces: surfaces.into_iter().collect::<Option<_>>()?,
        coolers: coolers.into_iter().collect::<Option<_>>()?,
        runs: runs?,
        limits: None,
    };
    if let Some(entry) = limits_file {
        parts.limits = limits::apply(table, &entry, &mut parts.runs);
    }
    inherit(&mut parts);
    scales_complete(table, &parts);
    settings_present(table, &parts);
    Some(parts)
}

/// The keys of a run that a gauge reads absolute.
fn absolute_notes(instruments: &[Option<Instrument>]) -> Vec<String> {
    let gauges = instruments.iter().flatten();
    let absolute = gauges.filter_map(|instrument| match &instrument.kind {
        InstrumentKind::Gauge(gauge) if gauge.absolute => Some(gauge.measures.clone()),
        _ => None,
    });
    absolute.flatten().collect()
}

fn primary(table: &Table<'_>) -> Option<QuantityId> {
    let entry = table.get("primary")?;
    let text = table.text_of(&entry)?;
    let found = QuantityId::from_id(text);
    if found.is_none() {
        let mend = did_you_mean(
            text,
            QuantityId::ALL.iter().map(|id| id.id()),
            "quantities are",
        );
        table.problem(entry.span(), format!("there is no quantity `{text}`"), mend);
    }
    found
}

/// `matters` is a difference of the primary quantity, so its dimension is that one's.
fn matters(table: &Table<'_>, primary: Option<QuantityId>) -> Option<Declared> {
    let unit = primary.map_or(Unit::Celsius, QuantityId::unit);
    let dimension = match unit {
        Unit::Celsius | Unit::Kelvin => Dimension::TemperatureDifference,
        Unit::Kilopascal | Unit::PoundPerSquareInch | Unit::Bar => Dimension::Pressure,
        Unit::One | Unit::Percent | Unit::Points => Dimension::Ratio,
        Unit::KilogramPerCubicMetre => Dimension::Density,
        Unit::Kilowatt | Unit::WattPerKelvin | Unit::PerMetreToTheFourth => {
            let entry = table.get("matters")?;
            let what = format!(
                "`matters` cannot be stated in {}, the unit of `primary`",
                unit.symbol()
            );
            table.problem(
                entry.span(),
                what,
                "leave it out, or choose another primary quantity",
            );
            return None;
        }
    };
    table.quantity("matters", Spec::exact(dimension).above_zero())
}

fn repeatability(table: &Table<'_>) -> Repeatability {
    let Some(own) = table.table("repeatability") else {
        return Repeatability::default();
    };
    let read = Repeatability {
        temperature: own.quantity(
            "temperature",
            Spec::exact(Dimension::TemperatureDifference).above_zero(),
        ),
        pressure: own.quantity("pressure", Spec::exact(Dimension::Pressure).above_zero()),
    };
    own.finish();
    read
}

fn runs<'t>(
    table: &Table<'t>,
    coolers: &Names<'t>,
    session: &Stated,
    known: &Known<'t>,
) -> Option<Vec<Run>> {
    let entry = table.require(
        "run",
        "add a [[run]] for each hold, with its cooler and a [[run.snapshot]]",
    )?;
    if entry.value.get_ref().as_table().is_some() {
        one_table(table, &entry);
        return None;
    }
    let elements = table.list_of(&entry, "[[run]] and its keys on the lines below")?;
    if elements.is_empty() {
        table.problem(
            entry.span(),
            "the session has no runs",
            "add a [[run]] for each hold",
        );
    }
    let mut names = RunNames::default();
    let mut runs = Vec::new();
    for (index, element) in elements.iter().enumerate() {
        let inner = table.table_of(element, format!("run.run {}", index + 1));
        runs.push(
            inner
                .and_then(|inner| run::read(inner, index + 1, &mut names, coolers, session, known)),
        );
    }
    runs.into_iter().collect()
}

/// `run` came out as one table: either it has single brackets, or something inside a run came before any run.
fn one_table(table: &Table<'_>, entry: &Entry<'_>) {
    let header = table.context.slice(&entry.span());
    if header.starts_with('[') {
        let what = "a session can have several runs, so each has two brackets";
        table.problem(entry.span(), what, "write [[run]] instead of [run]");
    } else {
        let what = "something inside a run stands before any [[run]]";
        let mend =
            "write [[run]] with its cooler first, then its [[run.snapshot]] and [run.conditions]";
        table.problem(entry.key_span(), what, mend);
    }
}

fn idle_coolers(tables: &NamedTables<'_>, runs: Option<&[Run]>) {
    let Some(runs) = runs else { return };
    let used: std::collections::HashSet<usize> = runs.iter().map(|run| run.cooler).collect();
    for (index, (key, table)) in tables.iter().enumerate() {
        if !used.contains(&index) {
            let what = format!("the cooler `{key}` has no run");
            let mend = format!("add a [[run]] with cooler = \"{key}\", or take it out");
            table.absent(what, mend);
        }
    }
}

/// A snapshot has its instrument's pixels and colour bar where it states none.
fn inherit(parts: &mut Parts) {
    for snapshot in parts.runs.iter_mut().flat_map(|run| &mut run.snapshots) {
        let instrument = parts.instruments.get(snapshot.instrument);
        if let Some(InstrumentKind::Thermal(thermal)) = instrument.map(|found| &found.kind) {
            snapshot.pixels = snapshot.pixels.take().or_else(|| thermal.pixels.clone());
            snapshot.colour_bar = snapshot
                .colour_bar
                .take()
                .or_else(|| thermal.colour_bar.clone());
            snapshot.low_end = thermal.low_end;
            snapshot.bar_law = thermal.bar_law;
        }
    }
}

/// What of a palette picture's scale is stated must be all of it: a bar, the low and the high limit.
fn scales_complete(table: &Table<'_>, parts: &Parts) {
    for snapshot in parts.runs.iter().flat_map(|run| &run.snapshots) {
        let (what, mend) = match (&snapshot.low, &snapshot.high) {
            (Some(low), None) => (
                format!(
                    "the picture's scale has `low`, {}, but no `high`",
                    low.written
                ),
                "write high = \"…\" with the number printed at the bar's other end",
            ),
            (None, Some(high)) => (
                format!(
                    "the picture's scale has `high`, {}, but no `low`",
                    high.written
                ),
                "write low = \"…\" with the number printed at the bar's other end",
            ),
            (Some(low), Some(_)) if snapshot.colour_bar.is_none() => (
                format!(
                    "the picture has limits, from {}, but no colour bar that they belong to",
                    low.written
                ),
                "write colour-bar = \"find\" or colour-bar = [x, y, width, height] on the instrument or the snapshot",
            ),
            (None, None) if !snapshot.printed.is_empty() => (
                "numbers printed in the picture check its limits, which are not stated".to_owned(),
                "write `low` and `high` as printed at the bar's ends",
            ),
            _ => continue,
        };
        table.problem(snapshot.span.clone(), what, mend);
    }
}

/// An instrument whose own pixels are raw signal states no emissivity: nothing else may rely on one.
fn settings_present(table: &Table<'_>, parts: &Parts) {
    let lacks = |index: usize| match parts
        .instruments
        .get(index)
        .map(|instrument| &instrument.kind)
    {
        Some(InstrumentKind::Thermal(thermal)) => {
            thermal.emissivity.is_none()
                && matches!(thermal.pixels, Some(Pixels::SakumaHattori { .. }))
        }
        _ => false,
    };
    let what = "this reading is a temperature, but its instrument states no emissivity setting";
    let mend = "add emissivity = … to the instrument";
    for run in &parts.runs {
        for snapshot in &run.snapshots {
            if matches!(snapshot.pixels, Some(Pixels::Linear { .. })) && lacks(snapshot.instrument)
            {
                table.problem(snapshot.span.clone(), what, mend);
            }
        }
        for pistol in run.pistols.iter().filter(|pistol| lacks(pistol.instrument)) {
            table.problem(pistol.span.clone(), what, mend);
        }
    }
}
