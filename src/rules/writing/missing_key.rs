//! A key that must be there and is not.

use crate::findings::Severity;
use crate::house::{Problem, ProblemKind};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source, class_left_out, wording};
use crate::source;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "missing-key",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a key that must be there is missing",
        on_site: "What it belongs to cannot be built.",
        remedy: "Write the key.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
#^^^
  name: Lamp
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says what is missing, and gives the line to write.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let (message, line) = match &problem.kind {
        ProblemKind::NoVersion => {
            ("the root file does not say which version of the format it is in".to_owned(), "housewright: 1")
        }
        ProblemKind::MissingInHouse { key: "id" } => (
            "the house has no id".to_owned(),
            "id: heron-wharf   # any short key; never change it afterwards",
        ),
        ProblemKind::MissingInHouse { key: "name" } => {
            ("the house has no name".to_owned(), "name: Heron Wharf")
        }
        ProblemKind::MissingInHouse { .. } => (
            "the root file does not describe the house".to_owned(),
            "house: { id: heron-wharf, name: Heron Wharf }",
        ),
        ProblemKind::NoName { what, key } => {
            (format!("the {} `{key}` has no name", what.word()), "name: what the family calls it")
        }
        ProblemKind::NoClass { key, .. } => (format!("the appliance `{key}` has no class"), ""),
        ProblemKind::NoCapacity { key } => (
            format!("the bridge `{key}` does not say how many endpoints its gateway carries"),
            "capacity: 100   # as the gateway's data sheet says",
        ),
        ProblemKind::UnknownVersion { .. }
        | ProblemKind::OnlyInRoot { .. }
        | ProblemKind::UnfitKey { .. }
        | ProblemKind::KeyTwice { .. }
        | ProblemKind::NoReason { .. }
        | ProblemKind::CutShort { .. } => return,
    };
    let help = match (&problem.kind, context.ledger.house()) {
        (ProblemKind::NoClass { key, name, points }, _) => {
            class_left_out::help((key, name, points), context, report.count())
        }
        (ProblemKind::MissingInHouse { key: "id" }, id) if !id.is_empty() => {
            format!("write `id: {id}`, the id that the ledger has")
        }
        (ProblemKind::MissingInHouse { key: "house" }, id) if !id.is_empty() => {
            format!("write `house: {{ id: {id}, name: … }}`, with the id that the ledger has")
        }
        _ => format!("write `{line}`"),
    };
    report.add(&RULE.card, Said::new(message, problem.place, "incomplete").help(help));
}

/// The same for a key that the format itself demands.
pub(in crate::rules) fn tell_of_source(problem: &source::Problem, report: &mut Report) {
    if let source::Problem::MissingKey { place, key, within } = problem {
        let message = format!("{} has no `{key}`", wording::structure(within));
        report.add(&RULE.card, Said::new(message, *place, "incomplete").help(format!("write `{key}:` here")));
    }
}

/// The same for a key below which things belong that are there, one level too high.
pub(in crate::rules) fn tell_of_heading(problem: &source::Problem, report: &mut Report) {
    if let source::Problem::HeadingLeftOut { place, heading, first, count, in_braces } = problem {
        let message = format!("`{heading}:` is missing above `{first}`");
        let (those, lines) = match count {
            1 => ("it".to_owned(), "its lines"),
            more => (format!("the {more} {heading}"), "all their lines"),
        };
        let help = if *in_braces {
            format!("write `{heading}: {{ … }}` around {those}")
        } else {
            format!("write `{heading}:` on a line before {those}, and begin {lines} two spaces further right")
        };
        let said = Said::new(message, *place, format!("belongs below `{heading}:`")).help(help);
        report.add(&RULE.card, said.on_site("What stands here is built nowhere."));
    }
}
