//! A file that the description names and that is not there.

use crate::findings::Severity;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "missing-file",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a file that the description names is not there",
        on_site: "What the file should hold is built nowhere, and no check sees it.",
        remedy: "Write the path as it stands in the house's folder, with `/` between its parts.",
        source: Source::Format,
        frame: Frame::Root,
        bad: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
include: room/*.yaml
#        ^^^^^^^^^^^
",
        good: "\
housewright: 1
house: { id: test-house, name: Test house }
bridges: { main: { name: Test, capacity: 10 } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says which file was looked for.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let said = match problem {
        Problem::MissingInclude { place, pattern, .. } if pattern.contains(char::REPLACEMENT_CHARACTER) => {
            let said = Said::new(format!("`{pattern}` has a name that is no UTF-8"), *place, "matches it");
            report.add(&RULE.card, said.help("rename the file: its name was written in another encoding"));
            return;
        }
        Problem::MissingInclude { place, pattern, .. } => {
            Said::new(format!("`{pattern}` names no file"), *place, "nothing in the house's folder matches")
        }
        Problem::BadPattern { place, pattern } => {
            Said::new(format!("`{pattern}` is no pattern for files"), *place, "cannot be read").help(
                "write a path inside the house's folder; `*` stands for any part of a name: `rooms/*.yaml`",
            )
        }
        Problem::MissingFile { place, path, .. } => {
            Said::new(format!("there is no file `{path}`"), *place, "named here")
        }
        _ => return,
    };
    let there = match problem {
        Problem::MissingInclude { pattern, beside, .. } => meant(pattern, beside),
        Problem::MissingFile { path, beside, .. } => meant(path, beside),
        _ => None,
    };
    let slashed = match problem {
        Problem::MissingInclude { pattern: path, .. } | Problem::MissingFile { path, .. } => {
            path.contains('\\').then(|| path.replace('\\', "/"))
        }
        _ => None,
    };
    let said = match (there, slashed) {
        (Some(there), _) => said.help(format!("write `{there}`, which is there")),
        (None, Some(slashed)) => {
            said.help(format!("write `{slashed}`: `/` parts a path, also where the system writes `\\`"))
        }
        (None, None) => said,
    };
    report.add(&RULE.card, said);
}

/// The file or pattern that was meant: one that differs in a letter or two, and in no number.
fn meant<'a>(path: &str, beside: &'a [String]) -> Option<&'a str> {
    let digits = |path: &str| path.chars().filter(char::is_ascii_digit).collect::<String>();
    let near = |other: &&String| digits(path) == digits(other) && strsim::osa_distance(path, other) <= 2;
    let near: Vec<&String> = beside.iter().filter(near).collect();
    let [only] = near.as_slice() else { return None };
    Some(only)
}
