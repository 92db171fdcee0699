//! Two appliances with the same addresses throughout.

use crate::findings::{Certainty, Severity};
use crate::resolve::plan::{Appliance, Role, Wire};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::{Evidence, Slip};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "wired-as-another",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "all addresses of an appliance are another one's",
        on_site: "Controllers show one device twice, and the other one not at all.",
        remedy: "An entry that was copied keeps the addresses of its model: give it its own, or take it out.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
  #                               ^^^^^
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
spot:
  name: Spot
  class: on-off-light
  points: { switching: { command: 1/1/2, feedback: 1/4/2 } }
",
        folds: &[
            "shared-feedback",
            "shared-command",
            "command-is-others-feedback",
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
            "type-differs-from-table",
            "address-read-two-ways",
            "table-room-differs",
            "address-breaks-habit",
            "row-of-another-function",
        ],
    },
    look: Look::Whole(look),
};

/// An address of more appliances than this is a central one.
const MOST: usize = 8;

/// Commands and feedbacks of an appliance's own, with the number of their point.
fn own(appliance: &Appliance) -> Vec<(usize, Role, &Wire)> {
    wires(appliance).collect()
}

fn wires(appliance: &Appliance) -> impl Iterator<Item = (usize, Role, &Wire)> {
    let points = appliance.points.iter().enumerate().filter(|(_, point)| !point.is_shared(appliance));
    let wires = points.flat_map(|(index, point)| point.wires().map(move |(role, wire)| (index, role, wire)));
    wires.filter(|(_, role, _)| *role != Role::Listens)
}

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let on_its_bus = |(_, appliance): &(usize, &Appliance)| !context.survey.is_misplaced(appliance);
    for (index, appliance) in plan.appliances.iter().enumerate().filter(on_its_bus) {
        let users = |wire: &Wire| {
            let users = context.survey.uses.of_address(appliance.bus, wire.address.value);
            users.filter(|used| used.role != Role::Listens && context.survey.is_own(plan, *used))
        };
        // One address says little of a whole appliance: two sensors may well share it.
        let mut wires = wires(appliance);
        let (Some((_, _, first)), Some(_)) = (wires.next(), wires.next()) else { continue };
        let mut others: Vec<usize> = users(first)
            .map(|used| used.appliance as usize)
            .filter(|other| *other < index)
            .take(MOST)
            .collect();
        others.dedup();
        if others.is_empty() {
            continue;
        }
        let wires = own(appliance);
        let all_of = |other: &usize| {
            wires
                .iter()
                .all(|(_, _, wire)| users(wire).take(MOST).any(|used| used.appliance as usize == *other))
        };
        if let Some(other) = others.into_iter().find(all_of).and_then(|other| plan.appliances.get(other)) {
            tell(context, (appliance, &wires), (other, &own(other)), report);
        }
    }
}

/// Whether all rows of an appliance are told to name another one.
fn is_displaced(appliance: &Appliance, context: &Context<'_>) -> bool {
    let mut suspects = context.survey.suspects.iter();
    suspects.any(|suspect| {
        let is_own = || {
            suspicion::wire_of(suspect.wire, context)
                .is_some_and(|(own, _)| own.key.place == appliance.key.place)
        };
        suspect.slip == Slip::Alone
            && suspect.evidence.as_slice() == [Evidence::Row { siblings: 0 }]
            && is_own()
    })
}

type Owned<'a> = (&'a Appliance, &'a [(usize, Role, &'a Wire)]);

/// Tells it of the one that the addresses serve worse.
fn tell(
    context: &Context<'_>,
    here: (&Appliance, &Vec<(usize, Role, &Wire)>),
    there: Owned<'_>,
    report: &mut Report,
) {
    let here: Owned<'_> = (here.0, here.1);
    let total = |(appliance, wires): Owned<'_>| {
        let marks = wires
            .iter()
            .filter_map(|(point, role, _)| suspicion::standing(context, appliance, (*point, *role)));
        marks.sum::<f64>()
    };
    let turned = here.1.len() == there.1.len() && total(there) < total(here) - 0.05;
    let ((appliance, wires), (other, _)) = if turned { (there, here) } else { (here, there) };
    let Some((_, _, first)) = wires.first() else { return };
    if is_displaced(other, context) && !is_displaced(appliance, context) {
        // That the other one has the rows of this one is told of the other.
        return;
    }
    let shared = |(_, _, wire): &&(usize, Role, &Wire)| {
        let mut of_other = other.points.iter().flat_map(|point| point.wires());
        of_other.any(|(role, own)| role != Role::Listens && own.address.value == wire.address.value)
    };
    let edits: Vec<_> = wires
        .iter()
        .filter(shared)
        .filter_map(|(point, role, wire)| {
            let spec = appliance.points.get(*point)?.spec;
            let (right, _) = suspicion::proposed(context, appliance, (spec, *role))?;
            Some((wire.address.place, right))
        })
        .collect();
    let message = format!(
        "`{}` has the same addresses as `{}`, all {}",
        appliance.key.value,
        other.key.value,
        wires.len()
    );
    let mut said =
        Said::new(message, first.address.place, "the first of them").about(appliance, context.plan);
    for (_, _, wire) in wires.iter().filter(shared).skip(1) {
        said = said.with(wire.address.place, "the same");
    }
    if let Some((_, right)) = edits.first().filter(|_| edits.len() == wires.len()) {
        let more: Vec<String> = edits.iter().skip(1).map(|(_, right)| format!("`{right}`")).collect();
        let help = format!("write `{right}`, and {} for the others", more.join(", "));
        said = said.help(help).edit(edits, Certainty::ToBeLookedAt);
    }
    report.add(&RULE.card, said);
}
