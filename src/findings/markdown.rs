//! Findings as Markdown, for a merge request.

use super::visible;
use super::{Finding, Findings, Label, Summary};
use crate::source::{FileId, Sources};

/// The findings by file, each with its line and what to write.
#[must_use]
pub fn write(findings: &Findings, summary: &Summary, sources: &Sources) -> String {
    let mut out = format!("**{}**\n", summary.line());
    let mut file: Option<FileId> = None;
    for finding in findings {
        let place = finding.primary.place;
        if file != Some(place.file) {
            file = Some(place.file);
            out += &format!("\n### {}\n\n", code(sources.path(place.file)));
        }
        out += &item(finding, sources);
    }
    out
}

fn item(finding: &Finding, sources: &Sources) -> String {
    let place = finding.primary.place;
    let line = sources.line_column(place.file, place.start).line;
    let severity = finding.severity.word();
    let mut out =
        format!("- **{severity}**, line {line}: {} ({})\n", escaped(&finding.message), code(finding.rule));
    if let Some(shown) = sources.line(place.file, line) {
        let shown = beginning(sources.text(shown).trim_start_matches('\u{feff}'), 200);
        // Four spaces more than the list item make a code block that no text can end.
        out += &format!("\n      {}\n\n", shown.trim_end());
    }
    if !finding.primary.text.is_empty() {
        out += &format!("  Here: {}  \n", escaped(&finding.primary.text));
    }
    for label in &finding.related {
        out += &related(label, sources);
    }
    for (name, text) in
        [("Evidence", &finding.evidence), ("On site", &finding.on_site), ("Help", &finding.help)]
    {
        if let Some(text) = text {
            out += &format!("  {name}: {}  \n", escaped(text));
        }
    }
    out
}

fn related(label: &Label, sources: &Sources) -> String {
    let at = sources.line_column(label.place.file, label.place.start);
    let path = sources.path(label.place.file);
    let line = sources.line(label.place.file, at.line);
    let line = line.map_or("", |place| sources.text(place));
    let shown = beginning(line.trim(), 120);
    let text = if label.text.is_empty() { String::new() } else { format!(" {}", escaped(&label.text)) };
    format!("  See {}: {}{text}  \n", code(&format!("{path}:{}", at.line)), code(&shown))
}

/// The first so many characters of a line. Cut first, since a line may be a whole file and have many findings.
fn beginning(line: &str, characters: usize) -> String {
    let begun: String = line.chars().take(characters).collect();
    visible::one_line(&begun).chars().take(characters).collect()
}

/// Text as a code span, whatever quotation marks it has.
fn code(text: &str) -> String {
    let text = visible::one_line(text);
    let longest = text.split(|character| character != '`').map(str::len).max().unwrap_or(0);
    let fence = "`".repeat(longest + 1);
    let space = if text.starts_with('`') || text.ends_with('`') || text.is_empty() { " " } else { "" };
    format!("{fence}{space}{text}{space}{fence}")
}

/// Text with what Markdown would take for its own made harmless; what stands between backquotes stays code.
fn escaped(text: &str) -> String {
    let text = visible::one_line(text);
    let mut out = String::new();
    let parts: Vec<&str> = text.split('`').collect();
    let even = parts.len() % 2 == 1;
    for (nth, part) in parts.iter().enumerate() {
        if even && nth % 2 == 1 {
            out += &code(part);
            continue;
        }
        if !even && nth > 0 {
            out += "\\`";
        }
        for character in part.chars() {
            if "\\*_[]<>|#!~&".contains(character) {
                out.push('\\');
            }
            out.push(character);
        }
    }
    out
}
