//! What holds for every source file: a head, a length, arrows that go one way, no path of a machine, no unfinished work.

use std::path::{Path, PathBuf};

/// The stages in order: a module may use those before it.
const ORDER: [&str; 19] = [
    "sort", "pieces", "source", "findings", "knx", "matter", "convert", "classes", "house", "resolve",
    "ledger", "survey", "rules", "bridge", "review", "render", "emit", "runs", "cli",
];

/// Lines that a file may have.
const LONGEST: usize = 400;

/// Files that are one table each, and may be longer.
const TABLES: [&str; 1] = ["src/review/judgement.rs"];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for path in entries.flatten().map(|entry| entry.path()) {
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found.sort();
}

/// Calls `look` with the path and text of every Rust file of the project, and gives what it has to say.
fn over_all(folders: &[&str], look: impl Fn(&str, &str) -> Vec<String>) {
    let mut paths = Vec::new();
    for folder in folders {
        files(&root().join(folder), &mut paths);
    }
    assert!(paths.len() > 10, "no files to look at");
    let mut said = Vec::new();
    for path in paths {
        let text = std::fs::read_to_string(&path).unwrap();
        let name = path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
        said.extend(look(&name, &text).into_iter().map(|what| format!("{name}: {what}")));
    }
    assert!(said.is_empty(), "{}", said.join("\n"));
}

#[test]
fn every_file_has_a_head_and_is_short() {
    over_all(&["src", "tests", "benches"], |name, text| {
        let mut said = Vec::new();
        if !text.starts_with("//!") {
            said.push("does not begin with `//!`: what goes in, what comes out".to_owned());
        }
        let lines = text.lines().count();
        if lines > LONGEST && !TABLES.contains(&name) {
            said.push(format!("{lines} lines, {LONGEST} at most: it is two files"));
        }
        said
    });
}

/// Whether a line names something of a module: `crate::cli::…`, `use crate::cli;`, or `use crate::{build, cli::args};`.
fn uses(line: &str, module: &str) -> bool {
    let names = |rest: &str| {
        let after = rest.strip_prefix(module);
        after.is_some_and(|after| !after.starts_with(|c: char| c.is_alphanumeric() || c == '_'))
    };
    line.match_indices("crate::").any(|(at, found)| {
        let rest = line.get(at + found.len()..).unwrap_or_default();
        match rest.strip_prefix('{') {
            Some(list) => list.split([',', '}']).any(|one| names(one.trim_start())),
            None => names(rest),
        }
    })
}

#[test]
fn a_use_is_seen_in_each_way_it_is_written() {
    for line in
        ["crate::cli::run()", "use crate::cli;", "use crate::{build, cli};", "use crate::{cli::args, house};"]
    {
        assert!(uses(line, "cli"), "{line}");
    }
    for line in ["use crate::client;", "use crate::{build, client};", "let cli = 1;"] {
        assert!(!uses(line, "cli"), "{line}");
    }
}

/// The lines of a text without comments, each with its number; a list of what is used is one line, however it is broken.
fn whole_uses(text: &str) -> Vec<(usize, String)> {
    let mut whole: Vec<(usize, String)> = Vec::new();
    let mut open = 0_usize;
    for (number, line) in text.lines().enumerate() {
        let line = line.trim_start();
        if line.starts_with("//") {
            continue;
        }
        match whole.last_mut().filter(|_| open > 0) {
            Some((_, begun)) => begun.push_str(line),
            None => whole.push((number, line.to_owned())),
        }
        let list = if open > 0 { Some(line) } else { line.split_once("crate::{").map(|(_, list)| list) };
        if let Some(list) = list {
            let begun = usize::from(open == 0);
            open = (open + begun + list.matches('{').count()).saturating_sub(list.matches('}').count());
        }
    }
    whole
}

#[test]
fn a_list_of_uses_is_seen_however_it_is_broken() {
    let text =
        "use crate::{\n    build,\n    // not house\n    classes::{A, B},\n    cli::args,\n};\nfn f() {\n}\n";
    let whole = whole_uses(text);
    let lines: Vec<(usize, &str)> = whole.iter().map(|(number, line)| (*number, line.as_str())).collect();
    assert_eq!(lines, [(0, "use crate::{build,classes::{A, B},cli::args,};"), (6, "fn f() {"), (7, "}")]);
    assert!(uses(lines[0].1, "cli"));
}

