//! A datapoint type that is not the table's.

use super::type_not_of_class;
use crate::findings::Severity;
use crate::knx::{DptId, DptRef};
use crate::resolve::plan::{AddressTable, Appliance, Point, Role, Wire};
use crate::rules::{Card, Context, Family, Frame, Look, Report, Rule, Said, Source};
use crate::source::Place;

pub(in crate::rules) static RULE: Rule = Rule {
    card: Card {
        name: "type-differs-from-table",
        family: Family::DatapointType,
        severity: Severity::Warning,
        otherwise: &[(
            Severity::Error,
            "where the main types differ, so that telegrams are read as something else",
        )],
        summary: "the datapoint type is not the one that the address table has",
        on_site: "One side misreads the other: 40 % shows as 102, kilowatt hours as watt hours, a closed door as open.",
        remedy: "Write the table's type under `dpt:`, or correct the table. Types that this point reads alike, as 1.001 and \
                 1.011 of a lamp, are no difference.",
        source: Source::Standard("KNX 3/7/2"),
        frame: Frame::Files,
        bad: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
          brightness: { command: 1/2/1, feedback: 1/5/1 }
          #                      ^^^^^
--- bus.csv
address,name,dpt
1/1/1,Hall lamp switch,1.001
1/4/1,Hall lamp status,1.001
1/2/1,Hall lamp brightness,5.004
1/5/1,Hall lamp brightness status,5.001
",
        good: "\
--- house.yaml
housewright: 1
house: { id: test-house, name: Test house }
buses: { main: { table: bus.csv } }
bridges: { main: { name: Test, capacity: 10 } }
rooms:
  hall:
    name: Hall
    appliances:
      lamp:
        name: Lamp
        class: dimmable-light
        points:
          switching: { command: 1/1/1, feedback: 1/4/1 }
          brightness: { command: 1/2/1, feedback: 1/5/1 }
--- bus.csv
address,name,dpt
1/1/1,Hall lamp switch,1.001
1/4/1,Hall lamp status,1.001
1/2/1,Hall lamp brightness,5.001
1/5/1,Hall lamp brightness status,5.001
",
        folds: &[],
    },
    look: Look::Point(look),
};

fn look(point: &Point, appliance: &Appliance, context: &Context<'_>, report: &mut Report) {
    let plan = context.plan;
    let Some(table) = plan.table(appliance.bus) else { return };
    // What is written and cannot be read, or is a type that the class does not take, is wrong by itself: that is told.
    let told = type_not_of_class::refused(point, appliance).is_some();
    if point.dpt_unread || told || context.survey.is_misplaced(appliance) {
        return;
    }
    for (role, wire) in point.wires() {
        let Some(row) = table.row(wire.address.value) else { continue };
        let Some(listed) = row.dpt.as_ref().filter(|listed| !listed.value.covers(wire.dpt.id)) else {
            continue;
        };
        if is_read_alike(point, appliance, role, listed.value) {
            continue;
        }
        let alike = match alike(point, appliance, (role, wire), listed.value, context) {
            Alike::Told => continue,
            Alike::Few => Vec::new(),
            Alike::Many(alike) => alike,
        };
        let same_payload = listed.value.main() == wire.dpt.id.main;
        let written = wire.address.value.display(plan.house.notation);
        let name = point.name(appliance);
        let (key, own) = (&appliance.key.value, wire.dpt.id);
        let message = if alike.is_empty() {
            format!("`{name}` of `{key}` reads `{written}` as {own}, the table has it as {}", listed.value)
        } else {
            format!(
                "`{key}` and {} more read `{written}` as {own}, the table has it as {}",
                alike.len(),
                listed.value
            )
        };
        let help = if alike.is_empty() {
            help(point, appliance, role, listed.value, table)
        } else {
            "so many will hardly be wrong: correct the table's datapoint type, or look up what sends on the address"
                .to_owned()
        };
        let said = Said::new(message, wire.address.place, format!("read as {own}"))
            .with(listed.place, format!("{} in the table", listed.value))
            .others(alike)
            .about(appliance, plan)
            .weighing(if same_payload { Severity::Warning } else { Severity::Error })
            .help(help);
        report.add(&RULE.card, said);
    }
}

