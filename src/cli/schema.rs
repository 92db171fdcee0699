//! `schema`: the JSON Schema of a format.

use super::Outcome;
use super::args::{Schema, SchemaOf};
use super::error::CliError;
use super::terminal::Terminal;
use crate::render;

/// Prints the schema.
pub(super) fn run(args: &Schema, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let name = match args.of {
        SchemaOf::House => "house",
        SchemaOf::Class => "class",
        SchemaOf::Words => "words",
        SchemaOf::Ledger => "ledger",
        SchemaOf::Bridge => "bridge",
        SchemaOf::Manifest => "manifest",
        SchemaOf::Review => "review",
        SchemaOf::Accept => "accept",
        SchemaOf::Findings => "findings",
    };
    terminal.print(&format!("{:#}\n", render::schema(name)))?;
    Ok(Outcome::Done)
}
