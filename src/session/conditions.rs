//! `[conditions]` and `[run.conditions]`: the surroundings.

use super::log::Logged;
use super::reader::Table;
use super::value::{SHARE, Spec};
use super::{Conditions, Declared};
use crate::log::Channel;
use crate::units::Dimension;

/// Conditions as one table states them.
#[derive(Default, Clone)]
pub(super) struct Stated {
    ambient: Option<Declared>,
    cooling_air: Option<Declared>,
    reflected: Option<Declared>,
    barometer: Option<Declared>,
    transmittance: Option<Declared>,
    outer_film: Option<Declared>,
    air_speed: Option<Declared>,
    cooling_air_flow: Option<Declared>,
    /// Whether an ambient is written, readable or not.
    ambient_written: bool,
}

pub(super) fn read(table: &Table<'_>) -> Stated {
    let temperature = Spec::measured(Dimension::Temperature);
    let barometer =
        Spec::measured(Dimension::Pressure).within(30e3, 120e3, "between 300 hPa and 1200 hPa");
    let (low, high, words) = SHARE;
    if table.has("outer-film") && table.has("air-speed") {
        let what = format!("{} has both `outer-film` and `air-speed`", table.title());
        let mend = "keep one: the film where it is known, else the speed it is worked out from";
        table.problem(table.span.clone(), what, mend);
    }
    let stated = Stated {
        ambient: table.quantity("ambient", temperature),
        cooling_air: table.quantity("cooling-air", temperature),
        reflected: table.quantity("reflected", temperature),
        barometer: table.quantity("barometer", barometer),
        transmittance: table.quantity(
            "transmittance",
            Spec::exact(Dimension::Ratio).within(low, high, words),
        ),
        outer_film: table.quantity(
            "outer-film",
            Spec::measured(Dimension::HeatTransferCoefficient),
        ),
        air_speed: table.quantity("air-speed", Spec::measured(Dimension::Velocity).or_zero()),
        cooling_air_flow: table.quantity("cooling-air-flow", Spec::measured(Dimension::MassFlow)),
        ambient_written: table.has("ambient"),
    };
    table.finish();
    stated
}

impl Stated {
    /// The barometric pressure.
    pub fn barometer(&self) -> Option<&Declared> {
        self.barometer.as_ref()
    }

    /// With what a log says of the run where it says nothing itself.
    fn with(mut self, logged: &mut Logged) -> Self {
        self.ambient = logged.or(Channel::Ambient, self.ambient);
        self.cooling_air = logged.or(Channel::CoolingAir, self.cooling_air);
        self.ambient_written |= logged.asks_for(Channel::Ambient);
        self
    }
}

/// The surroundings of one run: what it states itself, else what its log says, else what the session states.
///
/// An outside film and an air speed replace each other: a run that states one does not inherit the other.
pub(super) fn of_run(
    run: &Table<'_>,
    session: &Stated,
    own: Stated,
    logged: &mut Logged,
) -> Option<Conditions> {
    let film_stated = own.outer_film.is_some() || own.air_speed.is_some();
    let inherited = |value: &Option<Declared>| value.clone().filter(|_| !film_stated);
    let own = own.with(logged);
    if !own.ambient_written && !session.ambient_written {
        let mend = "add it under [conditions], for instance ambient = \"18 °C ± 0.5\"";
        run.missing("ambient", mend);
    }
    let or = |own: Option<Declared>, session: &Option<Declared>| own.or_else(|| session.clone());
    Some(Conditions {
        cooling_air: or(own.cooling_air, &session.cooling_air),
        reflected: or(own.reflected, &session.reflected),
        barometer: or(own.barometer, &session.barometer),
        transmittance: or(own.transmittance, &session.transmittance),
        outer_film: own.outer_film.or_else(|| inherited(&session.outer_film)),
        air_speed: own.air_speed.or_else(|| inherited(&session.air_speed)),
        cooling_air_flow: or(own.cooling_air_flow, &session.cooling_air_flow),
        ambient: or(own.ambient, &session.ambient)?,
    })
}
