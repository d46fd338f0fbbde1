//! Stage 3: what the pixels of a region say.

mod types;

pub use types::{Measurement, Shown};
