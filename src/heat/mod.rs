//! Heat transfer and gas laws of a charge-air cooler, as plain functions of plain numbers in SI units: what the stage
//! [`crate::infer`] lays out as steps of the model. A file has one subject; every formula names its source.
//!
//! What has no solution is NaN, as everywhere inside the model; whoever reads it must say what it means.

pub mod air;
pub mod compressor;
pub mod exchanger;
pub mod film;
pub mod flow;
pub mod settling;
pub mod slab;
pub mod wall;
