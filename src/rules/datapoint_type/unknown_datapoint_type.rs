//! A datapoint type that the table does not have.

use crate::findings::{Certainty, Severity, list};
use crate::resolve::{Problem, ProblemKind};
use crate::rules::table_type::{meant, taken};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-datapoint-type",
        family: Family::DatapointType,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a datapoint type that the standard's table does not have",
        on_site: "The point cannot be encoded, so nothing of it is built.",
        remedy: "Write a datapoint type that `housewright list datapoint-types` shows.",
        source: Source::Standard("KNX 3/7/2"),
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1, dpt: 1.099 }
#                                                  ^^^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1, dpt: 1.001 }",
        folds: &[],
    },
    look: Look::Problem,
};

/// Names those of the same main type.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    if let ProblemKind::UnknownDpt { text, near } = &problem.kind {
        let message = format!("there is no datapoint type `{text}`");
        let said = Said::new(message, problem.place, "unknown").keyed(problem);
        let said = match (meant(problem, context), near.as_slice()) {
            (Some(meant), _) => said
                .help(format!("write `{meant}`, as the table has it"))
                .replace(meant.to_string(), Certainty::ToBeLookedAt),
            (None, []) => said,
            (None, near) => {
                let near = taken(near, problem, context);
                said.help(format!("write one of {}", list(near.into_iter().take(8))))
            }
        };
        report.add(&RULE.card, said);
    }
}
