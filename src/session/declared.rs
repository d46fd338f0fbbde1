//! Everything a session declares as a value, in one walk.

use super::{Conditions, Declared, Emissivity, Run, Session, Span, Tank};
use crate::units::{Dimension, Law};

impl Declared {
    /// A value that no line of the file writes: what a plan expects, or an advised session would have. `value` and `law` are
    /// in the base unit; `span` is where problems with it are shown.
    #[must_use]
    pub fn unwritten(
        place: impl Into<String>,
        dimension: Dimension,
        value: f64,
        law: Law,
        span: Span,
    ) -> Self {
        Self {
            place: place.into(),
            dimension,
            value,
            law,
            limits_assumed: false,
            sensor: None,
            written: String::new(),
            span,
        }
    }
}

impl Session {
    /// Every declared value, in the order of the file, inherited ones once.
    #[must_use]
    pub fn declared(&self) -> Vec<Declared> {
        let mut found: Vec<Declared> = Vec::new();
        self.clone()
            .amend(&mut |declared| found.push(declared.clone()));
        found.sort_by_key(|declared| declared.span.start);
        // What a preset gives stands at the place of `like`, all of it.
        found.dedup_by(|a, b| (a.span.start, &a.place) == (b.span.start, &b.place));
        found
    }

    /// Visits every declared value, to change it; what runs inherit is visited in each.
    pub fn amend(&mut self, visit: &mut dyn FnMut(&mut Declared)) {
        let repeatability = &mut self.repeatability;
        let mut optional = [
            &mut self.matters,
            &mut repeatability.temperature,
            &mut repeatability.pressure,
        ];
        some(&mut optional, visit);
        for surface in &mut self.surfaces {
            if let Emissivity::Stated(emissivity) = &mut surface.emissivity {
                visit(emissivity);
            }
            let mut optional = [
                &mut surface.wall,
                &mut surface.conductivity,
                &mut surface.density,
                &mut surface.specific_heat,
                &mut surface.outer_area_ratio,
            ];
            some(&mut optional, visit);
        }
        for cooler in &mut self.coolers {
            let mut optional = [
                &mut cooler.inner_film,
                &mut cooler.tank_diameter,
                &mut cooler.tank_height,
                &mut cooler.pipes.inlet,
                &mut cooler.pipes.outlet,
            ];
            some(&mut optional, visit);
        }
        for run in &mut self.runs {
            of_conditions(&mut run.conditions, visit);
            of_run(run, visit);
        }
    }
}

fn some(optional: &mut [&mut Option<Declared>], visit: &mut dyn FnMut(&mut Declared)) {
    optional
        .iter_mut()
        .filter_map(|declared| declared.as_mut())
        .for_each(visit);
}

fn of_conditions(conditions: &mut Conditions, visit: &mut dyn FnMut(&mut Declared)) {
    visit(&mut conditions.ambient);
    let mut optional = [
        &mut conditions.cooling_air,
        &mut conditions.reflected,
        &mut conditions.barometer,
        &mut conditions.transmittance,
        &mut conditions.outer_film,
        &mut conditions.air_speed,
        &mut conditions.cooling_air_flow,
    ];
    some(&mut optional, visit);
}

fn of_run(run: &mut Run, visit: &mut dyn FnMut(&mut Declared)) {
    let mut optional = [
        &mut run.engine_speed,
        &mut run.hold,
        &mut run.differential_pressure,
        &mut run.intake_air,
        &mut run.air_flow,
    ];
    some(&mut optional, visit);
    for tank in Tank::BOTH {
        let mut optional = [
            run.start_skin.get_mut(tank),
            run.pressure.get_mut(tank),
            run.air.get_mut(tank),
        ];
        some(&mut optional, visit);
    }
    if let Some(expected) = &mut run.expected {
        some(
            &mut [&mut expected.skin.inlet, &mut expected.skin.outlet],
            visit,
        );
    }
    for contact in &mut run.contacts {
        visit(&mut contact.temperature);
    }
    for snapshot in &mut run.snapshots {
        let mut optional = [&mut snapshot.at, &mut snapshot.low, &mut snapshot.high];
        some(&mut optional, visit);
        for printed in &mut snapshot.printed {
            visit(&mut printed.reading);
        }
        for region in &mut snapshot.regions {
            some(&mut [&mut region.reflected, &mut region.temperature], visit);
        }
    }
    for pistol in &mut run.pistols {
        visit(&mut pistol.reading);
        let mut optional = [
            &mut pistol.distance,
            &mut pistol.target,
            &mut pistol.reflected,
            &mut pistol.at,
        ];
        some(&mut optional, visit);
    }
}
