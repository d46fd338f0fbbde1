//! Corrected end-tank temperatures, and a comparison of charge-air coolers that never outruns the measurements.

pub mod caution;
pub mod compare;
pub mod correct;
pub mod diagnostics;
pub mod load;
pub mod locate;
pub mod measure;
pub mod model;
pub mod outcome;
pub mod pipeline;
pub mod quantity;
pub mod radiometry;
pub mod sample;
pub mod report;
pub mod session;
pub mod units;
