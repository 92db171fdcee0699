//! Which houses a command line means: houses, root files, and folders of houses.

use super::error::CliError;
use super::terminal::Terminal;
use rayon::prelude::*;
use std::path::{Path, PathBuf};

/// How far below a given folder houses are looked for.
const DEEPEST: usize = 4;

/// The houses that the given paths mean, in the order given; those below a folder by name.
///
/// # Errors
/// A path without a house, a house named twice, a house inside another.
pub(super) fn find(given: &[PathBuf]) -> Result<Vec<PathBuf>, CliError> {
    let mut houses = Vec::new();
    for path in given {
        let before = houses.len();
        // What is no folder is left to the reader, which says what is wrong with it.
        if path.is_dir() && !is_house(path) {
            search(path, DEEPEST, &mut houses);
        } else {
            houses.push(path.clone());
        }
        if houses.len() == before {
            return Err(CliError::refused(
                format!("`{}` holds no `house.yaml`, and no folder in it does", path.display()),
                "give the folder of a house, its root file, or a folder of houses",
            ));
        }
    }
    distinct(&houses)?;
    Ok(houses)
}

fn is_house(folder: &Path) -> bool {
    folder.join("house.yaml").is_file()
}

fn search(folder: &Path, deep: usize, houses: &mut Vec<PathBuf>) {
    let Ok(entries) = folder.read_dir() else { return };
    let mut folders: Vec<PathBuf> =
        entries.flatten().map(|entry| entry.path()).filter(|path| path.is_dir()).collect();
    folders.sort();
    for folder in folders {
        if is_house(&folder) {
            houses.push(folder);
        } else if deep > 1 {
            search(&folder, deep - 1, houses);
        }
    }
}

/// Refuses a house that is named twice, and one whose folder lies in another's.
fn distinct(houses: &[PathBuf]) -> Result<(), CliError> {
    let mut folders: Vec<(PathBuf, &PathBuf)> = houses
        .iter()
        .filter_map(|house| Some((super::check::folder_of(house).canonicalize().ok()?, house)))
        .collect();
    folders.sort();
    for (first, second) in folders.iter().zip(folders.iter().skip(1)) {
        if first.0 == second.0 {
            return Err(CliError::refused(
                format!("`{}` and `{}` are one house", first.1.display(), second.1.display()),
                "name each house once",
            ));
        }
        if second.0.starts_with(&first.0) {
            return Err(CliError::refused(
                format!("the house `{}` lies inside the house `{}`", second.1.display(), first.1.display()),
                "move it out, or name only one of the two",
            ));
        }
    }
    Ok(())
}

/// How many houses are done before the first of them is taken up, at most: what bounds the memory.
const AHEAD: usize = 64;

/// Does something with each house in parallel and takes up what came of it in the order of the houses.
pub(super) fn each<T: Send>(
    houses: &[PathBuf],
    terminal: &mut Terminal,
    work: impl Fn(&Path) -> T + Sync,
    mut take: impl FnMut(&Path, T, &mut Terminal) -> Result<(), CliError>,
) -> Result<(), CliError> {
    let mut done = 0;
    for batch in houses.chunks(AHEAD) {
        let made: Vec<T> = batch.par_iter().map(|house| work(house)).collect();
        done += batch.len();
        terminal.progress(done, houses.len());
        for (house, made) in batch.iter().zip(made) {
            take(house, made, terminal)?;
        }
    }
    terminal.end_progress();
    Ok(())
}
