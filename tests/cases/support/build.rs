//! `build`: a house, and every file that comes of it.

use super::{compare, copy, program, shown};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Builds a copy of the house twice and compares every output; the second build must change nothing.
pub(crate) fn run(case: &Path) -> Result<(), String> {
    let temporary = tempfile::tempdir().map_err(|cause| cause.to_string())?;
    let house = temporary.path().join("house");
    copy(&case.join("house"), &house)?;
    let out = house.join("build");
    let build = || {
        let output = program(&house).args(["build", "."]).output().map_err(|cause| cause.to_string())?;
        if output.status.success() { Ok(()) } else { Err(shown(&output)) }
    };
    build()?;
    let expected = case.join("expected");
    std::fs::create_dir_all(&expected).map_err(|cause| cause.to_string())?;
    let mut known: BTreeSet<PathBuf> = files(&expected).into_iter().collect();
    let mut first = Vec::new();
    for file in files(&out).into_iter().chain([PathBuf::from("ledger.yaml")]) {
        let from = if file == Path::new("ledger.yaml") { house.join(&file) } else { out.join(&file) };
        let text = std::fs::read_to_string(&from).map_err(|cause| cause.to_string())?;
        compare(&expected.join(&file), &text)?;
        known.remove(&file);
        first.push((from, text));
    }
    if let Some(stray) = known.first() {
        return Err(format!("no build makes {}", expected.join(stray).display()));
    }
    build()?;
    for (file, text) in first {
        if std::fs::read_to_string(&file).ok().as_deref() != Some(text.as_str()) {
            return Err(format!("a second build changed {}", file.display()));
        }
    }
    Ok(())
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries =
        std::fs::read_dir(folder).map(|entries| entries.flatten().map(|entry| entry.file_name()).collect());
    let mut names: Vec<PathBuf> =
        entries.map(|names: Vec<_>| names.into_iter().map(PathBuf::from).collect()).unwrap_or_default();
    names.sort();
    names
}
