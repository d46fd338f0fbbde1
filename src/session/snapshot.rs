//! `[[run.snapshot]]`: one thermal picture file.

use std::cell::Cell;

use super::names::Names;
use super::picks::Instruments;
use super::reader::{Entry, Table};
use super::region::{self, Views};
use super::value::Spec;
use super::{BLANK, BarLaw, Printed, Region, Snapshot, files, instrument, pixels};
use crate::units::Dimension;

/// The most points that all regions of all snapshots may have together: bounds the memory that a file can ask for.
const MOST_POINTS: usize = 2_000_000;

/// What a snapshot may refer to.
pub(super) struct Known<'t> {
    pub surfaces: Names<'t>,
    pub instruments: Instruments<'t>,
    pub view_names: Names<'t>,
    pub views: Views,
    pub points: Cell<usize>,
    /// Keys of a run that a gauge reads absolute.
    pub absolute_notes: Vec<String>,
}

pub(super) fn read<'t>(table: &Table<'t>, known: &Known<'t>) -> Option<Snapshot> {
    let file = table.require(
        "file",
        "name the picture, for instance file = \"original-1.tiff\"",
    );
    let named = file.and_then(|entry| {
        let text = table.text_of(&entry)?;
        let path = files::resolve(table, &entry, text)?;
        Some((text.to_owned(), path, entry.span()))
    });
    let regions = regions(table, known);
    let instrument = known.instruments.of(table, false);
    let pixels_entry = table.get("pixels");
    let pixels = pixels_entry.and_then(|entry| pixels::read(table, &entry));
    let temperature = Spec::measured(Dimension::Temperature);
    let at = table.quantity("at", Spec::exact(Dimension::Time).or_zero());
    // A limit that is still a blank leaves the other without a partner, which is no fault of its own.
    let blank = ["low", "high"]
        .iter()
        .any(|key| table.peek_text(key) == Some(BLANK));
    let (low, high) = (
        table.quantity("low", temperature).filter(|_| !blank),
        table.quantity("high", temperature).filter(|_| !blank),
    );
    if let (Some(low), Some(high)) = (&low, &high)
        && low.value >= high.value
    {
        let what = format!(
            "`high` is {}, not above `low`, which is {}",
            high.written, low.written
        );
        table.problem(
            high.span.clone(),
            what,
            "write the limits as printed at the bar's ends",
        );
    }
    let angle = table.quantity(
        "angle",
        Spec::exact(Dimension::Angle).within(-1e-9, 90.0, "between 0° and 90°"),
    );
    let printed = printed(table);
    let colour_bar = instrument::colour_bar(table);
    let page = page(table);
    table.finish();
    let (file, path, span) = named?;
    Some(Snapshot {
        file,
        path,
        regions: regions?,
        instrument: instrument?,
        pixels,
        at,
        angle,
        low,
        high,
        printed,
        colour_bar,
        low_end: None,
        bar_law: BarLaw::default(),
        page,
        span,
    })
}

/// Its own regions or those of its view: one of the two.
fn regions<'t>(table: &Table<'t>, known: &Known<'t>) -> Option<Vec<Region>> {
    let regions = match (table.get("view"), table.get("regions")) {
        (Some(view), None) => {
            let index = known.view_names.find(table, &view)?;
            let regions = known.views.get(index)?.as_ref()?;
            affordable(table, known, regions)?;
            return Some(regions.clone());
        }
        (None, Some(own)) => region::regions(table, &own, &known.surfaces)?,
        (Some(_), Some(own)) => {
            let what = "a snapshot with both `view` and `regions`";
            table.problem(own.key_span(), what, "keep one");
            return None;
        }
        (None, None) => {
            let mend = "write view = \"…\" with the name of a [view.…], or regions = [ … ]";
            table.absent("a snapshot without regions", mend);
            return None;
        }
    };
    affordable(table, known, &regions)?;
    Some(regions)
}

fn affordable(table: &Table<'_>, known: &Known<'_>, regions: &[Region]) -> Option<()> {
    let before = known.points.get();
    let after = before.saturating_add(region::weight(regions));
    known.points.set(after);
    if after <= MOST_POINTS {
        return Some(());
    }
    if before <= MOST_POINTS {
        let what = "the regions of all snapshots together have too many corners";
        table.problem(
            table.span.clone(),
            what,
            "draw them with fewer corners, or split the session",
        );
    }
    None
}

fn printed(table: &Table<'_>) -> Vec<Printed> {
    let example = "printed = [{ at = [x, y], reading = \"53.2 °C\" }]";
    let elements = table.list("printed", example).unwrap_or_default();
    let read = |(index, element): (usize, &Entry<'_>)| {
        let place = format!("{}.printed {}", table.place, index + 1);
        let one = table.table_of(element, place)?;
        let at = one.require("at", &format!("write {example}"));
        let at = at.and_then(|entry| one.coordinates_of(&entry, example));
        let mend = format!("write {example}");
        let reading =
            one.require_quantity("reading", Spec::measured(Dimension::Temperature), &mend);
        one.finish();
        Some(Printed {
            at: at?,
            reading: reading?,
        })
    };
    elements.iter().enumerate().filter_map(read).collect()
}

fn page(table: &Table<'_>) -> Option<usize> {
    let entry = table.get("page")?;
    let number = table.number_of(&entry, "page = 1")?;
    if number >= 1.0 && number.fract() == 0.0 && number <= 1e6 {
        // A whole number between 1 and a million is exact as either.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        return Some(number as usize);
    }
    table.problem(
        entry.span(),
        format!("there is no page {number}"),
        "pages are counted from 1",
    );
    None
}
