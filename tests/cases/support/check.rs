//! `check`: a house, and what must be found in it.

use super::{compare, program};
use std::path::Path;

/// Checks the house, compares what is printed, and sees that every mark is met and nothing else is found.
pub(crate) fn run(case: &Path) -> Result<(), String> {
    let output = program(case).args(["check", "."]).output().map_err(|cause| cause.to_string())?;
    compare(&case.join("findings.txt"), &super::shown(&output))?;
    let lines = program(case)
        .args(["check", ".", "--format", "lines"])
        .output()
        .map_err(|cause| cause.to_string())?;
    let text = String::from_utf8_lossy(&lines.stdout).into_owned();
    let mut found: Vec<String> = text.lines().filter_map(place_and_rule).collect();
    found.sort();
    let mut marked = marks(case, case)?;
    marked.sort();
    if found == marked { Ok(()) } else { Err(format!("marked {marked:#?}\nfound {found:#?}")) }
}

/// `file:line:column: severity[rule]: message` as `file:line rule`.
fn place_and_rule(line: &str) -> Option<String> {
    let (file, rest) = line.split_once(':')?;
    let (number, _) = rest.split_once(':')?;
    let (_, rest) = rest.split_once('[')?;
    let (rule, _) = rest.split_once(']')?;
    Some(format!("{file}:{number} {rule}"))
}

/// Every mark `# ^^^ RULE` of a folder's files, as `file:line rule` of the line above it; `# RULE` behind a row of a
/// table cannot be written, so tables are marked in `marks.txt`, a line each.
fn marks(case: &Path, folder: &Path) -> Result<Vec<String>, String> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(|cause| cause.to_string())?.flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(marks(case, &path)?);
            continue;
        }
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        let name =
            path.strip_prefix(case).map_err(|cause| cause.to_string())?.to_string_lossy().replace('\\', "/");
        if name == "marks.txt" {
            found.extend(text.lines().map(str::to_owned));
        } else if name.ends_with(".yaml") {
            found.extend(marks_of(&name, &text));
        }
    }
    Ok(found)
}

fn marks_of(name: &str, text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut line = 0;
    for (number, written) in text.lines().enumerate() {
        let mark =
            written.trim_start().strip_prefix('#').map(str::trim_start).filter(|rest| rest.starts_with('^'));
        match mark {
            Some(rest) => found.push(format!("{name}:{line} {}", rest.trim_start_matches('^').trim())),
            None => line = number + 1,
        }
    }
    found
}
