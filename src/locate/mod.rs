//! Stage 2: regions become masks on a picture.

mod mask;
pub mod shape;

pub use mask::{Mask, NoPixels, RowRun};
