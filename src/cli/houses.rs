//! Which houses a command line means: houses, root files, and folders of houses.

use super::error::CliError;
use super::line::Line;
use super::open_files;
use super::terminal::Terminal;
use crate::Inspection;
use crate::ledger::FILE_NAME;
use crate::source::{begins_a_house, house_around, houses_below, is_house};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::thread;

/// The houses that the given paths mean, in the order given; those below a folder by name.
///
/// # Errors
/// A path without a house, a house named twice, a house inside another, folders without end.
pub(super) fn find(given: &[PathBuf]) -> Result<Vec<PathBuf>, CliError> {
    let mut houses = Vec::new();
    for path in given {
        let before = houses.len();
        refuse_a_part(path)?;
        // What is no folder is left to the reader, which says what is wrong with it.
        if path.is_dir() && !is_house(path) {
            houses.extend(houses_below(path).map_err(|error| {
                CliError::refused(error.to_string(), "name the houses, or a folder nearer to them")
            })?);
        } else {
            houses.push(path.clone());
        }
        if houses.len() == before {
            let help = match house_around(path) {
                Some(house) => format!("it lies in the house `{0}`: give `{0}`", house.display()),
                None => "give the folder of a house, its root file, or a folder of houses".to_owned(),
            };
            return Err(CliError::refused(
                format!("`{}` holds no `house.yaml`, and no folder in it does", path.display()),
                help,
            ));
        }
    }
    distinct(&houses)?;
    Ok(houses)
}

/// Refuses a file of a house that is not its root file: read as one it would lack all that stands there.
fn refuse_a_part(path: &Path) -> Result<(), CliError> {
    let is_other = path.is_file() && path.file_name().is_some_and(|name| name != "house.yaml");
    match house_around(path) {
        // What cannot be read is left to the reader, which says so.
        Some(house) if is_other && begins_a_house(path).is_ok_and(|begins| !begins) => {
            Err(CliError::refused(
                format!("`{}` is no root file: it lies in the house `{}`", path.display(), house.display()),
                format!("give the house: `{}`; all of its files are read together", house.display()),
            ))
        }
        Some(_) | None => Ok(()),
    }
}

/// The folder of a house that is given by its folder or by its root file.
pub(super) fn folder_of(house: &Path) -> PathBuf {
    if house.is_dir() {
        return house.to_owned();
    }
    let parent = house.parent().filter(|parent| !parent.as_os_str().is_empty());
    parent.unwrap_or(Path::new(".")).to_owned()
}

/// The folder of a house that must be there: a misspelt one is not the folder that the program runs in.
///
/// # Errors
/// A path at which there is no house.
pub(super) fn folder_of_one(house: &Path) -> Result<PathBuf, CliError> {
    let folder = folder_of(house);
    let is_there = if house.is_dir() {
        is_house(&folder) || folder.join(FILE_NAME).is_file()
    } else {
        house.is_file() && house.extension().is_some_and(|it| it == "yaml" || it == "yml")
    };
    if is_there {
        return Ok(folder);
    }
    let help = match house_around(house).filter(|_| house.exists()) {
        Some(around) => format!("it lies in the house `{0}`: give `{0}`", around.display()),
        None => "give the folder of a house, or its root file".to_owned(),
    };
    Err(CliError::refused(format!("there is no house at `{}`", house.display()), help))
}

/// Refuses a house that is named twice, and one whose folder lies in another's.
fn distinct(houses: &[PathBuf]) -> Result<(), CliError> {
    let mut folders: Vec<(PathBuf, &PathBuf)> = houses
        .iter()
        // One that is not there is left to the reader, which says so.
        .filter(|house| house.exists())
        .filter_map(|house| Some((folder_of(house).canonicalize().ok()?, house)))
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

/// A path as a word of a command line: in quotes where a shell would divide it.
pub(super) fn as_word(path: &Path) -> String {
    let text = path.display().to_string();
    let is_plain =
        |letter: char| letter.is_alphanumeric() || matches!(letter, '/' | '.' | '-' | '_' | '~' | ':' | '\\');
    if !text.is_empty() && text.chars().all(is_plain) {
        return text;
    }
    format!("'{}'", text.replace('\'', "'\\''"))
}

/// The id of a house, where one could be read.
pub(super) fn id_of(inspection: &Inspection) -> Option<String> {
    inspection.judged.plan()?.house.known_id().map(str::to_owned)
}

/// The ids of several houses: with one id, their appliances have the same unique ids too.
#[derive(Default)]
pub(super) struct Ids {
    first: BTreeMap<String, PathBuf>,
    /// Whether one was there twice.
    pub(super) twice: bool,
}

impl Ids {
    /// Tells when a house has the id of one before it.
    pub(super) fn look_at(&mut self, house: &Path, id: Option<String>, terminal: &mut Terminal) {
        let Some(id) = id else { return };
        if let Some(first) = self.first.get(&id) {
            self.twice = true;
            terminal.warn(
                &format!("`{}` and `{}` have the same id, `{id}`", first.display(), house.display()),
                "a copied house needs an id of its own and begins without a ledger: with one id, controllers take \
                 appliances of two houses for one",
            );
        } else {
            self.first.insert(id, house.to_owned());
        }
    }
}

/// Houses in hand at once for each thread that computes: while one waits for the disk, others go on.
const IN_HAND: usize = 8;

/// Does something with each house, several at once, and takes up what came of it in the order of the houses.
///
/// `work` is called by threads that may wait; what it computes belongs into [`computing`].
pub(super) fn each<T: Send>(
    houses: &[PathBuf],
    terminal: &mut Terminal,
    work: impl Fn(&Path) -> T + Sync,
    mut take: impl FnMut(&Path, T, &mut Terminal) -> Result<(), CliError>,
) -> Result<(), CliError> {
    let line = Line::new(houses.len());
    let hand = || {
        while let Some((at, house)) = line.next().and_then(|at| Some((at, houses.get(at)?))) {
            line.put(at, work(house));
        }
    };
    let hands = (rayon::current_num_threads() * IN_HAND).min(houses.len()).min(open_files::hands());
    let taken = thread::scope(|scope| {
        // Where the system gives no more threads, there are fewer hands.
        let at_work =
            (0..hands).take_while(|_| thread::Builder::new().spawn_scoped(scope, hand).is_ok()).count();
        let taken = houses.iter().enumerate().try_for_each(|(at, house)| {
            let made = if at_work == 0 {
                work(house)
            } else {
                line.take(at, |done| terminal.progress(done, houses.len()))
            };
            terminal.end_progress();
            take(house, made, terminal)
        });
        line.stop();
        taken
    });
    terminal.end_progress();
    taken
}

/// Does what keeps a processor busy, on the threads that are there for it: as many as were asked for, however many houses
/// are in hand.
pub(super) fn computing<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    rayon::scope(|_| work())
}
