//! Where the fault really is. The parser stops where it cannot go on, which is often a line behind the mistake: a key
//! without a colon shows at the colon of the next line, a bracket without a partner at the next key.
//!
//! In: the kind of fault and the place where the parser stopped. Out: the kind and the place that a person would
//! name. Looks at the lines around and at nothing else.

use super::brackets;
use super::fused::without_equals;
use super::unquoted;
use crate::source::SyntaxFault;

/// Lines looked at before the one where the parser stopped.
const LINES_BACK: usize = 100;

/// Characters of a key with its value that are written out.
pub(super) const LONGEST_ENTRY: usize = 100;

/// A dash of which it is not known whether it stands before a key.
const STRAY_DASH: SyntaxFault = SyntaxFault::StrayDash { before_key: false };

/// A range of the text.
pub(super) type Span = std::ops::Range<usize>;

/// A line, without indentation and white space at its end.
#[derive(Clone, Copy, Debug)]
pub(super) struct Line<'s> {
    /// Where its first character stands.
    pub(super) start: usize,
    /// Spaces before it.
    pub(super) indent: usize,
    pub(super) text: &'s str,
}

impl<'s> Line<'s> {
    /// The line that has a byte.
    pub(super) fn at(source: &'s str, byte: usize) -> Self {
        let before = source.get(..byte).unwrap_or(source);
        let start = before.rfind(['\n', '\r']).map_or(0, |end| end + 1);
        let rest = source.get(start..).unwrap_or("");
        let rest = rest.find(['\n', '\r']).and_then(|end| rest.get(..end)).unwrap_or(rest);
        let text = rest.trim_start_matches(' ');
        let indent = rest.len() - text.len();
        Self { start: start + indent, indent, text: text.trim_end() }
    }

    /// The line before it.
    pub(super) fn before(self, source: &'s str) -> Option<Self> {
        let line_start = self.start - self.indent;
        let before = source.get(..line_start)?;
        let before = before.strip_suffix('\n').or(before.strip_suffix('\r'))?;
        let before = before.strip_suffix('\r').unwrap_or(before);
        Some(Self::at(source, before.len()))
    }

    /// The line behind it.
    pub(super) fn after(self, source: &'s str) -> Option<Self> {
        let rest = source.get(self.start..)?;
        let end = rest.find(['\n', '\r'])?;
        let crlf = rest.get(end..)?.starts_with("\r\n");
        let next = self.start + end + if crlf { 2 } else { 1 };
        (next < source.len()).then(|| Self::at(source, next))
    }

    /// Whether it has anything but a comment.
    pub(super) fn has_content(self) -> bool {
        !self.text.is_empty() && !self.text.starts_with('#')
    }

    pub(super) fn span(self) -> Span {
        self.start..self.start + self.text.len()
    }

    /// The text up to its first colon, or its first word.
    pub(super) fn key(self) -> Span {
        let length = self.text.find([':', ' ']).filter(|length| *length > 0).unwrap_or(self.text.len());
        self.start..self.start + length
    }

