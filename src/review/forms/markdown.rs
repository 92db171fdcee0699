//! The review for a merge request: `CommonMark` with folded parts.
//!
//! Names come from the house, so every character that Markdown or HTML would read is escaped. A group of many changes
//! is folded, and one of very many is cut with a word about what is missing: the JSON form is always whole.

use super::view::{
    clean, counts, gateway, gateway_of, groups, hint, keys, only_side, remedy, side, sides, summary, telling,
    title,
};
use crate::review::change::{Change, Review, Side};
use crate::review::judgement::Consequence;
use crate::review::words::{capital, list, unified};
use std::fmt::Write;

/// Groups with more changes than this are folded, unless something is lost in them.
const FOLDED: usize = 10;
/// More changes than this of one consequence are not listed.
const LISTED: usize = 200;
/// More lines than this of one change are not listed.
const LINES: usize = 60;

/// Writes the review as Markdown.
pub fn markdown(review: &Review) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "# Review of {}\n", escape(&title(review)));
    let _ = writeln!(out, "{}.\n", capital(&escape(&summary(review))));
    write_sides(&mut out, review);
    if !review.unread.is_empty() {
        let _ = writeln!(out, "**Not everything could be compared:**\n");
        for (of, unread) in &review.unread {
            let line = format!("{} `{}`: {}; {}", side(*of), unread.name, unread.why, unread.help);
            let _ = writeln!(out, "- {}", escape(&clean(&line)));
        }
        out.push('\n');
    }
    if review.changes.is_empty() {
        return out;
    }
    let _ = writeln!(out, "{}. {}.\n", capital(&counts(review)), capital(&gateway(review)));
    if let Some(hint) = hint(review) {
        let _ = writeln!(out, "**{}**\n", escape(&hint));
    }
    for group in groups(review) {
        let _ = writeln!(out, "## {}\n", capital(group.consequence.word()));
        let _ = writeln!(out, "{}.\n", capital(group.consequence.meaning()));
        let folded = group.count > FOLDED && group.consequence != Consequence::Lost;
        if folded {
            let _ = writeln!(out, "<details><summary>{} changes</summary>\n", group.count);
        }
        let mut left = LISTED;
        for room in &group.rooms {
            if left == 0 {
                break;
            }
            let _ = writeln!(out, "### {}\n", escape(&clean(room.name)));
            for change in room.changes.iter().take(left) {
                write_change(&mut out, change);
            }
            left = left.saturating_sub(room.changes.len());
            out.push('\n');
        }
        if group.count > LISTED {
            let _ = writeln!(out, "And {} more, which the JSON form lists.\n", group.count - LISTED);
        }
        if folded {
            let _ = writeln!(out, "</details>\n");
        }
        let _ = writeln!(out, "<details><summary>Why</summary>\n");
        for kind in group.kinds {
            let (reason, gateway) = (escape(kind.reason), capital(&gateway_of(kind.gateway)));
            let _ = writeln!(out, "- `{}`: {reason} {gateway}. ({})", kind.name, escape(kind.cited()));
        }
        let _ = writeln!(out, "\n</details>\n");
    }
    let ends = out.trim_end().len();
    out.truncate(ends);
    out.push('\n');
    out
}

/// What was compared.
fn write_sides(out: &mut String, review: &Review) {
    for (side, origin) in sides(review) {
        let _ = writeln!(out, "- {}: {}", capital(side), escape(&origin));
    }
    if review.compared.is_some() {
        out.push('\n');
    }
}

fn write_change(out: &mut String, change: &Change) {
    let telling = telling(change);
    let keys = keys(change);
    let about = if keys.is_empty() { String::new() } else { format!(": {}", escape(&clean(&list(&keys)))) };
    let _ = writeln!(out, "- **{}** ({}{about})", escape(&telling.headline), escape(change.kind.name()));
    for detail in telling.details {
        let _ = writeln!(out, "  - {}", escape(&detail));
    }
    if let Some(remedy) = remedy(change) {
        let _ = writeln!(out, "  - **Remedy:** {}", escape(&remedy));
    }
    let lines = clean(&unified(change));
    if lines.is_empty() {
        return;
    }
    let fence = fence(&lines);
    let heading = match only_side(change) {
        None => "Before and after",
        Some(Side::Old) => "What it was",
        Some(Side::New | Side::Both) => "What it is",
    };
    let _ = writeln!(out, "\n  <details><summary>{heading}</summary>\n\n  {fence}diff");
    for line in lines.lines().take(LINES) {
        let _ = writeln!(out, "  {line}");
    }
    let _ = writeln!(out, "  {fence}\n");
    let more = lines.lines().count().saturating_sub(LINES);
    if more > 0 {
        let _ = writeln!(out, "  And {more} more lines, which the JSON form lists.\n");
    }
    let _ = writeln!(out, "  </details>\n");
}

/// A fence that is longer than any run of backticks in the text.
fn fence(text: &str) -> String {
    let (mut longest, mut run) = (0, 0);
    for letter in text.chars() {
        run = if letter == '`' { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    "`".repeat(longest.max(2) + 1)
}

/// Text in which nothing means anything to Markdown, but for pairs of single backticks around code.
fn escape(text: &str) -> String {
    let pieces: Vec<&str> = text.split('`').collect();
    let code = |at: usize| at % 2 == 1 && pieces.len() % 2 == 1;
    let sound = pieces.iter().enumerate().all(|(at, piece)| !code(at) || !piece.trim().is_empty());
    if !sound || pieces.len().is_multiple_of(2) {
        return plain(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    for (at, piece) in pieces.iter().enumerate() {
        match code(at) {
            true => {
                let _ = write!(out, "`{piece}`");
            }
            false => out.push_str(&plain(piece)),
        }
    }
    out
}

/// Every mark that Markdown or HTML could read is escaped. Line ends become spaces.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for letter in text.chars() {
        match letter {
            '\n' => out.push(' '),
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '|' | '~' | '&' | '$' | '@' | '!' => {
                out.push('\\');
                out.push(letter);
            }
            _ => out.push(letter),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: &str) {
        assert_eq!(escape(text), expected);
    }

    #[test]
    fn names_cannot_write_markdown_or_html() {
        check("<b>*loud*</b>", "\\<b\\>\\*loud\\*\\</b\\>");
        check("[a](b) & #1", "\\[a\\](b) \\& \\#1");
    }

    #[test]
    fn pairs_of_backticks_stay_code_and_lone_ones_are_escaped() {
        check("the key `a_b` is", "the key `a_b` is");
        check("a ` b", "a \\` b");
        check("a `` b", "a \\`\\` b");
    }

    #[test]
    fn a_fence_is_longer_than_what_it_holds() {
        assert_eq!(fence("a"), "```");
        assert_eq!(fence("a ```` b"), "`````");
    }
}
