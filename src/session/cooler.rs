//! `[cooler.KEY]`: a charge-air cooler under test.

use super::names::Names;
use super::reader::Table;
use super::value::Spec;
use super::{Cooler, PerTank};
use crate::units::Dimension;

pub(super) fn read<'t>(key: &str, table: &Table<'t>, surfaces: &Names<'t>) -> Option<Cooler> {
    let label = table.text("label").unwrap_or_else(|| key.to_owned());
    let tank = |tank: &'static str| {
        let mend =
            format!("name the surface of its {tank} tank, for instance {tank} = \"moulded\"");
        let entry = table.require(tank, &mend)?;
        surfaces.find(table, &entry)
    };
    let (inlet, outlet) = (tank("inlet"), tank("outlet"));
    if table.has("inner-film") && table.has("tank-diameter") {
        let what = format!(
            "{} has both `inner-film` and `tank-diameter`",
            table.title()
        );
        let mend = "keep one: the film where it is known, else the diameter it is worked out from";
        table.problem(table.span.clone(), what, mend);
    }
    let inner_film = table.quantity(
        "inner-film",
        Spec::measured(Dimension::HeatTransferCoefficient),
    );
    let tank_diameter = table.quantity("tank-diameter", Spec::exact(Dimension::Length));
    let tank_height = table.quantity("tank-height", Spec::exact(Dimension::Length));
    let pipes = PerTank {
        inlet: table.quantity("inlet-pipe", Spec::exact(Dimension::Length)),
        outlet: table.quantity("outlet-pipe", Spec::exact(Dimension::Length)),
    };
    table.finish();
    Some(Cooler {
        key: key.to_owned(),
        label,
        inlet: inlet?,
        outlet: outlet?,
        inner_film,
        tank_diameter,
        tank_height,
        pipes,
        span: table.span.clone(),
    })
}
