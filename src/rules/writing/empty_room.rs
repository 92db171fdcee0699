//! A room without appliances.

use crate::findings::Severity;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "empty-room",
        family: Family::Writing,
        severity: Severity::Note,
        otherwise: &[],
        summary: "a room has no appliances",
        on_site: "Nothing is shown for it; perhaps its appliances stand in the wrong place.",
        remedy: "Take the room out, or describe what is in it.",
        source: Source::Format,
        frame: Frame::Rooms,
        bad: "\
hall:
#^^^
  name: Hall
",
        good: "\
hall:
  name: Hall
  appliances:
    lamp: { name: Lamp, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
",
        folds: &[],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    if context.plan.house.unread {
        return;
    }
    for room in context.plan.rooms.iter().filter(|room| room.described == 0) {
        let message = format!("the room `{}` has no appliances", room.key.value);
        report.add(&RULE.card, Said::new(message, room.key.place, "empty").about_room(&room.key.value));
    }
}
