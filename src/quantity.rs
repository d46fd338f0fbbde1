//! The one list of quantities: identifier, unit, wording. Reports, tables and the session's `primary` key read from it.

use schemars::JsonSchema;
use serde::Serialize;

/// The unit that a quantity is reported in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub enum Unit {
    /// Degrees Celsius; inside the engine K.
    #[serde(rename = "°C")]
    Celsius,
    /// A difference of temperatures.
    #[serde(rename = "K")]
    Kelvin,
    /// Inside the engine Pa.
    #[serde(rename = "kPa")]
    Kilopascal,
    /// For people who note pressures so; never in results.
    #[serde(rename = "psi")]
    #[schemars(skip)]
    PoundPerSquareInch,
    /// For people who note pressures so; never in results.
    #[serde(rename = "bar")]
    #[schemars(skip)]
    Bar,
    /// Of a share, for people; never in results.
    #[serde(rename = "%")]
    #[schemars(skip)]
    Percent,
    /// Of a difference of shares, for people; never in results.
    #[serde(rename = "points")]
    #[schemars(skip)]
    Points,
    /// A pure number.
    #[serde(rename = "1")]
    One,
    /// Density.
    #[serde(rename = "kg/m³")]
    KilogramPerCubicMetre,
    /// Inside the engine W.
    #[serde(rename = "kW")]
    Kilowatt,
    /// Conductance.
    #[serde(rename = "W/K")]
    WattPerKelvin,
    /// Of Δp = K ṁ²/ρ̄.
    #[serde(rename = "1/m⁴")]
    PerMetreToTheFourth,
}

impl Unit {
    /// As written in results.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Kelvin => "K",
            Self::Kilopascal => "kPa",
            Self::PoundPerSquareInch => "psi",
            Self::Bar => "bar",
            Self::Percent => "%",
            Self::Points => "points",
            Self::One => "1",
            Self::KilogramPerCubicMetre => "kg/m³",
            Self::Kilowatt => "kW",
            Self::WattPerKelvin => "W/K",
            Self::PerMetreToTheFourth => "1/m⁴",
        }
    }

    /// The unit of a difference of two such values: two temperatures differ by kelvins.
    #[must_use]
    pub const fn of_difference(self) -> Self {
        match self {
            Self::Celsius => Self::Kelvin,
            other => other,
        }
    }

    /// The unit of pressure in a note, where it is another than that of the results.
    #[must_use]
    pub fn of_note(text: &str) -> Option<Self> {
        let mut words = text.split(|c: char| !c.is_alphabetic());
        words.find_map(|word| match word {
            "psi" => Some(Self::PoundPerSquareInch),
            "bar" => Some(Self::Bar),
            _ => None,
        })
    }

    /// From the engine's base unit (K, Pa, W …) to this one.
    #[must_use]
    pub fn from_base(self, value: f64) -> f64 {
        match self {
            Self::Celsius => value - crate::units::temperature::ZERO_CELSIUS,
            Self::Kilopascal | Self::Kilowatt => value / 1000.0,
            _ => value,
        }
    }
}

impl QuantityId {
    /// Whether more of it speaks for a cooler, or less; `None` where that depends on what the cooler was given.
    #[must_use]
    pub const fn better_high(self) -> Option<bool> {
        match self {
            Self::SurfaceEffectiveness
            | Self::ChargeEffectiveness
            | Self::Effectiveness
            | Self::DensityRatio
            | Self::DensityGain
            | Self::Ntu
            | Self::Ua => Some(true),
            Self::OutletSurfaceNormalised
            | Self::OutletNormalised
            | Self::PressureDrop
            | Self::PressureLoss
            | Self::LossCoefficient => Some(false),
            Self::InletSurface
            | Self::OutletSurface
            | Self::SurfaceDrop
            | Self::InletCharge
            | Self::OutletCharge
            | Self::ChargeDrop
            | Self::IntakeAir
            | Self::InletPressure
            | Self::OutletPressure
            | Self::InletDensity
            | Self::OutletDensity
            | Self::HeatRejected => None,
        }
    }
}

