//! How the rules that count habits tell a suspect wire: what is wrong, what would be right, and on what evidence.

use super::{Context, Said};
use crate::findings::Certainty;
use crate::knx::GroupAddress;
use crate::resolve::Problem;
use crate::resolve::plan::{Appliance, Point, Role, Row, Wire};
use crate::source::Place;
use crate::survey::{Evidence, Habit, Slip, Suspect, Wired};

/// A wire of the survey with the appliance, point and wire of the plan.
pub(super) fn look_up<'a>(
    index: u32,
    context: &Context<'a>,
) -> Option<(&'a Wired, &'a Appliance, &'a Point, &'a Wire)> {
    let wired = context.survey.wires.all.get(index as usize)?;
    let appliance = context.plan.appliances.get(wired.appliance as usize)?;
    let point = appliance.points.get(wired.point as usize)?;
    Some((wired, appliance, point, point.wire(wired.role)?))
}

/// The key of the point that a wire of the survey belongs to.
pub(super) fn point_of(wire: u32, context: &Context<'_>) -> Option<Place> {
    look_up(wire, context).map(|(_, _, point, _)| point.key)
}

/// The appliance and the wire of the plan that a wire of the survey is.
pub(super) fn wire_of<'a>(wire: u32, context: &Context<'a>) -> Option<(&'a Appliance, &'a Wire)> {
    look_up(wire, context).map(|(_, appliance, _, wire)| (appliance, wire))
}

/// The row of a wire's address.
pub(super) fn row<'a>(wired: &Wired, context: &Context<'a>) -> Option<&'a Row> {
    let table = context.plan.table(wired.bus as usize)?;
    table.rows.get(wired.row? as usize)
}

/// What the row of a wire's address is called, where it has a name.
fn in_table(wired: &Wired, context: &Context<'_>) -> Option<String> {
    let name = row(wired, context)?.name.value.trim();
    (!name.is_empty()).then(|| format!("in the table \"{name}\""))
}

fn right_words(suspect: &Suspect, wired: &Wired, context: &Context<'_>) -> Option<(String, String)> {
    Some(right_words_of(suspect.right?, wired.bus as usize, context))
}

/// What to write at the first of so many places, and so at all of them.
pub(super) fn likewise(help: String, places: usize) -> String {
    match places {
        0 | 1 => help,
        2 => format!("{help}; and likewise at the other one"),
        places => format!("{help}; and likewise at the other {}", places - 1),
    }
}

/// An address as it is written, and what to write, with the name of its row.
pub(super) fn right_words_of(right: GroupAddress, bus: usize, context: &Context<'_>) -> (String, String) {
    let written = right.display(context.plan.house.notation).to_string();
    let table = context.plan.table(bus);
    let named = table
        .and_then(|table| table.row(right))
        .map(|row| row.name.value.trim())
        .filter(|name| !name.is_empty());
    let help = match named {
        Some(name) => format!("write `{written}`, in the table \"{name}\""),
        None => format!("write `{written}`"),
    };
    (written, help)
}

/// A finding on a single wire.
pub(super) fn tell(suspect: &Suspect, context: &Context<'_>) -> Option<Said> {
    let (wired, appliance, point, wire) = look_up(suspect.wire, context)?;
    let written = wired.address.display(context.plan.house.notation);
    let what = format!("the {} of `{}`", wired.role.noun(), point.name(appliance));
    let message = if suspect.with.is_empty() {
        format!("{what} in `{}` is probably not `{written}`", appliance.key.value)
    } else {
        format!("`{}` is probably wired to another appliance's addresses", appliance.key.value)
    };
    let label = in_table(wired, context).unwrap_or_else(|| "out of line".to_owned());
    let said = Said::new(message, wire.address.place, label).about(appliance, context.plan);
    Some(match right_words(suspect, wired, context) {
        Some((right, help)) if suspect.with.is_empty() => {
            said.help(help).replace(right, Certainty::ToBeLookedAt)
        }
        Some((right, help)) => {
            let more = suspect.with.iter().filter_map(|(wire, right)| {
                let (.., wire) = look_up(*wire, context)?;
                Some((wire.address.place, right.display(context.plan.house.notation).to_string()))
            });
            let edits: Vec<_> = std::iter::once((wire.address.place, right)).chain(more).collect();
            let rights: Vec<String> = edits.iter().skip(1).map(|(_, right)| format!("`{right}`")).collect();
            let (_, own) = context.survey.wires.of_appliance(wired.appliance as usize);
            if edits.len() < own.iter().filter(|own| !own.shared).count() {
                // Half of them would leave the appliance between two others.
                let rights = rights.join(", ");
                said.help(format!("{help}, and look the other addresses up: {rights} are its own too"))
            } else {
                said.help(format!("{help}; and {} for the others", rights.join(", ")))
                    .edit(edits, Certainty::ToBeLookedAt)
            }
        }
        None => said,
    })
}

