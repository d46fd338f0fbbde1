//! Through a tank's wall: which films and which wall, and the charge air behind a skin.

use super::Place;
use crate::correct::notes;
use crate::heat::{slab::Slab, wall::radiation_film};
use crate::model::{Builder, Domain, Function, Slot};
use crate::session::{Declared, Surface};
use crate::units::Law;

/// A tank is no long pipe: the inside film from a flow is within this factor (judgement).
const INNER_DOUBT: f64 = 2.0;

/// A tank is no flat plate: the outside film from an air speed is within this factor (judgement).
const OUTER_DOUBT: f64 = 1.5;

/// Standard atmosphere, Pa: it enters the outside film alone, as the root at the most.
const ATMOSPHERE: f64 = 101_325.0;

/// What the way through the wall takes; what is not stated is `None`.
pub(super) struct Through {
    ambient: Slot,
    emissivity: Option<Slot>,
    thickness: Option<Slot>,
    conductivity: Option<Slot>,
    area_ratio: Slot,
    density: Option<Slot>,
    specific_heat: Option<Slot>,
    outer: Option<Outer>,
    inner: Option<Inner>,
}

enum Outer {
    Stated(Slot),
    /// Air speed, tank height, barometer, factor of doubt.
    AirSpeed([Slot; 4]),
}

enum Inner {
    Stated(Slot),
    /// Air flow, tank diameter, factor of doubt.
    Flow([Slot; 3]),
}

impl Through {
    pub(super) fn of(place: &Place<'_>, model: &mut Builder) -> Self {
        let run = place.run();
        let cooler = &place.session.coolers[run.cooler];
        let surface = &place.session.surfaces[cooler.surface(place.tank)];
        let mut own = |declared: &Option<Declared>| {
            declared
                .as_ref()
                .map(|declared| of_surface(declared, surface, &cooler.key, model))
        };
        let [thickness, conductivity, density, specific_heat] = [
            own(&surface.wall),
            own(&surface.conductivity),
            own(&surface.density),
            own(&surface.specific_heat),
        ];
        let area_ratio = own(&surface.outer_area_ratio);
        Self {
            ambient: model.declared(&run.conditions.ambient),
            emissivity: place.emissivity,
            thickness,
            conductivity,
            area_ratio: area_ratio.unwrap_or_else(|| model.constant(1.0)),
            density,
            specific_heat,
            outer: outer(place, model),
            inner: inner(place, model),
        }
    }

    /// What is missing for the charge air, in the session's words.
    pub(super) fn missing(&self) -> Vec<&'static str> {
        let needed = [
            (self.thickness.is_none(), "`wall` of the tank's surface"),
            (
                self.conductivity.is_none(),
                "`conductivity` of the tank's surface",
            ),
            (
                // Where the wall is missing the emissivity was not asked for.
                self.thickness.is_some() && self.emissivity.is_none(),
                "`emissivity` of the tank's own surface",
            ),
            (
                self.outer.is_none(),
                "`outer-film`, or `air-speed` and `tank-height`",
            ),
            (
                self.inner.is_none(),
                "`inner-film`, or `tank-diameter` and `air-flow`",
            ),
        ];
        let missing = needed.into_iter().filter(|(missing, _)| *missing);
        missing.map(|(_, words)| words).collect()
    }

    /// What is missing for the wall's transient, in the session's words.
    pub(super) fn missing_for_share(&self) -> Vec<&'static str> {
        let mut missing = self.missing();
        let needed = [
            (self.density.is_none(), "`density` of the tank's surface"),
            (
                self.specific_heat.is_none(),
                "`specific-heat` of the tank's surface",
            ),
        ];
        let more = needed.into_iter().filter(|(missing, _)| *missing);
        missing.extend(more.map(|(_, words)| words));
        missing
    }

    /// The charge air, K, behind a steady skin.
    pub(super) fn charge(&self, skin: Slot, reflected: Slot, model: &mut Builder) -> Option<Slot> {
        let heat = self.heat(skin, reflected, model)?;
        let arguments = [
            skin,
            heat.flux,
            heat.thickness,
            heat.conductivity,
            self.area_ratio,
            heat.inner,
        ];
        Some(model.call(Function::Charge, &arguments))
    }

    /// The share of its way that a skin has gone after a time, s.
    pub(super) fn share(
        &self,
        time: Slot,
        skin: Slot,
        reflected: Slot,
        model: &mut Builder,
    ) -> Option<Slot> {
        let heat = self.heat(skin, reflected, model)?;
        let arguments = [
            time,
            heat.thickness,
            heat.conductivity,
            self.area_ratio,
            self.density?,
            self.specific_heat?,
            heat.inner,
            heat.outer,
            skin,
            self.emissivity?,
            reflected,
        ];
        Some(model.call(Function::Share, &arguments))
    }

    /// The wall between its films at the central values.
    pub(super) fn slab(&self, skin: Slot, reflected: Slot, model: &mut Builder) -> Option<Slab> {
        let heat = self.heat(skin, reflected, model)?;
        let central = model.central();
        let of = |slot| central.get(slot);
        let radiation = radiation_film(of(skin)?, of(self.emissivity?)?, of(reflected)?);
        Some(Slab {
            thickness: of(heat.thickness)?,
            conductivity: of(heat.conductivity)?,
            capacity: of(self.density?)? * of(self.specific_heat?)?,
            inner_film: of(heat.inner)?,
            outer_film: (of(heat.outer)? + radiation) * of(self.area_ratio)?,
        })
    }

    /// Air in the shop, K.
    pub(super) fn ambient(&self) -> Slot {
        self.ambient
    }

    fn heat(&self, skin: Slot, reflected: Slot, model: &mut Builder) -> Option<Heat> {
        let (thickness, conductivity) = (self.thickness?, self.conductivity?);
        let outer = match self.outer.as_ref()? {
            Outer::Stated(film) => *film,
            Outer::AirSpeed([speed, height, pressure, doubt]) => {
                let arguments = [*speed, *height, skin, self.ambient, *pressure];
                let film = model.call(Function::OuterFilm, &arguments);
                model.product(film, *doubt)
            }
        };
        let arguments = [outer, skin, self.ambient, self.emissivity?, reflected];
        let flux = model.call(Function::Flux, &arguments);
        let inner = match self.inner.as_ref()? {
            Inner::Stated(film) => *film,
            Inner::Flow([flow, diameter, doubt]) => {
                let wall = [thickness, conductivity, self.area_ratio];
                let arguments = [
                    skin, flux, wall[0], wall[1], wall[2], *flow, *diameter, *doubt,
                ];
                model.call(Function::InnerFilm, &arguments)
            }
        };
        Some(Heat {
            thickness,
            conductivity,
            flux,
            outer,
            inner,
        })
    }
}

