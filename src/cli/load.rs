//! What several commands begin with: a house, its limits, its findings.

use super::args::{FindingsForm, Shared};
use super::error::CliError;
use super::houses::folder_of;
use super::terminal::Terminal;
use super::{Outcome, houses};
use crate::Inspection;
use crate::findings::sarif::Origin;
use crate::findings::text::{Colour, Layout};
use crate::findings::{self, Summary, visible};
use crate::rules;
use crate::source::{self, Limits};
use serde_json::{Value, json};
use std::path::{Component, Path, PathBuf};

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

/// The folder of a house as it was given, to stand before paths in it: empty, or with a slash at its end.
fn before_paths(house: &Path) -> String {
    let folder = folder_of(house);
    let parts = folder.components().filter(|part| *part != Component::CurDir);
    match parts.collect::<PathBuf>().to_string_lossy() {
        text if text.is_empty() || text.ends_with('/') => text.into_owned(),
        text => format!("{text}/"),
    }
}

/// Where a house is, for a log. No path of this machine's is in it.
fn origin(house: &Path) -> Origin {
    let given = folder_of(house);
    let here = working_folder();
    let below =
        |folder: &Path| here.as_deref().and_then(|here| folder.strip_prefix(here).ok().map(Path::to_owned));
    let folder = if given.is_absolute() { below(&given) } else { Some(given.clone()) };
    let folder = folder.filter(|folder| !folder.components().any(|part| part == Component::ParentDir));
    let folder = folder.map(|folder| before_paths(&folder.join("house.yaml")));
    let named = || given.canonicalize().ok()?.file_name().map(|name| name.to_string_lossy().into_owned());
    let run = folder.as_ref().map(|folder| folder.trim_end_matches('/').to_owned());
    let run = run.filter(|run| !run.is_empty()).or_else(named).unwrap_or_default();
    Origin { run, folder }
}

/// What tells the run of a house from others: of one that is not there, how it was given.
fn run_of(house: &Path) -> String {
    if house.exists() {
        return origin(house).run;
    }
    let is_below = house.components().all(|part| matches!(part, Component::CurDir | Component::Normal(_)));
    let given = if is_below { Some(house.as_os_str()) } else { house.file_name() };
    given.map_or_else(String::new, |given| given.to_string_lossy().trim_start_matches("./").to_owned())
}

#[allow(clippy::disallowed_methods, reason = "the environment belongs to `cli`")]
fn working_folder() -> Option<PathBuf> {
    std::env::current_dir().ok()
}

/// Findings of a house in the form asked for, of each rule as many as the limits allow.
pub(super) fn shown(
    house: &Path,
    inspection: &Inspection,
    (form, shared): (FindingsForm, &Shared),
    terminal: &Terminal,
) -> String {
    let findings = &*inspection.judged.findings.bounded(limits(shared).findings_of_a_rule);
    let summary = &inspection.judged.summary;
    let sources = &inspection.sources;
    match form {
        FindingsForm::Text => findings::text::write(findings, summary, sources, &layout(terminal)),
        FindingsForm::Json => findings::json::write(findings, summary, sources),
        FindingsForm::Sarif => {
            let version = env!("CARGO_PKG_VERSION");
            findings::sarif::write(findings, sources, &rules::facts(), version, &origin(house))
        }
        FindingsForm::Markdown => findings::markdown::write(findings, summary, sources),
        FindingsForm::Lines => findings::lines::write(findings, sources, &before_paths(house)),
    }
}

/// Whether findings stop a build step.
pub(super) fn stops(summary: &Summary, strict: bool) -> bool {
    summary.errors > 0 || (strict && summary.warnings > 0)
}

/// How a command ends that findings may stop, or files that could not be read.
pub(super) fn outcome(stops: bool, unread: bool) -> Outcome {
    match (unread, stops) {
        (true, _) => Outcome::Unread,
        (false, true) => Outcome::Stopped,
        (false, false) => Outcome::Done,
    }
}

/// Outputs of several houses as one.
pub(super) struct Joined {
    form: FindingsForm,
    documents: Vec<Value>,
    /// Houses of which there are no findings, each with the reason.
    failed: Vec<Value>,
}

impl Joined {
    /// Begins.
    pub(super) fn new(form: FindingsForm) -> Self {
        Self { form, documents: Vec::new(), failed: Vec::new() }
    }

    /// Adds a house's output: text is printed below its name, JSON is kept for one document.
    pub(super) fn add(&mut self, house: &Path, text: &str, terminal: &mut Terminal) -> Result<(), CliError> {
        let name = visible::one_line(&house.display().to_string());
        match self.form {
            FindingsForm::Text => terminal.print(&format!("{name}\n\n{text}\n")),
            FindingsForm::Markdown => terminal.print(&format!("# {name}\n\n{text}\n")),
            FindingsForm::Lines => terminal.print(text),
            FindingsForm::Json | FindingsForm::Sarif => {
                let document: Value = serde_json::from_str(text).unwrap_or_default();
                let is_json = self.form == FindingsForm::Json;
                self.documents.push(if is_json {
                    with_house(document, &house.display().to_string())
                } else {
                    document
                });
                Ok(())
            }
        }
    }

    /// Says of a house that an error stopped that it is missing; lines are findings alone.
    pub(super) fn leave_out(
        &mut self,
        house: &Path,
        said: &str,
        reason: &str,
        terminal: &mut Terminal,
    ) -> Result<(), CliError> {
        match self.form {
            FindingsForm::Text | FindingsForm::Markdown => {
                return self.add(house, &format!("{said}\n"), terminal);
            }
            FindingsForm::Json => {
                self.failed.push(findings::json::failed(&house.display().to_string(), reason))
            }
            FindingsForm::Sarif => {
                let version = env!("CARGO_PKG_VERSION");
                self.documents.push(findings::sarif::failed(version, &run_of(house), reason));
            }
            FindingsForm::Lines => {}
        }
        Ok(())
    }

    /// Prints what was kept: findings of each house under `houses`, or one SARIF log with a run for each.
    pub(super) fn finish(self, terminal: &mut Terminal) -> Result<(), CliError> {
        let document = match self.form {
            FindingsForm::Text | FindingsForm::Markdown | FindingsForm::Lines => return Ok(()),
            FindingsForm::Json if self.failed.is_empty() => json!({ "houses": self.documents }),
            FindingsForm::Json => json!({ "houses": self.documents, "failed": self.failed }),
            FindingsForm::Sarif => {
                let mut documents = self.documents.into_iter();
                let mut log = documents.next().unwrap_or_else(findings::sarif::without_runs);
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
