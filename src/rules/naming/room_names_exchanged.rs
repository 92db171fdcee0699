//! Two rooms with each other's names.

use crate::findings::{Certainty, Severity};
use crate::resolve::plan::Room;
use crate::rules::report::written;
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "room-names-exchanged",
        family: Family::Naming,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two rooms have names that are each other's in the table",
        on_site: "Whoever asks for one of the rooms gets the other.",
        remedy: "Exchange the two names; or the appliances of the two rooms, if the names are right.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  kitchen:
    name: Bedroom
#         ^^^^^^^
    appliances:
      pendant: { name: Pendant, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      hood: { name: Hood lamp, class: on-off-light, points: { switching: { command: 1/1/5, feedback: 1/4/5 } } }
      shelf: { name: Shelf lamp, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
  bedroom:
    name: Kitchen
    appliances:
      lantern: { name: Lantern, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
      mirror: { name: Mirror lamp, class: on-off-light, points: { switching: { command: 1/1/4, feedback: 1/4/4 } } }
--- bus.csv
address,name
1/1/1,Kitchen pendant switch
1/4/1,Kitchen pendant status
1/1/2,Kitchen shelf lamp switch
1/4/2,Kitchen shelf lamp status
1/1/5,Kitchen hood lamp switch
1/4/5,Kitchen hood lamp status
1/1/3,Bedroom lantern switch
1/4/3,Bedroom lantern status
1/1/4,Bedroom mirror lamp switch
1/4/4,Bedroom mirror lamp status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  kitchen:
    name: Kitchen
    appliances:
      pendant: { name: Pendant, class: on-off-light, points: { switching: { command: 1/1/1, feedback: 1/4/1 } } }
      hood: { name: Hood lamp, class: on-off-light, points: { switching: { command: 1/1/5, feedback: 1/4/5 } } }
      shelf: { name: Shelf lamp, class: on-off-light, points: { switching: { command: 1/1/2, feedback: 1/4/2 } } }
  bedroom:
    name: Bedroom
    appliances:
      lantern: { name: Lantern, class: on-off-light, points: { switching: { command: 1/1/3, feedback: 1/4/3 } } }
      mirror: { name: Mirror lamp, class: on-off-light, points: { switching: { command: 1/1/4, feedback: 1/4/4 } } }
--- bus.csv
address,name
1/1/1,Kitchen pendant switch
1/4/1,Kitchen pendant status
1/1/2,Kitchen shelf lamp switch
1/4/2,Kitchen shelf lamp status
1/1/5,Kitchen hood lamp switch
1/4/5,Kitchen hood lamp status
1/1/3,Bedroom lantern switch
1/4/3,Bedroom lantern status
1/1/4,Bedroom mirror lamp switch
1/4/4,Bedroom mirror lamp status
",
        folds: &["table-room-differs"],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    for (one, other) in &context.survey.renamed {
        let rooms = (context.plan.rooms.get(*one), context.plan.rooms.get(*other));
        let (Some(one), Some(other)) = rooms else { continue };
        report.add(&RULE.card, said(one, other));
    }
}

fn said(one: &Room, other: &Room) -> Said {
    let (name, other_name) = (&one.name.value, &other.name.value);
    let message = format!(
        "the rooms `{}` and `{}` have probably exchanged their names",
        one.key.value, other.key.value
    );
    let said = Said::new(message, one.name.place, format!("its rows name `{other_name}`"))
        .with(other.name.place, format!("its rows name `{name}`"))
        .about_room(&one.key.value)
        .help(format!(
            "write `{other_name}` here and `{name}` there; or exchange the appliances of the two, if the names are right"
        ));
    // A room without a name is called by its key.
    let is_named = |room: &Room| room.name.place != room.key.place;
    if is_named(one) && is_named(other) {
        let edits = vec![(one.name.place, written(other_name)), (other.name.place, written(name))];
        said.edit(edits, Certainty::ToBeLookedAt)
    } else {
        said
    }
}
