//! The broadcast address as a group address.

use crate::findings::Severity;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "reserved-address",
        family: Family::Address,
        severity: Severity::Error,
        otherwise: &[],
        summary: "`0/0/0` is the broadcast address, not a group address",
        on_site: "No group object may have it: the function is not wired at all.",
        remedy: "Write the address of the group object.",
        source: Source::Standard("KNX 3/3/2 and 3/5/1 (from memory)"),
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { command: 0/0/0, feedback: 1/4/1 }
#                     ^^^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1 }",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says what it is.
/// Proposes the address that the rest of the house gives the end.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let ProblemKind::Address { text, end, .. } = &problem.kind else { return };
    let said =
        Said::new(format!("`{text}` is the broadcast address"), problem.place, "reserved").keyed(problem);
    report.add(&RULE.card, suspicion::propose_for(said, context, problem, *end));
}
