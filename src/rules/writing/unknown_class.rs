//! A device class that there is not.

use crate::findings::Severity;
use crate::findings::{Certainty, list};
use crate::resolve::{Problem, ProblemKind};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "unknown-class",
        family: Family::Writing,
        severity: Severity::Error,
        otherwise: &[],
        summary: "a device class that there is not",
        on_site: "The appliance is missing from every controller.",
        remedy: "Write one of the classes that `housewright list classes` shows, or add one to the house's \
            `classes/`, in a file `NAME.yaml`.",
        source: Source::Format,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: dimable-light
  #      ^^^^^^^^^^^^^
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

/// Names the classes that were probably meant.
pub(in crate::rules) fn tell(problem: &Problem, context: &Context<'_>, report: &mut Report) {
    if let ProblemKind::UnknownClass { name } = &problem.kind {
        let said =
            Said::new(format!("there is no class `{name}`"), problem.place, "unknown class").keyed(problem);
        let own = "`housewright new class` begins one of the house's own";
        if let Some(thing) = context.library.without_class(name) {
            report.add(&RULE.card, said.help(format!("{thing}; or {own}")));
            return;
        }
        let said = match *context.library.meant(name) {
            [] => said,
            [near] if !context.library.is_all_of(name, near) => said.help(format!(
                "write `{near}` if it is one, as `housewright explain {near}` tells; or {own}"
            )),
            [right] => said.help(format!("write `{right}`")).replace(right, Certainty::ToBeLookedAt),
            ref several => said.help(format!(
                "write one of {}, as the thing is; `housewright explain` tells what each of them is for",
                list(several.iter().copied())
            )),
        };
        report.add(&RULE.card, said);
    }
}
