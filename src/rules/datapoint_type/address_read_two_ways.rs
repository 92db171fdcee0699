//! One address with two datapoint types.

use crate::findings::Severity;
use crate::resolve::plan::{Appliance, Point};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "address-read-two-ways",
        family: Family::DatapointType,
        severity: Severity::Warning,
        otherwise: &[],
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
    for (_, address, uses) in context.survey.uses.all() {
        // Nearly all addresses have one use.
        if uses.clone().nth(1).is_none() {
            continue;
        }
        let is_sound = |appliance: &Appliance, point: &Point| {
            !point.dpt_unread && !context.survey.is_misplaced(appliance)
        };
        let uses = uses.filter_map(|used| used.look_up(plan));
        let mut uses = uses.filter(|(appliance, point, _)| is_sound(appliance, point));
        let Some((first, _, first_wire)) = uses.next() else { continue };
        if let Some((appliance, _, wire)) = uses.find(|(.., wire)| wire.dpt.size != first_wire.dpt.size) {
            let written = address.display(plan.house.notation);
            let message = format!(
                "`{}` reads `{written}` as {}, `{}` as {}",
                appliance.key.value, wire.dpt.id, first.key.value, first_wire.dpt.id
            );
            let said = Said::new(message, wire.address.place, format!("as {}", wire.dpt.id))
                .with(first_wire.address.place, format!("as {}", first_wire.dpt.id))
                .about(appliance, plan);
            report.add(&RULE.card, said);
        }
    }
}