#[test]
fn modules_use_only_what_comes_before_them() {
    over_all(&["src"], |name, text| {
        let Some(own) = name.strip_prefix("src/").and_then(|rest| rest.split('/').next()) else {
            return Vec::new();
        };
        let Some(own) = ORDER.iter().position(|module| *module == own) else { return Vec::new() };
        // Tests may use what they like.
        let text = text.split("#[cfg(test)]").next().unwrap_or_default();
        let mut said = Vec::new();
        for (number, line) in whole_uses(text) {
            for module in ORDER.iter().skip(own + 1) {
                if uses(&line, module) {
                    said.push(format!("line {} uses `{module}`, which comes later", number + 1));
                }
            }
        }
        said
    });
}

/// Reading is `source`, writing is `emit`: nothing else opens a file or lists a folder.
#[test]
fn only_source_and_emit_open_files_and_list_folders() {
    let ways = ["std::fs", "fs::", "File::", "OpenOptions", ".read_dir("];
    over_all(&["src"], |name, text| {
        if name.starts_with("src/source/") || name.starts_with("src/emit/") {
            return Vec::new();
        }
        // Tests may do what they like.
        let text = text.split("#[cfg(test)]").next().unwrap_or_default();
        let text = text.split("#[cfg(all(test").next().unwrap_or_default();
        let code = text.lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with("//"));
        let names = |line: &str, way: &str| {
            let inside =
                |at: usize| line.get(..at).is_some_and(|before| before.ends_with(char::is_alphanumeric));
            line.match_indices(way).any(|(at, _)| way.starts_with('.') || !inside(at))
        };
        let found = code.filter(|(_, line)| ways.iter().any(|way| names(line, way)));
        found.map(|(number, _)| format!("line {} goes to the disk", number + 1)).collect()
    });
}

/// Whether a line has an absolute path to somebody's folder, wherever it stands. A path that goes on before it, as in an address
/// on the web, is none.
fn names_a_machine(line: &str) -> bool {
    let is_path = |c: char| c.is_alphanumeric() || "_.-/".contains(c);
    ["home", "root", "work", "tmp", "Users"].iter().any(|folder| {
        let path = format!("/{folder}/");
        line.match_indices(&path).any(|(at, _)| !line.get(..at).unwrap_or_default().ends_with(is_path))
    })
}

#[test]
fn a_path_of_a_machine_is_seen_wherever_it_stands() {
    let path = ["", "home", "ada", "house"].join("/");
    for line in [format!("\"{path}\""), format!("// as in {path}"), format!("(r#\"see {path}"), path.clone()]
    {
        assert!(names_a_machine(&line), "{line}");
    }
    for line in [format!("https://example.org{path}"), format!("..{path}"), "home/ada".to_owned()] {
        assert!(!names_a_machine(&line), "{line}");
    }
}

#[test]
fn there_are_no_marks_of_unfinished_work_and_no_paths_of_a_machine() {
    let marks = ["TO", "FIX", "X", "HA"].iter().zip(["DO", "ME", "XX", "CK"]).map(|(a, b)| format!("{a}{b}"));
    let marks: Vec<String> = marks.collect();
    over_all(&["src", "tests", "benches"], |_, text| {
        let mut said = Vec::new();
        for (number, line) in text.lines().enumerate() {
            for mark in &marks {
                let comment = line.split_once("//").map_or("", |(_, comment)| comment);
                if comment.split(|c: char| !c.is_ascii_alphanumeric()).any(|word| word == mark) {
                    said.push(format!("line {}: {mark}", number + 1));
                }
            }
            if names_a_machine(line) {
                said.push(format!("line {}: a path of a machine", number + 1));
            }
        }
        said
    });
}

/// What stands behind the options of a help is not broken into lines by the terminal, so it has to fit.
#[test]
fn the_examples_of_a_help_fit_into_80_columns() {
    for words in [
        "new",
        "check",
        "build",
        "review",
        "explain",
        "list",
        "schema",
        "decode",
        "encode",
        "ledger",
        "ledger merge",
        "ledger resolve",
        "ledger rename",
    ] {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_housewright"))
            .args(words.split(' ').chain(["--help"]))
            .env_clear()
            .output()
            .unwrap();
        let help = String::from_utf8(output.stdout).unwrap();
        let (_, behind) = help.split_once("Print help").unwrap_or_else(|| panic!("{words}: {help}"));
        let wide = behind.lines().find(|line| line.chars().count() > 80);
        assert_eq!(wide, None, "{words}");
        assert!(behind.contains("housewright "), "{words} has no example");
    }
}
