//! How the rules that count habits tell a suspect wire: what is wrong, what would be right, and on what evidence.

use super::{Context, Said};
use crate::findings::Certainty;
use crate::resolve::plan::{Appliance, Point, Row, Wire};
use crate::survey::{Evidence, Habit, Suspect, Wired};

/// A wire of the survey with the appliance, point and wire of the plan.
fn look_up<'a>(index: u32, context: &Context<'a>) -> Option<(&'a Wired, &'a Appliance, &'a Point, &'a Wire)> {
    let wired = context.survey.wires.all.get(index as usize)?;
    let appliance = context.plan.appliances.get(wired.appliance as usize)?;
    let point = appliance.points.get(wired.point as usize)?;
    Some((wired, appliance, point, point.wire(wired.role)?))
}

fn row<'a>(wired: &Wired, context: &Context<'a>) -> Option<&'a Row> {
    let table = context.plan.buses.get(wired.bus as usize)?.table.as_ref()?;
    table.rows.get(wired.row? as usize)
}

fn right_words(suspect: &Suspect, wired: &Wired, context: &Context<'_>) -> Option<(String, String)> {
    let right = suspect.right?;
    let written = right.display(context.plan.house.notation).to_string();
    let table = context.plan.buses.get(wired.bus as usize).and_then(|bus| bus.table.as_ref());
    let named = table
        .and_then(|table| table.row(right))
        .map(|row| row.name.value.trim())
        .filter(|name| !name.is_empty());
    let help = match named {
        Some(name) => format!("write `{written}`, in the table \"{name}\""),
        None => format!("write `{written}`"),
    };
    Some((written, help))
}

/// A finding on a single wire.
pub(super) fn tell(suspect: &Suspect, context: &Context<'_>) -> Option<Said> {
    let (wired, appliance, point, wire) = look_up(suspect.wire, context)?;
    let written = wired.address.display(context.plan.house.notation);
    let what = format!("the {} of `{}`", wired.role.word(), point.name(appliance));
    let message = format!("{what} in `{}` is probably not `{written}`", appliance.key.value);
    let label = match row(wired, context).map(|row| row.name.value.trim()).filter(|name| !name.is_empty()) {
        Some(name) => format!("in the table \"{name}\""),
        None => "out of line".to_owned(),
    };
    let said = Said::new(message, wire.address.place, label).about(appliance, context.plan);
    Some(match right_words(suspect, wired, context) {
        Some((right, help)) => said.help(help).replace(right, Certainty::ToBeLookedAt),
        None => said,
    })
}

/// A finding on two wires that stand in each other's place.
pub(super) fn tell_exchange(suspect: &Suspect, with: u32, context: &Context<'_>) -> Option<Said> {
    let (wired, appliance, point, wire) = look_up(suspect.wire, context)?;
    let (other_wired, other, other_point, other_wire) = look_up(with, context)?;
    let notation = context.plan.house.notation;
    let (mine, theirs) =
        (wired.address.display(notation).to_string(), other_wired.address.display(notation).to_string());
    let same = appliance.key.value == other.key.value;
    let message = match (same, wired.point == other_wired.point) {
        (true, true) => format!(
            "command and feedback of `{}` in `{}` are probably exchanged",
            point.name(appliance),
            appliance.key.value
        ),
        (true, false) => format!(
            "`{}` and `{}` of `{}` have probably exchanged an address",
            point.name(appliance),
            other_point.name(other),
            appliance.key.value
        ),
        (false, _) => {
            format!("`{}` and `{}` have probably exchanged an address", appliance.key.value, other.key.value)
        }
    };
    let label = row(wired, context)
        .map_or_else(String::new, |row| format!("in the table \"{}\"", row.name.value.trim()));
    let other_label = row(other_wired, context).map_or_else(
        || "the other one".to_owned(),
        |row| format!("in the table \"{}\"", row.name.value.trim()),
    );
    let said = Said::new(message, wire.address.place, label)
        .with(other_wire.address.place, other_label)
        .about(appliance, context.plan)
        .help(format!("write `{theirs}` here and `{mine}` there"))
        .edit(
            vec![(wire.address.place, theirs.clone()), (other_wire.address.place, mine.clone())],
            Certainty::ToBeLookedAt,
        );
    Some(said)
}

/// The evidence in one line, whatever it is.
pub(super) fn words(suspect: &Suspect, context: &Context<'_>) -> String {
    match suspect.evidence.first() {
        Some(Evidence::Habit { habit, from }) => habit_words(suspect, *habit, *from, context),
        Some(Evidence::Row { .. }) | None => row_words(suspect, context),
    }
}

/// "47 of 48 have the feedback of `switching` 3 middle groups above its command".
pub(super) fn habit_words(suspect: &Suspect, habit: Habit, from: u32, context: &Context<'_>) -> String {
    let wires = &context.survey.wires;
    let kind =
        |index: u32| wires.all.get(index as usize).map(|wired| wires.words(wired.kind)).unwrap_or_default();
    let distance = habit.distance.words(context.plan.house.notation);
    format!(
        "{} of {} appliances like this one have {} {distance} {}",
        habit.kept,
        habit.of,
        kind(suspect.wire),
        kind(from)
    )
}

/// "3 other addresses of this appliance are called …".
pub(super) fn row_words(suspect: &Suspect, context: &Context<'_>) -> String {
    let Some((wired, ..)) = look_up(suspect.wire, context) else { return String::new() };
    let siblings = suspect.evidence.iter().find_map(|evidence| match evidence {
        Evidence::Row { siblings } => Some(*siblings),
        Evidence::Habit { .. } => None,
    });
    let (_, own) = context.survey.wires.of_appliance(wired.appliance as usize);
    let other = own.iter().find(|other| other.address != wired.address).and_then(|other| row(other, context));
    let example = other.map(|row| format!(", such as \"{}\"", row.name.value.trim())).unwrap_or_default();
    let count = siblings.unwrap_or(1);
    let (verb, plural) = if count == 1 { ("names", "") } else { ("name", "s") };
    format!("{count} other row{plural} of this appliance {verb} something else{example}")
}
