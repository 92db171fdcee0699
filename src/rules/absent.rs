//! Addresses that a table lacks because it is older than the description, or was cut off: told once for a room or a table.

use super::address::address_not_in_table::RULE;
use super::renumbered::Missing;
use super::{Context, Report, Said, suspicion};
use crate::findings::{list, some};
use crate::knx::{AddressIndex, GroupAddress};
use crate::source::Place;
use rustc_hash::FxHashSet;

/// So many addresses of one room, or of one table, are no slips of the finger; nor is one address that so many appliances have.
const MANY: usize = 6;
/// Rooms that are told one by one; where it is more of them, the cause is the table's.
const FEW_ROOMS: usize = 3;
/// One in so many of the addresses of a bus that are missing are the table's as well.
const ONE_IN: usize = 10;

/// Tells the addresses that have one cause; gives back those that are told one by one.
pub(super) fn tell_absent<'a>(
    bus: usize,
    missing: Vec<Missing<'a>>,
    context: &Context<'a>,
    report: &mut Report,
) -> Vec<Missing<'a>> {
    if missing.len() < MANY {
        return missing;
    }
    // Where addresses stand in another column as well, no row of this one is meant.
    let is_of_column = elsewhere(bus, &missing, context).is_some();
    let slipped = slipped(context);
    let (absent, mut alone): (Vec<_>, Vec<_>) = missing.into_iter().partition(|missing| {
        let end = (missing.point, missing.role);
        is_of_column
            || !slipped.contains(&missing.wire.address.place)
                && suspicion::proposed(context, missing.appliance, end).is_none()
    });
    let absent = tell_common(absent, context, report);
    let rooms: Vec<&[Missing<'_>]> =
        absent.chunk_by(|one, other| one.appliance.room == other.appliance.room).collect();
    if is_of_table(bus, &absent, &rooms, context) {
        let said = of_table(bus, &absent, rooms.len(), context);
        said.into_iter().for_each(|said| report.add(&RULE.card, said));
        return alone;
    }
    for room in rooms {
        if addresses(room).len() < MANY {
            alone.extend(room);
        } else if let Some(said) = of_room(room, context) {
            report.add(&RULE.card, said);
        }
    }
    alone
}

/// Tells each address that many appliances have in common: it is one row that is missing. Gives back the others.
fn tell_common<'a>(absent: Vec<Missing<'a>>, context: &Context<'_>, report: &mut Report) -> Vec<Missing<'a>> {
    let mut index = AddressIndex::default();
    let mut of_address: Vec<Vec<Missing<'a>>> = Vec::new();
    for missing in &absent {
        let next = u32::try_from(of_address.len()).unwrap_or(u32::MAX);
        let list = index.get_or_insert(missing.wire.address.value, next);
        if list == next {
            of_address.push(Vec::new());
        }
        of_address.get_mut(list as usize).into_iter().for_each(|ends| ends.push(*missing));
    }
    let is_common = |ends: &&Vec<Missing<'_>>| appliances(ends) >= MANY;
    for ends in of_address.iter().filter(is_common) {
        let Some(first) = ends.first() else { continue };
        let written = first.wire.address.value.display(context.plan.house.notation);
        let message =
            format!("`{written}`, which {} appliances use, is not in the address table", appliances(ends));
        let help = format!("add the row of `{written}` to the table, or correct the address in all of them");
        let said = said(message, ends);
        said.into_iter().for_each(|said| report.add(&RULE.card, said.help(&*help)));
    }
    let is_told = |missing: &Missing<'_>| {
        let list = index.get(missing.wire.address.value);
        list.and_then(|list| of_address.get(list as usize)).filter(is_common).is_some()
    };
    absent.into_iter().filter(|missing| !is_told(missing)).collect()
}

/// How many appliances these ends are of.
fn appliances(ends: &[Missing<'_>]) -> usize {
    ends.chunk_by(|one, other| std::ptr::eq(one.appliance, other.appliance)).count()
}

fn is_of_table(bus: usize, absent: &[Missing<'_>], rooms: &[&[Missing<'_>]], context: &Context<'_>) -> bool {
    let count = addresses(absent).len();
    if rooms.len() <= FEW_ROOMS || count < MANY {
        return false;
    }
    let many = rooms.iter().filter(|room| addresses(room).len() >= MANY).count();
    many > FEW_ROOMS || absent.len() * ONE_IN >= used(bus, context) || are_behind(bus, absent, context)
}

