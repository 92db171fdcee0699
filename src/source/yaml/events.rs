//! The only file that knows the YAML parser: its events into the builder, its errors into [`Problem`]s.
//!
//! What the parser does and this file mends: a value that was not written arrives as the text `~` without a range;
//! the end of a block collection is marked at the next token; the range of a block of text has its trailing blank
//! lines.

#![allow(
    clippy::wildcard_enum_match_arm,
    reason = "the parser's enums are open, or have a hundred members of which a few matter"
)]

use std::ops::ControlFlow;

use granit_parser::{ErrorKind, Event, Parser, ScalarStyle, ScanError, Span};

use super::build::{Builder, Range};
use super::shortcut;
use super::tree::{Kind, Tree};
use crate::source::{FileId, Limits, Place, Problem, SyntaxFault};

/// Reads the text of a file into a tree.
///
/// There is no tree when the text is not YAML or goes beyond a limit; the problems say why. What is wrong within
/// sound YAML (duplicate keys, aliases) is told too and left out of the tree.
#[must_use]
pub fn parse(source: &str, file: FileId, limits: &Limits) -> (Option<Tree>, Vec<Problem>) {
    if let Some(builder) = shortcut::read(source, file, limits) {
        let (tree, problems) = builder.finish();
        return (Some(tree), problems);
    }
    parse_events(source, file, limits)
}

/// The same, by the parser.
pub(super) fn parse_events(source: &str, file: FileId, limits: &Limits) -> (Option<Tree>, Vec<Problem>) {
    let depth = limits.depth.min(Limits::MOST_DEPTH);
    let options = granit_parser::options! {
        emit_comments: false,
        emit_unresolved_aliases: true,
        flow_nesting_limit: depth,
        block_nesting_limit: depth,
    };
    let mut builder = Builder::new(source, file, limits);
    let mut documents = 0;
    let mut open = 0_usize;
    for next in Parser::new_from_str_with_options(source, options) {
        let (event, span) = match next {
            Ok(next) => next,
            Err(error) => {
                let mut problems = builder.finish().1;
                problems.push(refusal(&error, source, file, depth));
                return (None, problems);
            }
        };
        let range = range_of(span, source);
        match &event {
            Event::DocumentStart(..) => documents += 1,
            Event::SequenceStart(..) | Event::MappingStart(..) => open += 1,
            Event::SequenceEnd | Event::MappingEnd => open = open.saturating_sub(1),
            _ => {}
        }
        if documents > 1 {
            let place = builder.place(first_line(range, source));
            builder.tell(Problem::SecondDocument { place });
            break;
        }
        if open > depth {
            let place = builder.place(range);
            builder.tell(Problem::TooDeep { place, limit: depth });
            return (None, builder.finish().1);
        }
        if take(&mut builder, event, span, range, source).is_break() {
            builder.too_many(range);
            return (None, builder.finish().1);
        }
    }
    let (tree, problems) = builder.finish();
    (Some(tree), problems)
}

/// Hands one event to the builder; breaks when there are too many nodes.
fn take(builder: &mut Builder, event: Event, span: Span, range: Range, source: &str) -> ControlFlow<()> {
    let done = match event {
        Event::Scalar(text, style, anchor, tag) => {
            let is_text = look_at_tag(builder, tag.is_some(), span, range, source);
            let kind = match style {
                ScalarStyle::Plain if is_text => Kind::Quoted,
                ScalarStyle::Plain if range.start == range.end => Kind::Empty,
                ScalarStyle::Plain => Kind::Plain,
                ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted => Kind::Quoted,
                ScalarStyle::Literal | ScalarStyle::Folded => Kind::Block,
            };
            let range = if kind == Kind::Block { trimmed(range, source) } else { range };
            // `!!str` with nothing behind it is the empty text, which the parser gives as `~`.
            let nothing = is_text && range.start == range.end && style == ScalarStyle::Plain;
            if kind == Kind::Empty {
                builder.empty(anchor)
            } else {
                builder.scalar(kind, range, if nothing { "" } else { &text }, anchor)
            }
        }
        Event::SequenceStart(_, anchor, tag) => {
            look_at_tag(builder, tag.is_some(), span, range, source);
            builder.begin(Kind::Sequence, range.start, anchor)
        }
        Event::MappingStart(_, anchor, tag) => {
            look_at_tag(builder, tag.is_some(), span, range, source);
            builder.begin(Kind::Mapping, range.start, anchor)
        }
        Event::SequenceEnd | Event::MappingEnd => {
            builder.end(bracket_end(range, source));
            Ok(())
        }
        Event::Alias(anchor) => builder.alias(range, Some(anchor)),
        Event::UnresolvedAlias(_) => builder.alias(range, None),
        // The marks of stream and document, and what was not asked for.
        _ => Ok(()),
    };
    if done.is_ok() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
}

/// The end of a bracket at an end mark. A block collection ends without one, at the next token.
fn bracket_end(range: Range, source: &str) -> Option<u32> {
    let text = source.get(range.start as usize..range.end as usize)?;
    matches!(text, "]" | "}").then_some(range.end)
}

/// Tells a tag that means nothing here; true when it says that a scalar is text.
fn look_at_tag(builder: &mut Builder, tagged: bool, span: Span, range: Range, source: &str) -> bool {
    if !tagged {
        return false;
    }
    let place = span.tag_span().map_or(range, |span| range_of(span, source));
    let written = source.get(place.start as usize..place.end as usize).unwrap_or("");
    match written {
        "!!str" | "!" | "!<tag:yaml.org,2002:str>" => true,
        "!!int" | "!!float" | "!!bool" | "!!null" | "!!map" | "!!seq" => false,
        _ => {
            let place = builder.place(place);
            builder.tell(Problem::Tag { place });
            false
        }
    }
}

