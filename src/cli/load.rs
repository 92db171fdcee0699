//! What several commands begin with: a house, its limits, its findings.

use super::args::{FindingsForm, Shared};
use super::error::CliError;
use super::terminal::Terminal;
use crate::Inspection;
use crate::findings::text::{Colour, Layout};
use crate::findings::{self, Summary};
use crate::rules;
use crate::source::{self, Limits};
use std::path::Path;

/// The limits that the command line asks for.
pub(super) fn limits(shared: &Shared) -> Limits {
    shared.limits.map_or_else(Limits::default, |factor| Limits::default().raised(factor))
}

/// Reads and checks a house.
pub(super) fn inspect(house: &Path, shared: &Shared) -> Result<Inspection, CliError> {
    let limits = limits(shared);
    Ok(crate::inspect(source::load(house, &limits)?, &limits))
}

/// How findings are laid out here.
pub(super) fn layout(terminal: &Terminal) -> Layout {
    Layout { width: terminal.width, colour: if terminal.colour { Colour::Ansi } else { Colour::Never } }
}

/// Findings in the form asked for.
pub(super) fn shown(inspection: &Inspection, form: FindingsForm, terminal: &Terminal) -> String {
    let (findings, summary) = (&inspection.judged.findings, &inspection.judged.summary);
    let sources = &inspection.sources;
    match form {
        FindingsForm::Text => findings::text::write(findings, summary, sources, &layout(terminal)),
        FindingsForm::Json => findings::json::write(findings, summary, sources),
        FindingsForm::Sarif => {
            findings::sarif::write(findings, sources, &rules::facts(), env!("CARGO_PKG_VERSION"))
        }
        FindingsForm::Markdown => findings::markdown::write(findings, summary, sources),
        FindingsForm::Lines => findings::lines::write(findings, sources),
    }
}

/// Whether findings stop a build step.
pub(super) fn stops(summary: &Summary, strict: bool) -> bool {
    summary.errors > 0 || (strict && summary.warnings > 0)
}
