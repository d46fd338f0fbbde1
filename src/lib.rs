//! Corrected end-tank temperatures, and a comparison of charge-air coolers that never outruns the measurements.

pub mod caution;
pub mod diagnostics;
pub mod load;
pub mod locate;
pub mod measure;
pub mod outcome;
pub mod picture;
pub mod quantity;
pub mod radiometry;
pub mod session;
pub mod units;
