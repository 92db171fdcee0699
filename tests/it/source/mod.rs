//! What holds for reading: of files, of descriptions, of address tables.

mod files;
mod laws;
mod typed;
