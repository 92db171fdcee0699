//! More of something than the limits allow.

use super::outside_folder::{LEDGER_BACK, WITHOUT_LEDGER};
use crate::findings::Severity;
use crate::ledger::FILE_NAME;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Counted;
use crate::source::Problem;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "over-limit",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "more of something than the limits allow",
        on_site: "The file is not read, so nothing of it is built.",
        remedy: "Split the file, or raise the limits with `--limits` if the house is really that large.",
        source: Source::Format,
        frame: Frame::Rooms,
        bad: "\
hall:
  name: [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[Hall]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]
  #                                                                     ^
",
        good: "\
hall:
  name: Hall
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says which limit was reached.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let message = match problem {
        Problem::TooDeep { limit, .. } => format!("more than {limit} levels stand within each other"),
        Problem::TooMany { counted: Counted::Problems, limit, .. } => {
            format!("this file has more than {limit} mistakes; the rest is not told")
        }
        Problem::TooMany { counted: Counted::Mistakes, limit, .. } => {
            format!("the house has more than {limit} mistakes; the rest is not told")
        }
        Problem::TooMany { counted: Counted::Findings, limit, .. } => {
            format!("the house has more than {limit} findings; the rest is not looked for")
        }
        // A file that nobody names has no place of its own.
        Problem::TooMany { counted, limit, path: Some(path), .. } => {
            format!("`{path}`: more than {limit} {}", things(*counted))
        }
        Problem::TooMany { counted, limit, .. } => format!("more than {limit} {} here", things(*counted)),
        Problem::Alias { .. } => "the aliases of this file stand for too much".to_owned(),
        _ => return,
    };
    let said = Said::new(message, problem.place(), "the limit is reached here");
    let help = match problem {
        _ if is_of_ledger(problem) => Some(LEDGER_BACK),
        Problem::TooMany { counted: Counted::Bases, .. } => {
            Some("base it on one nearer to the built-in class")
        }
        Problem::TooMany {
            counted:
                Counted::Points | Counted::Settings | Counted::Combinations | Counted::Links | Counted::Values,
            ..
        } => Some("make several classes of it"),
        Problem::TooMany { counted: Counted::PatternBytes | Counted::PatternParts, .. } => {
            Some("write a shorter one: `rooms/*.yaml`, or `**/*.yaml` for all folders within each other")
        }
        Problem::TooMany { counted: Counted::FoldersDeep, .. } => Some(
            "name the folder that the files lie in (`rooms/*.yaml`), or raise the limits with `--limits` if they really lie so \
             deep",
        ),
        Problem::TooMany { counted: Counted::Classes | Counted::ClassesBytes, .. } => {
            Some("take out those that no appliance has, or raise the limits with `--limits`")
        }
        Problem::TooMany { counted: Counted::SharedTableBytes, .. } => Some(
            "describe buses that have one table as one bus, or name the table of this one; if they really share it, raise the \
             limits with `--limits`",
        ),
        Problem::TooMany {
            counted: Counted::ListNodes | Counted::AliasNodes | Counted::AliasBytes, ..
        } => Some(
            "take out what is written again and again, or raise the limits with `--limits` if the house is really that large",
        ),
        Problem::TooMany { counted: Counted::Mistakes | Counted::Findings, .. } => {
            Some("mend those that are told, and look again")
        }
        _ => None,
    };
    let said = on_site(problem).into_iter().fold(said, Said::on_site);
    report.add(&RULE.card, help.into_iter().fold(said, Said::help));
}

/// Whether it is the ledger that is too large. No program writes such a one.
fn is_of_ledger(problem: &Problem) -> bool {
    matches!(problem, Problem::TooMany { path: Some(path), counted: Counted::FileBytes, .. } if path == FILE_NAME)
}

/// What happens on site where it is not a file that is left out.
fn on_site(problem: &Problem) -> Option<&'static str> {
    let Problem::TooMany { counted, .. } = problem else { return None };
    if is_of_ledger(problem) {
        return Some(WITHOUT_LEDGER);
    }
    match counted {
        Counted::PatternBytes | Counted::PatternParts => {
            Some("None of its files is read, so nothing of them is built.")
        }
        Counted::FoldersDeep => Some("What lies deeper is not read, so nothing of it is built."),
        Counted::Classes => Some("The classes behind it are not read, so no appliance can have them."),
        Counted::SharedTableBytes => Some("The bus has no table, so nothing on it is held against one."),
        Counted::Mistakes | Counted::Findings => {
            Some("What was not looked at may be wrong, so nothing is built.")
        }
        Counted::FileBytes
        | Counted::HouseBytes
        | Counted::Files
        | Counted::FolderEntries
        | Counted::Nodes
        | Counted::Entries
        | Counted::ListNodes
        | Counted::AliasNodes
        | Counted::AliasBytes
        | Counted::Rows
        | Counted::Addresses
        | Counted::Cells
        | Counted::Bases
        | Counted::Points
        | Counted::Settings
        | Counted::Combinations
        | Counted::Links
        | Counted::Values
        | Counted::ClassesBytes
        | Counted::Problems => None,
    }
}

fn things(counted: Counted) -> &'static str {
    match counted {
        Counted::FileBytes => "bytes in one file",
        Counted::HouseBytes => "bytes in all files",
        Counted::Files => "files",
        Counted::FolderEntries => "entries in the folders",
        Counted::FoldersDeep => "folders within each other",
        Counted::PatternBytes => "bytes in one pattern for files",
        Counted::PatternParts => "parts in one pattern for files",
        Counted::Classes => "classes of the house's own",
        Counted::Nodes => "keys and values in one file",
        Counted::Entries => "keys in one mapping, or items in one list,",
        Counted::ListNodes => "items in the lists of all files",
        Counted::AliasNodes => "keys and values behind the aliases of all files",
        Counted::AliasBytes => "bytes of text behind the aliases of all files",
        Counted::Rows => "rows in one table",
        Counted::Addresses => "rows with an address in one table",
        Counted::Cells => "cells in one row",
        Counted::SharedTableBytes => "bytes of tables that several buses name",
        Counted::Bases => "classes are based on each other",
        Counted::Points => "points in one class",
        Counted::Settings => "settings in one class",
        Counted::Combinations => "combinations in one class",
        Counted::Links => "links in one class",
        Counted::Values => "values in the conversions of one class",
        Counted::ClassesBytes => "bytes in all classes and lists of words of the house's own",
        Counted::Problems => "mistakes in one file",
        Counted::Mistakes => "mistakes",
        Counted::Findings => "findings",
    }
}
