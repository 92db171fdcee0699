//! The form in which nearly all descriptions are written, read without the parser and many times faster.
//!
//! Block mappings and sequences, plain and quoted scalars and brackets within one line, blocks of text behind a `|`,
//! comments. It knows what it knows and gives up at the first sign of anything else (anchors, other blocks of text,
//! scalars over several lines, tabs, whatever is wrong); the parser then reads the text from the start and says what is
//! to be said. A test holds both to the same tree for every text that is read here.

use super::build::Builder;
use super::inline::{is_safe, range};
use super::tree::Kind;
use crate::source::Limits;
use crate::source::place::narrow;

/// What came of reading a text here.
pub(super) enum Outcome<'b> {
    /// It was read.
    Read(Builder<'b>),
    /// It has more nodes than allowed. Where that shows, as a byte of the text.
    Full(Builder<'b>, usize),
    /// There is something in it that only the parser knows. What was built until then.
    GivenUp(Builder<'b>),
}

/// Reads a text, or gives up.
pub(super) fn read<'b>(source: &str, builder: Builder<'b>, limits: &Limits) -> Outcome<'b> {
    let mut scanner = Scanner {
        source,
        depth: limits.depth.min(Limits::MOST_DEPTH),
        builder,
        levels: Vec::new(),
        pending: false,
    };
    let mut at = if source.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    while let Some(rest) = source.get(at..).filter(|rest| !rest.is_empty()) {
        let end = memchr::memchr(b'\n', rest.as_bytes()).map_or(source.len(), |length| at + length);
        let Some(end) = scanner.line(at, end) else { return scanner.stopped(at) };
        at = end + 1;
    }
    if scanner.levels.is_empty() || scanner.nothing_pending().is_none() {
        return scanner.stopped(source.len());
    }
    Outcome::Read(scanner.builder)
}

/// A block collection that is being read.
#[derive(Clone, Copy)]
pub(super) struct Level {
    pub(super) indent: usize,
    pub(super) is_sequence: bool,
}

pub(super) struct Scanner<'s, 'b> {
    pub(super) source: &'s str,
    pub(super) depth: usize,
    pub(super) builder: Builder<'b>,
    pub(super) levels: Vec<Level>,
    /// Whether a key or a dash has no value yet.
    pub(super) pending: bool,
}

