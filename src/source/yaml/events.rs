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
use super::shortcut::Outcome;
use super::tree::{Kind, Tree};
use super::{around, diagnose, merge, shortcut};
use crate::source::{FileId, Limits, Place, Problem, SyntaxFault};

/// Reads the text of a file into a tree.
///
/// There is no tree when the text is not YAML or goes beyond a limit; the problems say why. What is wrong within
/// sound YAML (duplicate keys, aliases) is told too and left out of the tree.
#[must_use]
pub fn parse(source: &str, file: FileId, limits: &Limits) -> (Option<Tree>, Vec<Problem>) {
    match parse_text(source, Builder::new(source, file, limits), limits) {
        Ok((tree, problems)) => (Some(tree), problems),
        Err(refused) => {
            let unmerged = merge::first_mark(source).map(|mark| {
                let place = Place { file, start: position(mark.start), end: position(mark.end) };
                vec![Problem::Syntax { place, fault: SyntaxFault::Unmerged }]
            });
            (None, unmerged.unwrap_or_else(|| refused.into_problems()))
        }
    }
}

/// The same, except that what is no YAML is read around where that is possible: all faults are told instead of the
/// first, and the tree is partial.
#[must_use]
pub(crate) fn parse_around(source: &str, file: FileId, limits: &Limits) -> (Option<Tree>, Vec<Problem>) {
    match parse_text(source, Builder::new(source, file, limits), limits) {
        Ok((tree, problems)) => (Some(tree), problems),
        Err(refused) => around::read(source, file, limits, *refused.problem),
    }
}

/// Why a text has no tree.
pub(super) struct Refused {
    pub(super) problem: Box<Problem>,
    /// What was told before.
    earlier: Vec<Problem>,
    /// The byte where reading stopped.
    stopped: usize,
}

impl Refused {
    /// The first byte that the refusal is about: where reading stopped, or the fault before it.
    pub(super) fn at(&self) -> usize {
        self.stopped.min(self.problem.place().start as usize)
    }

    /// What was told before.
    pub(super) fn earlier(&self) -> &[Problem] {
        &self.earlier
    }

    fn into_problems(self) -> Vec<Problem> {
        self.earlier.into_iter().chain([*self.problem]).collect()
    }
}

/// Reads a text with a builder of its own or, for a text with parts left out, of the whole.
pub(super) fn parse_text<'s>(
    text: &str,
    builder: Builder<'s>,
    limits: &Limits,
) -> Result<(Tree, Vec<Problem>), Refused> {
    match shortcut::read(text, builder, limits) {
        Outcome::Read(builder) => Ok(builder.finish()),
        Outcome::Full(builder, at) => {
            let line = first_line(Range { start: position(at), end: position(at) }, text);
            let problem = builder.too_many(builder.place(line));
            let stopped = builder.place(Range { start: position(at), end: position(at) }).start as usize;
            Err(Refused { problem: Box::new(problem), earlier: builder.finish().1, stopped })
        }
        Outcome::GivenUp(builder) => parse_events(text, builder.again(), limits),
    }
}

/// The same, by the parser.
pub(super) fn parse_events(
    text: &str,
    mut builder: Builder,
    limits: &Limits,
) -> Result<(Tree, Vec<Problem>), Refused> {
    let depth = limits.depth.min(Limits::MOST_DEPTH);
    let options = granit_parser::options! {
        emit_comments: false,
        emit_unresolved_aliases: true,
        flow_nesting_limit: depth,
        block_nesting_limit: depth,
    };
    let mut documents = 0;
    let mut open = 0_usize;
    let refuse = |builder: Builder, problem: Problem, stopped: usize| {
        let stopped =
            builder.place(Range { start: position(stopped), end: position(stopped) }).start as usize;
        Err(Refused { problem: Box::new(problem), earlier: builder.finish().1, stopped })
    };
    for next in Parser::new_from_str_with_options(text, options) {
        let (event, span) = match next {
            Ok(next) => next,
            Err(error) => {
                let stopped = error.marker().byte_offset().unwrap_or(text.len());
                let problem = refusal(&error, text, &builder, depth);
                return refuse(builder, problem, stopped);
            }
        };
        let range = range_of(span, text);
        match &event {
            Event::DocumentStart(..) => documents += 1,
            Event::SequenceStart(..) | Event::MappingStart(..) => open += 1,
            Event::SequenceEnd | Event::MappingEnd => open = open.saturating_sub(1),
            _ => {}
        }
        let place = builder.place(range);
        if documents > 1 {
            let place = builder.place(first_line(range, text));
            builder.tell(Problem::SecondDocument { place });
            break;
        }
        if open > depth {
            return refuse(builder, Problem::TooDeep { place, limit: depth }, range.start as usize);
        }
        if take(&mut builder, event, span, range, text).is_break() {
            let problem = builder.too_many(place);
            return refuse(builder, problem, range.start as usize);
        }
    }
    Ok(builder.finish())
}

