//! Text in: the only reader of files.

mod place;

pub use place::{FileId, Place, Spanned};
