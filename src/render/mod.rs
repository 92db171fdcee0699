//! Papers and pages for people, made through `templates/papers`.
//!
//! In: what was read, found and built. Out: text. It finds nothing out by itself, reads no file and writes none; what a
//! page shows is escaped by its template.

mod excerpt;
mod keys;
mod mask;
mod report;
mod schemas;

pub use keys::{description_keys, explain_key};
pub use report::{MARK, Names, Report};
pub use schemas::schema;
