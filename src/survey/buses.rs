//! Rooms that name another bus than the one they are wired to.
//!
//! On the bus that such a room names its addresses are others' or nobody's; on another one its table has them all, rows
//! of it speak of the room, and nobody uses them. Where no other room has taught how the rows call it, it is enough that
//! the table of the named bus lacks most of them. One appliance may be on another bus than its room by itself: then it is
//! the room's bus that has its addresses.

use super::marks::Judge;
use super::wires::narrow;
use crate::resolve::plan::{Appliance, Role, Wire};
use crate::source::Place;

/// Fewer appliances than this are not a room's mistake.
const FEWEST: usize = 2;

/// So many addresses are not in the other table by chance.
const MANY: usize = 6;

/// A row that is so much like an appliance's name is its own.
const LIKE: f64 = 0.35;

/// A house of more buses is not looked at: each room would be compared with each.
const MOST_BUSES: usize = 32;

/// Rooms, by their index in the plan, each with the index of the bus that was probably meant; in order.
pub(super) fn misplaced(judge: Judge<'_>) -> Vec<(usize, usize)> {
    if !(2..=MOST_BUSES).contains(&judge.plan.buses.len()) {
        return Vec::new();
    }
    let of_rooms = judge.plan.appliances.chunk_by(|a, b| a.room == b.room);
    of_rooms.filter_map(|appliances| Some((appliances.first()?.room, meant(appliances, judge)?))).collect()
}

fn meant(appliances: &[Appliance], judge: Judge<'_>) -> Option<usize> {
    let room = appliances.first()?.room;
    let named = judge.plan.rooms.get(room)?.bus.as_ref()?;
    let here = judge.plan.buses.iter().position(|bus| bus.key == named.value)?;
    let on_it = || appliances.iter().filter(|appliance| appliance.bus == here);
    let wires = || on_it().flat_map(own);
    let several = on_it().filter(|appliance| own(appliance).next().is_some()).count() >= FEWEST;
    if !several || !wires().all(|wire| is_foreign(wire, here, room, judge)) {
        return None;
    }
    let free = |bus: usize, wire: &Wire| is_free(wire, bus, judge);
    let missing = wires().filter(|wire| row(wire, here, judge).is_none()).count();
    let mostly_missing =
        judge.plan.table(here).is_some() && missing >= MANY && missing * 2 >= wires().count();
    // Never this one, where the room itself uses them.
    let is_meant = |bus: &usize| {
        wires().all(|wire| row(wire, *bus, judge).is_some() && free(*bus, wire))
            && (wires().any(|wire| says(wire, *bus, room, judge))
                || (mostly_missing && wires().all(|wire| says_no_other(wire, *bus, room, judge))))
    };
    let mut meant = (0..judge.plan.buses.len()).filter(is_meant);
    match (meant.next(), meant.next()) {
        (Some(meant), None) => Some(meant),
        (Some(_) | None, _) => None,
    }
}

/// An appliance that is on another bus than its room, where all of its addresses are its room's bus's.
#[derive(Clone, Copy, Debug)]
pub struct AloneOnBus {
    /// Its index in the plan.
    pub appliance: u32,
    /// The room and the place of its key, by which a plan is in order.
    pub(super) position: (usize, Place),
    /// The index of the bus that was probably meant.
    pub bus: usize,
}

