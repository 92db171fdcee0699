//! A ledger in which git left the lines of both branches.

use crate::source::{FileId, Place};

/// The texts that git could not bring together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sides {
    /// The ledger of the branch that was merged into.
    pub ours: String,
    /// What both came from, if git was told to leave it (`merge.conflictStyle` `diff3` or `zdiff3`).
    pub base: Option<String>,
    /// The ledger of the branch that was merged.
    pub theirs: String,
}

/// Takes the two ledgers apart that git wrote into one file; none if it left no marks, or marks that do not pair.
pub fn unmerged_sides(text: &str) -> Option<Sides> {
    let mut sides = Sides { ours: String::new(), base: None, theirs: String::new() };
    let mut base = String::new();
    let mut within = Within::Both;
    let mut marked = false;
    for line in text.split_inclusive('\n') {
        within = match (mark(line), within) {
            (Some(Mark::Ours), Within::Both) => {
                marked = true;
                Within::Ours
            }
            (Some(Mark::Base), Within::Ours) => {
                sides.base = Some(String::new());
                Within::Base
            }
            (Some(Mark::Theirs), Within::Ours | Within::Base) => Within::Theirs,
            (Some(Mark::End), Within::Theirs) => Within::Both,
            (Some(_), _) => return None,
            (None, within) => {
                let both = within == Within::Both;
                for (text, its) in [
                    (&mut sides.ours, Within::Ours),
                    (&mut base, Within::Base),
                    (&mut sides.theirs, Within::Theirs),
                ] {
                    if both || within == its {
                        text.push_str(line);
                    }
                }
                within
            }
        };
    }
    sides.base = sides.base.map(|_| base);
    (marked && within == Within::Both).then_some(sides)
}

/// Where the marks of a merge begin a conflict; if only other marks are left, where those are.
pub(super) fn markers(text: &str, file: FileId) -> impl Iterator<Item = Place> {
    let mut all = Vec::new();
    if ["<<<<<<<", "|||||||", "=======", ">>>>>>>"].iter().any(|marker| text.contains(marker)) {
        let mut start = 0;
        for line in text.split_inclusive('\n') {
            if let Some(mark) = mark(line) {
                all.push((mark, start, start + line.trim_end().len()));
            }
            start += line.len();
        }
    }
    let begun = all.iter().any(|(mark, ..)| *mark == Mark::Ours);
    all.into_iter().filter(move |(mark, ..)| !begun || *mark == Mark::Ours).filter_map(
        move |(_, start, end)| {
            Some(Place { file, start: u32::try_from(start).ok()?, end: u32::try_from(end).ok()? })
        },
    )
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Within {
    Both,
    Ours,
    Base,
    Theirs,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Mark {
    Ours,
    Base,
    Theirs,
    End,
}

fn mark(line: &str) -> Option<Mark> {
    let mark = match line.get(..7)? {
        "<<<<<<<" => Mark::Ours,
        "|||||||" => Mark::Base,
        "=======" => Mark::Theirs,
        ">>>>>>>" => Mark::End,
        _ => return None,
    };
    line.get(7..)?.starts_with([' ', '\n', '\r']).then_some(mark)
}