    pub(super) fn without_comment(self) -> &'s str {
        self.text.split_once(" #").map_or(self.text, |(text, _)| text.trim_end())
    }

    /// The line with a colon behind its first word, if that may be a key and the rest its value.
    pub(super) fn with_colon(self, source: &str) -> Option<String> {
        let text = self.without_comment();
        let (key, value) = text.split_once(' ').unwrap_or((text, ""));
        let value = without_equals(value);
        let has_lines_below = || {
            let below = std::iter::successors(self.after(source), |line| line.after(source));
            below
                .take(LINES_BACK)
                .find(|line| line.has_content())
                .is_some_and(|line| line.indent > self.indent)
        };
        entry(key, value).filter(|_| !value.is_empty() || has_lines_below())
    }

    /// Whether it begins an item of a list.
    pub(super) fn is_item(self) -> bool {
        self.text.starts_with("- ")
    }

    /// The dash of an item with the spaces behind it.
    fn dash(self) -> Span {
        let spaces = self.text.bytes().skip(1).take_while(|byte| *byte == b' ').count();
        self.start..self.start + 1 + spaces
    }

    /// A colon that no space separates from the bracket behind it: `brightness:{ command: 1/2/10 }`.
    fn tight_bracket(self) -> Option<(SyntaxFault, Span)> {
        let (key, value) = self.text.split_once(':').filter(|(_, value)| value.starts_with(['{', '[']))?;
        let at = self.start + key.len();
        let meant = Some(entry(key, value)?);
        Some((SyntaxFault::ColonWithoutSpace { meant }, at..at + 1))
    }

    /// A colon that is no colon to YAML since nothing separates it from what follows: `name:Kitchen`.
    fn tight_colon(self) -> Option<(SyntaxFault, Span)> {
        let separated = self.text.contains(": ") || self.text.ends_with(':');
        let at = self.text.find(':').filter(|_| !separated)?;
        let meant = self.text.split_once(':').and_then(|(key, value)| entry(key, value));
        Some((SyntaxFault::ColonWithoutSpace { meant }, self.start + at..self.start + at + 1))
    }

    fn key_without_colon(self, source: &str) -> (SyntaxFault, Span) {
        let end = self.start + self.without_comment().len();
        (SyntaxFault::KeyWithoutColon { meant: self.with_colon(source) }, self.start..end)
    }

    /// A key before a bracket that no colon separates from it: `brightness { command: 1/2/10 }`.
    fn key_before_a_bracket(self, source: &str) -> Option<(SyntaxFault, Span)> {
        let (key, value) = self.text.split_once(' ')?;
        let is_meant = may_be_key(key) && value.trim_start().starts_with(['{', '[']);
        let fault = SyntaxFault::KeyWithoutColon { meant: self.with_colon(source) };
        is_meant.then(|| (fault, self.start..self.start + key.len()))
    }
}

/// Whether a word may be a key of a description.
pub(super) fn may_be_key(word: &str) -> bool {
    let is_inner = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-';
    word.starts_with(|first: char| first.is_ascii_lowercase()) && word.bytes().all(is_inner)
}

/// A key with its value, if it may be one and both fit in a line that people read.
fn entry(key: &str, value: &str) -> Option<String> {
    let entry = format!("{key}: {}", value.trim());
    let is_fit = may_be_key(key) && entry.chars().count() <= LONGEST_ENTRY;
    is_fit.then(|| entry.trim_end().to_owned())
}

/// The last line with content before another one.
pub(super) fn content_before<'s>(line: Line<'s>, source: &'s str) -> Option<Line<'s>> {
    std::iter::successors(line.before(source), |line| line.before(source))
        .take(LINES_BACK)
        .find(|line| line.has_content())
}

/// What is wrong, and where, given where the parser stopped.
pub(super) fn diagnose(fault: SyntaxFault, stopped: Span, source: &str) -> (SyntaxFault, Span) {
    let line = Line::at(source, stopped.start);
    let found = match fault {
        SyntaxFault::Unquoted { by: ':', .. } => stray_colon(&stopped, line, source),
        SyntaxFault::Unquoted { .. } => unquoted::beginning(line, stopped.start),
        SyntaxFault::MissingComma => missing_comma(&stopped, line, source),
        SyntaxFault::KeyWithoutColon { .. } => Some(key_without_colon(&stopped, line, source)),
        SyntaxFault::StrayDash { .. } if line.is_item() => Some((STRAY_DASH, line.dash())),
        SyntaxFault::StrayDash { .. } => unquoted::beginning(line, stopped.start),
        SyntaxFault::AfterQuote => behind_quote(&stopped, line, source),
        SyntaxFault::UnclosedQuote => {
            Some((SyntaxFault::UnclosedQuote, stopped.start..line.span().end.max(stopped.end)))
        }
        SyntaxFault::Escape => escape(&stopped, source),
        SyntaxFault::Comment => interrupted(line, source),
        SyntaxFault::Indentation => Some(dash_above(line, source).unwrap_or_else(|| fits_nowhere(line))),
        // Where a bracket would have to end, the parser stops at a comma too many.
        SyntaxFault::UnclosedBracket
            if source.get(stopped.start..).is_some_and(|rest| rest.starts_with(',')) =>
        {
            Some((SyntaxFault::StrayComma, stopped.start..stopped.start + 1))
        }
        SyntaxFault::UnclosedBracket
        | SyntaxFault::StrayBracket
        | SyntaxFault::WrongBracket { .. }
        | SyntaxFault::StrayComma
        | SyntaxFault::Unbraced { .. }
        | SyntaxFault::Column { .. }
        | SyntaxFault::ForgottenKey { .. }
        | SyntaxFault::ColonWithoutSpace { .. }
        | SyntaxFault::Parted { .. }
        | SyntaxFault::Slashes
        | SyntaxFault::Unmerged
        | SyntaxFault::NoBreakSpace { .. }
        | SyntaxFault::Property
        | SyntaxFault::Block
        | SyntaxFault::End
        | SyntaxFault::Other(_) => None,
    };
    found.unwrap_or((fault, stopped))
}

