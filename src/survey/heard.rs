//! Appliances that listen to the address of another room, where the table has the same for their own.
//!
//! "Zi 102 Alles Aus" at a lamp of room 103 is for it to hear only where there is no "Zi 103 Alles Aus".

use super::marks::{Judge, can_take};
use super::tokens::Word;
use super::uses::Use;
use super::wires::narrow;
use crate::knx::GroupAddress;
use crate::pieces;
use crate::resolve::plan::{Appliance, Role};
use rustc_hash::{FxHashMap, FxHashSet};

/// Appliances of one room that listen to another room's address.
#[derive(Clone, Debug)]
pub struct Overheard {
    /// What listens.
    pub uses: Vec<Use>,
    /// The room that the address is for, by its index in the plan.
    pub said: u32,
    /// The address that is the same for their own room.
    pub right: GroupAddress,
}

/// One that listens to another room's address.
#[derive(Clone, Copy)]
struct Candidate {
    used: Use,
    bus: u32,
    row: u32,
    said: u32,
    room: u32,
}

/// A row by its bus, its room and the rest of its words.
type Rest = (u32, u32, Vec<Word>);

/// Those of a plan, in its order, without appliances that something is `told` of.
pub(super) fn find(judge: Judge<'_>, told: impl Fn(u32) -> bool) -> Vec<Overheard> {
    let appliances = &judge.plan.appliances;
    let candidates: Vec<Candidate> = pieces::flat(appliances.len(), pieces::LIGHT, |range, found| {
        let of_each = range.filter_map(|index| Some((narrow(index), appliances.get(index)?)));
        found.extend(of_each.flat_map(|(index, appliance)| candidates(judge, index, appliance)));
    });
    if candidates.is_empty() {
        return Vec::new();
    }
    let rooms: FxHashSet<(u32, u32)> = candidates.iter().map(|one| (one.bus, one.room)).collect();
    let rows = rows_of(judge, &rooms);
    let mut groups: Vec<Overheard> = Vec::new();
    let mut known: FxHashMap<(u32, u32, u32), usize> = FxHashMap::default();
    for one in candidates.into_iter().filter(|one| !told(one.used.appliance)) {
        let words = judge.learned.stems.row(one.bus, one.row);
        let rest = (one.bus, one.room, judge.learned.owners.besides(words, one.said));
        let is_right =
            |right: &GroupAddress| !hears(judge, one.used, *right) && can_hear(judge, one.used, *right);
        let Some(right) = rows.get(&rest).copied().flatten().filter(is_right) else { continue };
        let group = *known.entry((one.bus, one.row, one.room)).or_insert_with(|| {
            groups.push(Overheard { uses: Vec::new(), said: one.said, right });
            groups.len() - 1
        });
        groups.get_mut(group).into_iter().for_each(|group| group.uses.push(one.used));
    }
    groups
}

/// What an appliance listens to that names one other room, and nothing of its own.
fn candidates<'a>(
    judge: Judge<'a>,
    index: u32,
    appliance: &'a Appliance,
) -> impl Iterator<Item = Candidate> + 'a {
    let (room, bus) = (narrow(appliance.room), narrow(appliance.bus));
    let table = judge.plan.table(appliance.bus);
    appliance.points.iter().zip(0u32..).flat_map(move |(point, place)| {
        point.listens.iter().zip(0u32..).filter_map(move |(wire, listens)| {
            let learned = judge.learned;
            let row = table?.by_address.get(wire.address.value)?;
            let stem = learned.stems.stem(bus, row)?;
            let said = learned.owners.room_said(stem, &learned.stems).filter(|said| *said != room)?;
            let after = learned.owners.is_called_after(index as usize, said);
            let used = Use { appliance: index, point: place, role: Role::Listens, listens };
            (!after).then_some(Candidate { used, bus, row, said, room })
        })
    })
}

/// The rows that name one of these rooms, each with its address; none where several are called alike.
fn rows_of(judge: Judge<'_>, rooms: &FxHashSet<(u32, u32)>) -> FxHashMap<Rest, Option<GroupAddress>> {
    let learned = judge.learned;
    let mut rows: FxHashMap<Rest, Option<GroupAddress>> = FxHashMap::default();
    for (bus, of_bus) in (0u32..).zip(&judge.plan.buses) {
        for (row, index) in of_bus.table.iter().flat_map(|table| &table.rows).zip(0u32..) {
            let stem = learned.stems.stem(bus, index);
            let room = stem.and_then(|stem| learned.owners.room_said(stem, &learned.stems));
            let Some(room) = room.filter(|room| rooms.contains(&(bus, *room))) else { continue };
            let rest = learned.owners.besides(learned.stems.row(bus, index), room);
            let address = row.address.value;
            rows.entry((bus, room, rest)).and_modify(|first| *first = None).or_insert(Some(address));
        }
    }
    rows
}

/// Whether an appliance has an address anywhere.
fn hears(judge: Judge<'_>, used: Use, address: GroupAddress) -> bool {
    let appliance = judge.plan.appliances.get(used.appliance as usize);
    let mut wires = appliance.into_iter().flat_map(|one| &one.points).flat_map(|point| point.wires());
    wires.any(|(_, wire)| wire.address.value == address)
}

/// Whether an address may be one to listen to there, by the type that its row has: a lamp hears no temperature.
fn can_hear(judge: Judge<'_>, used: Use, address: GroupAddress) -> bool {
    let Some((appliance, point, _)) = used.look_up(judge.plan) else { return false };
    let row = judge.plan.table(appliance.bus).and_then(|table| table.row(address));
    row.and_then(|row| can_take(appliance, point, used.role, row)) != Some(false)
}
