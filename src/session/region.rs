//! `[view.NAME]` and lists of regions.

use std::collections::HashSet;

use super::names::Names;
use super::reader::{Entry, Table};
use super::value::Spec;
use super::{Region, Role, Tank, Use, shape};
use crate::units::Dimension;

/// More regions than a picture needs.
const MOST_REGIONS: usize = 1_000;

const EXAMPLE: &str = "regions = [{ tank = \"inlet\", rectangle = [x, y, width, height] }]";

const ROLES: &[(&str, Role)] = &[
    ("tank", Role::Tank),
    ("patch", Role::Patch),
    ("reflector", Role::Reflector),
    ("reference", Role::Reference),
];

pub(super) const TANKS: &[(&str, Tank)] = &[("inlet", Tank::Inlet), ("outlet", Tank::Outlet)];

const USES: &[(&str, Use)] = &[
    ("mean", Use::Mean),
    ("median", Use::Median),
    ("max", Use::Max),
];

/// Reads a view.
pub(super) fn view<'t>(table: &Table<'t>, surfaces: &Names<'t>) -> Option<Vec<Region>> {
    let list = table.require("regions", &format!("write {EXAMPLE}"));
    let regions = list.and_then(|list| regions(table, &list, surfaces));
    table.finish();
    regions
}

/// Reads a list of regions; what is declared in them stands at the place of the table that holds the list.
pub(super) fn regions<'t>(
    table: &Table<'t>,
    list: &Entry<'t>,
    surfaces: &Names<'t>,
) -> Option<Vec<Region>> {
    let elements = table.list_of(list, EXAMPLE)?;
    if elements.is_empty() || elements.len() > MOST_REGIONS {
        let what = format!("{} has {} regions", table.title(), elements.len());
        let mend = format!("give at least one and at most {MOST_REGIONS}: {EXAMPLE}");
        table.problem(list.span(), what, mend);
        return None;
    }
    let tables = elements
        .iter()
        .filter_map(|element| table.table_of(element, table.place.clone()));
    let tables: Vec<Table<'t>> = tables.collect();
    let mut names = RegionNames::stated(&tables);
    let regions: Vec<_> = tables
        .into_iter()
        .map(|table| region(table, &mut names, surfaces))
        .collect();
    let complete = regions.len() == elements.len();
    let regions: Option<Vec<_>> = regions.into_iter().collect();
    regions.filter(|_| complete)
}

fn region<'t>(
    mut table: Table<'t>,
    names: &mut RegionNames,
    surfaces: &Names<'t>,
) -> Option<Region> {
    let role_written = table.has("role");
    let role = table
        .word("role", ROLES)
        .or((!role_written).then_some(Role::Tank));
    let tank_written = table.has("tank");
    let tank = table.word("tank", TANKS);
    let stated = table.text("name");
    let name = names.of(stated, role, tank, &table);
    table.place = format!("{}.{name}", table.place);
    if matches!(role, Some(Role::Tank | Role::Patch)) && !tank_written {
        table.missing("tank", "write tank = \"inlet\" or tank = \"outlet\"");
    }
    let surface = table
        .get("surface")
        .map(|entry| surfaces.find(&table, &entry));
    if role == Some(Role::Patch) && surface.is_none() {
        table.missing(
            "surface",
            "name the patch's own surface, for instance surface = \"tape\"",
        );
    }
    let temperature = table.quantity("temperature", Spec::measured(Dimension::Temperature));
    match (role, table.has("temperature")) {
        (Some(Role::Reference), false) => {
            table.missing(
                "temperature",
                "write what it is known to be, for instance temperature = \"45 °C ± 0.3\"",
            );
        }
        (Some(Role::Tank | Role::Patch | Role::Reflector), true) => {
            let what = "only a region of role `reference` has a `temperature`";
            table.problem(
                table.span.clone(),
                what,
                "add role = \"reference\", or take the temperature out",
            );
        }
        _ => {}
    }
    let reflected = table.quantity("reflected", Spec::measured(Dimension::Temperature));
    let statistic = table.word("use", USES).unwrap_or_default();
    let shape = shape::read(&table);
    let exclude = shape::excluded(&table);
    table.finish();
    Some(Region {
        name,
        role: role?,
        tank,
        shape: shape?,
        exclude,
        surface: surface.flatten(),
        reflected,
        temperature,
        statistic,
        span: table.span.clone(),
    })
}

/// Gives every region of a list a name of its own.
struct RegionNames {
    /// Names written somewhere in the list: a default never takes one of them.
    stated: HashSet<String>,
    taken: HashSet<String>,
}

impl RegionNames {
    fn stated(tables: &[Table<'_>]) -> Self {
        let stated = tables.iter().filter_map(|table| table.peek_text("name"));
        Self {
            stated: stated.map(str::to_owned).collect(),
            taken: HashSet::new(),
        }
    }

    fn of(
        &mut self,
        stated: Option<String>,
        role: Option<Role>,
        tank: Option<Tank>,
        table: &Table<'_>,
    ) -> String {
        if let Some(name) = stated {
            if !self.taken.insert(name.clone()) {
                let what = format!("two regions of one list are named `{name}`");
                table.problem(table.span.clone(), what, "give each its own name");
            }
            return name;
        }
        let base = match (role, tank) {
            (Some(Role::Tank) | None, Some(tank)) => tank.word(),
            (role, _) => role.unwrap_or(Role::Tank).word(),
        };
        let numbered = |number: usize| match number {
            1 => base.to_owned(),
            _ => format!("{base} {number}"),
        };
        let free = (1..=2 * MOST_REGIONS)
            .map(numbered)
            .find(|name| !self.taken.contains(name) && !self.stated.contains(name));
        let name = free.unwrap_or_else(|| base.to_owned());
        self.taken.insert(name.clone());
        name
    }
}

/// How much memory a list of regions takes, in points.
pub(super) fn weight(regions: &[Region]) -> usize {
    let points = |shape: &crate::locate::shape::Shape| match shape {
        crate::locate::shape::Shape::Polygon(corners) => corners.len(),
        _ => 4,
    };
    regions
        .iter()
        .map(|region| 16 + points(&region.shape) + region.exclude.iter().map(points).sum::<usize>())
        .sum()
}

/// Views by their index; `None` where one could not be read.
pub(super) type Views = Vec<Option<Vec<Region>>>;