/// The place of a tab: the parser stops at the text before it or behind what follows it.
pub(super) fn tab(stopped: Span, source: &str) -> Span {
    let line = Line::at(source, stopped.start);
    let found =
        std::iter::successors(Some(line), |line| line.after(source)).take(LINES_BACK).find_map(|line| {
            let from = line.start - line.indent;
            let at = from + source.get(from..line.span().end)?.find('\t')?;
            Some(at..at + 1)
        });
    found.unwrap_or(stopped)
}

/// The tab that a line begins with, behind spaces, where something is wrong with its beginning.
pub(super) fn tab_before(fault: &SyntaxFault, at: usize, source: &str) -> Option<Span> {
    let line = Line::at(source, at);
    let is_beginning = matches!(fault, SyntaxFault::Indentation | SyntaxFault::KeyWithoutColon { .. });
    (is_beginning && line.text.starts_with('\t')).then(|| line.start..line.start + 1)
}

fn stray_colon(stopped: &Span, line: Line, source: &str) -> Option<(SyntaxFault, Span)> {
    if let Some(key) = line.key_before_a_bracket(source).or_else(|| line.tight_bracket()) {
        return Some(key);
    }
    let before = source.get(line.start..stopped.start)?;
    if let Some(bracket) = open_bracket_before(line, source).filter(|_| !before.contains(['[', '{'])) {
        return Some((SyntaxFault::UnclosedBracket, bracket));
    }
    if before.contains(": ") {
        return unquoted::colon(line, stopped.start, source);
    }
    let earlier = content_before(line, source)?;
    if let Some(colon) = earlier.tight_colon() {
        return Some(colon);
    }
    if !earlier.text.contains(':') && !earlier.text.starts_with('-') {
        return Some(earlier.key_without_colon(source));
    }
    (line.indent > earlier.indent).then(|| (SyntaxFault::Indentation, line.key()))
}

/// Between two entries in brackets: the entry behind the gap. Where the bracket began on an earlier line, it is the
/// bracket that was forgotten.
fn missing_comma(stopped: &Span, line: Line, source: &str) -> Option<(SyntaxFault, Span)> {
    let before = source.get(line.start..stopped.start)?;
    if brackets::open(before).is_none()
        && let Some(bracket) = open_bracket_before(line, source)
    {
        return Some((SyntaxFault::UnclosedBracket, bracket));
    }
    let behind = source.get(stopped.start..)?;
    if let Some(text) = unquoted::colon(line, stopped.start, source).filter(|_| behind.starts_with(':')) {
        return Some(text);
    }
    let word = before.trim_end().rsplit([' ', ',', '[', '{']).next().unwrap_or("");
    if before.ends_with(' ') && may_be_key(word) && behind.starts_with(['{', '[']) {
        let start = line.start + before.trim_end().len() - word.len();
        return Some((SyntaxFault::KeyWithoutColon { meant: None }, start..start + word.len()));
    }
    let word = before.rsplit([' ', ',', '[', '{']).next().unwrap_or("");
    let start = stopped.start - word.len();
    Some((SyntaxFault::MissingComma, start..if word.is_empty() { stopped.end } else { stopped.start }))
}

fn fits_nowhere<'s>(line: Line<'s>) -> (SyntaxFault, Span) {
    (SyntaxFault::Indentation, line.key())
}

