//! More of something than the limits allow.

use crate::findings::Severity;
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
        Problem::TooMany { counted: Counted::Bases, .. } => {
            Some("base it on one nearer to the built-in class")
        }
        Problem::TooMany { counted: Counted::Points, .. } => Some("make several classes of it"),
        _ => None,
    };
    report.add(&RULE.card, help.into_iter().fold(said, Said::help));
}

fn things(counted: Counted) -> &'static str {
    match counted {
        Counted::FileBytes => "bytes in one file",
        Counted::HouseBytes => "bytes in all files",
        Counted::Files => "files",
        Counted::FolderEntries => "entries in the folders",
        Counted::Nodes => "keys and values in one file",
        Counted::Rows => "rows in one table",
        Counted::Cells => "cells in one row",
        Counted::Bases => "classes are based on each other",
        Counted::Points => "points in one class",
        Counted::Problems => "mistakes in one file",
    }
}
