//! How quantities are spoken of in sentences.

use crate::quantity::{QuantityId, Unit};

/// How one quantity is spoken of.
pub(super) struct Words {
    /// The beginning of a sentence, up to "of".
    pub(super) subject: &'static str,
    /// What a smaller value is.
    pub(super) less: &'static str,
    /// What a greater one is.
    pub(super) more: &'static str,
}

/// How a quantity is spoken of.
pub(super) fn words(quantity: QuantityId) -> Words {
    let (less, more) = match quantity {
        QuantityId::SurfaceDrop | QuantityId::ChargeDrop => ("smaller", "larger"),
        _ if quantity.unit() == Unit::Celsius => ("cooler", "warmer"),
        _ => ("lower", "higher"),
    };
    Words {
        subject: subject(quantity),
        less,
        more,
    }
}

/// The beginning of a sentence about a quantity, up to "of".
const fn subject(quantity: QuantityId) -> &'static str {
    match quantity {
        QuantityId::InletSurface => "The inlet skin",
        QuantityId::OutletSurface => "The outlet skin",
        QuantityId::SurfaceDrop => "The drop from skin to skin",
        QuantityId::SurfaceEffectiveness => "The effectiveness by the skins",
        QuantityId::OutletSurfaceNormalised => {
            "Worked out for the same inlet skin and cooling air, the outlet skin"
        }
        QuantityId::InletCharge => "The charge air at the inlet",
        QuantityId::OutletCharge => "The charge air at the outlet",
        QuantityId::ChargeDrop => "The drop of the charge air",
        QuantityId::ChargeEffectiveness => "The effectiveness by the charge air",
        QuantityId::Effectiveness => "The effectiveness",
        QuantityId::OutletNormalised => "Worked out for the same inlet and cooling air, the outlet",
        QuantityId::IntakeAir => "The intake-air sensor's reading",
        QuantityId::InletPressure => "The pressure at the inlet tap",
        QuantityId::OutletPressure => "The pressure at the outlet tap",
        QuantityId::PressureDrop => "The pressure lost from tap to tap",
        QuantityId::PressureLoss => "The share of the inlet pressure lost",
        QuantityId::InletDensity => "The density at the inlet",
        QuantityId::OutletDensity => "The density at the outlet",
        QuantityId::DensityRatio => "The density ratio, outlet over inlet,",
        QuantityId::DensityGain => "The density gained against the baseline",
        QuantityId::LossCoefficient => "The loss coefficient",
        QuantityId::HeatRejected => "The heat rejected",
        QuantityId::Ntu => "The number of transfer units",
        QuantityId::Ua => "The conductance",
    }
}