/// Who else reads an address as a wire does.
enum Alike {
    /// So many do that they are told together, at the first of them.
    Told,
    /// Hardly anybody.
    Few,
    /// The places of the others, of which this one is the first.
    Many(Vec<Place>),
}

/// From so many appliances on that read one address alike they are told together.
const MANY: usize = 4;

/// The first of them is one of the first so many users of the address.
const FIRST: usize = 64;

/// What many appliances have in common, a central function or an alarm, is one row of the table: that is told once.
fn alike(
    point: &Point,
    appliance: &Appliance,
    (role, wire): (Role, &Wire),
    listed: DptRef,
    context: &Context<'_>,
) -> Alike {
    let is_common = role == Role::Listens || point.is_shared(appliance);
    if !is_common || context.allows(&RULE, appliance) {
        return Alike::Few;
    }
    let uses = || {
        let uses = context.survey.uses.of_address(appliance.bus, wire.address.value);
        uses.filter_map(|used| Some((used.role, used.look_up(context.plan)?)))
    };
    let is_alike = |(role, (other, point, used)): &(Role, (&Appliance, &Point, &Wire))| {
        (*role == Role::Listens || point.is_shared(other))
            && used.dpt.id == wire.dpt.id
            && !point.dpt_unread
            && !context.survey.is_misplaced(other)
            && type_not_of_class::refused(point, other).is_none()
            && !is_read_alike(point, other, *role, listed)
            && !context.allows(&RULE, other)
    };
    let place = |(_, (.., used)): (Role, (&Appliance, &Point, &Wire))| used.address.place;
    match uses().take(FIRST).find(is_alike) {
        Some((_, (.., first))) if std::ptr::eq(first, wire) => {
            let others: Vec<Place> = uses().filter(is_alike).map(place).skip(1).collect();
            if others.len() + 1 >= MANY { Alike::Many(others) } else { Alike::Few }
        }
        Some(_) if uses().filter(is_alike).nth(MANY - 1).is_some() => Alike::Told,
        Some(_) | None => Alike::Few,
    }
}

/// Whether a point reads the type of the table as it does its own.
pub(in crate::rules) fn is_read_alike(
    point: &Point,
    appliance: &Appliance,
    role: Role,
    listed: DptRef,
) -> bool {
    let DptRef::Exact(listed) = listed else { return false };
    appliance.class.value.reads_alike(&appliance.chosen(), point.spec, role.end(), listed)
}

fn help(point: &Point, appliance: &Appliance, role: Role, listed: DptRef, table: &AddressTable) -> String {
    let accepted = point
        .spec(appliance)
        .and_then(|spec| spec.end(role.end()))
        .is_some_and(|end| end.dpts.iter().any(|&id| listed.covers(id)));
    match listed {
        DptRef::Exact(id) if accepted => {
            format!("write {}, or correct the table", written(point, role, id, table))
        }
        DptRef::Exact(_) | DptRef::Main(_) => {
            "is it another address that was meant? Else correct the table's datapoint type".to_owned()
        }
    }
}

/// The keys that give an end of a point a type, and leave the other end the one that it has.
fn written(point: &Point, role: Role, id: DptId, table: &AddressTable) -> String {
    let stays = |wire: &Wire| {
        let listed = table.row(wire.address.value).and_then(|row| row.dpt.as_ref());
        listed.is_some_and(|listed| listed.value.covers(wire.dpt.id))
    };
    match (role, &point.command, &point.feedback) {
        (Role::Feedback, ..) if point.feedback_dpt.is_some() => format!("`feedback-dpt: {id}`"),
        (Role::Feedback, Some(command), _) if stays(command) => format!("`feedback-dpt: {id}`"),
        (Role::Command, _, Some(feedback)) if stays(feedback) && point.feedback_dpt.is_none() => {
            format!("`dpt: {id}, feedback-dpt: {}`", feedback.dpt.id)
        }
        _ => format!("`dpt: {id}`"),
    }
}