impl<'b> Scanner<'_, 'b> {
    fn stopped(self, at: usize) -> Outcome<'b> {
        if self.builder.is_full() { Outcome::Full(self.builder, at) } else { Outcome::GivenUp(self.builder) }
    }

    /// Reads one line, with the block of text below it that belongs to it. Gives the end of the last line that was read.
    fn line(&mut self, start: usize, line_end: usize) -> Option<usize> {
        let line = without_return(self.source.get(start..line_end)?);
        let end = start + line.len();
        let indent = line.bytes().take_while(|byte| *byte == b' ').count();
        let at = start + indent;
        match self.byte(at, end) {
            None => return Some(line_end),
            Some(b'#') => return self.is_comment(at, end).then_some(line_end),
            Some(_) if indent == 0 && (line.starts_with("...") || line.starts_with("---")) => return None,
            Some(_) => {}
        }
        let is_item = self.is_dash(at, end);
        self.find_level(indent, is_item, at)?;
        let value = if is_item { self.item(at, end, indent)? } else { self.entry(at, end)? };
        match value {
            Some(at) if self.byte(at, end) == Some(b'|') => self.block(at, end),
            Some(at) => self.value(at, end).map(|()| line_end),
            None => Some(line_end),
        }
    }

    /// Begins or ends collections, so that the innermost one is the one that the line belongs to.
    fn find_level(&mut self, indent: usize, is_item: bool, at: usize) -> Option<()> {
        let top = self.levels.last().copied();
        let deeper = top.is_none_or(|top| indent > top.indent);
        let beside_its_key =
            is_item && self.pending && top.is_some_and(|top| !top.is_sequence && indent == top.indent);
        if deeper || beside_its_key {
            if top.is_some() && !std::mem::take(&mut self.pending) {
                return None;
            }
            // The parser marks the start of a sequence that stands beside its key at its first item.
            let start = if beside_its_key { self.after_dash(at)? } else { at };
            return self.begin(indent, is_item, start);
        }
        self.nothing_pending()?;
        while let Some(top) = self.levels.last() {
            if top.indent < indent {
                return None;
            }
            if top.indent == indent && top.is_sequence == is_item {
                return Some(());
            }
            self.levels.pop();
            self.builder.end(None);
        }
        None
    }

    fn begin(&mut self, indent: usize, is_sequence: bool, start: usize) -> Option<()> {
        if self.levels.len() >= self.depth {
            return None;
        }
        self.levels.push(Level { indent, is_sequence });
        let kind = if is_sequence { Kind::Sequence } else { Kind::Mapping };
        self.builder.begin(kind, narrow(start), 0).ok()
    }

    /// Gives a key or a dash without a value its nothing.
    fn nothing_pending(&mut self) -> Option<()> {
        if std::mem::take(&mut self.pending) { self.builder.empty(0).ok() } else { Some(()) }
    }

    /// `- …`, at the dash. Gives the place of its value, if that is on the line.
    fn item(&mut self, dash: usize, end: usize, indent: usize) -> Option<Option<usize>> {
        let at = self.spaces(dash + 1, end);
        match self.byte(at, end) {
            None => {
                self.pending = true;
                Some(None)
            }
            Some(b'#' | b'-') => None,
            Some(_) if self.is_key(at, end) => {
                self.begin(indent + (at - dash), false, at)?;
                self.entry(at, end)
            }
            Some(_) => Some(Some(at)),
        }
    }

    /// `key: …`, at the key. Gives the place of its value, if that is on the line.
    fn entry(&mut self, at: usize, end: usize) -> Option<Option<usize>> {
        let colon = self.key(at, end, false)?;
        let value = self.spaces(colon + 1, end);
        let is_comment = value > colon + 1 && self.byte(value, end) == Some(b'#');
        if value == end || (is_comment && self.is_comment(value, end)) {
            self.pending = true;
            return Some(None);
        }
        Some(Some(value))
    }

    /// The block of text below a `|` that ends its line. Gives the end of its last line that is not empty.
    fn block(&mut self, mark: usize, end: usize) -> Option<usize> {
        if mark + 1 != end {
            return None;
        }
        let outer = self.levels.last()?.indent;
        let mut at = self.line_end(end)? + 1;
        // Where the text begins is told by its first line; the parser knows what an empty one means there.
        let start = self.spaces(at, self.source.len());
        let inner = start - at;
        let (mut text, mut last, mut empty) = (String::new(), at, 0);
        while at < self.source.len() {
            let line_end = self.line_end(at)?;
            let line = without_return(self.source.get(at..line_end)?);
            let indent = line.bytes().take_while(|byte| *byte == b' ').count();
            if line.is_empty() {
                empty += 1;
            } else if indent == line.len() {
                return None;
            } else if indent < inner {
                break;
            } else {
                let written = line.get(inner..).filter(|written| is_safe(written))?;
                text.extend(std::iter::repeat_n('\n', std::mem::take(&mut empty)));
                text.extend([written, "\n"]);
                last = line_end;
            }
            at = line_end + 1;
        }
        let range = range(start, start + self.source.get(start..last)?.trim_end().len());
        self.builder.scalar(Kind::Block, range, &text, 0).ok().filter(|()| inner > outer).map(|()| last)
    }

    /// Where the line of this place ends; none if it is the last one and does not end.
    fn line_end(&self, at: usize) -> Option<usize> {
        memchr::memchr(b'\n', self.source.as_bytes().get(at..)?).map(|length| at + length)
    }

    /// Reads a key and gives the place of its colon.
    pub(super) fn key(&mut self, at: usize, end: usize, in_brackets: bool) -> Option<usize> {
        /// The parser looks no further than 1,024 characters for the colon.
        const LONGEST: usize = 1_000;
        let after = match self.byte(at, end)? {
            quote @ (b'"' | b'\'') => self.quoted(at, end, quote)?,
            _ => {
                let key_end = self.plain_end(at, end, in_brackets)?;
                self.scalar(at, key_end)?;
                key_end
            }
        };
        let colon = self.spaces(after, end);
        let is_colon =
            self.byte(colon, end) == Some(b':') && matches!(self.byte(colon + 1, end), None | Some(b' '));
        (is_colon && colon - at < LONGEST).then_some(colon)
    }

    /// Whether a plain or quoted key stands here. Reads nothing.
    fn is_key(&self, at: usize, end: usize) -> bool {
        let after = match self.byte(at, end) {
            Some(quote @ (b'"' | b'\'')) => {
                let inner = self.source.get(at + 1..end).unwrap_or("");
                match inner.find(char::from(quote)) {
                    Some(length) => at + length + 2,
                    None => return false,
                }
            }
            Some(b'[' | b'{') | None => return false,
            Some(_) => match self.plain_end(at, end, false) {
                Some(after) => after,
                None => return false,
            },
        };
        self.byte(self.spaces(after, end), end) == Some(b':')
    }

    /// The value at the end of a line: nothing but a comment may follow.
    fn value(&mut self, at: usize, end: usize) -> Option<()> {
        let after = self.inline(at, end, false)?;
        let rest = self.spaces(after, end);
        let is_end = rest == end || (rest > after && self.is_comment(rest, end));
        is_end.then_some(())
    }

    pub(super) fn byte(&self, at: usize, end: usize) -> Option<u8> {
        if at < end { self.source.as_bytes().get(at).copied() } else { None }
    }

    /// The first place that is no space.
    pub(super) fn spaces(&self, at: usize, end: usize) -> usize {
        let bytes = self.source.as_bytes().get(at..end).unwrap_or(&[]);
        at + bytes.iter().take_while(|byte| **byte == b' ').count()
    }

    fn is_dash(&self, at: usize, end: usize) -> bool {
        self.byte(at, end) == Some(b'-') && matches!(self.byte(at + 1, end), None | Some(b' '))
    }

    /// The first item of a sequence; none when it is empty or begins on another line.
    fn after_dash(&self, dash: usize) -> Option<usize> {
        let at = self.spaces(dash + 1, self.source.len());
        (!matches!(self.byte(at, self.source.len()), None | Some(b'\n' | b'\r' | b'#'))).then_some(at)
    }

    fn is_comment(&self, at: usize, end: usize) -> bool {
        self.byte(at, end) == Some(b'#') && self.source.get(at..end).is_some_and(is_safe)
    }
}

