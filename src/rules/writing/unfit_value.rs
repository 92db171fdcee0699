//! A value that its key does not take.

use crate::findings::Severity;
use crate::findings::{Certainty, list, nearest};
use crate::rules::{Card, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Problem;
use crate::source::Shape;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unfit-value",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a value is not what its key takes",
        on_site: "The value is left out, and what needs it is not built.",
        remedy: "Write the value as its key takes it.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  bridged: maybe
  #        ^^^^^
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  bridged: false
  points:
    switching: { command: 1/1/1, feedback: 1/4/1 }
",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says what the key takes.
pub(in crate::rules) fn tell(problem: &Problem, report: &mut Report) {
    let said = match problem {
        Problem::WrongShape { place, expected, found } => {
            Said::new(format!("{} where {} belongs", shape(*found), shape(*expected)), *place, shape(*found))
                .help(format!("write {}", example(*expected)))
        }
        Problem::UnknownWord { place, text, allowed } => {
            let said = Said::new(
                format!("`{text}` is none of the words that this key takes"),
                *place,
                "unknown word",
            );
            match nearest(text, allowed.iter().copied()) {
                Some(right) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
                None => said.help(format!("write one of {}", list(allowed.iter().copied()))),
            }
        }
        Problem::Unfit { place, text, expected } => {
            // A list and a mapping have no text.
            let what = if text.is_empty() { "this".to_owned() } else { format!("`{text}`") };
            Said::new(format!("{what} is not {expected}"), *place, "does not fit")
                .help(format!("write {expected}"))
        }
        _ => return,
    };
    report.add(&RULE.card, said);
}

fn shape(shape: Shape) -> &'static str {
    match shape {
        Shape::Nothing => "nothing",
        Shape::Text => "a single value",
        Shape::Sequence => "a list",
        Shape::Mapping => "a mapping",
    }
}

fn example(shape: Shape) -> &'static str {
    match shape {
        Shape::Nothing => "nothing behind the colon",
        Shape::Text => "one value behind the colon: `key: value`",
        Shape::Sequence => "a list: `key: [first, second]`",
        Shape::Mapping => "keys with values, each on a line of its own and two spaces further in",
    }
}