/// A finding on two wires that stand in each other's place, and on whatever else of the two appliances does.
pub(super) fn tell_exchange(suspect: &Suspect, with: u32, context: &Context<'_>) -> Option<Said> {
    let (wired, appliance, point, wire) = look_up(suspect.wire, context)?;
    let (other_wired, other, other_point, other_wire) = look_up(with, context)?;
    let whole = !suspect.also.is_empty();
    let same = appliance.key.value == other.key.value;
    let rooms = rooms_of(suspect, context).filter(|_| whole && !same);
    let message = match (same, wired.point == other_wired.point) {
        (true, true) => format!(
            "command and feedback of `{}` in `{}` are probably exchanged",
            point.name(appliance),
            appliance.key.value
        ),
        (true, false) => format!(
            "`{}` and `{}` of `{}` have probably exchanged {}",
            point.name(appliance),
            other_point.name(other),
            appliance.key.value,
            if whole { "their addresses" } else { "an address" }
        ),
        (false, _) if rooms.is_some() => rooms.unwrap_or_default(),
        (false, _) => format!(
            "`{}` and `{}` have probably exchanged {}",
            appliance.key.value,
            other.key.value,
            if whole { "their addresses" } else { "an address" }
        ),
    };
    let label = in_table(wired, context).unwrap_or_else(|| "out of line".to_owned());
    let other_label = in_table(other_wired, context).unwrap_or_else(|| "the other one".to_owned());
    let edits = exchange(std::iter::once((suspect.wire, with)).chain(suspect.also.iter().copied()), context);
    let notation = context.plan.house.notation;
    let (mine, theirs) = (wired.address.display(notation), other_wired.address.display(notation));
    let help = exchange_words(suspect, [appliance, other], [&mine.to_string(), &theirs.to_string()], context);
    let said = Said::new(message, wire.address.place, label)
        .with(other_wire.address.place, other_label)
        .about(appliance, context.plan)
        .help(help)
        .edit(edits, Certainty::ToBeLookedAt);
    Some(said)
}

/// What to exchange: the addresses, or the names of what has them.
fn exchange_words(
    suspect: &Suspect,
    [one, other]: [&Appliance; 2],
    [mine, theirs]: [&str; 2],
    context: &Context<'_>,
) -> String {
    let written = |wire: u32| look_up(wire, context).map(|(wired, ..)| wired.address);
    let exchange = match suspect.also.as_slice() {
        [] => return format!("write `{theirs}` here and `{mine}` there"),
        [(a, b)] if let (Some(a), Some(b)) = (written(*a), written(*b)) => {
            let notation = context.plan.house.notation;
            let (a, b) = (a.display(notation), b.display(notation));
            format!("write `{theirs}` here and `{mine}` there, and exchange `{a}` and `{b}` too")
        }
        more => format!(
            "exchange all {} pairs, beginning with `{theirs}` here and `{mine}` there",
            more.len() + 1
        ),
    };
    let room = |appliance: &Appliance| context.plan.rooms.get(appliance.room).map(|room| &room.name.value);
    let names = if rooms_of(suspect, context).is_some() {
        room(one).zip(room(other))
    } else {
        Some((&one.name.value, &other.name.value))
    };
    match names.filter(|(one, other)| one != other) {
        Some((one, other)) => {
            format!("{exchange}; or exchange the names \"{one}\" and \"{other}\", if those are wrong")
        }
        None => exchange,
    }
}

/// "the appliances of `Kitchen` and `Bath` have probably exchanged their addresses", where more than two have.
fn rooms_of(suspect: &Suspect, context: &Context<'_>) -> Option<String> {
    let (_, first, ..) = look_up(suspect.wire, context)?;
    let other = suspect.also.iter().find_map(|(one, other)| {
        let (_, one, ..) = look_up(*one, context)?;
        let (_, other, ..) = look_up(*other, context)?;
        [one, other].into_iter().find(|appliance| appliance.room != first.room)
    })?;
    let several = suspect.also.iter().any(|(one, other)| {
        let key = |wire: u32| look_up(wire, context).map(|(_, appliance, ..)| appliance.key.place);
        key(*one) != Some(first.key.place) && key(*other) != Some(first.key.place)
    });
    let name = |room: usize| context.plan.rooms.get(room).map_or("", |room| room.name.value.as_str());
    several.then(|| {
        format!(
            "the appliances of `{}` and `{}` have probably exchanged their addresses",
            name(first.room),
            name(other.room)
        )
    })
}

