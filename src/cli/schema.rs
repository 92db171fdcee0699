//! `schema`: the JSON Schema of a format.

use super::Outcome;
use super::args::{Schema, SchemaOf};
use super::error::CliError;
use super::terminal::Terminal;
use crate::classes::{self, ClassLibrary};
use crate::{bridge, emit, findings, house, ledger, resolve, review, rules};

fn rule_names() -> Vec<&'static str> {
    rules::all().iter().map(|rule| rule.card.name).collect()
}

/// Prints the schema.
pub(super) fn run(args: &Schema, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let schema = match args.of {
        SchemaOf::House => house::schema(&ClassLibrary::built_in(), &rule_names()),
        SchemaOf::Class => classes::schema(),
        SchemaOf::Words => resolve::words_schema(&ClassLibrary::built_in()),
        SchemaOf::Ledger => ledger::schema(),
        SchemaOf::Bridge => bridge::definition::schema(),
        SchemaOf::Manifest => emit::schema(),
        SchemaOf::Review => review::schema(),
        SchemaOf::Accept => review::accept_schema(),
        SchemaOf::Findings => findings::json::schema(),
    };
    terminal.print(&format!("{schema:#}\n"))?;
    Ok(Outcome::Done)
}
