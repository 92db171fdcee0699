//! Text that is no datapoint type.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::knx::DptIdError;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::table_type::meant;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "malformed-datapoint-type",
        family: Family::DatapointType,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a datapoint type is not written like one",
        on_site: "The point cannot be encoded, so nothing of it is built.",
        remedy: "Write it bare, like `5.001`.",
        source: Source::Standard("KNX 3/7/2"),
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1, dpt: 1.1 }
#                                                  ^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1, dpt: 1.001 }",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says how one is written.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    if let ProblemKind::MalformedDpt { text, error } = &problem.kind {
        let message = format!("`{text}` is no datapoint type");
        let said = Said::new(message, problem.place, "not a datapoint type").keyed(problem);
        let said = match (error, meant(problem, context)) {
            (DptIdError::ShortSub { .. }, Some(meant)) => said
                .help(format!("write `{meant}`, as the table has it: the sub-type has three digits"))
                .replace(meant.to_string(), Certainty::ToBeLookedAt),
            (DptIdError::ShortSub { main, sub, .. }, None) => {
                let meant = format!("{main}.{sub:0>3}");
                said.help(format!("write `{meant}`: the sub-type has three digits"))
                    .replace(meant, Certainty::ToBeLookedAt)
            }
            (DptIdError::Malformed { .. } | DptIdError::MainOnly { .. }, Some(meant)) => said
                .help(format!("write `{meant}`, as the table has it"))
                .replace(meant.to_string(), Certainty::ToBeLookedAt),
            (DptIdError::Malformed { .. } | DptIdError::MainOnly { .. }, None) => said,
        };
        report.add(&RULE.card, said);
    }
}
