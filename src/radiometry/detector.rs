//! The detector of an instrument: how its signal follows from a temperature.

use super::planck::Band;
use super::sakuma_hattori;
use super::table::SignalTable;

/// How an instrument's signal and a black body's temperature belong together.
#[derive(Debug, Clone)]
pub enum Detector {
    /// A spectral band; signals are band radiances in W m⁻² sr⁻¹.
    Band(Box<SignalTable>),
    /// Raw counts in the Sakuma–Hattori form; signals are counts.
    SakumaHattori {
        /// µm.
        a: f64,
        /// µm K.
        b: f64,
        /// Counts.
        c: f64,
    },
}

impl Detector {
    /// A detector with a spectral band.
    #[must_use]
    pub fn band(band: &Band) -> Self {
        Self::Band(Box::new(SignalTable::new(band)))
    }

    /// The signal of a black body at `kelvin`; NaN at or below 0 K.
    #[must_use]
    pub fn signal(&self, kelvin: f64) -> f64 {
        match self {
            Self::Band(table) => table.signal(kelvin),
            Self::SakumaHattori { a, b, c } => sakuma_hattori::signal(kelvin, *a, *b, *c),
        }
    }

    /// The temperature, K, of a black body with this signal; NaN where there is none.
    #[must_use]
    pub fn temperature(&self, signal: f64) -> f64 {
        match self {
            Self::Band(table) => table.temperature(signal),
            Self::SakumaHattori { a, b, c } => sakuma_hattori::temperature(signal, *a, *b, *c),
        }
    }
}
