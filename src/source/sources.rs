//! The files of a house and their texts; from bytes to lines and columns.

use std::sync::{Mutex, PoisonError};

use rustc_hash::FxHashMap;

use super::place::narrow;
use super::yaml::Weight;
use super::{FileId, Place, Tree};

/// What a file is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FileKind {
    /// The root file or one that it includes.
    Description,
    /// An address table.
    Table,
    /// A device class of the house's own.
    Class,
    /// A word list of the house's own.
    Words,
    /// The ledger.
    Ledger,
}

/// A file that was read, with its tree if it is YAML and could be read.
#[derive(Debug)]
pub struct Document {
    /// The file.
    pub file: FileId,
    /// What it is for.
    pub kind: FileKind,
    /// What it says. None of a table, of a file that is not sound YAML, and of one that is unchanged.
    pub tree: Option<Tree>,
    /// Whether it is a sound description and has not changed since the [last look](super::Last).
    pub unchanged: bool,
}

/// A position as people and editors count it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LineColumn {
    /// From 1.
    pub line: u32,
    /// From 1, in characters (Unicode scalar values). A byte-order mark has no column.
    pub column: u32,
}

/// One file.
#[derive(Debug)]
pub(super) struct SourceFile {
    pub(super) path: String,
    pub(super) kind: FileKind,
    pub(super) text: String,
    /// The bytes of the file, where they are not those of the text.
    pub(super) original: Option<Vec<u8>>,
    pub(super) marks: Mutex<Vec<Mark>>,
    /// What a description names, in the order of the text.
    pub(super) named: Vec<Named>,
    pub(super) weight: Weight,
}

/// A file, or a pattern of files, that a description names.
#[derive(Clone, Debug)]
pub(super) struct Named {
    /// Where it does, as bytes of its text.
    pub(super) start: u32,
    pub(super) end: u32,
    /// As written.
    pub(super) path: String,
    pub(super) kind: FileKind,
}

/// The position of a byte: every [`MARK_EVERY`] bytes one is kept. So much for 1 % of the text's memory, lines of
/// any length are found, and positions in them, by looking at as many bytes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark {
    line: u32,
    characters: u32,
    units: u32,
}

/// Bytes between two marks.
const MARK_EVERY: usize = 1 << 10;

impl Mark {
    const START: Self = Self { line: 1, characters: 1, units: 1 };

    /// The position behind a piece of text that is followed by the byte `next`.
    fn behind(self, piece: &str, next: Option<u8>) -> Self {
        if piece.contains('\r') {
            return self.behind_any(piece, next);
        }
        // Of lines that end within the piece only their number counts.
        let (lines, rest) = piece.rsplit_once('\n').map_or((0, piece), |(before, rest)| {
            (before.bytes().filter(|byte| *byte == b'\n').count() + 1, rest)
        });
        let begun = if lines == 0 { self } else { Self { line: self.line + narrow(lines), ..Self::START } };
        begun.behind_any(rest, next)
    }

    /// The same, letter by letter.
    fn behind_any(mut self, piece: &str, next: Option<u8>) -> Self {
        for (at, character) in piece.char_indices() {
            let following = piece.as_bytes().get(at + 1).copied().or(next);
            if character == '\n' || (character == '\r' && following != Some(b'\n')) {
                self = Self { line: self.line + 1, ..Self::START };
            } else if character != BYTE_ORDER_MARK {
                self.characters += 1;
                self.units += narrow(character.len_utf16());
            }
        }
        self
    }
}

/// The files of a house, each with its text. The root file comes first, the others in the order of their paths.
#[derive(Debug, Default)]
pub struct Sources {
    files: Vec<SourceFile>,
    by_path: FxHashMap<String, FileId>,
}

impl Sources {
    pub(super) fn new(files: Vec<SourceFile>) -> Self {
        let ids = (0..).map(FileId);
        let by_path = files.iter().map(|file| file.path.clone()).zip(ids).collect();
        Self { files, by_path }
    }

    /// Every file, in order.
    pub fn files(&self) -> impl Iterator<Item = FileId> + use<> {
        (0..u32::try_from(self.files.len()).unwrap_or(u32::MAX)).map(FileId)
    }

