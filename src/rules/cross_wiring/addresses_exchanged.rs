//! Two addresses that stand in each other's place.

use crate::findings::{Certainty, Severity};
use crate::knx::Flags;
use crate::resolve::plan::{Appliance, Point, Role, Wire};
use crate::rules::datapoint_type::type_differs_from_table::is_read_alike;
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
        otherwise: &[(Severity::Error, "where the datapoint types of the two differ in length")],
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
    // What slipped together lies in rows of anything.
    let slipped = context.survey.shifts.iter().flat_map(|shift| &shift.wires);
    let mut told: FxHashSet<Place> =
        slipped.filter_map(|(wire, _)| suspicion::point_of(*wire, context)).collect();
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
        by_types(appliance, &told, context, report);
    }
}

/// Tells two points of an appliance of which each has the datapoint type of the other one's row and not of its own.
fn by_types(appliance: &Appliance, told: &FxHashSet<Place>, context: &Context<'_>, report: &mut Report) {
    let Some(table) = context.plan.table(appliance.bus) else { return };
    for role in [Role::Command, Role::Feedback] {
        let end = |point| {
            let wire: &Wire = Point::wire(point, role)?;
            let listed = table.row(wire.address.value)?.dpt.as_ref()?.value;
            let free = !point.dpt_unread && !told.contains(&point.key);
            let differs = !listed.covers(wire.dpt.id) && !is_read_alike(point, appliance, role, listed);
            (free && differs).then_some((point, wire, listed))
        };
        let ends: Vec<_> = appliance.points.iter().filter_map(end).collect();
        // Of three the types alone may not say which two it was.
        let [(one, wire, listed), (other, other_wire, other_listed)] = ends.as_slice() else { continue };
        if !(listed.covers(other_wire.dpt.id) && other_listed.covers(wire.dpt.id)) {
            continue;
        }
        let written = |wire: &Wire| wire.address.value.display(context.plan.house.notation).to_string();
        let (mine, theirs) = (written(wire), written(other_wire));
        let message = format!(
            "`{}` and `{}` of `{}` have probably exchanged an address",
            one.name(appliance),
            other.name(appliance),
            appliance.key.value
        );
        let said = Said::new(message, wire.address.place, format!("{listed} in the table"))
            .with(other_wire.address.place, format!("{other_listed} in the table"))
            .about(appliance, context.plan)
            .because("each of the two rows has the datapoint type of the other point")
            .help(format!("write `{theirs}` here and `{mine}` there"))
            .edit(
                vec![(wire.address.place, theirs), (other_wire.address.place, mine)],
                Certainty::ToBeLookedAt,
            );
        report.add(&RULE.card, said);
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