fn without_return(line: &str) -> &str {
    line.strip_suffix('\r').unwrap_or(line)
}

#[cfg(test)]
mod tests {
    use super::super::events::parse_events;
    use super::*;
    use crate::source::FileId;
    use proptest::prelude::*;

    /// Whatever is read here is what the parser reads: the same slots, texts and problems. Says whether it was read.
    fn check(source: &str, expected: Option<bool>) -> bool {
        let limits = Limits::default();
        let builder = || Builder::new(source, FileId(0), &limits);
        let here = read(source, builder(), &limits);
        let was_read = matches!(here, Outcome::Read(_));
        if let Outcome::Read(builder) = here {
            let (tree, problems) = builder.finish();
            let parsed = parse_events(source, Builder::new(source, FileId(0), &limits), &limits);
            let (parsed, told) = parsed.unwrap_or_else(|_| panic!("the parser refuses {source:?}"));
            assert_eq!(format!("{:#?}", tree.slots), format!("{:#?}", parsed.slots), "{source:?}");
            assert_eq!(tree.texts, parsed.texts, "{source:?}");
            assert_eq!(problems, told, "{source:?}");
        }
        if let Some(expected) = expected {
            assert_eq!(was_read, expected, "{source:?}");
        }
        was_read
    }

    /// What people write.
    const USUAL: [&str; 11] = [
        "# a comment\nhousewright: 1\nhouse:\n  id: heron-wharf  # for ever\n  name: Heron Wharf\n\n  notation: three-level\n",
        "a:\n  - x\n  -\n  - y: 1\n    z:\n  - 'it''s'\nb:\n- \"p\"\n- q: {r: [1, 2/3, {s: t}], u: {}}\n  v: []\nc:\n",
        "points:\r\n  switching: { command: 1/1/10, feedback: 1/4/10 }\r\n\r\n  \"quoted key\": 5.010\r\n",
        "\u{feff}rooms:\n  küche:\n    name: Küche – groß °C\n    appliances:\n      a-b:\n        class: x\n",
        "- a: 1\n  b: 2\n- c\n- [d, e]\n",
        "url: http://x.y/z#t\ntime: 12:30\nnegative: -5\nplus: +5\nhalf: .5\nnull: ~\nname : v\n",
        "a: {b: 'c, d', \"e\": \"f: # g\"}  # h\n   # i\nj: k",
        "x: 1\nx: 2\ny:\n  x: 3\n",
        "a: |\n  one: 1\n\n    # two\n\n  - three  \n\n\nb: |\n c\n",
        "a:\n  - |\n    one\n  - b: |\n      two\n    c: 3\n# d\n",
        "a:\n- |\r\n  ä\r\n\r\n  ö\r\n- b\n",
    ];

