//! A datapoint type that the class does not take for the point.

use crate::classes::{End, EndSpec};
use crate::findings::Severity;
use crate::findings::{Certainty, list};
use crate::knx::{Dpt, DptId};
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Spanned;
use rustc_hash::FxHashSet;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "type-not-of-class",
        family: Family::DatapointType,
        severity: Severity::Error,
        otherwise: &[],
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

/// A written type that the class does not take, and the types that it does; none of those where the point has no
/// such end.
pub(super) fn refused<'a>(
    point: &'a Point,
    appliance: &Appliance,
) -> Option<(&'a Spanned<&'static Dpt>, Vec<DptId>)> {
    // Hardly any point has one written.
    if point.dpt.is_none() && point.feedback_dpt.is_none() {
        return None;
    }
    let spec = point.spec(appliance)?;
    let command = point.command.as_ref().and(spec.end(End::Command));
    let feedback = point.feedback.as_ref().and(spec.end(End::Feedback));
    let of_both: Vec<&EndSpec> = command.into_iter().chain(feedback).collect();
    let of_feedback: Vec<&EndSpec> = feedback.into_iter().collect();
    let unfit = |dpt: &'a Option<Spanned<&'static Dpt>>, ends: &[&EndSpec]| {
        let dpt = dpt.as_ref()?;
        let mut seen = FxHashSet::default();
        let accepted = ends.iter().flat_map(|end| &end.dpts).copied().filter(|id| seen.insert(*id));
        let accepted: Vec<DptId> = accepted.collect();
        (!accepted.contains(&dpt.value.id)).then_some((dpt, accepted))
    };
    let of_point = unfit(&point.dpt, &of_both).filter(|(_, accepted)| !accepted.is_empty());
    of_point.or_else(|| unfit(&point.feedback_dpt, &of_feedback))
}

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let Some((dpt, accepted)) = refused(point, appliance) else { return };
    let names: Vec<String> = accepted.iter().map(DptId::to_string).collect();
    let (name, class) = (point.name(appliance), &appliance.class.value.name);
    let message = if names.is_empty() {
        format!("`{name}` of `{}` has no feedback whose type this could be", appliance.key.value)
    } else {
        format!("`{name}` of `{class}` does not take {} ({})", dpt.value.id, dpt.value.title)
    };
    let said = Said::new(message, dpt.place, "not for this point").about(appliance, context.plan);
    let said = match names.as_slice() {
        [] => said.help("take `feedback-dpt` out, or write the `feedback`"),
        [only] => said.help(format!("write `{only}`")).replace(only.clone(), Certainty::ToBeLookedAt),
        _ => said.help(format!("write one of {}", list(names.iter().map(String::as_str)))),
    };
    report.add(&RULE.card, said);
}
