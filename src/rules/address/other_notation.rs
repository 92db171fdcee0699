//! A group address in another notation than the house uses.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::knx::AddressError;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "other-notation",
        family: Family::Address,
        severity: Severity::Error,
        otherwise: &[],
        summary: "an address is written in another notation than the house's",
        on_site: "1/515 and 1/2/3 are the same address; read in the wrong notation it is another one, or none.",
        remedy: "Write the address in the house's notation, or change `notation:`.",
        source: Source::Standard("KNX 3/3/2 and 3/5/1 (from memory)"),
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { command: 1/257, feedback: 1/4/1 }
#                     ^^^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1 }",
        folds: &[],
    },
    look: Look::Problem,
};

/// Gives the same address in the house's notation.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let ProblemKind::Address { text, error, .. } = &problem.kind else { return };
    let notation = context.plan.house.notation;
    let message = format!("`{text}` is not written in this house's notation");
    let said = Said::new(message, problem.place, "another notation").keyed(problem);
    let said = match error {
        AddressError::OtherNotation { meant: Some(address), .. } => {
            let right = address.display(notation).to_string();
            said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt)
        }
        _ => said,
    };
    report.add(&RULE.card, said);
}
