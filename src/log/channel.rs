//! What a log's columns may hold.

use crate::units::Dimension;

/// What a column of a log holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)]
pub enum Channel {
    Time,
    EngineSpeed,
    InletPressure,
    OutletPressure,
    DifferentialPressure,
    IntakeAir,
    InletAir,
    OutletAir,
    AirFlow,
    Ambient,
    CoolingAir,
}

/// How many channels there are.
pub const CHANNELS: usize = Channel::ALL.len();

impl Channel {
    /// All of them, in the order of a run's keys.
    pub const ALL: [Self; 11] = [
        Self::Time,
        Self::EngineSpeed,
        Self::InletPressure,
        Self::OutletPressure,
        Self::DifferentialPressure,
        Self::IntakeAir,
        Self::InletAir,
        Self::OutletAir,
        Self::AirFlow,
        Self::Ambient,
        Self::CoolingAir,
    ];

    /// The key in the session.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::EngineSpeed => "engine-speed",
            Self::InletPressure => "inlet-pressure",
            Self::OutletPressure => "outlet-pressure",
            Self::DifferentialPressure => "differential-pressure",
            Self::IntakeAir => "intake-air",
            Self::InletAir => "inlet-air",
            Self::OutletAir => "outlet-air",
            Self::AirFlow => "air-flow",
            Self::Ambient => "ambient",
            Self::CoolingAir => "cooling-air",
        }
    }

    /// What its numbers are values of.
    #[must_use]
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Time => Dimension::Time,
            Self::EngineSpeed => Dimension::EngineSpeed,
            Self::InletPressure | Self::OutletPressure | Self::DifferentialPressure => {
                Dimension::Pressure
            }
            Self::AirFlow => Dimension::MassFlow,
            Self::IntakeAir
            | Self::InletAir
            | Self::OutletAir
            | Self::Ambient
            | Self::CoolingAir => Dimension::Temperature,
        }
    }

    /// Whether its means are values of the run: all but the time's.
    #[must_use]
    pub const fn is_value(self) -> bool {
        !matches!(self, Self::Time)
    }
}

/// One row's numbers, in the base units; `None` where there is a gap or no such column.
#[derive(Debug, Clone, Copy, Default)]
pub struct Row([Option<f64>; CHANNELS]);

impl Row {
    /// The number of a channel.
    #[must_use]
    pub const fn get(&self, channel: Channel) -> Option<f64> {
        self.0[channel as usize]
    }

    /// Sets the number of a channel.
    pub const fn set(&mut self, channel: Channel, value: Option<f64>) {
        self.0[channel as usize] = value;
    }
}
