//! Corrected end-tank temperatures, and a comparison of charge-air coolers that never outruns the measurements.
//!
//! ```text
//! session   the TOML file             -> validated session
//! load      picture file              -> thermal image: numbers as stored, and what they mean
//! locate    session's coordinates     -> masks on that image
//! measure   image + mask              -> statistics and mean signal; the picture is dropped
//! correct   signal + surface          -> skin temperature, as nodes of the model
//! infer     skin + wall + run         -> settled skin and charge air: more nodes
//! compare   baseline vs candidates    -> quantities, differences, cautions: the outcome
//! advise    altered sessions          -> what following a caution's advice would do
//! report    outcome                   -> pictures, CSV, JSON, HTML
//! ```
//!
//! Every stage has a module of its own and knows the types of the stages before it, nothing of those after. From
//! [`correct`] on everything is one [`model`] of plain numbers. [`units`], [`quantity`], [`caution`] and [`radiometry`]
//! are the vocabulary that all share; [`pipeline`] runs the stages one after the other.
//!
//! ```
//! use endtank::radiometry::{Band, Detector, equation};
//!
//! // A welded aluminium tank of emissivity 0.2 that mirrors a workshop of 20 °C and reads 34 °C …
//! let detector = Detector::band(&Band::flat(8.0, 14.0)?);
//! let own = equation::skin_signal(detector.signal(307.15), detector.signal(293.15), 0.2);
//! // … is really at 78 °C.
//! assert_eq!((detector.temperature(own) - 273.15).round(), 78.0);
//! # Ok::<(), endtank::radiometry::planck::BandError>(())
//! ```

pub mod advise;
pub mod caution;
pub mod cli;
pub mod compare;
pub mod correct;
pub mod diagnostics;
pub mod first;
pub mod heat;
pub mod infer;
pub mod load;
pub mod locate;
pub mod log;
pub mod measure;
pub mod model;
pub mod outcome;
pub mod picture;
pub mod pipeline;
pub mod place;
pub mod plan;
pub mod propose;
pub mod quantity;
pub mod radiometry;
pub mod report;
pub mod sample;
pub mod session;
pub mod surface;
pub mod uncertainty;
pub mod units;
