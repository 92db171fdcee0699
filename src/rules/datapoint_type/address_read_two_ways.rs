//! One address with two datapoint types.

use super::type_not_of_class;
use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point, Role, Wire};
use crate::rules::suspicion;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "address-read-two-ways",
        family: Family::DatapointType,
        severity: Severity::Warning,
        otherwise: &[(Severity::Error, "where the table has another type too, of another length")],
        summary: "one address is read as two datapoint types",
        on_site: "One of the two misreads what the other writes.",
        remedy: "Give both the datapoint type that travels on the address.",
        source: Source::Standard("KNX 3/7/2"),
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1, listens: 0/0/1 } }
dimmer:
  name: Dimmer
  class: dimmable-light
  points:
    switching: { command: 1/1/2, feedback: 1/4/2 }
    brightness: { command: 1/2/2, feedback: 1/5/2, listens: 0/0/1 }
    #                                                       ^^^^^
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1, listens: 0/0/1 } }
dimmer:
  name: Dimmer
  class: dimmable-light
  points:
    switching: { command: 1/1/2, feedback: 1/4/2 }
    brightness: { command: 1/2/2, feedback: 1/5/2, listens: 0/0/2 }
",
        folds: &["shared-command", "shared-feedback", "type-differs-from-table"],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    for (bus, address, uses) in context.survey.uses.all() {
        // Nearly all addresses have one use.
        if uses.clone().nth(1).is_none() {
            continue;
        }
        let uses = uses.filter_map(|used| Some((used.role, used.look_up(plan)?)));
        let mut uses = uses.filter(|(_, (appliance, point, _))| {
            // A type that the class does not take is told as that.
            let refused = || type_not_of_class::refused(point, appliance).is_some();
            !point.dpt_unread && !context.survey.is_misplaced(appliance) && !refused()
        });
        let Some(first) = uses.next() else { continue };
        let size = |(_, (.., wire)): &Used<'_>| wire.dpt.size;
        let Some(other) = uses.find(|other| size(other) != size(&first)) else { continue };
        let row = plan.table(bus).and_then(|table| table.row(address));
        let listed = row.and_then(|row| row.dpt.as_ref()).map(|listed| listed.value);
        let is_as_listed =
            |(_, (.., wire)): &Used<'_>| listed.is_some_and(|listed| listed.covers(wire.dpt.id));
        // Where the table has the type of the second, it is the first that is wrong.
        let (wrong, right) =
            if is_as_listed(&other) && !is_as_listed(&first) { (first, other) } else { (other, first) };
        tell(wrong, right, context, report);
    }
}

/// A use of an address, looked up.
type Used<'a> = (Role, (&'a Appliance, &'a Point, &'a Wire));

fn tell(wrong: Used<'_>, right: Used<'_>, context: &Context<'_>, report: &mut Report) {
    let (role, (appliance, point, wire)) = wrong;
    let (_, (other, _, other_wire)) = right;
    let written = wire.address.value.display(context.plan.house.notation);
    let message = format!(
        "`{}` reads `{written}` as {}, `{}` as {}",
        appliance.key.value, wire.dpt.id, other.key.value, other_wire.dpt.id
    );
    let said = Said::new(message, wire.address.place, format!("as {}", wire.dpt.id))
        .with(other_wire.address.place, format!("as {}", other_wire.dpt.id))
        .about(appliance, context.plan);
    if role == Role::Listens || point.is_shared(appliance) {
        report.add(&RULE.card, said);
        return;
    }
    let help = "is it another address that was meant? Else give both the datapoint type that travels on it";
    report.add(&RULE.card, suspicion::propose(said.help(help), context, appliance, (point.spec, role)));
}
