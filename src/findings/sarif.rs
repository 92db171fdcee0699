//! Findings as SARIF 2.1.0, for platforms that show them beside the code.
//!
//! Only what is used of the format is modelled. Paths are relative to the folder in which the program ran (`RUN`), so that
//! they are found in a repository, or to the house's own (`HOUSE`) where that lies elsewhere. Columns count UTF-16 code
//! units from 1. Fingerprints do not count lines, so that a platform knows a finding again in the next commit.
//! Source: OASIS, Static Analysis Results Interchange Format 2.1.0, sections 3.13 to 3.55 (from memory; the tests
//! validate against the published schema).

use rustc_hash::FxHashMap;
use serde::Serialize;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

use super::{Finding, Findings, Label, RuleFacts};
use crate::source::{Place, Sources};

const VERSION: &str = "2.1.0";
const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// A log of nothing.
pub(crate) fn without_runs() -> Value {
    json!({ "$schema": SCHEMA, "version": VERSION, "runs": [] })
}

/// A log of a house that an error stopped: a run that failed. It has no results, which is not to have none to tell of.
pub(crate) fn failed(version: &str, run: &str, reason: &str) -> Value {
    json!({
        "$schema": SCHEMA,
        "version": VERSION,
        "runs": [{
            "tool": { "driver": { "name": "housewright", "version": version } },
            "automationDetails": { "id": id_of(run) },
            "invocations": [{
                "executionSuccessful": false,
                "toolExecutionNotifications": [{ "level": "error", "message": { "text": reason } }],
            }],
        }],
    })
}

#[derive(Serialize)]
struct Log<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Run<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Run<'a> {
    tool: Value,
    column_kind: &'static str,
    automation_details: Value,
    original_uri_base_ids: Value,
    results: Results<'a>,
}

/// The results, each made as it is written.
struct Results<'a> {
    findings: &'a Findings,
    files: Files<'a>,
    index: &'a FxHashMap<&'a str, usize>,
}

impl Serialize for Results<'_> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut seen = FxHashMap::default();
        serializer.collect_seq(self.findings.iter().map(|finding| {
            let same = fingerprint(finding, self.files.sources);
            let before = seen.entry(same.clone()).and_modify(|before| *before += 1).or_insert(0);
            outcome(finding, &format!("{same}:{before}"), self.files, self.index)
        }))
    }
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Outcome {
    rule_id: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule_index: Option<usize>,
    level: &'static str,
    message: Value,
    partial_fingerprints: Value,
    locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fixes: Vec<Value>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<usize>,
    physical_location: Value,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Value>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    logical_locations: Vec<Value>,
}

fn id_of(run: &str) -> String {
    format!("housewright/{run}/")
}

/// Where the house is.
#[derive(Clone, Debug)]
pub struct Origin {
    /// What tells its run from those of other houses.
    pub run: String,
    /// Its folder, from where the program ran: empty, or with a slash at its end. None where it lies elsewhere.
    pub folder: Option<String>,
}

impl Origin {
    fn base(&self) -> (&'static str, &'static str) {
        match self.folder {
            Some(_) => ("RUN", "the folder in which the program ran"),
            None => ("HOUSE", "the folder of the house"),
        }
    }
}

/// The files of a run.
#[derive(Clone, Copy)]
struct Files<'a> {
    sources: &'a Sources,
    origin: &'a Origin,
}

/// The findings as a SARIF log with one run. `rules` are all rules of the program, `version` is the program's.
#[must_use]
pub fn write(
    findings: &Findings,
    sources: &Sources,
    rules: &[RuleFacts],
    version: &str,
    origin: &Origin,
) -> String {
    let files = Files { sources, origin };
    let (base, description) = origin.base();
    let index: FxHashMap<&str, usize> = rules.iter().enumerate().map(|(at, rule)| (rule.name, at)).collect();
    let described: Vec<Value> = rules.iter().map(describe).collect();
    let log = Log {
        schema: SCHEMA,
        version: VERSION,
        runs: [Run {
            tool: json!({ "driver": { "name": "housewright", "version": version, "rules": described } }),
            column_kind: "utf16CodeUnits",
            automation_details: json!({ "id": id_of(&origin.run) }),
            original_uri_base_ids: json!({ base: { "description": { "text": description } } }),
            results: Results { findings, files, index: &index },
        }],
    };
    super::pretty(&log)
}

fn describe(rule: &RuleFacts) -> Value {
    json!({
        "id": rule.name,
        "shortDescription": { "text": rule.summary },
        "fullDescription": { "text": format!("{}. {}", rule.summary, rule.on_site) },
        "defaultConfiguration": { "level": rule.severity.word() },
        "help": { "text": rule.remedy },
    })
}

