//! Houses in the folders below a given one.

use std::path::{Path, PathBuf};

/// How far below a given folder houses are looked for.
const DEEPEST: usize = 32;

/// A folder that lies too far below the one in which houses are looked for.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is more than {DEEPEST} folders deep", .0.display())]
pub struct TooDeep(pub PathBuf);

/// Whether a folder is that of a house.
pub fn is_house(folder: &Path) -> bool {
    folder.join("house.yaml").is_file()
}

/// Whether a folder is meant to be a house: what has the root file's name may be a link that leads nowhere.
fn is_meant_as_house(folder: &Path) -> bool {
    folder.join("house.yaml").symlink_metadata().is_ok()
}

/// The folders of houses below a folder, by name. One that cannot be read is taken for a house, so that the reader says what
/// is wrong with it.
///
/// # Errors
/// A folder that lies too deep to be looked through.
pub fn houses_below(folder: &Path) -> Result<Vec<PathBuf>, TooDeep> {
    let whole = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let mut houses = Vec::new();
    search(folder, &whole, DEEPEST, &mut houses)?;
    Ok(houses)
}

/// Looks for houses below a folder. A link to a folder that is looked through anyway is another name of what is there.
fn search(folder: &Path, whole: &Path, deep: usize, houses: &mut Vec<PathBuf>) -> Result<(), TooDeep> {
    let Ok(entries) = folder.read_dir() else {
        houses.push(folder.to_owned());
        return Ok(());
    };
    let is_other_name =
        |path: &Path| path.is_symlink() && path.canonicalize().is_ok_and(|real| real.starts_with(whole));
    let mut folders: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.is_dir() && !is_other_name(path))
        .collect();
    folders.sort();
    for folder in folders {
        if is_meant_as_house(&folder) {
            houses.push(folder.clone());
        }
        let Some(deep) = deep.checked_sub(1) else { return Err(TooDeep(folder)) };
        search(&folder, whole, deep, houses)?;
    }
    Ok(())
}
