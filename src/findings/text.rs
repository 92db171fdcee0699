//! Findings for people at a terminal: the message, the lines with what is marked in them, what happens on site, what
//! to write.

use std::ops::Range;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use super::breaking::wrapped;
use super::visible;
use super::{Finding, Findings, Label, Severity, Summary};
use crate::sort;
use crate::source::{Place, Sources};

/// Whether colours may be used. Nothing is said by colour alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// Plain text.
    Never,
    /// ANSI colours.
    Ansi,
}

/// How the text is laid out.
#[derive(Clone, Copy, Debug)]
pub struct Layout {
    /// Columns of the terminal; 80 where there is none.
    pub width: usize,
    /// Whether colours may be used.
    pub colour: Colour,
}

impl Default for Layout {
    /// For a pipe: 80 columns, no colour.
    fn default() -> Self {
        Self { width: 80, colour: Colour::Never }
    }
}

/// Lines between two marks of a file that are shown together; further apart, each has its own excerpt.
const LINES_TOGETHER: u32 = 4;

/// Bytes from which on a line is shown in part, whatever the width.
const LONG_LINE: u32 = 1_000;

/// The findings, each with its excerpt, and the line of numbers.
#[must_use]
pub fn write(findings: &Findings, summary: &Summary, sources: &Sources, layout: &Layout) -> String {
    let mut out = String::new();
    for finding in findings {
        out += &write_one(finding, sources, layout);
        out += "\n\n";
    }
    out += &summary.line();
    out += "\n";
    out
}

/// One finding with its excerpts, without a line end.
#[must_use]
pub fn write_one(finding: &Finding, sources: &Sources, layout: &Layout) -> String {
    let renderer = match layout.colour {
        Colour::Never => Renderer::plain(),
        Colour::Ansi => Renderer::styled(),
    };
    let renderer = renderer.decor_style(DecorStyle::Ascii).term_width(layout.width.max(40));
    let message = visible::one_line(&finding.message);
    let excerpts = excerpts(finding, sources);
    let title = level(finding.severity).primary_title(message).id(finding.rule);
    let mut group = Group::with_title(title);
    for excerpt in &excerpts {
        if excerpt.is_cut {
            group = group.element(origin(excerpt.first, sources)).element(excerpt.snippet());
        } else {
            group =
                group.element(excerpt.snippet().path(visible::one_line(sources.path(excerpt.first.file))));
        }
    }
    group = remark(group, "evidence", finding.evidence.as_deref(), layout.width);
    group = remark(group, "on site", finding.on_site.as_deref(), layout.width);
    group = remark(group, "help", finding.help.as_deref(), layout.width);
    renderer.render(&[group])
}

fn level(severity: Severity) -> Level<'static> {
    match severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    }
}

fn origin(place: Place, sources: &Sources) -> Origin<'static> {
    let at = sources.line_column(place.file, place.start);
    let path = visible::one_line(sources.path(place.file));
    Origin::path(path).line(at.line as usize).char_column(at.column as usize)
}

fn remark<'a>(group: Group<'a>, name: &'static str, text: Option<&str>, width: usize) -> Group<'a> {
    match text {
        Some(text) => {
            let width = width.saturating_sub(name.len() + 8).max(30);
            group.element(Level::HELP.with_name(name).message(wrapped(&visible::text(text), width)))
        }
        None => group,
    }
}

/// Lines of one file with what is marked in them.
struct Excerpt {
    /// The place that is named above it.
    first: Place,
    line: u32,
    text: String,
    marks: Vec<(AnnotationKind, Range<usize>, String)>,
    /// Whether the line's beginning was left out, so that columns cannot be counted in it.
    is_cut: bool,
}

impl Excerpt {
    fn snippet(&self) -> Snippet<'_, Annotation<'_>> {
        let marks = self.marks.iter().map(|(kind, range, label)| {
            let mark = kind.span(range.clone());
            if label.is_empty() { mark } else { mark.label(label.as_str()) }
        });
        Snippet::source(self.text.as_str()).line_start(self.line as usize).annotations(marks)
    }
}

/// A label with its line.
#[derive(Clone, Copy)]
struct Mark<'f> {
    /// The line, counted from 1, and where it stands.
    number: u32,
    line: Place,
    label: &'f Label,
    is_primary: bool,
}

