//! How cases are run and compared.

mod build;
mod check;
pub(crate) mod page;
mod review;

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// An area and how a case of it is run.
pub(crate) type Area = (&'static str, fn(&Path) -> Result<(), String>);

/// The areas of cases.
pub(crate) const AREAS: [Area; 3] = [("check", check::run), ("build", build::run), ("review", review::run)];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The case folders of an area, sorted.
pub(crate) fn folders(area: &str) -> Vec<PathBuf> {
    let folder = root().join("tests/cases").join(area);
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .map(|entries| entries.flatten().map(|entry| entry.path()).filter(|path| path.is_dir()).collect())
        .unwrap_or_default();
    found.sort();
    found
}

/// The pages whose console blocks are run: those of `tests/cases/cli`, and what people read first.
pub(crate) fn pages() -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = std::fs::read_dir(root().join("tests/cases/cli"))
        .map(|entries| entries.flatten().map(|entry| entry.path()).collect())
        .unwrap_or_default();
    found.retain(|path| path.extension().is_some_and(|extension| extension == "md"));
    found.push(root().join("README.md"));
    found.sort();
    found
}

/// The program, in an environment of nothing, so that no machine's habits show.
pub(crate) fn program(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_housewright"));
    command.current_dir(folder).env_clear();
    command
}

/// What a run printed, as a terminal shows it.
pub(crate) fn shown(output: &Output) -> String {
    let mut text = String::from_utf8_lossy(&output.stdout).into_owned();
    text.push_str(&String::from_utf8_lossy(&output.stderr));
    text
}

/// Compares with an expected file, or writes it when asked to.
pub(crate) fn compare(expected: &Path, seen: &str) -> Result<(), String> {
    let overwrite = std::env::var("SNAPSHOTS").is_ok_and(|wish| wish == "overwrite");
    let known = std::fs::read_to_string(expected).unwrap_or_default();
    if known == seen {
        return Ok(());
    }
    if overwrite {
        return std::fs::write(expected, seen).map_err(|cause| cause.to_string());
    }
    let diff = similar::TextDiff::from_lines(known.as_str(), seen);
    Err(format!("{} differs (SNAPSHOTS=overwrite writes it):\n{}", expected.display(), diff.unified_diff()))
}

/// Copies a folder, so that a case's own files stay as they are.
pub(crate) fn copy(from: &Path, to: &Path) -> Result<(), String> {
    std::fs::create_dir_all(to).map_err(|cause| cause.to_string())?;
    for entry in std::fs::read_dir(from).map_err(|cause| cause.to_string())?.flatten() {
        let (source, target) = (entry.path(), to.join(entry.file_name()));
        if source.is_dir() {
            copy(&source, &target)?;
        } else {
            std::fs::copy(&source, &target).map_err(|cause| cause.to_string())?;
        }
    }
    Ok(())
}
