//! A datapoint type that the class does not take for the point.

use crate::classes::End;
use crate::findings::Severity;
use crate::findings::{Certainty, list};
use crate::knx::DptId;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use rustc_hash::FxHashSet;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "type-not-of-class",
        family: Family::DatapointType,
        severity: Severity::Error,
        summary: "a datapoint type that the class does not take for the point",
        on_site: "A byte read as something else: 40 % shows as 102, or the telegram is dropped for its length.",
        remedy: "Write a datapoint type that the class takes, or choose another class.",
        source: Source::Standard("KNX 3/7/2"),
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, dpt: 9.001 }
#                                                   ^^^^^
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, dpt: 5.001 }
",
        folds: &["type-differs-from-table"],
    },
    look: Look::Point(look),
};

/// The types that the class takes at the point, where the description gives it another one.
pub(super) fn accepted(point: &Point, appliance: &Appliance) -> Option<Vec<DptId>> {
    let (spec, dpt) = (point.spec(appliance)?, point.dpt.as_ref()?);
    let ends = [(End::Command, point.command.is_some()), (End::Feedback, point.feedback.is_some())];
    let given = ends.into_iter().filter(|(_, given)| *given).filter_map(|(end, _)| spec.end(end));
    let mut accepted: Vec<DptId> = Vec::new();
    let mut fits = false;
    for end in given {
        fits |= end.dpts.contains(&dpt.value.id);
        accepted.extend(&end.dpts);
    }
    let mut seen = FxHashSet::default();
    accepted.retain(|id| seen.insert(*id));
    (!fits && !accepted.is_empty()).then_some(accepted)
}

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let (Some(spec), Some(dpt)) = (point.spec(appliance), &point.dpt) else { return };
    let Some(accepted) = accepted(point, appliance) else { return };
    let names: Vec<String> = accepted.iter().map(DptId::to_string).collect();
    let class = &appliance.class.value.name;
    let message =
        format!("`{}` of `{class}` does not take {} ({})", spec.name, dpt.value.id, dpt.value.title);
    let said = Said::new(message, dpt.place, "not for this point")
        .about(appliance, context.plan)
        .help(format!("write one of {}", list(names.iter().map(String::as_str))));
    let said = match names.as_slice() {
        [only] => said.help(format!("write `{only}`")).replace(only.clone(), Certainty::ToBeLookedAt),
        _ => said,
    };
    report.add(&RULE.card, said);
}
