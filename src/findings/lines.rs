//! Findings as one line each, for editors: `file:line:column: severity[rule]: message`.

use super::visible;
use super::{Finding, Findings};
use crate::source::Sources;

/// A line for each finding; nothing when there is none. Paths begin with `folder`, the house's as an editor finds it:
/// empty, or with a slash at its end.
#[must_use]
pub fn write(findings: &Findings, sources: &Sources, folder: &str) -> String {
    findings.iter().map(|finding| line(finding, sources, folder)).collect()
}

fn line(finding: &Finding, sources: &Sources, folder: &str) -> String {
    let place = finding.primary.place;
    let at = sources.line_column(place.file, place.start);
    let help = finding.help.as_ref().map_or(String::new(), |help| format!(" ({help})"));
    let message = visible::one_line(&format!("{}{help}", finding.message));
    let path = visible::one_line(&format!("{folder}{}", sources.path(place.file)));
    format!("{path}:{}:{}: {}[{}]: {message}\n", at.line, at.column, finding.severity.word(), finding.rule)
}