/// Appliances that name another bus than they are wired to, in the order of the plan.
pub(super) fn alone(judge: Judge<'_>) -> Vec<AloneOnBus> {
    if !(2..=MOST_BUSES).contains(&judge.plan.buses.len()) {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (appliance, index) in judge.plan.appliances.iter().zip(0u32..) {
        let named = judge.plan.rooms.get(appliance.room).and_then(|room| room.bus.as_ref());
        let of_room = named.and_then(|named| judge.plan.buses.iter().position(|bus| bus.key == named.value));
        let Some(bus) = of_room.filter(|bus| *bus != appliance.bus) else { continue };
        if is_of(appliance, index as usize, bus, judge) {
            found.push(AloneOnBus { appliance: index, position: (appliance.room, appliance.key.place), bus });
        }
    }
    found
}

/// Whether the table of a bus has all of an appliance's addresses, several, unused and under names that are its own, while
/// on its own bus they are others' or nobody's.
fn is_of(appliance: &Appliance, index: usize, bus: usize, judge: Judge<'_>) -> bool {
    let (here, room) = (appliance.bus, appliance.room);
    let free = |wire: &Wire| is_free(wire, bus, judge);
    let learned = judge.learned;
    let is_own = |wire: &Wire| {
        let stem = row(wire, bus, judge).and_then(|row| learned.stems.stem(narrow(bus), row));
        let like = |stem| learned.owners.likeness(stem, index, &learned.stems, &learned.tokens) >= LIKE;
        stem.is_some_and(like) || says(wire, bus, room, judge)
    };
    let taken = |wire: &Wire| {
        let mut users = judge.uses.of_address(here, wire.address.value);
        row(wire, here, judge).is_none() || users.any(|used| used.appliance as usize != index)
    };
    judge.plan.table(here).is_some()
        && own(appliance).nth(1).is_some()
        && own(appliance).all(|wire| free(wire) && is_own(wire) && taken(wire))
}

/// Whether an address on a bus is another room's, or missing in its table, and no row of this one.
fn is_foreign(wire: &Wire, bus: usize, room: usize, judge: Judge<'_>) -> bool {
    let table = judge.plan.table(bus);
    if table.is_some() && row(wire, bus, judge).is_none() {
        return true;
    }
    let elsewhere = |appliance: u32| {
        let other = judge.plan.appliances.get(appliance as usize);
        other.is_some_and(|other| other.room != room)
    };
    let mut users = judge.uses.of_address(bus, wire.address.value).filter(|used| used.role != Role::Listens);
    users.any(|used| elsewhere(used.appliance)) && !says(wire, bus, room, judge)
}

/// Whether an address is nobody's command or feedback on a bus. What others only listen to, such as that of a central
/// function, may be the one of whoever is meant to have it.
fn is_free(wire: &Wire, bus: usize, judge: Judge<'_>) -> bool {
    judge.uses.of_address(bus, wire.address.value).all(|used| used.role == Role::Listens)
}

/// Whether the row of an address speaks of a room.
fn says(wire: &Wire, bus: usize, room: usize, judge: Judge<'_>) -> bool {
    let stems = &judge.learned.stems;
    let stem = row(wire, bus, judge).and_then(|row| stems.stem(narrow(bus), row));
    stem.and_then(|stem| judge.learned.owners.room_said(stem, stems)) == Some(narrow(room))
}

/// Whether the row of an address speaks of this room or of none.
fn says_no_other(wire: &Wire, bus: usize, room: usize, judge: Judge<'_>) -> bool {
    let stems = &judge.learned.stems;
    let stem = row(wire, bus, judge).and_then(|row| stems.stem(narrow(bus), row));
    let said = stem.and_then(|stem| judge.learned.owners.room_said(stem, stems));
    said.is_none_or(|said| said == narrow(room))
}

fn row(wire: &Wire, bus: usize, judge: Judge<'_>) -> Option<u32> {
    judge.plan.table(bus)?.by_address.get(wire.address.value)
}

/// Commands and feedbacks that no other appliance has by nature.
fn own(appliance: &Appliance) -> impl Iterator<Item = &Wire> {
    let points = appliance.points.iter().filter(|point| !point.is_shared(appliance));
    points.flat_map(|point| [&point.command, &point.feedback]).flatten()
}

/// Whether an appliance is among those of rooms or among the single ones.
pub(super) fn is_among_both(rooms: &[(usize, usize)], single: &[AloneOnBus], appliance: &Appliance) -> bool {
    let of_room = rooms.binary_search_by_key(&appliance.room, |(room, _)| *room);
    of_room.is_ok() || alone_among(single, appliance).is_some()
}

/// The one of them that an appliance is.
pub(super) fn alone_among<'a>(alone: &'a [AloneOnBus], appliance: &Appliance) -> Option<&'a AloneOnBus> {
    let position = (appliance.room, appliance.key.place);
    alone.get(alone.binary_search_by_key(&position, |one| one.position).ok()?)
}
