//! What the sound files of a description hold, kept for the next look at the house.

use super::model::DescriptionFile;
use super::read::FileRead;
use crate::source::{Document, FileId, Problem, Sources};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

/// Descriptions by their paths, each with the number that its file had: places in it have that number.
#[derive(Debug, Default)]
pub struct Kept {
    files: FxHashMap<String, (FileId, Arc<DescriptionFile>)>,
}

impl Kept {
    /// The files that need not be parsed again where they have not changed.
    pub fn files(&self) -> FxHashSet<FileId> {
        self.files.values().map(|(file, _)| *file).collect()
    }

    /// What an unchanged file holds; none where it has another number than it had.
    pub(super) fn of(&self, document: &Document, sources: &Sources) -> Option<DescriptionFile> {
        let (file, held) = self.files.get(sources.path(document.file)).filter(|_| document.unchanged)?;
        (*file == document.file).then(|| DescriptionFile::clone(held))
    }

    /// What is kept of files that were just read: those in which nothing is wrong.
    pub(super) fn next(&self, read: &[FileRead], told: &[Problem], sources: &Sources) -> Self {
        let wrong: FxHashSet<FileId> = told.iter().map(|problem| problem.place().file).collect();
        let files = read.par_iter().filter_map(|read| {
            let (file, path) = (read.start.file, sources.path(read.start.file));
            if read.is_partial || !read.problems.is_empty() || wrong.contains(&file) {
                return None;
            }
            let before = self.files.get(path).filter(|_| read.unchanged).map(|(_, held)| Arc::clone(held));
            let held = before.map_or_else(|| read.description.clone().map(Arc::new), Some)?;
            Some((path.to_owned(), (file, held)))
        });
        Self { files: files.collect() }
    }
}