/// A `-` that stands before the first of several keys.
fn dash_above(line: Line, source: &str) -> Option<(SyntaxFault, Span)> {
    let above = std::iter::successors(line.before(source), |line| line.before(source));
    let mut beside = above
        .take(LINES_BACK)
        .filter(|above| above.has_content())
        .take_while(|above| above.indent >= line.indent)
        .filter(|above| above.indent == line.indent);
    let dash = beside.next().filter(|above| above.is_item() && above.text.contains(':'))?;
    (!line.is_item() && beside.next().is_none()).then(|| (STRAY_DASH, dash.dash()))
}

fn key_without_colon(stopped: &Span, line: Line, source: &str) -> (SyntaxFault, Span) {
    if let Some(text) = unquoted::beginning(line, stopped.start) {
        return text;
    }
    match line.tight_colon() {
        Some(colon) => colon,
        None if line.is_item() => (STRAY_DASH, line.dash()),
        // It has its colon, so that it is the line's beginning that fits nowhere, or the line above has none.
        None if line.text.contains(": ") || line.text.ends_with(':') => {
            let above = content_before(line, source).filter(|above| is_key_without_colon(*above, line));
            above.map_or_else(|| fits_nowhere(line), |above| above.key_without_colon(source))
        }
        None => line.key_without_colon(source),
    }
}

/// Whether a line stands beside one with a key and would be one if it had a colon.
fn is_key_without_colon(line: Line, beside: Line) -> bool {
    let text = line.without_comment();
    let word = text.split(' ').next().unwrap_or("");
    let is_key = beside.text.contains(": ") || beside.without_comment().ends_with(':');
    is_key && line.indent == beside.indent && may_be_key(word) && !text.contains(':')
}

/// Text behind a closing quotation mark: either that, or the mark opens what a line before forgot to close.
fn behind_quote(stopped: &Span, line: Line, source: &str) -> Option<(SyntaxFault, Span)> {
    let before = source.get(line.start..stopped.start)?;
    let quote = before.trim_end().chars().next_back().filter(|quote| matches!(quote, '"' | '\''))?;
    let odd = |text: &str| text.matches(quote).count() % 2 == 1;
    if !odd(before) {
        return Some((SyntaxFault::AfterQuote, stopped.start..line.span().end.max(stopped.end)));
    }
    let opened = std::iter::successors(content_before(line, source), |line| content_before(*line, source))
        .take(LINES_BACK)
        .find(|line| odd(line.text))?;
    let at = opened.text.rfind(quote)?;
    Some((SyntaxFault::UnclosedQuote, opened.start + at..opened.span().end))
}

/// The backslash that is followed by what it cannot be.
fn escape(stopped: &Span, source: &str) -> Option<(SyntaxFault, Span)> {
    let rest = source.get(stopped.start..)?;
    let mut characters = rest.char_indices().take(10_000);
    while let Some((at, character)) = characters.next() {
        if character == '\\' {
            let (next, escaped) = characters.next()?;
            if !"0abt\tnvfre \"/\\N_LPxuU\n\r".contains(escaped) {
                let start = stopped.start + at;
                return Some((SyntaxFault::Escape, start..stopped.start + next + escaped.len_utf8()));
            }
        }
    }
    None
}

/// A comment behind a text that goes on, by its indentation, on the next line, or behind a key without its colon.
fn interrupted(line: Line, source: &str) -> Option<(SyntaxFault, Span)> {
    let next = std::iter::successors(line.after(source), |line| line.after(source))
        .take(LINES_BACK)
        .find(|line| line.has_content())?;
    if is_key_without_colon(line, next) {
        return Some(line.key_without_colon(source));
    }
    (next.indent > line.indent).then(|| (SyntaxFault::Indentation, next.key()))
}

/// The nearest bracket that a line before this one opens and does not close.
fn open_bracket_before(line: Line, source: &str) -> Option<Span> {
    std::iter::successors(content_before(line, source), |line| content_before(*line, source))
        .take(LINES_BACK)
        .find_map(|line| brackets::open(line.text).map(|at| line.start + at..line.start + at + 1))
}
