//! Two addresses that stand in each other's place.

use crate::findings::{Certainty, Severity};
use crate::knx::Flags;
use crate::resolve::plan::{Appliance, Point, Wire};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::rules::{crossing, suspicion};
use crate::source::Place;
use crate::survey::Slip;
use rustc_hash::FxHashSet;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "addresses-exchanged",
        family: Family::CrossWiring,
        severity: Severity::Warning,
        otherwise: &[],
        summary: "two addresses stand in each other's place",
        on_site: "Two appliances, or two functions of one, do each other's work: the wrong lamp is shown as on, slats turn when the blind should go down.",
        remedy: "Exchange the two addresses; if they are meant, say why under `allow:`.",
        source: Source::CommonPractice,
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  hall:
    name: Hall
    appliances:
      north:
        name: North lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      south:
        name: South lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      east:
        name: East lamp
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/4 }
#                                                ^^^^^
      west:
        name: West lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/3 }
      arch:
        name: Arch lamp
        class: on-off-light
        points:
          switching: { command: 1/1/5, feedback: 1/4/5 }
      desk:
        name: Desk lamp
        class: on-off-light
        points:
          switching: { command: 1/1/6, feedback: 1/4/6 }
      shelf:
        name: Shelf lamp
        class: on-off-light
        points:
          switching: { command: 1/1/7, feedback: 1/4/7 }
      stairs:
        name: Stairs lamp
        class: on-off-light
        points:
          switching: { command: 1/1/8, feedback: 1/4/8 }
      bench:
        name: Bench lamp
        class: on-off-light
        points:
          switching: { command: 1/1/9, feedback: 1/4/9 }
      mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/10, feedback: 1/4/10 }
--- bus.csv
address,name
1/1/1,North lamp switch
1/4/1,North lamp status
1/1/2,South lamp switch
1/4/2,South lamp status
1/1/3,East lamp switch
1/4/3,East lamp status
1/1/4,West lamp switch
1/4/4,West lamp status
1/1/5,Arch lamp switch
1/4/5,Arch lamp status
1/1/6,Desk lamp switch
1/4/6,Desk lamp status
1/1/7,Shelf lamp switch
1/4/7,Shelf lamp status
1/1/8,Stairs lamp switch
1/4/8,Stairs lamp status
1/1/9,Bench lamp switch
1/4/9,Bench lamp status
1/1/10,Mirror lamp switch
1/4/10,Mirror lamp status
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 20 } }
rooms:
  hall:
    name: Hall
    appliances:
      north:
        name: North lamp
        class: on-off-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
      south:
        name: South lamp
        class: on-off-light
        points:
          switching: { command: 1/1/2, feedback: 1/4/2 }
      east:
        name: East lamp
        class: on-off-light
        points:
          switching: { command: 1/1/3, feedback: 1/4/3 }
      west:
        name: West lamp
        class: on-off-light
        points:
          switching: { command: 1/1/4, feedback: 1/4/4 }
      arch:
        name: Arch lamp
        class: on-off-light
        points:
          switching: { command: 1/1/5, feedback: 1/4/5 }
      desk:
        name: Desk lamp
        class: on-off-light
        points:
          switching: { command: 1/1/6, feedback: 1/4/6 }
      shelf:
        name: Shelf lamp
        class: on-off-light
        points:
          switching: { command: 1/1/7, feedback: 1/4/7 }
      stairs:
        name: Stairs lamp
        class: on-off-light
        points:
          switching: { command: 1/1/8, feedback: 1/4/8 }
      bench:
        name: Bench lamp
        class: on-off-light
        points:
          switching: { command: 1/1/9, feedback: 1/4/9 }
      mirror:
        name: Mirror lamp
        class: on-off-light
        points:
          switching: { command: 1/1/10, feedback: 1/4/10 }
--- bus.csv
address,name
1/1/1,North lamp switch
1/4/1,North lamp status
1/1/2,South lamp switch
1/4/2,South lamp status
1/1/3,East lamp switch
1/4/3,East lamp status
1/1/4,West lamp switch
1/4/4,West lamp status
1/1/5,Arch lamp switch
1/4/5,Arch lamp status
1/1/6,Desk lamp switch
1/4/6,Desk lamp status
1/1/7,Shelf lamp switch
1/4/7,Shelf lamp status
1/1/8,Stairs lamp switch
1/4/8,Stairs lamp status
1/1/9,Bench lamp switch
1/4/9,Bench lamp status
1/1/10,Mirror lamp switch
1/4/10,Mirror lamp status
",
        folds: &[
            "central-address-as-feedback",
            "table-room-differs",
            "type-differs-from-table",
            "address-read-two-ways",
            "feedback-not-readable",
            "feedback-not-sent",
            "command-not-writable",
            "shared-feedback",
            "wired-as-another",
            "shared-command",
            "command-is-others-feedback",
        ],
    },
    look: Look::Whole(look),
};

fn look(context: &Context<'_>, report: &mut Report) {
    let mut told: FxHashSet<Place> = FxHashSet::default();
    for suspect in &context.survey.suspects {
        if let Slip::Exchanged { with } = suspect.slip
            && let Some(said) = suspicion::tell_exchange(suspect, with, context)
        {
            let also = suspect.also.iter().flat_map(|(one, other)| [*one, *other]);
            let wires = [suspect.wire, with].into_iter().chain(also);
            told.extend(wires.filter_map(|wire| suspicion::point_of(wire, context)));
            report.add(&RULE.card, said.because(&suspicion::words(suspect, context)));
        }
    }
    for crossing in &context.survey.crossings {
        let wires = crossing.pairs.iter().flat_map(|(one, other)| [*one, *other]);
        told.extend(wires.filter_map(|wire| suspicion::point_of(wire, context)));
        crossing::tell(crossing, context).into_iter().for_each(|said| report.add(&RULE.card, said));
    }
    for appliance in &context.plan.appliances {
        for point in appliance.points.iter().filter(|point| !told.contains(&point.key)) {
            by_flags(point, appliance, context, report);
        }
    }
}

/// Tells a command that can only be read and a status that can only be written.
fn by_flags(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let table = plan.table(appliance.bus);
    let flags = |wire: &Wire| Some(table?.row(wire.address.value)?.flags.as_ref()?.value);
    let (Some(command), Some(feedback)) = (&point.command, &point.feedback) else { return };
    let (Some(on_command), Some(on_feedback)) = (flags(command), flags(feedback)) else { return };
    let told = |flags: Flags| !flags.write && (flags.read || flags.transmit);
    let written = |flags: Flags| flags.write && !flags.read && !flags.transmit;
    if !(told(on_command) && written(on_feedback)) {
        return;
    }
    let [one, other] =
        [command, feedback].map(|wire| wire.address.value.display(plan.house.notation).to_string());
    let message = format!(
        "command and feedback of `{}` in `{}` are probably exchanged",
        point.name(appliance),
        appliance.key.value
    );
    let said = Said::new(message, command.address.place, "cannot be written")
        .with(feedback.address.place, "can only be written")
        .about(appliance, plan)
        .because("the flags of the two rows in the table")
        .help(format!("write `{other}` here and `{one}` there"))
        .edit(vec![(command.address.place, other), (feedback.address.place, one)], Certainty::ToBeLookedAt);
    report.add(&RULE.card, said);
}