    /// The text of a place; empty when the place is not in its file.
    #[must_use]
    pub fn text(&self, place: Place) -> &str {
        self.source(place.file).get(place.start as usize..place.end as usize).unwrap_or("")
    }

    /// The path of a file within the house's folder, with `/` between the folders.
    #[must_use]
    pub fn path(&self, file: FileId) -> &str {
        self.file(file).map_or("", |file| &file.path)
    }

    /// What a file is for.
    #[must_use]
    pub fn kind(&self, file: FileId) -> FileKind {
        self.file(file).map_or(FileKind::Description, |file| file.kind)
    }

    /// The whole text of a file, as UTF-8, with its byte-order mark if it has one in UTF-8.
    #[must_use]
    pub fn source(&self, file: FileId) -> &str {
        self.file(file).map_or("", |file| &file.text)
    }

    /// The bytes of a file as they are on disk, for a digest.
    #[must_use]
    pub fn bytes(&self, file: FileId) -> &[u8] {
        self.file(file).map_or(&[], |file| file.original.as_deref().unwrap_or(file.text.as_bytes()))
    }

    /// Whether the file's bytes are those of its text, so that places can be used to change the file.
    #[must_use]
    pub fn is_utf8(&self, file: FileId) -> bool {
        self.file(file).is_none_or(|file| file.original.is_none())
    }

    /// What a description names, in the order of its text.
    pub(super) fn named(&self, file: FileId) -> &[Named] {
        self.file(file).map_or(&[], |file| &file.named)
    }

    /// The file at a path within the house's folder.
    #[must_use]
    pub fn find(&self, path: &str) -> Option<FileId> {
        self.by_path.get(path).copied()
    }

    /// The file that a path in another file means: paths count from the folder of the file they stand in.
    #[must_use]
    pub fn beside(&self, file: FileId, written: &str) -> Option<FileId> {
        self.find(&super::folder::resolve(self.path(file), written)?)
    }

    /// Line and column of a byte of a file; of the nearest character before it, when it is within one, and of the
    /// end, when it is beyond it.
    #[must_use]
    pub fn line_column(&self, file: FileId, byte: u32) -> LineColumn {
        let mark = self.locate(file, byte);
        LineColumn { line: mark.line, column: mark.characters }
    }

    /// The same with columns in UTF-16 code units, as some editors and SARIF count.
    #[must_use]
    pub fn line_column_utf16(&self, file: FileId, byte: u32) -> LineColumn {
        let mark = self.locate(file, byte);
        LineColumn { line: mark.line, column: mark.units }
    }

    /// The place of a line, counted from 1, without its line end. None when the file has no such line.
    #[must_use]
    pub fn line(&self, file: FileId, line: u32) -> Option<Place> {
        let source = self.file(file)?;
        let start = source.line_start(line)?;
        let end = source.line_start(line + 1).unwrap_or(source.text.len());
        let text = source.text.get(start..end)?.trim_end_matches(['\n', '\r']);
        Some(Place { file, start: narrow(start), end: narrow(start + text.len()) })
    }

    /// The number of lines of a file; an empty one has one.
    #[must_use]
    pub fn lines(&self, file: FileId) -> u32 {
        self.line_column(file, u32::MAX).line
    }

    /// What a description names.
    pub(super) fn named_in(&self, file: FileId) -> &[Named] {
        self.file(file).map_or(&[], |file| &file.named)
    }

    /// What a file has of things that a house may have so many of.
    pub(super) fn weight(&self, file: FileId) -> Weight {
        self.file(file).map_or_else(Weight::default, |file| file.weight)
    }

    fn file(&self, file: FileId) -> Option<&SourceFile> {
        self.files.get(file.0 as usize)
    }

    fn locate(&self, file: FileId, byte: u32) -> Mark {
        self.file(file).map_or(Mark::START, |file| file.locate(byte as usize))
    }
}

const BYTE_ORDER_MARK: char = '\u{feff}';

