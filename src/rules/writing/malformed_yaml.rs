//! Text that is not YAML.

use crate::findings::Severity;
use crate::rules::syntax_wording;
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::{AliasFault, Problem};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "malformed-yaml",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "the file is not YAML, or a line begins where it was not meant to",
        on_site: "Nothing in the file is built: its appliances are missing from every controller.",
        remedy: "Mend the line: YAML 1.2, two spaces a level, no tabs, every bracket and quote with its partner.",
        source: Source::Standard("YAML 1.2.2"),
        frame: Frame::Rooms,
        bad: "\
hall:
  name: \"Hall
  #     ^^^^^
",
        good: "\
hall:
  name: \"Hall\"
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Puts a problem of reading YAML into words.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let (message, help) = match problem {
        Problem::Syntax { fault, place } => {
            return report.add(&RULE.card, syntax_wording::said(fault, *place));
        }
        Problem::Tab { place, meant } => {
            return report.add(&RULE.card, syntax_wording::tab(*meant, *place));
        }
        Problem::KeyShape { .. } => {
            ("a key is a list or a mapping", "write the key as plain text before the colon")
        }
        Problem::Tag { .. } => {
            ("a tag (`!…`) means nothing in a house description", "put the text into quotes; leave a tag out")
        }
        Problem::SecondDocument { .. } => (
            "a second document begins here",
            "put it into a file of its own and name that under `include:`; one file holds one document",
        ),
        Problem::Alias { fault: AliasFault::Itself, .. } => {
            ("an alias stands within what it names", "write the value out")
        }
        Problem::Alias { .. } => (
            "an alias (`*…`) names an anchor that does not stand before it",
            "put a text into quotes; else write the value out, or put `&name` before the value that is meant",
        ),
        _ => return,
    };
    report.add(&RULE.card, Said::new(message, problem.place(), "here").help(help));
}
