//! Texts that mean more than text to YAML and have no quotes around them: where they begin and end.
//!
//! In: a line and the place in it where the parser stopped. Out: the fault with all of the text, where it is plain that
//! it is one.

use super::diagnose::{LONGEST_ENTRY, Line, Span, may_be_key};
use crate::source::SyntaxFault;

/// A value without quotes, within a line.
struct Value {
    span: Span,
    in_brackets: bool,
}

impl Value {
    /// The value in which a byte of a line stands: behind a colon or, in brackets, a comma.
    fn around(line: Line, byte: usize) -> Option<Self> {
        let at = byte.checked_sub(line.start)?;
        let (mut depth, mut start, mut quote, mut last) = (0_usize, None, None, ' ');
        for (here, character) in line.text.char_indices().take_while(|(here, _)| *here < at) {
            let begins = matches!(last, ' ' | '[' | '{' | ',');
            let is_empty = || start.is_none_or(|start| is_blank(line.text.get(start..here)));
            match (quote, character) {
                (Some(mark), _) if mark == character => quote = None,
                (Some(_), _) => {}
                (None, '"' | '\'') if begins => quote = Some(character),
                (None, '[' | '{') if is_empty() => {
                    depth += 1;
                    start = None;
                }
                (None, ',' | ']' | '}') if depth > 0 => {
                    depth -= usize::from(character != ',');
                    start = None;
                }
                (None, ':') if start.is_none() && is_separated(line.text, here) => start = Some(here + 1),
                _ => {}
            }
            last = character;
        }
        let from = start?;
        let in_brackets = depth > 0;
        let rest = line.text.get(at.max(from)..)?;
        let ends = |found: char| in_brackets && matches!(found, ',' | '[' | ']' | '{' | '}');
        let end = at.max(from) + rest.find(ends).unwrap_or(rest.len());
        let span = trimmed(line, from, end.min(line.without_comment().len()))?;
        Some(Self { span, in_brackets })
    }

    /// What stands in front of a byte, which a colon follows.
    fn before(&self, byte: usize, source: &str) -> Before {
        let before = source.get(self.span.start..byte).unwrap_or("");
        match before.rsplit_once(' ') {
            Some((words, key)) if self.in_brackets && may_be_key(key) => {
                let is_elsewhere = beginning_of(source).matches(&format!(" {key}: ")).nth(1).is_some();
                let are_words = words.chars().all(|letter| letter.is_alphabetic() || letter == ' ');
                if is_elsewhere || !are_words { Before::Key } else { Before::KeyOrText }
            }
            // Behind `key: ` a line may go on with the next key, an entry between braces may not.
            None if !self.in_brackets && may_be_key(before) => Before::KeyOrText,
            _ => Before::Text,
        }
    }
}

/// So much of a file as says which keys it uses: a file with many faults is not read through for each.
fn beginning_of(source: &str) -> &str {
    const ENOUGH: usize = 64 << 10;
    (ENOUGH..ENOUGH + 4).find_map(|end| source.get(..end)).unwrap_or(source)
}

/// What stands in front of a second colon in one value.
#[derive(PartialEq, Eq)]
enum Before {
    Text,
    /// The word before the colon may be the next key.
    KeyOrText,
    /// It is: a comma is missing before it.
    Key,
}

/// A second colon in one value that is not that of the next key between braces.
pub(super) fn colon(line: Line, byte: usize, source: &str) -> Option<(SyntaxFault, Span)> {
    let value = Value::around(line, byte)?;
    if let Some(meant) = source.get(value.span.clone()).filter(|_| !value.in_brackets).and_then(braced) {
        return Some((SyntaxFault::Unbraced { meant }, value.span));
    }
    let before = value.before(byte, source);
    let text = source.get(value.span.clone()).filter(|_| before == Before::Text).map(str::to_owned);
    (before != Before::Key).then_some((SyntaxFault::Unquoted { by: ':', text }, value.span))
}

/// Keys with addresses that have no braces around them, or brackets of another kind, between braces.
fn braced(text: &str) -> Option<String> {
    let inner = text.strip_prefix(['(', '<']).unwrap_or(text);
    let inner = inner.strip_suffix([')', '>', ']', '}']).unwrap_or(inner).trim();
    let is_address =
        |value: &str| value.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'/' | b'.'));
    let is_entry = |entry: &str| {
        let (key, value) = entry.split_once(": ").unwrap_or((entry, ""));
        may_be_key(key) && !value.is_empty() && is_address(value)
    };
    let is_meant = text.len() <= LONGEST_ENTRY && inner.split(", ").all(is_entry);
    is_meant.then(|| format!("{{ {inner} }}"))
}

/// What the value of a line's key begins with, or goes on behind, so that it is no text; `byte` is where the parser
/// stopped.
pub(super) fn beginning(line: Line, byte: usize) -> Option<(SyntaxFault, Span)> {
    let (key, value) = line.without_comment().split_once(": ")?;
    let from = key.len() + ": ".len();
    let span = trimmed(line, from, from + value.len())?;
    let value = value.trim_start();
    if byte < span.start {
        return None;
    }
    let by = value.chars().next()?;
    let is_text = match by {
        '[' | '{' => {
            let before = line.text.get(..byte.checked_sub(line.start)?)?.trim_end();
            if before.len() <= from || !before.ends_with([']', '}']) {
                return None;
            }
            !value.contains(": ")
        }
        '?' | '-' if value.get(1..)?.starts_with(' ') => true,
        '*' | '&' | '!' | '%' | '@' | '`' => true,
        _ => return None,
    };
    Some((SyntaxFault::Unquoted { by, text: is_text.then(|| value.trim_end().to_owned()) }, span))
}

/// A range of a line without the white space around it, in the file.
fn trimmed(line: Line, from: usize, to: usize) -> Option<Span> {
    let text = line.text.get(from..to)?;
    let start = line.start + from + text.len() - text.trim_start().len();
    let text = text.trim();
    (!text.is_empty()).then_some(start..start + text.len())
}

/// Whether the colon at a byte is one to YAML.
fn is_separated(text: &str, at: usize) -> bool {
    text.get(at + 1..).is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
}

fn is_blank(text: Option<&str>) -> bool {
    text.is_none_or(|text| text.trim().is_empty())
}
