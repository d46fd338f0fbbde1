//! Quantities as they are written in a session.
#![no_main]

use endtank::units::{Dimension, parse, parse_accuracy};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|input: (u8, &str)| {
    let (choice, text) = input;
    let all = [
        Dimension::Temperature,
        Dimension::TemperatureDifference,
        Dimension::Pressure,
        Dimension::Length,
        Dimension::Time,
        Dimension::EngineSpeed,
        Dimension::MassFlow,
        Dimension::Velocity,
        Dimension::Conductivity,
        Dimension::HeatTransferCoefficient,
        Dimension::SpecificHeat,
        Dimension::Density,
        Dimension::Angle,
        Dimension::Ratio,
    ];
    let dimension = all[usize::from(choice) % all.len()];
    if let Ok(parsed) = parse(text, dimension) {
        assert!(parsed.value.is_finite(), "{parsed:?}");
    }
    if let Ok((absolute, relative)) = parse_accuracy(text, dimension) {
        assert!(absolute.is_finite() && relative.is_finite());
    }
});
