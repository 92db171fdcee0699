//! Addresses whose main, middle and sub group stand in columns of their own.

use super::records::{IN_SOURCE, Record, Span};
use super::text;
use crate::source::place::narrow;

/// The columns of main, middle and sub group, and what stood in them last.
#[derive(Clone, Debug, Default)]
pub(super) struct Parts {
    at: [Option<usize>; 3],
    main: String,
    middle: String,
}

impl Parts {
    /// The columns with the numbers of the groups; none where those of main and sub group are not both there.
    pub(super) fn of(at: [Option<usize>; 3]) -> Option<Self> {
        let [main, _, sub] = at;
        (main.is_some() && sub.is_some()).then(|| Self { at, ..Self::default() })
    }

    /// The first column, which stands for all of them.
    pub(super) fn first(&self) -> Option<usize> {
        self.at.into_iter().flatten().min()
    }

    /// The columns, that of the main group first.
    pub(super) fn columns(&self) -> [Option<usize>; 3] {
        self.at
    }

    /// How many columns they are.
    pub(super) fn count(&self) -> usize {
        self.at.into_iter().flatten().count()
    }

    /// The address of a row, written with slashes, added to `texts`. An empty cell means what stood above it last; without
    /// a sub group the row names a range.
    pub(super) fn address(&mut self, record: &Record, source: &str, texts: &mut Vec<Box<str>>) -> Span {
        let spans =
            self.at.map(|at| at.and_then(|at| record.cells.get(at)).filter(|span| span.start < span.end));
        let (start, end) = spans
            .iter()
            .flatten()
            .fold((u32::MAX, 0), |(start, end), span| (start.min(span.start), end.max(span.end)));
        if start > end {
            return Span { start: 0, end: 0, link: IN_SOURCE };
        }
        let [main, middle, sub] = spans.map(|span| {
            let text = span.map_or("", |span| text(*span, texts, source));
            if matches!(text, "-" | "*") { "" } else { text }
        });
        if !main.is_empty() && main != self.main {
            main.clone_into(&mut self.main);
            self.middle.clear();
        }
        if !middle.is_empty() {
            middle.clone_into(&mut self.middle);
        }
        let is_three = self.at.iter().all(Option::is_some);
        let address = match (is_three, middle.is_empty(), sub.is_empty()) {
            (true, _, false) => format!("{}/{}/{sub}", self.main, self.middle),
            (false, _, false) => format!("{}/{sub}", self.main),
            (true, false, true) => format!("{}/{}/-", self.main, self.middle),
            (true, true, true) => format!("{}/-/-", self.main),
            (false, _, true) => format!("{}/-", self.main),
        };
        texts.push(address.into());
        Span { start, end, link: narrow(texts.len() - 1) }
    }
}
