//! Word lists: what stands in the names of an address table for a status, a point, a room.
//!
//! Those of the trade are `schema/words/*.yaml`; a house's own, in the same form, `words/*.yaml` beside its root file.

use crate::source::{FileId, FileKind, Limits, Problem, Sources, parse, read_tree};
use serde::Deserialize;
use std::collections::BTreeMap;

/// A word list as written.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct WordList {
    /// The language; says nothing to the checks.
    pub language: String,
    /// Words of a status.
    pub status: Vec<String>,
    /// Words of what moves more than one appliance.
    pub central: Vec<String>,
    /// Words of each point.
    pub points: BTreeMap<String, Vec<String>>,
    /// Words of each room.
    pub rooms: BTreeMap<String, Vec<String>>,
    /// Words of each floor.
    pub floors: BTreeMap<String, Vec<String>>,
}

impl WordList {
    /// Reads a word list, and says what is wrong with it.
    pub fn read(text: &str, file: FileId, limits: &Limits) -> (Option<Self>, Vec<Problem>) {
        let (tree, mut problems) = parse(text, file, limits);
        let Some(tree) = tree else { return (None, problems) };
        let (list, mut told) = read_tree(&tree, file, text);
        problems.append(&mut told);
        (list, problems)
    }
}

/// The house's own word lists. What is wrong with the writing of a file was told when it was loaded.
pub(super) fn words(sources: &Sources, limits: &Limits) -> (Vec<WordList>, Vec<Problem>) {
    let (mut lists, mut problems) = (Vec::new(), Vec::new());
    for file in sources.files().filter(|file| sources.kind(*file) == FileKind::Words) {
        let (tree, _) = parse(sources.source(file), file, limits);
        let Some(tree) = tree else { continue };
        let (list, mut told) = read_tree(&tree, file, sources.source(file));
        lists.extend(list);
        problems.append(&mut told);
    }
    (lists, problems)
}
