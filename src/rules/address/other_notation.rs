//! A group address in another notation than the house uses.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::knx::{AddressError, DptRef, GroupAddress};
use crate::resolve::plan::{Appliance, Role};
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source, suspicion, wording};

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

/// Gives the same address in the house's notation, unless that cannot be meant: then a slash was left out, and the address is the
/// one that the rest of the house gives the end.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    let ProblemKind::Address { text, error, end } = &problem.kind else { return };
    let notation = context.plan.house.notation;
    let message = format!("`{text}` is not written in this house's notation");
    let said = Said::new(message, problem.place, "another notation").keyed(problem);
    let AddressError::OtherNotation { meant, .. } = error else { return report.add(&RULE.card, said) };
    let appliance = problem.appliance.as_deref().and_then(|key| context.survey.appliance(context.plan, key));
    let same = meant.filter(|address| appliance.is_none_or(|it| can_be(*address, it, *end, context)));
    let proposed = appliance.and_then(|appliance| suspicion::proposed(context, appliance, *end));
    let said = match (same.map(|address| address.display(notation).to_string()), proposed) {
        (Some(right), Some((other, _))) if right != other && digits(text) == digits(&other) => said.help(
            format!("write `{right}`, which is the same address, or `{other}` if a slash was left out"),
        ),
        (Some(right), _) => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
        (None, _) => {
            let said = said.help(format!("write {}", wording::example_address(notation)));
            suspicion::propose_for(said, context, problem, *end)
        }
    };
    report.add(&RULE.card, said);
}

/// Whether an end can have an address, by the type of its row.
fn can_be(
    address: GroupAddress,
    appliance: &Appliance,
    (point, role): (u16, Role),
    context: &Context<'_>,
) -> bool {
    let row = context.plan.table(appliance.bus).and_then(|table| table.row(address));
    let Some(DptRef::Exact(id)) = row.and_then(|row| row.dpt.as_ref()).map(|dpt| dpt.value) else {
        return true;
    };
    let spec = appliance.class.value.points.get(usize::from(point)).and_then(|point| point.end(role.end()));
    spec.is_none_or(|spec| spec.dpts.iter().any(|taken| taken.main == id.main))
}

fn digits(text: &str) -> String {
    text.chars().filter(char::is_ascii_digit).collect()
}
