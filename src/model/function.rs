//! Functions of several numbers that the model can call: heat transfer and gas laws.

use crate::heat::{air, exchanger, film, flow, settling, slab::Slab, wall, wall::Wall};

/// Most arguments of a function: a series of readings with their times.
pub const ROOM: usize = 2 * settling::MOST_READINGS;

/// The most that a scatter is wider than estimated: with one or two degrees of freedom Student's t has no variance, and no
/// number of draws would settle its standard deviation. So far out the 95 % interval hardly moves any more (judgement).
const WIDEST: f64 = 50.0;

/// A function and, in its documentation, its arguments in their order. SI units; temperatures in K.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Function {
    /// Outside film from air speed, tank height, skin, ambient, barometric pressure.
    OuterFilm,
    /// Heat through the skin: film, skin, ambient, emissivity, reflected.
    Flux,
    /// Inside film: skin, flux, thickness, conductivity, area ratio, air flow, diameter, factor of doubt.
    InnerFilm,
    /// Charge air behind a skin: skin, flux, thickness, conductivity, area ratio, inside film.
    Charge,
    /// Share of its way that a skin has gone: time, thickness, conductivity, area ratio, density, specific heat,
    /// inside film, outside film, skin, emissivity, reflected.
    Share,
    /// Steady skin from a series: all times, rising, then all skins.
    Steady,
    /// How much wider a scatter may be than estimated: as many standard normal numbers as the estimate has degrees of
    /// freedom ν; √(ν / Σz²), at most 50, and 1 at the central values, which are all 0.
    Spread,
    /// Density of dry air: absolute pressure, temperature.
    Density,
    /// Specific heat of air: temperature.
    SpecificHeat,
    /// Heat rejected: flow, inlet, outlet.
    HeatRejected,
    /// NTU: effectiveness of the charge air, capacity rates of charge and cooling air (infinite where not known).
    Ntu,
    /// UA: NTU and both capacity rates.
    Ua,
    /// Loss coefficient: pressure drop, mean density, flow.
    LossCoefficient,
}

impl Function {
    /// Its value; NaN where there is none, or where arguments are missing.
    pub(super) fn value(self, arguments: &[f64]) -> f64 {
        match (self, arguments) {
            (Self::OuterFilm, &[speed, height, skin, ambient, pressure]) => {
                film::outside(film::Outside {
                    speed,
                    height,
                    skin,
                    ambient,
                    pressure,
                })
            }
            (Self::Flux, &[film, skin, ambient, emissivity, reflected]) => {
                wall::flux(film, skin, ambient, emissivity, reflected)
            }
            (
                Self::InnerFilm,
                &[
                    skin,
                    flux,
                    thickness,
                    conductivity,
                    area_ratio,
                    flow,
                    diameter,
                    factor,
                ],
            ) => wall_of(thickness, conductivity, area_ratio)
                .inner_film(skin, flux, flow, diameter, factor),
            (Self::Charge, &[skin, flux, thickness, conductivity, area_ratio, inner]) => {
                wall_of(thickness, conductivity, area_ratio).charge(skin, flux, inner)
            }
            (Self::Share, arguments) => share(arguments),
            (Self::Steady, arguments) => {
                let (times, skins) = arguments.split_at(arguments.len() / 2);
                settling::fit(times, skins).map_or(f64::NAN, |fit| fit.steady)
            }
            (Self::Spread, normals) => {
                let sum: f64 = normals.iter().map(|normal| normal * normal).sum();
                if sum > 0.0 {
                    (normals.len() as f64 / sum).sqrt().min(WIDEST)
                } else {
                    1.0
                }
            }
            (Self::Density, &[pressure, kelvin]) => air::density(pressure, kelvin),
            (Self::SpecificHeat, &[kelvin]) => air::specific_heat(kelvin),
            (Self::HeatRejected, &[flow, inlet, outlet]) => {
                flow::heat_rejected(flow, inlet, outlet)
            }
            (Self::Ntu, &[effectiveness, hot, cold]) => {
                exchanger::transfer(effectiveness, hot, cold)
            }
            (Self::Ua, &[ntu, hot, cold]) => exchanger::conductance(ntu, hot, cold),
            (Self::LossCoefficient, &[drop, density, flow]) => {
                flow::loss_coefficient(drop, density, flow)
            }
            _ => f64::NAN,
        }
    }
}

const fn wall_of(thickness: f64, conductivity: f64, area_ratio: f64) -> Wall {
    Wall {
        thickness,
        conductivity,
        area_ratio,
    }
}

fn share(arguments: &[f64]) -> f64 {
    let &[
        time,
        thickness,
        conductivity,
        ratio,
        density,
        heat,
        inner,
        outer,
        skin,
        emissivity,
        reflected,
    ] = arguments
    else {
        return f64::NAN;
    };
    let radiation = wall::radiation_film(skin, emissivity, reflected);
    let slab = Slab {
        thickness,
        conductivity,
        capacity: density * heat,
        inner_film: inner,
        outer_film: (outer + radiation) * ratio,
    };
    slab.share(time)
}
