//! Texts about datapoint types, for people: what a type is, which types there are, what a payload could be.
//!
//! In: datapoint types, filters, payloads. Out: text of so many columns as are asked for, where the names allow it, or JSON. Prints nothing.

mod explain;
mod list;
mod payload;

pub use explain::{datapoint_type, facts, main_type};
pub use list::{Filter, SizeError, filtered, list, listing};
pub use payload::guesses;

use crate::findings::breaking::{BELOW, ROOM, wrapped};
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

/// Rows as text, like [`columns`], with the last column broken into lines; below the others where little room is left.
fn folded(rows: &[Vec<String>], indent: usize, width: usize) -> String {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widest = |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|it| it.width()).max();
    let before = (0..count.saturating_sub(1)).filter_map(widest).map(|width| width + 2).sum::<usize>();
    let room = width.saturating_sub(indent + before);
    let parted = |row: &'_ Vec<String>| row.split_last().map(|(last, first)| (last.clone(), first.to_vec()));
    if room < ROOM {
        let mut text = String::new();
        for (last, mut first) in rows.iter().filter_map(parted) {
            first.retain(|entry| !entry.is_empty());
            text.push_str(&format!("{:indent$}{}\n", "", first.join("  ")));
            for line in wrapped(&last, width.saturating_sub(BELOW)).lines() {
                text.push_str(&format!("{:BELOW$}{line}\n", ""));
            }
        }
        return text;
    }
    let mut lines = Vec::new();
    for (last, mut first) in rows.iter().filter_map(parted) {
        for part in wrapped(&last, room).lines() {
            let blank = vec![String::new(); first.len()];
            let mut line = std::mem::replace(&mut first, blank);
            line.push(part.to_owned());
            lines.push(line);
        }
    }
    columns(&lines, indent)
}