    /// What is left to the parser, sound or not.
    const UNUSUAL: [&str; 20] = [
        "a: |\n  text",
        "a: |-\n  text\n",
        "a: |\n\n  text\n",
        "a: |\n  text\n  \n",
        "a: |\nb: 1\n",
        "a: |\n  te\txt\n",
        "a: >\n  text\n",
        "a: &x 1\nb: *x\n",
        "a: one\n  two\n",
        "a: \"one\n  two\"\n",
        "a:\tb\n",
        "a: {b: 1,\n  c: 2}\n",
        "---\na: 1\n",
        "a: b: c\n",
        "- a\nb: c\n",
        "a: 1\n b: 2\n",
        "a: [b, ]\n",
        "a: {b}\n",
        "a: \"\\u0041\"\n",
        "",
    ];

    #[test]
    fn the_usual_is_read_here_and_the_rest_is_not() {
        for source in USUAL {
            check(source, Some(true));
        }
        for source in UNUSUAL {
            check(source, Some(false));
        }
    }

    #[test]
    #[allow(clippy::disallowed_methods, reason = "a test looks at the project's own files")]
    fn the_classes_and_words_that_the_program_brings_are_read_here() {
        for folder in ["templates/classes", "schema/words"] {
            for file in std::fs::read_dir(folder).expect(folder) {
                check(&std::fs::read_to_string(file.expect(folder).path()).expect(folder), Some(true));
            }
        }
    }

    /// Pieces out of which texts are made that are nearly YAML.
    const PIECES: [&str; 40] = [
        "a", "b", "key", ": ", ":", "\n", "\n  ", "\n    ", "\n- ", "\n  - ", "- ", "-", " ", "  ", "#",
        " # c", "{", "}", "[", "]", ", ", ",", "'", "\"", "''", "\\", "1/2/3", "5.010", "~", "ä", "\u{a0}",
        "\t", "\r\n", "&a", "*a", "!", "|\n", ">", "?", "...",
    ];

    proptest! {
        #![proptest_config(ProptestConfig { cases: 4_000, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn mutated_descriptions_are_read_as_the_parser_does(
            which in 0..USUAL.len(), changes in prop::collection::vec((0..400_usize, 0..3_usize, 0..PIECES.len()), 1..4)
        ) {
            let mut text: Vec<char> = USUAL[which].chars().collect();
            for (at, cut, piece) in changes {
                let at = at % (text.len() + 1);
                let end = (at + cut).min(text.len());
                text.splice(at..end, PIECES[piece].chars());
            }
            check(&text.into_iter().collect::<String>(), None);
        }

        #[test]
        fn random_pieces_are_read_as_the_parser_does(pieces in prop::collection::vec(0..PIECES.len(), 0..24)) {
            let text: String = pieces.into_iter().map(|piece| PIECES[piece]).collect();
            check(&text, None);
        }
    }
}
