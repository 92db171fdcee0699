//! The files of a house and their texts; from bytes to lines and columns.

use std::sync::OnceLock;

use rustc_hash::FxHashMap;

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
    /// What it says. None of a table, and of a file that is not sound YAML.
    pub tree: Option<Tree>,
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
    pub(super) marks: OnceLock<Vec<Mark>>,
}

/// A known position: each line's start, and every so many bytes of a long line.
#[derive(Clone, Copy, Debug)]
pub(super) struct Mark {
    byte: u32,
    line: u32,
    characters: u32,
    units: u32,
}

/// Bytes of a line between two marks.
const MARK_EVERY: usize = 1 << 10;

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
        let (mark, rest) = self.locate(file, byte);
        let characters = rest.chars().filter(|&character| character != BYTE_ORDER_MARK).count();
        LineColumn { line: mark.line, column: mark.characters + narrow(characters) }
    }

    /// The same with columns in UTF-16 code units, as some editors and SARIF count.
    #[must_use]
    pub fn line_column_utf16(&self, file: FileId, byte: u32) -> LineColumn {
        let (mark, rest) = self.locate(file, byte);
        let units = rest.chars().filter(|&character| character != BYTE_ORDER_MARK).map(char::len_utf16).sum();
        LineColumn { line: mark.line, column: mark.units + narrow(units) }
    }

    /// The place of a line, counted from 1, without its line end. None when the file has no such line.
    #[must_use]
    pub fn line(&self, file: FileId, line: u32) -> Option<Place> {
        let source = self.file(file)?;
        let marks = source.marks();
        let at = marks.partition_point(|mark| mark.line < line);
        let start = marks.get(at).filter(|mark| mark.line == line)?.byte;
        let next = marks.partition_point(|mark| mark.line <= line);
        let end = marks.get(next).map_or(source.text.len(), |mark| mark.byte as usize);
        let text = source.text.get(start as usize..end).unwrap_or("").trim_end_matches(['\n', '\r']);
        Some(Place { file, start, end: start + narrow(text.len()) })
    }

    /// The number of lines of a file; an empty one has one.
    #[must_use]
    pub fn lines(&self, file: FileId) -> u32 {
        self.file(file).and_then(|file| file.marks().last().map(|mark| mark.line)).unwrap_or(1)
    }

    fn file(&self, file: FileId) -> Option<&SourceFile> {
        self.files.get(file.0 as usize)
    }

    /// The last mark before a byte and the text between.
    fn locate(&self, file: FileId, byte: u32) -> (Mark, &str) {
        let start = Mark { byte: 0, line: 1, characters: 1, units: 1 };
        let Some(source) = self.file(file) else { return (start, "") };
        let byte = floor(&source.text, byte as usize);
        let marks = source.marks();
        let at = marks.partition_point(|mark| mark.byte as usize <= byte);
        let mark = marks.get(at.saturating_sub(1)).copied().unwrap_or(start);
        (mark, source.text.get(mark.byte as usize..byte).unwrap_or(""))
    }
}

const BYTE_ORDER_MARK: char = '\u{feff}';

impl SourceFile {
    fn marks(&self) -> &[Mark] {
        self.marks.get_or_init(|| marks(&self.text))
    }
}

/// Walks over a text once.
fn marks(text: &str) -> Vec<Mark> {
    let mut all = vec![Mark { byte: 0, line: 1, characters: 1, units: 1 }];
    let (mut line_start, mut line) = (0_usize, 1_u32);
    for piece in text.split_inclusive(['\n', '\r']) {
        if line_start > 0
            && text.get(..line_start).is_some_and(|before| before.ends_with('\r'))
            && piece == "\n"
        {
            // The second half of a CRLF.
            line_start += 1;
            if let Some(last) = all.last_mut() {
                last.byte = narrow(line_start);
            }
            continue;
        }
        if piece.len() > MARK_EVERY {
            mark_within(piece, line_start, line, &mut all);
        }
        line_start += piece.len();
        if piece.ends_with(['\n', '\r']) {
            line += 1;
            all.push(Mark { byte: narrow(line_start), line, characters: 1, units: 1 });
        }
    }
    all
}

/// Marks within a long line.
fn mark_within(piece: &str, line_start: usize, line: u32, all: &mut Vec<Mark>) {
    let (mut characters, mut units, mut next) = (1_u32, 1_u32, MARK_EVERY);
    for (at, character) in piece.char_indices() {
        if at >= next {
            all.push(Mark { byte: narrow(line_start + at), line, characters, units });
            next = at + MARK_EVERY;
        }
        if character != BYTE_ORDER_MARK {
            characters += 1;
            units += narrow(character.len_utf16());
        }
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

/// A count within a file, which has fewer than 2^31 bytes.
fn narrow(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