/// The addresses, each once.
fn addresses(absent: &[Missing<'_>]) -> Vec<GroupAddress> {
    let mut seen = FxHashSet::default();
    absent.iter().map(|missing| missing.wire.address.value).filter(|address| seen.insert(*address)).collect()
}

/// Where wires stand that slipped with others of their appliance: another finding says what they were to be.
fn slipped(context: &Context<'_>) -> FxHashSet<Place> {
    let wires = context.survey.shifts.iter().flat_map(|shift| &shift.wires);
    let wires = wires.filter_map(|(wire, _)| suspicion::wire_of(*wire, context));
    wires.map(|(_, wire)| wire.address.place).collect()
}

/// How many addresses of a bus are used, each end counted.
fn used(bus: usize, context: &Context<'_>) -> usize {
    let on_it = context.plan.appliances.iter().filter(|appliance| appliance.bus == bus);
    on_it.flat_map(|appliance| &appliance.points).map(|point| point.wires().count()).sum()
}

/// Whether all of them lie behind every address that the table has.
fn are_behind(bus: usize, absent: &[Missing<'_>], context: &Context<'_>) -> bool {
    let rows = context.plan.table(bus).into_iter().flat_map(|table| &table.rows);
    let last = rows.map(|row| row.address.value).max();
    absent.iter().all(|missing| Some(missing.wire.address.value) > last)
}

fn of_room(absent: &[Missing<'_>], context: &Context<'_>) -> Option<Said> {
    let room = context.plan.rooms.get(absent.first()?.appliance.room)?;
    let count = addresses(absent).len();
    let message = format!("{count} addresses of the room `{}` are not in the address table", room.key.value);
    let bus = absent.first()?.appliance.bus;
    let help = elsewhere(bus, absent, context)
        .unwrap_or_else(|| "the table is probably older than the description: export it again".to_owned());
    Some(said(message, absent)?.help(listed(absent, &help, context)).about_room(&room.key.value))
}

fn of_table(bus: usize, absent: &[Missing<'_>], rooms: usize, context: &Context<'_>) -> Option<Said> {
    let count = addresses(absent).len();
    let message = format!("{count} addresses of {rooms} rooms are not in the address table");
    let last = context.plan.table(bus)?.rows.last()?.address.value.display(context.plan.house.notation);
    let help = if let Some(help) = elsewhere(bus, absent, context) {
        help
    } else if are_behind(bus, absent, context) {
        format!(
            "the table ends with `{last}` and was probably cut off there, or is older than the description: export it again"
        )
    } else {
        "the table is probably older than the description, or is not whole: export it again".to_owned()
    };
    Some(said(message, absent)?.help(listed(absent, &help, context)))
}

/// What is to be done where the addresses that are missing stand in other columns than the one that is read.
pub(super) fn elsewhere(bus: usize, missing: &[Missing<'_>], context: &Context<'_>) -> Option<String> {
    let others = &context.plan.table(bus)?.other_addresses;
    let missing: FxHashSet<GroupAddress> = match others.as_slice() {
        [] => return None,
        _ => missing.iter().map(|missing| missing.wire.address.value).collect(),
    };
    let has_them = |(_, first): &&(Box<str>, Vec<GroupAddress>)| {
        first.iter().filter(|address| missing.contains(address)).count() * 2 >= first.len().max(1)
    };
    let headings: Vec<&str> = others.iter().filter(has_them).map(|(heading, _)| &**heading).collect();
    (!headings.is_empty()).then(|| {
        format!(
            "they stand below {}, which is not read: give each address a row of its own, or name the right column: \
             `columns: {{ address: the heading }}`",
            list(headings)
        )
    })
}

fn listed(absent: &[Missing<'_>], help: &str, context: &Context<'_>) -> String {
    let notation = context.plan.house.notation;
    let written: Vec<String> =
        addresses(absent).iter().map(|address| address.display(notation).to_string()).collect();
    format!("they are {}; {help}", some(&written))
}

fn said(message: String, absent: &[Missing<'_>]) -> Option<Said> {
    let (first, others) = absent.split_first()?;
    let place = |missing: &Missing<'_>| missing.wire.address.place;
    let said = Said::new(message, place(first), "the first of them").others(others.iter().map(place));
    Some(said.on_site("If the table is right, what is wired so does not react, and no status comes."))
}
