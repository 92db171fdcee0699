//! Texts about classes on a terminal of so many columns: paragraphs, and columns with what stands beside them.

use crate::findings::breaking::{self, BELOW, ROOM};
use std::fmt::{self, Write};

/// Stands for a space at which no line is broken.
pub(super) const TIED: &str = "\u{a0}";

/// A text that grows.
pub(super) struct Paper {
    pub(super) text: String,
    /// Columns that lines are broken at.
    pub(super) width: usize,
}

impl Write for Paper {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.text.write_str(text)
    }
}

impl Paper {
    /// An empty one. The last columns of a terminal stay free.
    pub(super) fn new(columns: usize) -> Self {
        Self { text: String::new(), width: columns.saturating_sub(2) }
    }

    pub(super) fn push_str(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// Adds paragraphs, broken into lines.
    pub(super) fn paragraphs(&mut self, all: &str) {
        for (index, paragraph) in all.split("\n\n").enumerate() {
            if index > 0 {
                self.push_str("\n");
            }
            self.indented(paragraph, 0);
        }
    }

    pub(super) fn indented(&mut self, line: &str, indent: usize) {
        let lines = self.broken(line, indent, indent);
        let _ = writeln!(self.text, "{:indent$}{lines}", "");
    }

    /// A text that stands beside another, from this column on; below it where little room is left.
    pub(super) fn beside(&self, text: &str, column: usize) -> String {
        if self.width >= column + ROOM {
            return self.broken(text, column, column);
        }
        format!("\n{:BELOW$}{}", "", self.broken(text, BELOW, BELOW))
    }

    /// A text broken into lines: those after the first begin with `indent` spaces and the first is `used` columns in.
    pub(super) fn broken(&self, text: &str, indent: usize, used: usize) -> String {
        // A number stays with its unit.
        let mut text = text.to_owned();
        for unit in ["%", "°C"] {
            for space in [' ', '\n'] {
                text = text.replace(&format!("{space}{unit}"), &format!("{TIED}{unit}"));
            }
        }
        let words: Vec<&str> = text.split([' ', '\n']).filter(|word| !word.is_empty()).collect();
        breaking::broken(&words.join(" "), self.width, used, indent).replace(TIED, " ")
    }

    /// Writes a line, in two where it is too long: broken behind the first `at`.
    pub(super) fn fitting(&mut self, line: &str, at: &str) {
        match line.split_once(at) {
            Some((head, rest)) if line.chars().count() > self.width => {
                let rest = self.broken(rest, 2, 2);
                let _ = writeln!(self.text, "{head}{}\n  {rest}", at.trim_end());
            }
            Some(_) | None => {
                let _ = writeln!(self.text, "{line}");
            }
        }
    }
}

/// Keeps the words of a text on one line.
pub(super) fn tied(text: &str) -> String {
    text.replace(' ', TIED)
}
