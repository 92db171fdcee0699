//! Lines of the house's files, with what is meant in them marked.

use super::mask::{Kind, Mask};
use crate::findings::{Finding, visible};
use crate::review::forms::page::{Piece, pieces};
use crate::source::{FileKind, Place, Sources};
use serde::Serialize;

/// Bytes of a line that are shown before a mark, and behind its beginning.
const BEFORE: usize = 120;
const BEHIND: usize = 240;

/// A line with a mark in it.
#[derive(Debug, Serialize)]
pub(super) struct Excerpt {
    path: String,
    number: u32,
    /// The headings of a table, above one of its rows; not where names are left out, since a table may have none.
    heading: Option<String>,
    before: String,
    marked: String,
    behind: String,
    /// The few words that stand beside the mark.
    label: Vec<Piece>,
}

/// An excerpt for each place of a finding, the first one first.
pub(super) fn excerpts(finding: &Finding, sources: &Sources, mask: &mut Option<Mask>) -> Vec<Excerpt> {
    let labels = std::iter::once(&finding.primary).chain(&finding.related);
    labels.filter_map(|label| excerpt(label.place, &label.text, sources, mask)).collect()
}

/// An excerpt for each of the further places of a finding, up to so many.
pub(super) fn others(
    finding: &Finding,
    most: usize,
    sources: &Sources,
    mask: &mut Option<Mask>,
) -> Vec<Excerpt> {
    finding.others.iter().take(most).filter_map(|place| excerpt(*place, "", sources, mask)).collect()
}

fn excerpt(place: Place, label: &str, sources: &Sources, mask: &mut Option<Mask>) -> Option<Excerpt> {
    let number = sources.line_column(place.file, place.start).line;
    let line = sources.line(place.file, number)?;
    let text = sources.text(line);
    let within = |byte: u32| (byte.clamp(line.start, line.end) - line.start) as usize;
    let (start, end) = (within(place.start), within(place.end));
    let from = text.ceil_char_boundary(start.saturating_sub(BEFORE));
    let to = text.floor_char_boundary(start + BEHIND);
    let shown = text.get(from..to).unwrap_or("");
    let kind = match sources.kind(place.file) {
        FileKind::Table => Kind::Free,
        FileKind::Description | FileKind::Class | FileKind::Words | FileKind::Ledger => Kind::Description,
    };
    let mut parts = [String::new(), String::new(), String::new()];
    let [before, marked, behind] = &mut parts;
    for (at, atom) in atoms(shown, kind, mask) {
        let at = from + at;
        let part = if at < start {
            &mut *before
        } else if at < end {
            &mut *marked
        } else {
            &mut *behind
        };
        part.push_str(&atom);
    }
    let ellipsis = |is_cut: bool| if is_cut { "…" } else { "" };
    let clean = |part: &str| visible::one_line(part.trim_start_matches('\u{feff}'));
    Some(Excerpt {
        path: path(sources, place, mask),
        number,
        heading: (kind == Kind::Free && number > 1 && mask.is_none())
            .then(|| heading(place, sources))
            .flatten(),
        before: format!("{}{}", ellipsis(from > 0), clean(before).trim_start()),
        marked: clean(marked),
        behind: format!("{}{}", clean(behind).trim_end(), ellipsis(to < text.len())),
        label: pieces(&said(label, mask)),
    })
}

fn atoms(text: &str, kind: Kind, mask: &mut Option<Mask>) -> Vec<(usize, String)> {
    match mask {
        Some(mask) => mask.atoms(text, kind),
        None => text.char_indices().map(|(at, letter)| (at, letter.to_string())).collect(),
    }
}

/// The first line of a table.
fn heading(place: Place, sources: &Sources) -> Option<String> {
    let line = sources.text(sources.line(place.file, 1)?).trim_start_matches('\u{feff}');
    let shown = line.get(..line.floor_char_boundary(BEHIND)).unwrap_or("");
    Some(visible::one_line(shown).trim_end().to_owned())
}

/// The path of a place's file.
pub(super) fn path(sources: &Sources, place: Place, mask: &mut Option<Mask>) -> String {
    let path = sources.path(place.file);
    let path = mask.as_mut().map_or_else(|| path.to_owned(), |mask| mask.text(path, Kind::Path));
    visible::one_line(&path)
}

/// A name of the house's.
pub(super) fn free(text: &str, mask: &mut Option<Mask>) -> String {
    let text = mask.as_mut().map_or_else(|| text.to_owned(), |mask| mask.text(text, Kind::Free));
    visible::one_line(&text)
}

/// What the program says.
pub(super) fn said(text: &str, mask: &mut Option<Mask>) -> String {
    let text = mask.as_mut().map_or_else(|| text.to_owned(), |mask| mask.prose(text));
    visible::one_line(&text)
}
