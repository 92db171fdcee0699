//! What the program lists and explains, on terminals that are narrower than usual.

use housewright::classes::{self, ClassLibrary};
use housewright::knx::{describe, dpt};
use housewright::rules;
use unicode_width::UnicodeWidthStr as _;

const WIDTHS: [usize; 3] = [40, 60, 79];

/// Nothing that could be broken goes beyond the last column. `is_kept` tells what is written as it stands.
fn fits(what: &str, text: &str, width: usize, is_kept: impl Fn(&str) -> bool) {
    for line in text.lines().filter(|line| line.width() > width && !is_kept(line)) {
        assert!(
            !line.trim().contains(' '),
            "{what} has a line of {} columns at {width}: {line}",
            line.width()
        );
    }
}

#[test]
fn lists_keep_to_the_width_of_the_terminal() {
    let library = ClassLibrary::built_in();
    for width in WIDTHS {
        fits("list classes", &classes::list(&library, None, width), width, |_| false);
        fits("list rules", &rules::list(None, None, width), width, |_| false);
        let types = describe::list(None, None, None, width).unwrap();
        fits("list datapoint-types", &types, width, |_| false);
        for point in library.point_names() {
            let text = classes::explain_points(&point, &library, width).unwrap();
            fits(&point, &text, width, |line| line.starts_with("    housewright "));
        }
    }
}

#[test]
fn explanations_keep_to_the_width_of_the_terminal() {
    for width in WIDTHS {
        for rule in rules::all() {
            let text = rules::explain(&rule.card, width);
            // Examples stand as they would in a file.
            fits(rule.card.name, &text, width, |line| line.starts_with("    "));
        }
        for dpt in dpt::all() {
            let text = describe::datapoint_type(dpt, width);
            let (facts, _) = text.split_once("\nexample\n").unwrap();
            let facts: Vec<&str> = facts.lines().skip(2).collect();
            // The names of values are never broken.
            fits(dpt.name, &facts.join("\n"), width, |line| {
                line.starts_with("  ") && !line.starts_with("      ")
            });
        }
        let library = ClassLibrary::built_in();
        for name in library.names() {
            let text = classes::explain(&library.get(name).unwrap(), width);
            let (words, _) = text.split_once("\nFor example:\n").unwrap();
            let words = words.split("\nWhat is lost on the way").next().unwrap();
            // What belongs together is not parted: a name and its number, the flags of a type, what an address does.
            let is_tied = |line: &str| {
                let line = line.trim();
                let does = line.strip_prefix("shows ").or(line.strip_prefix("carries out "));
                line.contains(['(', '['])
                    || line.starts_with('`')
                    || does.is_some_and(|does| !does.contains(' '))
            };
            fits(name, words, width, is_tied);
        }
    }
}

/// On a terminal, what a build finds has the lines of what a check finds: the frame of a source line is laid out already, and
/// colours take no column.
#[cfg(target_os = "linux")]
#[test]
fn findings_of_a_build_are_laid_out_once() {
    let folder = tempfile::tempdir().unwrap();
    let house = "housewright: 1\nhouse: { id: wharf, name: Wharf, notation: free }\nbuses: { main: {} }\nbridges: { main: { name: \
                 Main, capacity: 9 } }\nrooms:\n  hall:\n    name: Hall\n    appliances:\n      lamp: { name: Lamp, class: \
                 on-off-light, points: { switching: { command: \"99/99/99\", feedback: \"2\" } }, note: \"one that goes on\" }\n";
    std::fs::write(folder.path().join("house.yaml"), house).unwrap();
    // `script` of util-linux gives a terminal to a command.
    let on_terminal = |arguments: &str| {
        let command =
            format!("stty cols 60; {} {arguments} --colour always", env!("CARGO_BIN_EXE_housewright"));
        let mut script = std::process::Command::new("script");
        script.args(["-qec", &command, "/dev/null"]).current_dir(folder.path()).env("TERM", "xterm");
        let said = script.output().map_or_else(|_| Vec::new(), |output| output.stdout);
        String::from_utf8(said).unwrap().replace('\r', "")
    };
    let checked = on_terminal("check");
    if checked.is_empty() {
        // A machine that has no terminal to give has nothing to be looked at.
        return;
    }
    let (findings, _) = checked.split_once("\n\n").expect("a finding and the numbers");
    assert!(findings.contains("other-notation"), "{checked}");
    let built = on_terminal("build");
    assert!(built.contains(findings), "{built}\n{checked}");
}