/// The edit that exchanges the addresses of pairs of wires.
pub(super) fn exchange(
    pairs: impl Iterator<Item = (u32, u32)>,
    context: &Context<'_>,
) -> Vec<(Place, String)> {
    let notation = context.plan.house.notation;
    let place = |wire: u32| look_up(wire, context).map(|(.., wire)| wire.address);
    let mut edits = Vec::new();
    for (one, other) in pairs {
        if let (Some(one), Some(other)) = (place(one), place(other)) {
            edits.push((one.place, other.value.display(notation).to_string()));
            edits.push((other.place, one.value.display(notation).to_string()));
        }
    }
    edits
}

/// Says which address an end should probably have; without one the card's remedy stands.
pub(super) fn propose(said: Said, context: &Context<'_>, appliance: &Appliance, end: (u16, Role)) -> Said {
    match proposed(context, appliance, end) {
        Some((written, help)) => said.help(help).replace(written, Certainty::ToBeLookedAt),
        None => said,
    }
}

/// The same for a problem of looking an address up.
pub(super) fn propose_for(said: Said, context: &Context<'_>, problem: &Problem, end: (u16, Role)) -> Said {
    let key = problem.appliance.as_deref();
    match key.and_then(|key| context.survey.appliance(context.plan, key)) {
        Some(appliance) => propose(said, context, appliance, end),
        None => said,
    }
}

/// The address that an end should probably have, and the help that says so.
pub(super) fn proposed(
    context: &Context<'_>,
    appliance: &Appliance,
    (point, role): (u16, Role),
) -> Option<(String, String)> {
    let address = context.survey.proposal(context.plan, index_of(appliance, context)?, point, role)?;
    Some(right_words_of(address, appliance.bus, context))
}

/// How well the address of an end serves it, by the habits and names of the house; `point` counts those written.
pub(super) fn standing(
    context: &Context<'_>,
    appliance: &Appliance,
    (point, role): (usize, Role),
) -> Option<f64> {
    let (_, own) = context.survey.wires.of_appliance(index_of(appliance, context)?);
    let wired = own.iter().find(|wired| wired.point as usize == point && wired.role == role)?;
    Some(context.survey.standing(context.plan, wired))
}

/// Whether the first of two ends of an appliance serves its address worse than the other one does; `false` where neither
/// habits nor names tell them apart.
pub(super) fn is_worse(
    context: &Context<'_>,
    appliance: &Appliance,
    first: (usize, Role),
    other: (usize, Role),
) -> bool {
    match (standing(context, appliance, first), standing(context, appliance, other)) {
        (Some(first), Some(other)) => first < other - 0.05,
        (Some(_) | None, _) => false,
    }
}

/// The index of an appliance in the plan.
pub(super) fn index_of(appliance: &Appliance, context: &Context<'_>) -> Option<usize> {
    let position = |one: &Appliance| (one.room, one.key.place);
    context.plan.appliances.binary_search_by_key(&position(appliance), position).ok()
}

/// The evidence in one line, whatever it is.
pub(super) fn words(suspect: &Suspect, context: &Context<'_>) -> String {
    match suspect.evidence.first() {
        Some(Evidence::Habit { habit, from }) => habit_words(suspect, *habit, *from, context),
        Some(Evidence::Function) => function_words(suspect, context),
        Some(Evidence::Words) => "each of the two rows is called what the other address is for".to_owned(),
        Some(Evidence::Row { .. } | Evidence::Room { .. }) | None => row_words(suspect, context),
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
        Evidence::Habit { .. } | Evidence::Function | Evidence::Words | Evidence::Room { .. } => None,
    });
    let (_, own) = context.survey.wires.of_appliance(wired.appliance as usize);
    if siblings == Some(0) {
        return match (suspect.slip, own.len()) {
            (Slip::Alone, 1) => {
                "its row names another appliance, and another row of the table names this one"
            }
            (Slip::Alone, _) => {
                "all rows of this appliance name another one, and other rows of the table name this one"
            }
            (Slip::Exchanged { .. } | Slip::RowsExchanged { .. } | Slip::RowsSlipped { .. }, _) => {
                "all rows of this appliance name another one, whose rows name this one"
            }
        }
        .to_owned();
    }
    let other = own.iter().find(|other| other.address != wired.address).and_then(|other| row(other, context));
    let example = other.map(|row| format!(", such as \"{}\"", row.name.value.trim())).unwrap_or_default();
    let count = siblings.unwrap_or(1);
    let (verb, plural) = if count == 1 { ("names", "") } else { ("name", "s") };
    format!("{count} other row{plural} of this appliance {verb} something else{example}")
}

/// "rows like this one are not used for the command of `position`".
pub(super) fn function_words(suspect: &Suspect, context: &Context<'_>) -> String {
    let Some((wired, ..)) = look_up(suspect.wire, context) else { return String::new() };
    let kind = context.survey.wires.words(wired.kind);
    format!("in the rest of the house rows that are named like this one are not used for {kind}")
}
