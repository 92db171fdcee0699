//! Why text cannot be read as YAML, or as text at all.

/// Why text is not YAML.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SyntaxFault {
    /// `[` or `{` has no partner.
    UnclosedBracket,
    /// `]` or `}` has no partner.
    StrayBracket,
    /// `[` is closed by `}`, or `{` by `]`.
    WrongBracket {
        /// The bracket that was meant, where the rest was read as if it stood there.
        meant: Option<char>,
    },
    /// A comma stands where no entry ends. The rest was read without it.
    StrayComma,
    /// A comma, or the closing bracket, is missing between the entries of `[…]` or `{…}`.
    MissingComma,
    /// A quotation mark has no partner.
    UnclosedQuote,
    /// Something stands directly behind a closing quotation mark.
    AfterQuote,
    /// A backslash in double quotes is followed by what it cannot be followed by.
    Escape,
    /// A line begins with no-break spaces, which indent nothing.
    NoBreakSpace {
        /// How many spaces were meant before the line, where it was read as if they stood there.
        meant: Option<usize>,
    },
    /// A line begins left or right of where its neighbours begin.
    Indentation,
    /// The same, where it is known where the line was meant to begin. The rest was read as if it did.
    Column {
        /// Spaces before it.
        spaces: usize,
        /// Spaces that were meant.
        meant: usize,
    },
    /// The line above this one, with the key that it belongs to, was forgotten. What stands below was left out.
    ForgottenKey {
        /// Spaces before the key.
        spaces: usize,
    },
    /// A key has no colon, or text stands where a key must.
    KeyWithoutColon {
        /// Key and value as they were probably meant.
        meant: Option<String>,
    },
    /// A colon is not followed by a space, so that it is part of a text: `name:Kitchen`.
    ColonWithoutSpace {
        /// Key and value as they were probably meant.
        meant: Option<String>,
    },
    /// A text means more than text to YAML and has no quotes around it.
    Unquoted {
        /// What makes it so: a colon within it, a bracket that it goes on behind, or what it begins with.
        by: char,
        /// The text, where it is plain that it is one.
        text: Option<String>,
    },
    /// Keys with values stand within a line, and no braces around them.
    Unbraced {
        /// All of them between braces.
        meant: String,
    },
    /// A comma parts the value of a key between braces in two: `{ on: Mondays, Tuesdays }`.
    Parted {
        /// The key.
        key: String,
        /// All of what stands behind it.
        text: String,
        /// The key that may have been left out before the second part.
        left_out: Option<&'static str>,
    },
    /// A `-` of a list stands where none may.
    StrayDash {
        /// Whether it stands before a key whose neighbours have none. The rest was read as if the key began there.
        before_key: bool,
    },
    /// A comment that begins as none does: `// …`.
    Slashes,
    /// A line that a merge left behind: the branches were never brought together.
    Unmerged,
    /// A comment stands directly behind text, or within it.
    Comment,
    /// An anchor, a tag or a directive is not written as one.
    Property,
    /// The header of a block of text (`|`, `>`) or its first lines.
    Block,
    /// The text ends in the middle of something.
    End,
    /// Anything else, in the parser's words.
    Other(String),
}

/// Why an alias (`*name`) was not followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AliasFault {
    /// No anchor (`&name`) of this name stands before it.
    Unknown,
    /// It stands within what it names.
    Itself,
    /// What all aliases of the file stand for is more than [`Limits::alias_nodes`](super::Limits).
    TooMuch,
}

/// Why bytes are not text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextFault {
    /// A byte that is not UTF-8.
    Utf8,
    /// A unit that is not UTF-16.
    Utf16,
    /// A zero byte: this is no text file.
    Zero,
    /// A control character that no text file has.
    Control,
    /// An archive, as spreadsheet programs save their own files: it begins as ZIP files do (PKWARE APPNOTE, 4.3.7).
    Archive,
}

/// What stands in a file in place of a table of addresses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoTable {
    /// Nothing at all.
    Nothing,
    /// XML.
    Xml,
    /// Lines of another kind.
    Other,
}

impl NoTable {
    /// What a text is that no column of addresses was found in.
    pub(super) fn of(text: &str) -> Self {
        match text.trim_start_matches('\u{feff}').trim_start() {
            "" => Self::Nothing,
            text if text.starts_with('<') => Self::Xml,
            _ => Self::Other,
        }
    }
}
