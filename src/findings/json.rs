//! Findings as JSON, for programs.
//!
//! Version 1. Fields may be added; none changes its meaning or goes while the version stays. Lines and columns count
//! from 1, columns in characters, ends are the position behind the last character; paths are within the house's
//! folder. `null` where there is nothing to say.

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::Serialize;
use serde_json::json;

use super::{Finding, Findings, Label, Summary};
use crate::source::{Place, Sources};

#[derive(Serialize, JsonSchema)]
struct Document<'a> {
    /// Always `housewright-findings`.
    format: &'static str,
    /// Version of this format.
    version: u8,
    /// The house as it was given, where several were.
    #[serde(skip_serializing_if = "Option::is_none")]
    house: Option<&'a str>,
    /// What there is to say, by file and place. Of a rule that finds more than somebody reads, the first are told, and then how
    /// many more there are; the summary counts all of them.
    findings: Vec<JsonFinding<'a>>,
    /// The numbers of it.
    summary: JsonSummary,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
struct JsonFinding<'a> {
    /// The rule's name, as written after `allow:`.
    rule: &'a str,
    /// How much it weighs: `error`, `warning` or `note`.
    severity: &'static str,
    /// What is wrong, with the house's own names.
    message: &'a str,
    /// What it is concluded from, where that is not plain from the places.
    #[serde(skip_serializing_if = "Option::is_none")]
    evidence: Option<&'a str>,
    /// What happens on site.
    on_site: Option<&'a str>,
    /// What to write instead.
    help: Option<&'a str>,
    /// Where it shows; the first is where the fault is, the others are the other half of a conflict.
    places: Vec<JsonPlace<'a>>,
    /// Further places of the same fault, where many have it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    others: Vec<JsonText<'a>>,
    /// Key of the appliance it is about.
    appliance: Option<&'a str>,
    /// Key of the room it is about.
    room: Option<&'a str>,
    /// A correction, where the right text is known.
    edit: Option<JsonEdit<'a>>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
struct JsonPlace<'a> {
    /// Path within the house's folder.
    file: &'a str,
    /// Line, counted from 1.
    line: u32,
    /// Column in characters, counted from 1.
    column: u32,
    /// Line of the end.
    end_line: u32,
    /// Column behind the last character.
    end_column: u32,
    /// The few words that stand beside it; may be empty.
    label: &'a str,
}

#[derive(Serialize, JsonSchema)]
struct JsonEdit<'a> {
    /// Whether it can only have been meant so.
    sure: bool,
    /// What to replace, all of it or nothing.
    replacements: Vec<JsonText<'a>>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
struct JsonText<'a> {
    /// Path within the house's folder.
    file: &'a str,
    /// Line, counted from 1.
    line: u32,
    /// Column in characters, counted from 1.
    column: u32,
    /// Line of the end.
    end_line: u32,
    /// Column behind the last character.
    end_column: u32,
    /// What stands there; of a replacement the new text.
    text: &'a str,
}

#[derive(Serialize, JsonSchema)]
struct JsonSummary {
    /// Errors found.
    errors: usize,
    /// Warnings found.
    warnings: usize,
    /// Notes found.
    notes: usize,
    /// Findings that an `allow:` silenced.
    allowed: usize,
    /// Appliances of the house.
    appliances: usize,
    /// Points of the appliances.
    points: usize,
}

#[derive(Serialize, JsonSchema)]
struct JsonFailed<'a> {
    /// The house as it was given.
    house: &'a str,
    /// Why there are no findings of it.
    reason: &'a str,
}

/// A house among several that an error stopped.
pub(crate) fn failed(house: &str, reason: &str) -> serde_json::Value {
    serde_json::to_value(JsonFailed { house, reason }).unwrap_or_default()
}

/// The JSON Schema (draft 2020-12) of the document.
pub fn schema() -> serde_json::Value {
    let mut generator = SchemaSettings::draft2020_12().into_generator();
    let document = generator.subschema_for::<Document<'static>>();
    let failed = generator.subschema_for::<JsonFailed<'static>>();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "housewright findings",
        "description": "The findings of a house, or of several: each of these has a `house`.",
        "anyOf": [
            document,
            {
                "type": "object",
                "properties": {
                    "houses": {
                        "description": "The findings of each house, in the order in which they were given.",
                        "type": "array",
                        "items": document,
                    },
                    "failed": {
                        "description": "Houses that could not be read, or built, where there are any.",
                        "type": "array",
                        "items": failed,
                    },
                },
                "required": ["houses"],
            },
        ],
        "$defs": generator.definitions(),
    })
}

/// The findings as one JSON document with a line end.
#[must_use]
pub fn write(findings: &Findings, summary: &Summary, sources: &Sources) -> String {
    let document = Document {
        format: "housewright-findings",
        version: 1,
        house: None,
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
            others: finding.others.iter().map(|place| JsonText::standing(*place, sources)).collect(),
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

impl<'a> JsonText<'a> {
    fn new(place: Place, text: &'a str, sources: &'a Sources) -> Self {
        let start = sources.line_column(place.file, place.start);
        let end = sources.line_column(place.file, place.end);
        Self {
            file: sources.path(place.file),
            line: start.line,
            column: start.column,
            end_line: end.line,
            end_column: end.column,
            text,
        }
    }

    fn standing(place: Place, sources: &'a Sources) -> Self {
        Self::new(place, sources.text(place), sources)
    }
}

impl<'a> JsonEdit<'a> {
    fn new(edit: &'a super::Edit, sources: &'a Sources) -> Self {
        let replacements = edit.replacements.iter();
        Self {
            sure: edit.certainty == super::Certainty::Sure,
            replacements: replacements.map(|(place, text)| JsonText::new(*place, text, sources)).collect(),
        }
    }
}
