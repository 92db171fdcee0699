//! What the fuzz targets share: mutations that know the form of what they change, and the laws every house is put to.
//!
//! A target takes bytes, makes of them what its stage reads, and asserts what must hold of any input: no panic, no hang,
//! and every place of every problem and finding inside its file.

pub mod houses;
pub mod json;
pub mod lines;
mod random;

pub use random::Random;
