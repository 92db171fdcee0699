//! `new`: a starter house, or a device class of the house's own.

use super::args::New;
use super::error::CliError;
use super::terminal::Terminal;
use super::{Outcome, houses};
use crate::classes;
use crate::emit;
use crate::house::is_fit_key;
use crate::source::first_in;
use std::path::{Path, PathBuf};

/// The files of a starter house.
const STARTER: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/embedded_templates_new.rs"));

/// Makes it; never overwrites anything.
pub(super) fn run(args: &New, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    match args.what.as_slice() {
        [kind] if kind == "class" => Err(CliError::refused(
            "a class needs a name",
            "write `housewright new class NAME`; for a house in a folder of that name, `housewright new ./class`",
        )),
        [_] if args.house.is_some() => Err(CliError::refused(
            "`--house` is for `new class NAME`",
            "leave it out: a new house takes the name of its folder alone",
        )),
        [folder] => house(folder, terminal),
        [kind, name] if kind == "class" => {
            class(name, args.house.as_deref().unwrap_or(Path::new(".")), terminal)
        }
        [kind, _] => Err(CliError::refused(
            format!("there is no new `{kind}`"),
            "write `housewright new FOLDER` for a house, `housewright new class NAME` for a device class",
        )),
        _ => Err(CliError::refused("nothing to make", "write `housewright new FOLDER`")),
    }
}

fn house(folder: &str, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    if let Some(found) = first_in(Path::new(folder)) {
        return Err(CliError::refused(
            format!("`{folder}` is not empty: it holds `{found}`"),
            "give the name of a folder that does not exist, or of an empty one",
        ));
    }
    let files: Vec<(&str, &[u8])> = STARTER.iter().map(|(path, text)| (*path, text.as_bytes())).collect();
    emit::write_new(Path::new(folder), &files)?;
    let word = houses::as_word(Path::new(folder));
    terminal.say(&format!("`{folder}` holds a small house now. Next: `housewright check {word}`"));
    Ok(Outcome::Done)
}

fn class(name: &str, house: &Path, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    if !is_fit_key(name) {
        return Err(CliError::refused(
            format!("`{name}` cannot be the name of a class"),
            "use lower-case letters, digits and single hyphens, beginning with a letter",
        ));
    }
    if classes::ClassLibrary::built_in().get(name).is_some() {
        return Err(CliError::refused(
            format!("there is a class `{name}` already, built in"),
            format!("give it a name of its own; it may be based on that one: `based-on: {name}`"),
        ));
    }
    let path = format!("classes/{name}.yaml");
    let text = classes::starter(name);
    let folder = houses::folder_of_one(house)?;
    emit::write_new_file(&folder, &path, text.as_bytes())?;
    let written = if folder == Path::new(".") { PathBuf::from(&path) } else { folder.join(&path) };
    terminal.say(&format!(
        "`{}` holds a class now, begun as a lamp. Next: change it, then `housewright check {}`",
        written.display(),
        houses::as_word(house)
    ));
    Ok(Outcome::Done)
}
