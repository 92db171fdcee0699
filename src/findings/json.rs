//! Findings as JSON, for programs.
//!
//! Version 1. Fields may be added; none changes its meaning or goes while the version stays. Lines and columns count
//! from 1, columns in characters, ends are the position behind the last character; paths are within the house's
//! folder. `null` where there is nothing to say.

use schemars::JsonSchema;
use serde::Serialize;

use super::{Finding, Findings, Label, Summary};
use crate::source::Sources;

#[derive(Serialize, JsonSchema)]
struct Document<'a> {
    format: &'static str,
    version: u8,
    findings: Vec<JsonFinding<'a>>,
    summary: JsonSummary,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
struct JsonFinding<'a> {
    rule: &'a str,
    severity: &'static str,
    message: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    evidence: Option<&'a str>,
    on_site: Option<&'a str>,
    help: Option<&'a str>,
    places: Vec<JsonPlace<'a>>,
    appliance: Option<&'a str>,
    room: Option<&'a str>,
    edit: Option<JsonEdit<'a>>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
struct JsonPlace<'a> {
    file: &'a str,
    line: u32,
    column: u32,
    end_line: u32,
    end_column: u32,
    label: &'a str,
}

#[derive(Serialize, JsonSchema)]
struct JsonEdit<'a> {
    sure: bool,
    replacements: Vec<JsonReplacement<'a>>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
struct JsonReplacement<'a> {
    file: &'a str,
    line: u32,
    column: u32,
    end_line: u32,
    end_column: u32,
    text: &'a str,
}

#[derive(Serialize, JsonSchema)]
struct JsonSummary {
    errors: usize,
    warnings: usize,
    notes: usize,
    allowed: usize,
    appliances: usize,
    points: usize,
}

/// The JSON Schema (draft 2020-12) of the document.
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(Document<'static>).to_value()
}

/// The findings as one JSON document with a line end.
#[must_use]
pub fn write(findings: &Findings, summary: &Summary, sources: &Sources) -> String {
    let document = Document {
        format: "housewright-findings",
        version: 1,
        findings: findings.iter().map(|finding| JsonFinding::new(finding, sources)).collect(),
        summary: JsonSummary {
            errors: summary.errors,
            warnings: summary.warnings,
            notes: summary.notes,
            allowed: summary.allowed,
            appliances: summary.appliances,
            points: summary.points,
        },
    };
    super::pretty(&document)
}

impl<'a> JsonFinding<'a> {
    fn new(finding: &'a Finding, sources: &'a Sources) -> Self {
        let labels = std::iter::once(&finding.primary).chain(&finding.related);
        Self {
            rule: finding.rule,
            severity: finding.severity.word(),
            message: &finding.message,
            evidence: finding.evidence.as_deref(),
            on_site: finding.on_site.as_deref(),
            help: finding.help.as_deref(),
            places: labels.map(|label| JsonPlace::new(label, sources)).collect(),
            appliance: finding.appliance.as_deref(),
            room: finding.room.as_deref(),
            edit: finding.edit.as_ref().map(|edit| JsonEdit::new(edit, sources)),
        }
    }
}

impl<'a> JsonPlace<'a> {
    fn new(label: &'a Label, sources: &'a Sources) -> Self {
        let place = label.place;
        let start = sources.line_column(place.file, place.start);
        let end = sources.line_column(place.file, place.end);
        Self {
            file: sources.path(place.file),
            line: start.line,
            column: start.column,
            end_line: end.line,
            end_column: end.column,
            label: &label.text,
        }
    }
}

impl<'a> JsonEdit<'a> {
    fn new(edit: &'a super::Edit, sources: &'a Sources) -> Self {
        let replacement = |(place, text): &'a (crate::source::Place, String)| {
            let start = sources.line_column(place.file, place.start);
            let end = sources.line_column(place.file, place.end);
            JsonReplacement {
                file: sources.path(place.file),
                line: start.line,
                column: start.column,
                end_line: end.line,
                end_column: end.column,
                text,
            }
        };
        Self {
            sure: edit.certainty == super::Certainty::Sure,
            replacements: edit.replacements.iter().map(replacement).collect(),
        }
    }
}