impl SourceFile {
    /// The mark of every [`MARK_EVERY`]th byte, or of the character that has it: those that were asked for, and those up to the
    /// first that is `far` enough, or to the end.
    fn with_marks<T>(&self, far: impl Fn(usize, Mark) -> bool, look: impl FnOnce(&[Mark]) -> T) -> T {
        let mut marks = self.marks.lock().unwrap_or_else(PoisonError::into_inner);
        let mut last = marks.last().copied().unwrap_or_else(|| {
            marks.push(Mark::START);
            Mark::START
        });
        while !far(marks.len(), last) && marks.len() * MARK_EVERY < self.text.len() {
            let [at, next] = [marks.len() - 1, marks.len()].map(|nth| floor(&self.text, nth * MARK_EVERY));
            last = last.behind(self.text.get(at..next).unwrap_or(""), self.byte(next));
            marks.push(last);
        }
        look(&marks)
    }

    fn locate(&self, byte: usize) -> Mark {
        let byte = floor(&self.text, byte);
        let nth = byte / MARK_EVERY;
        let (nth, mark) = self.with_marks(
            |count, _| count > nth,
            |marks| {
                let nth = nth.min(marks.len().saturating_sub(1));
                (nth, marks.get(nth).copied().unwrap_or(Mark::START))
            },
        );
        let from = floor(&self.text, nth * MARK_EVERY);
        mark.behind(self.text.get(from..byte).unwrap_or(""), self.byte(byte))
    }

    /// The byte at which a line starts.
    fn line_start(&self, line: u32) -> Option<usize> {
        if line <= 1 {
            return (line == 1).then_some(0);
        }
        // The last mark that is before the line.
        let (nth, mut mark) = self.with_marks(
            |_, last| last.line >= line,
            |marks| {
                let nth = marks.partition_point(|mark| mark.line < line).checked_sub(1)?;
                Some((nth, marks.get(nth)?.line))
            },
        )?;
        let mut at = floor(&self.text, nth * MARK_EVERY);
        let mut characters = self.text.get(at..)?.chars().peekable();
        while let Some(character) = characters.next() {
            at += character.len_utf8();
            let ends = character == '\n' || (character == '\r' && characters.peek() != Some(&'\n'));
            mark += u32::from(ends);
            if mark == line {
                return Some(at);
            }
        }
        None
    }

    fn byte(&self, at: usize) -> Option<u8> {
        self.text.as_bytes().get(at).copied()
    }
}

/// The nearest start of a character at or before a byte.
fn floor(text: &str, byte: usize) -> usize {
    let mut byte = byte.min(text.len());
    while !text.is_char_boundary(byte) {
        byte -= 1;
    }
    byte
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The line and column of a byte, counted letter by letter from the start.
    fn counted(text: &str, byte: usize) -> LineColumn {
        let (mut line, mut column) = (1, 1);
        let mut letters = text.char_indices().peekable();
        while let Some((at, letter)) = letters.next() {
            if at + letter.len_utf8() > byte {
                break;
            }
            let next = letters.peek().map(|(_, next)| *next);
            if letter == '\n' || (letter == '\r' && next != Some('\n')) {
                (line, column) = (line + 1, 1);
            } else {
                column += 1;
            }
        }
        LineColumn { line, column }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

        /// Wherever and in whatever order it is asked for, also where lines are longer than marks are apart.
        #[test]
        fn positions_are_those_that_counting_gives(
            pieces in proptest::collection::vec("[a-zä€ ]{0,90}(\n|\r\n|\r|)", 1..120),
            asked in proptest::collection::vec(any::<proptest::sample::Index>(), 1..12),
        ) {
            let text = pieces.concat();
            let (sources, ..) = Sources::from_texts(&[("house.yaml", &text)]);
            let file = FileId(0);
            for index in asked {
                let byte = floor(&text, index.index(text.len() + 1));
                let told = sources.line_column(file, u32::try_from(byte).unwrap());
                let expected = counted(&text, byte);
                prop_assert_eq!(told, expected, "byte {} of {}", byte, text.len());
                let place = sources.line(file, expected.line).unwrap();
                prop_assert_eq!(counted(&text, place.start as usize), LineColumn { line: expected.line, column: 1 });
                // The place of a line ends before its line break.
                prop_assert!(place.start as usize <= byte && byte <= place.end as usize + 1);
            }
        }
    }
}
