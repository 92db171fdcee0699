//! `new`: a starter house, or a device class of the house's own.

use super::Outcome;
use super::args::New;
use super::error::CliError;
use super::terminal::Terminal;
use crate::classes;
use crate::emit;
use crate::house::is_fit_key;
use std::path::Path;

/// The files of a starter house.
const STARTER: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/embedded_templates_new.rs"));

/// Makes it; never overwrites anything.
pub(super) fn run(args: &New, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    match args.what.as_slice() {
        [folder] => house(folder, terminal),
        [kind, name] if kind == "class" => class(name, &args.house, terminal),
        [kind, _] => Err(CliError::refused(
            format!("there is no new `{kind}`"),
            "write `housewright new FOLDER` for a house, `housewright new class NAME` for a device class",
        )),
        _ => Err(CliError::refused("nothing to make", "write `housewright new FOLDER`")),
    }
}

fn house(folder: &str, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    let files: Vec<(&str, &[u8])> = STARTER.iter().map(|(path, text)| (*path, text.as_bytes())).collect();
    emit::write_new(Path::new(folder), &files)?;
    terminal.say(&format!("`{folder}` holds a small house now. Next: `housewright check {folder}`"));
    Ok(Outcome::Done)
}

fn class(name: &str, house: &Path, terminal: &mut Terminal) -> Result<Outcome, CliError> {
    if !is_fit_key(name) {
        return Err(CliError::refused(
            format!("`{name}` cannot be the name of a class"),
            "use lower-case letters, digits and single hyphens, beginning with a letter",
        ));
    }
    let path = format!("classes/{name}.yaml");
    let text = classes::starter(name);
    emit::write_new_file(house, &path, text.as_bytes())?;
    terminal.say(&format!(
        "`{path}` holds a class now. Next: change it, then `housewright check {}`",
        house.display()
    ));
    Ok(Outcome::Done)
}