impl Mark<'_> {
    fn is_long(self) -> bool {
        self.line.end - self.line.start > LONG_LINE
    }

    /// Whether it is shown in one excerpt with a mark before it.
    fn is_near(self, before: Self) -> bool {
        let near = self.line.file == before.line.file && self.number - before.number <= LINES_TOGETHER;
        near && !self.is_long() && !before.is_long()
    }

    fn annotation(self, range: Range<usize>) -> (AnnotationKind, Range<usize>, String) {
        let kind = if self.is_primary { AnnotationKind::Primary } else { AnnotationKind::Context };
        (kind, range, visible::one_line(&self.label.text))
    }
}

/// The excerpts of a finding, the primary place's first; places of a file that are near each other share one.
fn excerpts(finding: &Finding, sources: &Sources) -> Vec<Excerpt> {
    let labels = std::iter::once(&finding.primary).chain(&finding.related);
    let mut marks: Vec<Mark> = labels
        .enumerate()
        .map(|(nth, label)| {
            let file = label.place.file;
            let number = sources.line_column(file, label.place.start).line;
            let line = sources.line(file, number).unwrap_or(Place { file, start: 0, end: 0 });
            Mark { number, line, label, is_primary: nth == 0 }
        })
        .collect();
    sort::by_key(&mut marks, |mark| (mark.label.place, !mark.is_primary));
    let mut groups: Vec<&[Mark]> = marks.chunk_by(|before, mark| mark.is_near(*before)).collect();
    sort::by_key(&mut groups, |group| !group.iter().any(|mark| mark.is_primary));
    groups.iter().filter_map(|group| excerpt(group, sources)).collect()
}

/// The lines from the first mark to the last; of a long line a part.
fn excerpt(group: &[Mark], sources: &Sources) -> Option<Excerpt> {
    let (first, last) = (group.first()?, group.last()?);
    let named = group.iter().find(|mark| mark.is_primary).unwrap_or(first).label.place;
    if first.is_long() {
        return Some(part_of_line(*first, sources));
    }
    let mut text = String::new();
    let mut marks = Vec::new();
    for number in first.number..=last.number {
        let line = sources.line(named.file, number)?;
        let start = text.len();
        let shown = sources.text(line).trim_start_matches('\u{feff}');
        let skipped = (line.end - line.start) as usize - shown.len();
        // A place within a character would stop the renderer: it is shown from the character's first byte.
        let within = |byte: u32| {
            let byte = ((byte.clamp(line.start, line.end) - line.start) as usize).saturating_sub(skipped);
            start + shown.floor_char_boundary(byte)
        };
        for mark in group.iter().filter(|mark| mark.number == number) {
            let place = mark.label.place;
            marks.push(mark.annotation(within(place.start)..within(place.end)));
        }
        text += &harmless(shown);
        text += "\n";
    }
    Some(Excerpt { first: named, line: first.number, text, marks, is_cut: false })
}

/// The text with the control characters of eight bits, which some terminals obey, as a point of as many bytes; those of
/// seven bits are the renderer's to show.
fn harmless(text: &str) -> String {
    text.chars().map(|letter| if matches!(letter, '\u{80}'..='\u{9f}') { '·' } else { letter }).collect()
}

/// What stands around a mark in a line that is too long to be shown.
fn part_of_line(mark: Mark, sources: &Sources) -> Excerpt {
    let (line, place) = (mark.line, mark.label.place);
    let text = sources.text(line);
    let middle = (place.start.clamp(line.start, line.end) - line.start) as usize;
    let cut = text.ceil_char_boundary(middle.saturating_sub(LONG_LINE as usize / 4));
    let end = text.floor_char_boundary(middle + LONG_LINE as usize / 2);
    let shown = harmless(text.get(cut..end).unwrap_or(""));
    let mark_end = (place.end.clamp(line.start, line.end) - line.start) as usize;
    let within = |byte: usize| shown.floor_char_boundary(byte.saturating_sub(cut));
    let range = within(middle)..within(mark_end);
    Excerpt {
        first: place,
        line: mark.number,
        text: shown,
        marks: vec![mark.annotation(range)],
        is_cut: cut > 0,
    }
}
