//! What several commands begin with: a house, its limits, its findings.

use super::args::{FindingsForm, Shared};
use super::error::CliError;
use super::houses;
use super::terminal::Terminal;
use crate::Inspection;
use crate::findings::text::{Colour, Layout};
use crate::findings::{self, Summary};
use crate::rules;
use crate::source::{self, Limits};
use serde_json::{Value, json};
use std::path::Path;

/// The limits that the command line asks for.
pub(super) fn limits(shared: &Shared) -> Limits {
    shared.limits.map_or_else(Limits::default, |factor| Limits::default().raised(factor))
}

/// Reads and checks a house.
pub(super) fn inspect(house: &Path, shared: &Shared) -> Result<Inspection, CliError> {
    let limits = limits(shared);
    houses::computing(|| Ok(crate::inspect(source::load(house, &limits)?, &limits)))
}

/// Leaves a house, or a review, as it is in memory where the program ends: the system takes all of it back at once, which for
/// a large one is a good deal faster than giving it back piece by piece.
pub(super) fn leave<T>(what: T) {
    std::mem::forget(what);
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

/// Outputs of several houses as one.
pub(super) struct Joined {
    form: FindingsForm,
    documents: Vec<Value>,
}

impl Joined {
    /// Begins.
    pub(super) fn new(form: FindingsForm) -> Self {
        Self { form, documents: Vec::new() }
    }

    /// Adds a house's output: text is printed below its name, JSON is kept for one document.
    pub(super) fn add(&mut self, house: &Path, text: &str, terminal: &mut Terminal) -> Result<(), CliError> {
        let name = house.display();
        match self.form {
            FindingsForm::Text => terminal.print(&format!("{name}\n\n{text}\n")),
            FindingsForm::Markdown => terminal.print(&format!("# {name}\n\n{text}\n")),
            FindingsForm::Lines => {
                let lines: String = text.lines().map(|line| format!("{name}/{line}\n")).collect();
                terminal.print(&lines)
            }
            FindingsForm::Json | FindingsForm::Sarif => {
                let document: Value = serde_json::from_str(text).unwrap_or_default();
                let is_json = self.form == FindingsForm::Json;
                self.documents.push(if is_json { with_house(document, &name.to_string()) } else { document });
                Ok(())
            }
        }
    }

    /// Prints what was kept: findings of each house under `houses`, or one SARIF log with a run for each.
    pub(super) fn finish(self, terminal: &mut Terminal) -> Result<(), CliError> {
        let document = match self.form {
            FindingsForm::Text | FindingsForm::Markdown | FindingsForm::Lines => return Ok(()),
            FindingsForm::Json => json!({ "houses": self.documents }),
            FindingsForm::Sarif => {
                let mut documents = self.documents.into_iter();
                let mut log = documents.next().unwrap_or_default();
                let further =
                    documents.filter_map(|mut next| Some(next.get_mut("runs")?.as_array_mut()?.split_off(0)));
                let further: Vec<Value> = further.flatten().collect();
                if let Some(runs) = log.get_mut("runs").and_then(Value::as_array_mut) {
                    runs.extend(further);
                }
                log
            }
        };
        terminal.print(&format!("{document:#}\n"))
    }
}

fn with_house(mut document: Value, house: &str) -> Value {
    if let Some(object) = document.as_object_mut() {
        object.insert("house".to_owned(), house.into());
    }
    document
}
