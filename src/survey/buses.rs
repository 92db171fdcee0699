//! Rooms that name another bus than the one they are wired to.
//!
//! On the bus that such a room names its addresses are others' or nobody's; on another one its table has them all, rows
//! of it speak of the room, and nobody uses them. Only for rooms of several appliances: one may well be wrong by itself.

use super::marks::Judge;
use super::wires::narrow;
use crate::resolve::plan::{Appliance, Role, Wire};

/// Fewer appliances than this are not a room's mistake.
const FEWEST: usize = 2;

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
    let free = |bus: usize, wire: &Wire| judge.uses.of_address(bus, wire.address.value).next().is_none();
    let is_meant = |bus: &usize| {
        *bus != here
            && wires().all(|wire| row(wire, *bus, judge).is_some() && free(*bus, wire))
            && wires().any(|wire| says(wire, *bus, room, judge))
    };
    let mut meant = (0..judge.plan.buses.len()).filter(is_meant);
    match (meant.next(), meant.next()) {
        (Some(meant), None) => Some(meant),
        (Some(_) | None, _) => None,
    }
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

/// Whether the row of an address speaks of a room.
fn says(wire: &Wire, bus: usize, room: usize, judge: Judge<'_>) -> bool {
    let stems = &judge.learned.stems;
    let stem = row(wire, bus, judge).and_then(|row| stems.stem(narrow(bus), row));
    stem.and_then(|stem| judge.learned.owners.room_said(stem, stems)) == Some(narrow(room))
}

fn row(wire: &Wire, bus: usize, judge: Judge<'_>) -> Option<u32> {
    judge.plan.table(bus)?.by_address.get(wire.address.value)
}

/// Commands and feedbacks that no other appliance has by nature.
fn own(appliance: &Appliance) -> impl Iterator<Item = &Wire> {
    let points = appliance.points.iter().filter(|point| !point.is_shared(appliance));
    points.flat_map(|point| [&point.command, &point.feedback]).flatten()
}