fn range_of(span: Span, source: &str) -> Range {
    let bytes = span.byte_range().unwrap_or(0..0);
    let end = bytes.end.min(source.len());
    let start = bytes.start.min(end);
    Range { start: position(start), end: position(end) }
}

/// A range without the white space at its end.
fn trimmed(range: Range, source: &str) -> Range {
    let text = source.get(range.start as usize..range.end as usize).unwrap_or("");
    Range { start: range.start, end: range.start + position(text.trim_end().len()) }
}

/// A range up to the end of its first line.
fn first_line(range: Range, source: &str) -> Range {
    let rest = source.get(range.start as usize..).unwrap_or("");
    let line = rest.lines().next().unwrap_or("").trim_end();
    Range { start: range.start, end: range.start + position(line.len()) }
}

fn position(byte: usize) -> u32 {
    u32::try_from(byte).unwrap_or(u32::MAX)
}

/// The parser's error as a problem, at the word where it stopped.
fn refusal(error: &ScanError, source: &str, file: FileId, depth: usize) -> Problem {
    let mut start = error.marker().byte_offset().unwrap_or(source.len()).min(source.len());
    while !source.is_char_boundary(start) {
        start -= 1;
    }
    let rest = source.get(start..).unwrap_or("");
    let first = rest.chars().next();
    let word = match first {
        Some(mark) if !mark.is_alphanumeric() => mark.len_utf8(),
        _ => rest.find(|next: char| !next.is_alphanumeric()).unwrap_or(rest.len()),
    };
    // The end of a line or of the file has nothing to point at.
    let word = if first.is_some_and(|mark| mark == '\n' || mark == '\r') { 0 } else { word };
    let place = Place { file, start: position(start), end: position(start + word) };
    match error.kind() {
        ErrorKind::TabNotAllowed
        | ErrorKind::TabInBlockIndentation
        | ErrorKind::TabAtBlockScalarStart
        | ErrorKind::TabInIndentation
        | ErrorKind::TabInPlainScalar => Problem::Tab { place },
        ErrorKind::RecursionLimitExceeded => Problem::TooDeep { place, limit: depth },
        kind => Problem::Syntax { place, fault: fault_of(kind) },
    }
}

/// The parser's kinds of error in the kinds that a person can do something about.
fn fault_of(kind: &ErrorKind) -> SyntaxFault {
    use ErrorKind as E;
    match kind {
        E::UnexpectedEofFlowSequence
        | E::UnexpectedEofFlowMapping
        | E::UnexpectedEofImplicitFlowMapping
        | E::UnclosedFlowCollection { .. } => SyntaxFault::UnclosedBracket,
        E::MisplacedFlowCollectionEnd | E::MismatchedFlowCollectionEnd { .. } => SyntaxFault::StrayBracket,
        E::ExpectedFlowMappingSeparator | E::ExpectedFlowSequenceSeparator => SyntaxFault::MissingComma,
        E::UnclosedQuotedScalar | E::DocumentIndicatorInQuotedScalar => SyntaxFault::UnclosedQuote,
        E::InvalidTrailingSingleQuotedScalar | E::InvalidTrailingDoubleQuotedScalar => {
            SyntaxFault::AfterQuote
        }
        E::UnknownQuotedScalarEscape
        | E::InvalidQuotedScalarHexEscape
        | E::InvalidLowSurrogateHexEscape
        | E::InvalidLowSurrogate
        | E::MissingLowSurrogate
        | E::UnpairedLowSurrogate
        | E::InvalidUnicodeEscape => SyntaxFault::Escape,
        E::InvalidIndentation
        | E::InvalidQuotedScalarIndent
        | E::InvalidFlowScalarIndent
        | E::ExpectedBlockSequenceEntry => SyntaxFault::Indentation,
        E::ExpectedBlockMappingKey | E::SimpleKeyExpected | E::InvalidSimpleKey | E::MappingKeyNotAllowed => {
            SyntaxFault::KeyWithoutColon
        }
        E::FlowMappingValueAdjacentCollection
        | E::InvalidMappingValueWhitespace
        | E::InvalidColonPlacement
        | E::MappingValueNotAllowed => SyntaxFault::StrayColon,
        E::BlockEntryInFlowCollection
        | E::BlockSequenceEntryNotAllowed
        | E::InvalidBlockEntryWhitespace
        | E::PlainScalarStartsWithDashFlowIndicator => SyntaxFault::StrayDash,
        E::UnexpectedCharacter { character } => SyntaxFault::Character(*character),
        E::CommentInterceptedScalar | E::CommentNotSeparated => SyntaxFault::Comment,
        E::ZeroBlockScalarIndent | E::InvalidBlockScalarHeader | E::InvalidBlockScalarIndent => {
            SyntaxFault::Block
        }
        E::UnexpectedEof | E::UnexpectedEofBlockSequence | E::UnexpectedEofBlockMapping => SyntaxFault::End,
        E::MissingAnchorOrAliasName
        | E::UndeclaredTagHandle
        | E::MissingTagUri
        | E::UnclosedVerbatimTag
        | E::InvalidTagTerminator
        | E::InvalidDirectiveTerminator
        | E::InvalidDirectiveName
        | E::MissingDirectiveName
        | E::UnsupportedYamlMajorVersion
        | E::DuplicateVersionDirective => SyntaxFault::Property,
        other => SyntaxFault::Other(other.to_string()),
    }
}