fn outcome(
    finding: &Finding,
    fingerprint: &str,
    files: Files<'_>,
    index: &FxHashMap<&str, usize>,
) -> Outcome {
    let mut text = finding.message.clone();
    for part in [&finding.evidence, &finding.on_site, &finding.help].into_iter().flatten() {
        text += "\n";
        text += part;
    }
    let mut primary = location(&finding.primary, None, files);
    primary.logical_locations = logical(finding);
    Outcome {
        rule_id: finding.rule,
        rule_index: index.get(finding.rule).copied(),
        level: finding.severity.word(),
        message: json!({ "text": text }),
        partial_fingerprints: json!({ "finding/v1": fingerprint }),
        locations: vec![primary],
        related_locations: related(finding)
            .enumerate()
            .map(|(at, label)| location(&label, Some(at + 1), files))
            .collect(),
        fixes: finding.edit.iter().map(|edit| fix(edit, finding, files)).collect(),
    }
}

/// Bytes of the text at its place that a finding is known by.
const MARKING: usize = 200;

/// What a finding is known by while other lines of the house change: its rule, file, appliance and room, and what stands at
/// its place. Those that are alike in all of it are numbered in their order.
fn fingerprint(finding: &Finding, sources: &Sources) -> String {
    let place = finding.primary.place;
    let text = sources.source(place.file).as_bytes();
    let text = text.get(place.start as usize..place.end as usize).unwrap_or_default();
    let named = |name: &'_ Option<String>| name.as_deref().unwrap_or_default().to_owned();
    let mut digest = Sha256::new();
    for part in [finding.rule, sources.path(place.file), &named(&finding.appliance), &named(&finding.room)] {
        digest.update(part.as_bytes());
        digest.update([0]);
    }
    digest.update(text.get(..MARKING).unwrap_or(text));
    digest.finalize().iter().take(16).map(|byte| format!("{byte:02x}")).collect()
}

/// So many further places of one finding are written; nobody looks at more of them beside the code.
const MOST_PLACES: usize = 100;

/// The other halves of a conflict, and the first of the further places of its fault.
fn related(finding: &Finding) -> impl Iterator<Item = Label> {
    let others = finding.others.iter().map(|place| Label { place: *place, text: String::new() });
    finding.related.iter().cloned().chain(others.take(MOST_PLACES))
}

/// The appliance and the room it is about.
fn logical(finding: &Finding) -> Vec<Value> {
    let named = [(&finding.appliance, "appliance"), (&finding.room, "room")];
    named.iter().filter_map(|(name, kind)| Some(json!({ "name": name.as_ref()?, "kind": kind }))).collect()
}

fn location(label: &Label, id: Option<usize>, files: Files<'_>) -> Location {
    Location {
        id,
        physical_location: json!({
            "artifactLocation": artifact(label.place, files),
            "region": region(label.place, files.sources),
        }),
        message: (!label.text.is_empty()).then(|| json!({ "text": label.text })),
        logical_locations: Vec::new(),
    }
}

fn fix(edit: &super::Edit, finding: &Finding, files: Files<'_>) -> Value {
    let mut changes: Vec<(crate::source::FileId, Value, Vec<Value>)> = Vec::new();
    for (place, text) in &edit.replacements {
        let replacement =
            json!({ "deletedRegion": region(*place, files.sources), "insertedContent": { "text": text } });
        match changes.iter_mut().find(|(file, ..)| *file == place.file) {
            Some((.., replacements)) => replacements.push(replacement),
            None => changes.push((place.file, artifact(*place, files), vec![replacement])),
        }
    }
    let changes: Vec<Value> = changes
        .into_iter()
        .map(|(_, artifact, replacements)| json!({ "artifactLocation": artifact, "replacements": replacements }))
        .collect();
    let text = finding.help.as_deref().unwrap_or("correct the text");
    json!({ "description": { "text": text }, "artifactChanges": changes })
}

fn artifact(place: Place, files: Files<'_>) -> Value {
    let folder = files.origin.folder.as_deref().unwrap_or_default();
    let path = format!("{folder}{}", files.sources.path(place.file));
    json!({ "uri": uri(&path), "uriBaseId": files.origin.base().0 })
}

fn region(place: Place, sources: &Sources) -> Value {
    let start = sources.line_column_utf16(place.file, place.start);
    let end = sources.line_column_utf16(place.file, place.end);
    json!({
        "startLine": start.line,
        "startColumn": start.column,
        "endLine": end.line,
        "endColumn": end.column,
    })
}

/// A path as a relative URI.
fn uri(path: &str) -> String {
    let mut uri = String::new();
    for byte in path.bytes() {
        let kept = byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.' | b'_' | b'~' | b'/');
        if kept {
            uri.push(char::from(byte));
        } else {
            uri += &format!("%{byte:02X}");
        }
    }
    uri
}