macro_rules! quantities {
    ($($(#[doc = $doc:literal])+ $name:ident = $id:literal, $unit:ident, $label:literal;)+) => {
        /// A quantity of a cooler that can be compared.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, JsonSchema)]
        pub enum QuantityId {
            $($(#[doc = $doc])+ #[serde(rename = $id)] $name,)+
        }

        impl QuantityId {
            /// All of them, in the order of reports.
            pub const ALL: &'static [Self] = &[$(Self::$name,)+];

            /// The identifier used in sessions and results.
            #[must_use]
            pub const fn id(self) -> &'static str {
                match self { $(Self::$name => $id,)+ }
            }

            /// The unit it is reported in.
            #[must_use]
            pub const fn unit(self) -> Unit {
                match self { $(Self::$name => Unit::$unit,)+ }
            }

            /// What a technician calls it.
            #[must_use]
            pub const fn label(self) -> &'static str {
                match self { $(Self::$name => $label,)+ }
            }
        }
    };
}

quantities! {
    /// Corrected skin temperature of the inlet tank.
    InletSurface = "inlet_surface", Celsius, "Inlet tank skin";
    /// Corrected skin temperature of the outlet tank.
    OutletSurface = "outlet_surface", Celsius, "Outlet tank skin";
    /// Inlet less outlet skin.
    SurfaceDrop = "surface_drop", Kelvin, "Drop from skin to skin";
    /// (T_in − T_out)/(T_in − T_cooling air) of the skins.
    SurfaceEffectiveness = "surface_effectiveness", One, "Effectiveness of the skins";
    /// Outlet skin at the baseline's inlet skin and cooling air.
    OutletSurfaceNormalised = "outlet_surface_normalised", Celsius, "Outlet skin, like for like";
    /// Charge air in the inlet tank.
    InletCharge = "inlet_charge", Celsius, "Charge air at the inlet";
    /// Charge air in the outlet tank.
    OutletCharge = "outlet_charge", Celsius, "Charge air at the outlet";
    /// Inlet less outlet charge air.
    ChargeDrop = "charge_drop", Kelvin, "Drop of the charge air";
    /// Effectiveness of the charge air.
    ChargeEffectiveness = "charge_effectiveness", One, "Effectiveness of the charge air";
    /// Effectiveness from the best evidence that both coolers have.
    Effectiveness = "effectiveness", One, "Effectiveness";
    /// Outlet at the baseline's inlet and cooling air, from the best evidence.
    OutletNormalised = "outlet_normalised", Celsius, "Outlet, like for like";
    /// The engine's own intake-air sensor.
    IntakeAir = "intake_air", Celsius, "Intake-air sensor";
    /// Absolute pressure at the inlet tank's tap.
    InletPressure = "inlet_pressure", Kilopascal, "Pressure at the inlet tap, absolute";
    /// Absolute pressure at the outlet tank's tap.
    OutletPressure = "outlet_pressure", Kilopascal, "Pressure at the outlet tap, absolute";
    /// Inlet less outlet pressure.
    PressureDrop = "pressure_drop", Kilopascal, "Pressure lost from tap to tap";
    /// Pressure drop as a share of the absolute inlet pressure.
    PressureLoss = "pressure_loss", One, "Share of the inlet pressure lost";
    /// Density of the charge air in the inlet tank.
    InletDensity = "inlet_density", KilogramPerCubicMetre, "Density at the inlet";
    /// Density of the charge air in the outlet tank.
    OutletDensity = "outlet_density", KilogramPerCubicMetre, "Density at the outlet";
    /// Outlet over inlet density.
    DensityRatio = "density_ratio", One, "Density, outlet over inlet";
    /// Density gain against the baseline.
    DensityGain = "density_gain", One, "Density gained against the baseline";
    /// K of Δp = K ṁ²/ρ̄.
    LossCoefficient = "loss_coefficient", PerMetreToTheFourth, "Loss coefficient";
    /// Heat taken out of the charge air.
    HeatRejected = "heat_rejected", Kilowatt, "Heat rejected";
    /// Number of transfer units.
    Ntu = "ntu", One, "Transfer units (NTU)";
    /// Conductance.
    Ua = "ua", WattPerKelvin, "Conductance (UA)";
}

impl QuantityId {
    /// Whether it is told of the tanks' skins as they were read.
    #[must_use]
    pub const fn of_skins(self) -> bool {
        matches!(
            self,
            Self::InletSurface
                | Self::OutletSurface
                | Self::SurfaceDrop
                | Self::SurfaceEffectiveness
                | Self::OutletSurfaceNormalised
        )
    }

    /// Whether it is told of the charge air's temperature, wherever that comes from.
    #[must_use]
    pub const fn of_air(self) -> bool {
        matches!(
            self,
            Self::InletCharge
                | Self::OutletCharge
                | Self::ChargeDrop
                | Self::ChargeEffectiveness
                | Self::Effectiveness
                | Self::OutletNormalised
                | Self::InletDensity
                | Self::OutletDensity
                | Self::DensityRatio
                | Self::DensityGain
                | Self::HeatRejected
                | Self::Ntu
                | Self::Ua
        )
    }

    /// The quantity with this identifier.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .copied()
            .find(|quantity| quantity.id() == id)
    }
}
