//! One address in two points of an appliance.

use rustc_hash::{FxHashMap, FxHashSet};

use super::listens_to_own_command;
use crate::findings::Severity;
use crate::knx::GroupAddress;
use crate::resolve::plan::{Appliance, Role, Wire};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "address-twice-in-appliance",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two points of an appliance are wired to one address",
        on_site: "One of the two functions does what the other is told: a blind turns its slats when it should go down.",
        remedy: "Give each point its own address.",
        source: Source::CommonPractice,
        frame: Frame::Points { class: "dimmable-light" },
        bad: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/4/1, dpt: 5.001 }
#                                       ^^^^^
",
        good: "\
switching: { command: 1/1/1, feedback: 1/4/1 }
brightness: { command: 1/2/1, feedback: 1/5/1, dpt: 5.001 }
",
        folds: &[
            "type-differs-from-table",
            "address-read-two-ways",
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
            "address-breaks-habit",
            "row-of-another-appliance",
            "row-of-another-function",
            "shared-command",
            "shared-feedback",
            "command-is-others-feedback",
        ],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let ends = [Role::Command, Role::Feedback];
    let mut seen: FxHashMap<GroupAddress, (usize, Role, &Wire)> = FxHashMap::default();
    let mut heard_twice = FxHashSet::default();
    for (index, point) in appliance.points.iter().enumerate() {
        for (role, wire) in point.wires() {
            let address = wire.address.value;
            let other = seen.get(&address);
            // One repetition in a list of addresses is told; the rest are in the same list for all to see.
            if role == Role::Listens && other.is_some() && !heard_twice.insert((index, address)) {
                continue;
            }
            // Command and feedback of one point are another rule's, as is a point that listens to its command.
            let other = other.filter(|(other, with, _)| {
                let own_command = role == Role::Listens && *other == index && *with == Role::Command;
                !(own_command && listens_to_own_command::repeats(point, appliance, context))
            });
            let elsewhere =
                other.filter(|(point, other, _)| *point != index || *other == role || !ends.contains(&role));
            if let Some(other) = elsewhere {
                let here = (index, role, wire);
                let (wrong, right) =
                    if is_worse(*other, here, appliance, context) { (*other, here) } else { (here, *other) };
                let written = address.display(context.plan.house.notation);
                let message = format!("`{}` is wired to `{written}` twice", appliance.key.value);
                let said = Said::new(message, wrong.2.address.place, "probably wrong here")
                    .with(right.2.address.place, "also here")
                    .about(appliance, context.plan);
                let end = appliance.points.get(wrong.0).map(|point| (point.spec, wrong.1));
                report.add(
                    &RULE.card,
                    match end {
                        Some(end) => suspicion::propose(said, context, appliance, end),
                        None => said,
                    },
                );
            }
            seen.entry(address).or_insert((index, role, wire));
        }
    }
}

/// Whether the first of two ends with one address has it by mistake: by what the house's habits and the names of its
/// table say. A command or feedback that is also listened to is the one that is wrong.
fn is_worse(
    first: (usize, Role, &Wire),
    other: (usize, Role, &Wire),
    appliance: &Appliance,
    context: &Context<'_>,
) -> bool {
    if other.1 == Role::Listens {
        return first.1 != Role::Listens;
    }
    suspicion::is_worse(context, appliance, (first.0, first.1), (other.0, other.1))
}
