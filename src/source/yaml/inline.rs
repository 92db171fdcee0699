//! The usual form of a description, within a line: plain and quoted scalars, brackets.

use super::build::Range;
use super::shortcut::{Level, Scanner};
use super::tree::Kind;
use crate::source::place::narrow;

impl Scanner<'_, '_> {
    /// Reads a value within a line and gives the place behind it.
    pub(super) fn inline(&mut self, at: usize, end: usize, in_brackets: bool) -> Option<usize> {
        match self.byte(at, end)? {
            b'[' => self.bracket(at, end, false),
            b'{' => self.bracket(at, end, true),
            quote @ (b'"' | b'\'') => self.quoted(at, end, quote),
            _ => {
                let after = self.plain_end(at, end, in_brackets)?;
                self.scalar(at, after)?;
                Some(after)
            }
        }
    }

    /// `[…]` or `{…}`, without a comma behind the last entry.
    fn bracket(&mut self, start: usize, end: usize, is_mapping: bool) -> Option<usize> {
        // It counts as a level of its own.
        let (kind, close) = if is_mapping { (Kind::Mapping, b'}') } else { (Kind::Sequence, b']') };
        if self.levels.len() >= self.depth {
            return None;
        }
        self.levels.push(Level { indent: 0, is_sequence: !is_mapping });
        self.builder.begin(kind, narrow(start), 0).ok()?;
        let mut at = self.spaces(start + 1, end);
        if self.byte(at, end) != Some(close) {
            loop {
                if is_mapping {
                    let colon = self.key(at, end, true)?;
                    at = self.spaces(colon + 1, end);
                }
                let after = self.inline(at, end, true)?;
                at = self.spaces(after, end);
                match self.byte(at, end)? {
                    b',' => at = self.spaces(at + 1, end),
                    byte if byte == close => break,
                    _ => return None,
                }
            }
        }
        self.levels.pop();
        self.builder.end(Some(narrow(at + 1)));
        Some(at + 1)
    }

    pub(super) fn quoted(&mut self, start: usize, end: usize, quote: u8) -> Option<usize> {
        let inner = self.source.get(start + 1..end)?;
        let mut length = inner.find(char::from(quote))?;
        let mut doubled = false;
        while quote == b'\'' && inner.as_bytes().get(length + 1) == Some(&b'\'') {
            doubled = true;
            length += 2 + inner.get(length + 2..)?.find('\'')?;
        }
        let text = inner.get(..length)?;
        if (quote == b'"' && text.contains('\\')) || !is_safe(text) {
            return None;
        }
        let after = start + length + 2;
        let range = range(start, after);
        if doubled {
            self.builder.scalar(Kind::Quoted, range, &text.replace("''", "'"), 0).ok()?;
        } else {
            self.builder.scalar(Kind::Quoted, range, text, 0).ok()?;
        }
        Some(after)
    }

    pub(super) fn scalar(&mut self, start: usize, end: usize) -> Option<()> {
        let text = self.source.get(start..end)?;
        self.builder.scalar(Kind::Plain, range(start, end), text, 0).ok()
    }

    /// The end of a plain scalar, without the spaces behind it.
    pub(super) fn plain_end(&self, start: usize, end: usize, in_brackets: bool) -> Option<usize> {
        let text = self.source.get(start..end)?;
        let bytes = text.as_bytes();
        let first = *bytes.first()?;
        let begins = match first {
            b'-' => bytes.get(1).is_some_and(u8::is_ascii_alphanumeric),
            _ => first.is_ascii_alphanumeric() || first >= 0x80 || b"/(+._~$^;<=\\)".contains(&first),
        };
        if !begins {
            return None;
        }
        let mut length = bytes.len();
        for (at, byte) in bytes.iter().enumerate() {
            let ends = match byte {
                b':' => match bytes.get(at + 1) {
                    None | Some(b' ') => true,
                    Some(b',' | b'[' | b']' | b'{' | b'}') if in_brackets => return None,
                    Some(_) => false,
                },
                b'#' => at > 0 && bytes.get(at - 1) == Some(&b' '),
                b',' | b']' | b'}' => in_brackets,
                b'[' | b'{' if in_brackets => return None,
                _ => false,
            };
            if ends {
                length = at;
                break;
            }
        }
        let text = text.get(..length)?;
        is_safe(text).then(|| start + text.trim_end_matches(' ').len())
    }
}

/// Whether a text has only characters that mean nothing to YAML wherever they stand.
pub(super) fn is_safe(text: &str) -> bool {
    if text.bytes().all(|byte| (0x20..0x7f).contains(&byte)) {
        return true;
    }
    text.chars().all(|character| match character {
        ' '..='~' => true,
        '\u{2028}' | '\u{2029}' | '\u{feff}' => false,
        '\u{a0}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' => true,
        character => character >= '\u{10000}',
    })
}

pub(super) fn range(start: usize, end: usize) -> Range {
    Range { start: narrow(start), end: narrow(end) }
}
