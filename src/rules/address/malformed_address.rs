//! Text that is no group address.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::knx::GroupAddress;
use crate::resolve::{Problem, ProblemKind};
use crate::rules::suspicion;
use crate::rules::wording;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "malformed-address",
        family: Family::Address,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a group address is not written like one",
        on_site: "The function is not wired to the bus at all.",
        remedy: "Write the address in the house's notation: `1/2/3`, `1/515` or `2563`.",
        source: Source::Standard("KNX 3/3/2 and 3/5/1 (from memory)"),
        frame: Frame::Points { class: "on-off-light" },
        bad: "\
switching: { command: 1/1/01, feedback: 1/4/1 }
#                     ^^^^^^
",
        good: "switching: { command: 1/1/1, feedback: 1/4/1 }",
        folds: &[],
    },
    look: Look::Problem,
};

/// Says how one is written here.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let ProblemKind::Address { text, end, .. } = &problem.kind else { return };
    let notation = context.plan.house.notation;
    let said =
        Said::new(format!("`{text}` is no group address"), problem.place, "not an address").keyed(problem);
    let meant = GroupAddress::meant(text, notation).map(|meant| meant.display(notation).to_string());
    let said = match meant {
        Some(meant) => said.help(format!("write `{meant}`")).replace(meant, Certainty::ToBeLookedAt),
        None => {
            let said = said.help(format!("write {}", wording::example_address(notation)));
            suspicion::propose_for(said, context, problem, *end)
        }
    };
    report.add(&RULE.card, said);
}
