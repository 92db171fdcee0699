//! Console blocks of a page: each command is run, and what it printed must stand below it.

use super::{copy, program, shown};
use std::path::Path;

/// Runs the console blocks of a page, in order, in one folder that holds copies of the examples.
pub(crate) fn run(page: &Path) -> Result<(), String> {
    let temporary = tempfile::tempdir().map_err(|cause| cause.to_string())?;
    let folder = temporary.path();
    copy(&super::root().join("examples"), &folder.join("examples"))?;
    copy(&super::root().join("tests/cases/check/boat-shed"), &folder.join("boat-shed"))?;
    let files = page.with_extension("");
    if files.is_dir() {
        copy(&files, folder)?;
    }
    let text = std::fs::read_to_string(page).map_err(|cause| cause.to_string())?;
    let mut seen = String::new();
    let mut lines = text.lines().peekable();
    while let Some(line) = lines.next() {
        seen.push_str(line);
        seen.push('\n');
        if line != "```console" {
            continue;
        }
        while let Some(line) = lines.next_if(|line| *line != "```") {
            if let Some(command) = line.strip_prefix("$ ") {
                seen.push_str(&format!("{line}\n{}", run_one(folder, command)?));
            }
        }
    }
    super::compare(page, &seen)
}

/// Runs one command as a shell would, without one: words, `< FILE`, and an exit code other than 0 shown as a line.
fn run_one(folder: &Path, command: &str) -> Result<String, String> {
    let (words, input) = match command.split_once(" < ") {
        Some((words, file)) => (words, Some(folder.join(file))),
        None => (command, None),
    };
    let mut words = words.split_whitespace();
    if words.next() != Some("housewright") {
        return Err(format!("only `housewright` is run, not `{command}`"));
    }
    let mut program = program(folder);
    program.args(words);
    if let Some(file) = input {
        program.stdin(std::fs::File::open(file).map_err(|cause| cause.to_string())?);
    }
    let output = program.output().map_err(|cause| cause.to_string())?;
    let mut text = shown(&output);
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    if let Some(code) = output.status.code().filter(|code| *code != 0) {
        text.push_str(&format!("(exit code {code})\n"));
    }
    Ok(text)
}
