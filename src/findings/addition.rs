//! A member that a mapping of the description lacks: where it is to be written, and how.

use super::Edit;
use crate::source::{Place, Sources};

/// A member to be written behind another one of its mapping, in the way that one is written: between braces or on a line
/// of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Addition {
    /// The key whose value the mapping is.
    pub mapping: Place,
    /// The value of the member behind which it goes; a scalar of one line.
    pub behind: Place,
    /// The member's key.
    pub key: &'static str,
    /// Its value.
    pub value: String,
}

impl Edit {
    /// Makes replacements of the additions. `false` where one is in a text that is not laid out as people do, so that a
    /// person has to write it.
    pub fn settle(&mut self, sources: &Sources) -> bool {
        for addition in std::mem::take(&mut self.additions) {
            match addition.replacement(sources) {
                Some(replacement) => self.replacements.push(replacement),
                None => return false,
            }
        }
        true
    }
}

impl Addition {
    fn replacement(&self, sources: &Sources) -> Option<(Place, String)> {
        let Self { mapping, behind, key, value } = self;
        let file = behind.file;
        let text = sources.source(file);
        let (start, end) = (behind.start as usize, behind.end as usize);
        let between = text.get(mapping.end as usize..start).filter(|_| mapping.file == file)?;
        let inside = between.trim_start_matches(' ').strip_prefix(':')?;
        if inside.trim_start().starts_with('{') {
            let here = Place { start: behind.end, ..*behind };
            return (!inside.contains('}')).then(|| (here, format!(", {key}: {value}")));
        }
        let own_lines = inside.trim_start_matches(' ').starts_with(['\n', '\r', '#']);
        let line_start = text.get(..start)?.rfind('\n').map_or(0, |before| before + 1);
        let member = text.get(line_start..start)?;
        let indent = member.len() - member.trim_start_matches(' ').len();
        let name = member.get(indent..)?.trim_end_matches(' ').strip_suffix(':')?;
        let rest = text.get(end..)?;
        let rest = rest.split_once('\n').map_or(rest, |(rest, _)| rest);
        let (remark, line_end) = match rest.strip_suffix('\r') {
            Some(remark) => (remark, "\r\n"),
            None => (rest, "\n"),
        };
        let is_whole = remark.is_empty()
            || remark.trim_start_matches(' ').is_empty()
            || remark.trim_start().starts_with('#');
        let is_plain = !name.is_empty() && !name.contains([' ', '{', '[', ',', '?', '\t']);
        if !own_lines || !is_whole || !is_plain || sources.text(*behind).contains('\n') {
            return None;
        }
        let at = behind.end + u32::try_from(remark.len()).ok()?;
        Some((Place { file, start: at, end: at }, format!("{line_end}{}{key}: {value}", " ".repeat(indent))))
    }
}
