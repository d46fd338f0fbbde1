//! Everything a session declares as a value, in one list.

use super::{Conditions, Declared, Emissivity, Run, Session, Tank};

impl Session {
    /// Every declared value, in the order of the file, inherited ones once.
    #[must_use]
    pub fn declared(&self) -> Vec<&Declared> {
        let mut found: Vec<&Declared> = Vec::new();
        found.extend(self.matters.iter());
        found.extend(
            self.repeatability
                .temperature
                .iter()
                .chain(&self.repeatability.pressure),
        );
        for surface in &self.surfaces {
            if let Emissivity::Stated(emissivity) = &surface.emissivity {
                found.push(emissivity);
            }
            let rest = [
                &surface.wall,
                &surface.conductivity,
                &surface.density,
                &surface.specific_heat,
            ];
            found.extend(
                rest.into_iter()
                    .chain([&surface.outer_area_ratio])
                    .flatten(),
            );
        }
        for cooler in &self.coolers {
            found.extend(
                [
                    &cooler.inner_film,
                    &cooler.tank_diameter,
                    &cooler.tank_height,
                ]
                .into_iter()
                .flatten(),
            );
        }
        for run in &self.runs {
            of_conditions(&run.conditions, &mut found);
            of_run(run, &mut found);
        }
        found.sort_by_key(|declared| declared.span.start);
        // What a preset gives stands at the place of `like`, all of it.
        found.dedup_by(|a, b| (a.span.start, &a.place) == (b.span.start, &b.place));
        found
    }
}

fn of_conditions<'a>(conditions: &'a Conditions, found: &mut Vec<&'a Declared>) {
    found.push(&conditions.ambient);
    let optional = [
        &conditions.cooling_air,
        &conditions.reflected,
        &conditions.barometer,
        &conditions.transmittance,
        &conditions.outer_film,
        &conditions.air_speed,
        &conditions.cooling_air_flow,
    ];
    found.extend(optional.into_iter().flatten());
}

fn of_run<'a>(run: &'a Run, found: &mut Vec<&'a Declared>) {
    let optional = [
        &run.engine_speed,
        &run.hold,
        &run.differential_pressure,
        &run.intake_air,
        &run.air_flow,
    ];
    found.extend(optional.into_iter().flatten());
    for tank in Tank::BOTH {
        let optional = [
            run.start_skin.get(tank),
            run.pressure.get(tank),
            run.air.get(tank),
        ];
        found.extend(optional.into_iter().flatten());
    }
    found.extend(run.contacts.iter().map(|contact| &contact.temperature));
    for snapshot in &run.snapshots {
        found.extend(
            [&snapshot.at, &snapshot.low, &snapshot.high]
                .into_iter()
                .flatten(),
        );
        found.extend(snapshot.printed.iter().map(|printed| &printed.reading));
        for region in &snapshot.regions {
            found.extend(
                [&region.reflected, &region.temperature]
                    .into_iter()
                    .flatten(),
            );
        }
    }
    for pistol in &run.pistols {
        found.push(&pistol.reading);
        found.extend(
            [
                &pistol.distance,
                &pistol.target,
                &pistol.reflected,
                &pistol.at,
            ]
            .into_iter()
            .flatten(),
        );
    }
}
