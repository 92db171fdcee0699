//! A room's name in the name of its appliance.

use crate::findings::Certainty;
use crate::findings::Severity;
use crate::resolve::plan::Appliance;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::survey::names;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "room-in-name",
        family: Family::Naming,
        severity: Severity::Note,
        otherwise: &[],
        summary: "an appliance's name repeats the name of its room",
        on_site: "Controllers show the room beside the name: the family reads and says it twice.",
        remedy: "Leave the room out of the name.",
        source: Source::CommonPractice,
        frame: Frame::Appliances,
        bad: "\
lamp:
  name: Hall lamp
  #     ^^^^^^^^^
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        good: "\
lamp:
  name: Lamp
  class: on-off-light
  points: { switching: { command: 1/1/1, feedback: 1/4/1 } }
",
        folds: &[],
    },
    look: Look::Appliance(look),
};

fn look(appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let Some(room) = plan.rooms.get(appliance.room).filter(|_| appliance.bridged) else { return };
    let Some(rest) = names::without_room(&appliance.name.value, &room.name.value) else { return };
    let message = format!("`{}` repeats the name of its room", appliance.name.value);
    let said = Said::new(message, appliance.name.place, format!("in the room `{}`", room.name.value))
        .about(appliance, plan)
        .rename(&rest, Certainty::ToBeLookedAt);
    report.add(&RULE.card, said);
}