/// What goes through the wall at one skin.
struct Heat {
    thickness: Slot,
    conductivity: Slot,
    flux: Slot,
    outer: Slot,
    inner: Slot,
}

/// A property of a surface: one draw per cooler, because no two coolers carry the same piece, unless it is shared.
fn of_surface(declared: &Declared, surface: &Surface, cooler: &str, model: &mut Builder) -> Slot {
    if surface.shared {
        return model.declared_in(declared, Domain::Positive);
    }
    let place = format!("{} ({cooler})", declared.place);
    model.input_of(
        declared.dimension,
        &place,
        declared.value,
        declared.law,
        Domain::Positive,
    )
}

fn outer(place: &Place<'_>, model: &mut Builder) -> Option<Outer> {
    let conditions = &place.run().conditions;
    if let Some(film) = &conditions.outer_film {
        return Some(Outer::Stated(model.declared_in(film, Domain::Positive)));
    }
    let cooler = &place.session.coolers[place.run().cooler];
    let (speed, height) = (conditions.air_speed.as_ref()?, cooler.tank_height.as_ref()?);
    let pressure = match &conditions.barometer {
        Some(stated) => model.declared(stated),
        None => model.constant(ATMOSPHERE),
    };
    Some(Outer::AirSpeed([
        model.declared_in(speed, Domain::Positive),
        model.declared_in(height, Domain::Positive),
        pressure,
        doubt(&cooler.key, "outer film from air-speed", OUTER_DOUBT, model),
    ]))
}

fn inner(place: &Place<'_>, model: &mut Builder) -> Option<Inner> {
    let run = place.run();
    let cooler = &place.session.coolers[run.cooler];
    if let Some(film) = &cooler.inner_film {
        return Some(Inner::Stated(model.declared_in(film, Domain::Positive)));
    }
    let diameter = cooler.tank_diameter.as_ref()?;
    let flow = notes::air_flow(place.session, run, model)?;
    Some(Inner::Flow([
        flow,
        model.declared_in(diameter, Domain::Positive),
        doubt(&cooler.key, "inner film from air-flow", INNER_DOUBT, model),
    ]))
}

/// The doubt of a correlation: one factor per cooler, whose tanks have one shape.
fn doubt(cooler: &str, what: &str, factor: f64, model: &mut Builder) -> Slot {
    let place = format!("cooler.{cooler}.{what} (correlation)");
    model.input(&place, 1.0, Law::Factor { factor }, Domain::Positive)
}
