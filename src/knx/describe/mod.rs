//! Texts about datapoint types, for people: what a type is, which types there are, what a payload could be.
//!
//! In: datapoint types, filters, payloads. Out: text of 80 columns where the names allow it, or JSON. Prints nothing.

mod explain;
mod list;
mod payload;

pub use explain::{datapoint_type, facts, main_type};
pub use list::{Filter, SizeError, filtered, list, listing};
pub use payload::guesses;

use unicode_width::UnicodeWidthStr;

/// Rows as text, each column as wide as its widest entry and two spaces apart; the last is not filled up.
fn columns(rows: &[Vec<String>], indent: usize) -> String {
    let mut widths: Vec<usize> = Vec::new();
    for row in rows {
        widths.resize(widths.len().max(row.len()), 0);
        for (width, entry) in widths.iter_mut().zip(row) {
            *width = (*width).max(entry.width());
        }
    }
    let mut text = String::new();
    for row in rows {
        let mut line = " ".repeat(indent);
        for (entry, width) in row.iter().zip(&widths) {
            line.push_str(entry);
            line.push_str(&" ".repeat(width.saturating_sub(entry.width()) + 2));
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}
