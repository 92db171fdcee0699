//! A file in which several things seem to be wrong is read once more: one line that begins too far left or right can make
//! YAML of another structure, and one mistake is to be told once.

use super::model::Appliance;
use super::read::FileRead;
use crate::source::{Entries, FileId, Limits, Problem, Sources, Tree, read_judged};
use rustc_hash::FxHashMap;

/// What is known to be wrong with the writing of each file.
pub(super) struct Doubts {
    files: FxHashMap<FileId, Doubt>,
}

#[derive(Clone, Copy, Default)]
struct Doubt {
    problems: usize,
    has_doubles: bool,
}

/// Whether a problem is one of how a text is written, which shows without knowing what it is to hold.
pub(super) fn is_of_writing(problem: &Problem) -> bool {
    matches!(
        problem,
        Problem::Syntax { .. }
            | Problem::Tab { .. }
            | Problem::DuplicateKey { .. }
            | Problem::KeyShape { .. }
            | Problem::Alias { .. }
            | Problem::Tag { .. }
            | Problem::SecondDocument { .. }
    )
}

impl Doubts {
    pub(super) fn of(told: &[Problem]) -> Self {
        let mut files: FxHashMap<FileId, Doubt> = FxHashMap::default();
        for problem in told.iter().filter(|problem| is_of_writing(problem)) {
            let doubt = files.entry(problem.place().file).or_default();
            doubt.problems += 1;
            doubt.has_doubles |= matches!(problem, Problem::DuplicateKey { .. });
        }
        Self { files }
    }

    /// Whether more may seem wrong with a file than is.
    pub(super) fn are_about(&self, read: &FileRead) -> bool {
        !read.problems.is_empty() || self.about(read).has_doubles
    }

    fn about(&self, read: &FileRead) -> Doubt {
        self.files.get(&read.start.file).copied().unwrap_or_default()
    }

    /// The file read so that less is wrong with it, and what is wrong with its writing then; nothing where there is no
    /// such reading.
    pub(super) fn read_again(
        &self,
        sources: &Sources,
        read: &FileRead,
        limits: &Limits,
    ) -> Option<(FileRead, Vec<Problem>)> {
        let file = read.start.file;
        let text = sources.source(file);
        let judge = |tree: &Tree| judged(&FileRead::of_tree(Some(tree), file, text));
        let (tree, told) = read_judged(text, file, limits, &judge);
        let again = FileRead::of_tree(Some(&tree?), file, text);
        let is_better = told.len() + judged(&again).len() <= self.about(read).problems + judged(read).len();
        is_better.then_some((again, told))
    }
}

/// All that is wrong with what a file holds, and what each appliance has and is missing.
fn judged(read: &FileRead) -> Vec<Problem> {
    let mut wrong = read.problems.clone();
    let rooms = read.description.as_ref().and_then(|description| description.rooms.value());
    let appliances = rooms
        .into_iter()
        .flat_map(Entries::sound)
        .filter_map(|(_, room)| room.value.appliances.value())
        .flat_map(Entries::sound);
    for (key, appliance) in appliances {
        let Appliance { name, class, points, .. } = &appliance.value;
        let lacks =
            [("name", name.is_absent()), ("class", class.is_absent()), ("points", points.is_absent())];
        let lacks = lacks.into_iter().filter(|(_, is_absent)| *is_absent);
        wrong.extend(lacks.map(|(lack, _)| Problem::MissingKey {
            place: key.place,
            key: lack,
            within: "Appliance",
        }));
    }
    wrong
}