/// Hands one event to the builder; breaks when there are too many nodes.
fn take(builder: &mut Builder, event: Event, span: Span, range: Range, source: &str) -> ControlFlow<()> {
    let done = match event {
        Event::Scalar(text, style, anchor, tag) => {
            let told = builder.problems.len();
            let is_text = look_at_tag(builder, tag.is_some(), span, range, source);
            let kind = match style {
                // All that was written is the tag.
                _ if builder.problems.len() > told && range.start == range.end => Kind::Broken,
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

/// The parser's error as a problem, where a person would look for it.
fn refusal(error: &ScanError, text: &str, builder: &Builder, depth: usize) -> Problem {
    let mut start = error.marker().byte_offset().unwrap_or(text.len()).min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let rest = text.get(start..).unwrap_or("");
    let first = rest.chars().next();
    let word = match first {
        // The end of a line or of the file has nothing to point at.
        None | Some('\n' | '\r') => 0,
        Some(mark) if !mark.is_alphanumeric() => mark.len_utf8(),
        Some(_) => rest.find(|next: char| !next.is_alphanumeric()).unwrap_or(rest.len()),
    };
    let stopped = start..start + word;
    let place =
        |span: diagnose::Span| builder.place(Range { start: position(span.start), end: position(span.end) });
    match error.kind() {
        ErrorKind::TabNotAllowed
        | ErrorKind::TabInBlockIndentation
        | ErrorKind::TabAtBlockScalarStart
        | ErrorKind::TabInIndentation
        | ErrorKind::TabInPlainScalar => {
            Problem::Tab { place: place(diagnose::tab(stopped, text)), meant: None }
        }
        ErrorKind::RecursionLimitExceeded => Problem::TooDeep { place: place(stopped), limit: depth },
        kind => {
            let (fault, span) = diagnose::diagnose(fault_of(kind), stopped, text);
            match diagnose::tab_before(&fault, span.start, text) {
                Some(tab) => Problem::Tab { place: place(tab), meant: None },
                None => Problem::Syntax { place: place(span), fault },
            }
        }
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
        E::MisplacedFlowCollectionEnd => SyntaxFault::StrayBracket,
        E::MismatchedFlowCollectionEnd { .. } => SyntaxFault::WrongBracket { meant: None },
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
        | E::ExpectedBlockSequenceEntry
        // A line left of the first one.
        | E::ExpectedDocumentStart => SyntaxFault::Indentation,
        E::ExpectedBlockMappingKey | E::SimpleKeyExpected | E::InvalidSimpleKey | E::MappingKeyNotAllowed => {
            SyntaxFault::KeyWithoutColon { meant: None }
        }
        E::FlowMappingValueAdjacentCollection
        | E::InvalidMappingValueWhitespace
        | E::InvalidColonPlacement
        | E::MappingValueNotAllowed => SyntaxFault::Unquoted { by: ':', text: None },
        E::BlockEntryInFlowCollection
        | E::BlockSequenceEntryNotAllowed
        | E::InvalidBlockEntryWhitespace
        | E::PlainScalarStartsWithDashFlowIndicator => SyntaxFault::StrayDash { before_key: false },
        E::UnexpectedCharacter { character } => SyntaxFault::Unquoted { by: *character, text: None },
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
