//! A group address with a part that is too large.

use crate::findings::Severity;
use crate::knx::AddressError;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "address-out-of-range",
        family: Family::Address,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a part of a group address is too large",
        on_site: "No device on the bus can have the address: the function is not wired at all.",
        remedy: "Main groups go to 31, middle groups to 7, sub groups to 255 (2047 in two-level notation).",
        source: Source::Standard("KNX 3/3/2 and 3/5/1 (from memory)"),
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { command: 1/8/1, feedback: 1/4/1 }
#                     ^^^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1 }",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says which part, and how far it goes.
/// Proposes the address that the rest of the house gives the end.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let ProblemKind::Address { text, error, end } = &problem.kind else { return };
    let AddressError::OutOfRange { part, most, .. } = error else { return };
    let message = format!("`{text}` is out of range: the {part} goes from 0 to {most}");
    let said = Said::new(message, problem.place, "out of range").keyed(problem);
    report.add(&RULE.card, suspicion::propose_for(said, context, problem, *end));
}
