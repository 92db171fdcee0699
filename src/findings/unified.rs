//! Two texts as a unified diff.
//!
//! The library finds what differs; the lines are laid out here, since its own layout brings every algorithm that it has into
//! the program.

use similar::algorithms::{Capture, Compact, Replace, myers};
use similar::{DiffOp, group_diff_ops};
use std::fmt::Write as _;
use std::ops::Range;

/// What a unified diff shows beside the lines that differ.
#[derive(Clone, Copy, Debug)]
pub struct Around<'a> {
    /// Lines before and behind them.
    pub radius: usize,
    /// Names of the two texts.
    pub names: Option<(&'a str, &'a str)>,
    /// Whether it says that a text ends without a line end.
    pub ends: bool,
}

impl Default for Around<'_> {
    fn default() -> Self {
        Self { radius: 3, names: None, ends: true }
    }
}

/// What differs between two texts, in the unified format; empty if nothing does.
pub fn unified(old: &str, new: &str, around: Around<'_>) -> String {
    let (old, new): (Vec<&str>, Vec<&str>) =
        (old.split_inclusive('\n').collect(), new.split_inclusive('\n').collect());
    let mut hook = Compact::new(Replace::new(Capture::new()), old.as_slice(), new.as_slice());
    let Ok(()) = myers::diff(&mut hook, old.as_slice(), 0..old.len(), new.as_slice(), 0..new.len());
    let mut out = String::new();
    for group in group_diff_ops(hook.into_inner().into_inner().into_ops(), around.radius) {
        if let Some((before, after)) = around.names.filter(|_| out.is_empty()) {
            let _ = writeln!(out, "--- {before}\n+++ {after}");
        }
        let (Some(first), Some(last)) = (group.first(), group.last()) else { continue };
        let old_range = first.old_range().start..last.old_range().end;
        let new_range = first.new_range().start..last.new_range().end;
        let _ = writeln!(out, "@@ -{} +{} @@", range(&old_range), range(&new_range));
        for step in &group {
            let (old_range, new_range) = (step.old_range(), step.new_range());
            if let DiffOp::Equal { .. } = step {
                lines(&mut out, ' ', &old, old_range, around.ends);
            } else {
                lines(&mut out, '-', &old, old_range, around.ends);
                lines(&mut out, '+', &new, new_range, around.ends);
            }
        }
    }
    out
}

/// Where lines stand: the first one, and how many there are if not one; of none the one before.
fn range(lines: &Range<usize>) -> String {
    match lines.len() {
        0 => format!("{},0", lines.start),
        1 => (lines.start + 1).to_string(),
        count => format!("{},{count}", lines.start + 1),
    }
}

fn lines(out: &mut String, mark: char, of: &[&str], range: Range<usize>, ends: bool) {
    for line in of.get(range).unwrap_or_default() {
        let text = line.strip_suffix('\n');
        let _ = writeln!(out, "{mark}{}", text.unwrap_or(line));
        if text.is_none() && ends {
            out.push_str("\\ No newline at end of file\n");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use similar::TextDiff;

    /// As the library lays it out.
    fn check(old: &str, new: &str) {
        for radius in [0, 2, 3] {
            let diff = TextDiff::from_lines(old, new);
            let mut theirs = diff.unified_diff();
            theirs.context_radius(radius).header("a", "b");
            let around = Around { radius, names: Some(("a", "b")), ends: true };
            assert_eq!(unified(old, new, around), theirs.to_string(), "{old:?} {new:?}");
        }
    }

    #[test]
    fn texts_are_laid_out_as_the_library_does() {
        let long: String = (0..200).map(|line| format!("line {}\n", line % 50)).collect();
        for (old, new) in [
            ("", ""),
            ("", "a\n"),
            ("a\n", ""),
            ("a\nb\nc\n", "a\nc\n"),
            ("a", "a\n"),
            ("a\nb", "a\nc"),
            ("a\r\nb\r\n", "a\r\nc\r\n"),
            ("1\n2\n3\n4\n5\n6\n7\n8\n9\n", "1\n2\n0\n4\n5\n6\n7\n8\n"),
            (&long, &long.replace("line 7\n", "other\n")),
            (&long, &long.replace("line 49\n", "")),
        ] {
            check(old, new);
        }
    }
}
