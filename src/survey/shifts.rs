//! Wires that all lie the same distance beside the rows that name them: whole appliances of a room, a single one, or one
//! function all over a house. A row was left out or put in where the numbers were written down, and everything behind it slipped.
//!
//! The names alone are asked: where all slipped together the habits of the house slipped with them.

use super::marks::Judge;
use super::offsets::Distance;
use super::uses::Use;
use super::wires::{Kind, Wired, narrow};
use crate::knx::GroupAddress;
use crate::pieces;
use crate::sort;
use rustc_hash::{FxHashMap, FxHashSet};

/// A row says plainly what it is for from this on.
const PLAIN: f64 = 0.5;

/// A row names an appliance from this likeness on, where its place speaks for it too.
const NAMED: f64 = 0.3;

/// Wires that slipped together in a room, at least.
const FEWEST: usize = 4;

/// Wires of a single appliance, of which all did, at least: two that were exchanged lie in opposite directions.
const FEWEST_OF_ONE: usize = 2;

/// Appliances with one slipped wire each, at least.
const FEWEST_OF_KIND: usize = 3;

/// For each slipped wire of a kind, so many are looked at of which the table does not say whose they are.
const MOST_UNSURE: usize = 16;

/// Uses of an address that are looked at.
const MOST_USERS: usize = 16;

/// What slipped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Scope {
    /// Appliances of the room at this index in the plan; `all`, where it has no other.
    Room {
        /// The index.
        room: u32,
        /// Whether all wires of the room did.
        all: bool,
    },
    /// Wires of one kind.
    Kind(Kind),
}

/// Wires that lie one distance beside their rows.
#[derive(Clone, Debug)]
pub struct Shift {
    /// What slipped.
    pub scope: Scope,
    /// From where they should lie to where they do.
    pub distance: Distance,
    /// By their index in [`Wires::all`](super::Wires::all), each with the address of the row that names it.
    pub wires: Vec<(u32, GroupAddress)>,
}

/// Where a wire lies beside the row that names it.
#[derive(Clone, Copy)]
struct Beside {
    wire: u32,
    right: GroupAddress,
    distance: Distance,
}

/// The shifts of a plan.
pub(super) fn find(judge: Judge<'_>) -> Vec<Shift> {
    let besides: Vec<Option<Beside>> =
        pieces::flat(judge.plan.appliances.len(), pieces::LIGHT, |range, found| {
            for appliance in range {
                let (start, own) = judge.wires.of_appliance(appliance);
                found.extend(own.iter().zip(start..).map(|(wired, index)| beside(judge, wired, index)));
            }
        });
    let wired = |wire: u32| judge.wires.all.get(wire as usize);
    let slipped = |beside: &&Beside| wired(beside.wire).is_some_and(|wired| wired.address != beside.right);
    let (mut by_room, mut by_kind) = (FxHashMap::default(), FxHashMap::default());
    let mut unsure: FxHashMap<Kind, Vec<u32>> = FxHashMap::default();
    for ((beside, wired), index) in besides.iter().zip(&judge.wires.all).zip(0u32..) {
        if beside.is_none() && wired.row.is_some() {
            unsure.entry(wired.kind).or_default().push(index);
        }
        let Some(beside) = beside.as_ref().filter(slipped) else { continue };
        let room =
            judge.plan.appliances.get(wired.appliance as usize).map(|appliance| narrow(appliance.room));
        let room = (wired.bus, room.unwrap_or_default(), beside.distance);
        by_room.entry(room).or_insert_with(Vec::new).push(*beside);
        by_kind.entry((wired.bus, wired.kind, beside.distance)).or_insert_with(Vec::new).push(*beside);
    }
    let mut shifts: Vec<Shift> = Vec::new();
    let mut told: FxHashSet<u32> = FxHashSet::default();
    let mut rooms: Vec<_> = by_room.into_iter().collect();
    rooms.sort_unstable_by_key(|(key, _)| *key);
    for ((_, room, distance), slipped) in rooms {
        let whole = whole_appliances(judge, &besides, slipped, distance);
        let mut wires = free(judge, &besides, whole);
        if wires.len() >= FEWEST && appliances(judge, &wires) > 1 {
            let all = in_room(judge, &besides, room) == wires.len();
            let absent = absent(judge, room).filter(|(wire, _)| wires.iter().all(|(own, _)| own != wire));
            let beside: Vec<_> =
                absent.filter_map(|(wire, wired)| Some((wire, free_row(judge, wired, distance)?))).collect();
            wires.extend(beside);
            add_nameless(judge, &mut wires, distance);
            wires.sort_unstable();
            told.extend(wires.iter().map(|(wire, _)| *wire));
            shifts.push(Shift { scope: Scope::Room { room, all }, distance, wires });
        }
    }
    shifts.extend(renumbered_rooms(judge, &mut told));
    shifts.extend(single(judge, &besides, &mut told));
    let mut kinds: Vec<_> = by_kind.into_iter().collect();
    kinds.sort_unstable_by_key(|(key, _)| *key);
    for ((_, kind, distance), mut slipped) in kinds {
        slipped.retain(|beside| !told.contains(&beside.wire));
        let mut wires = free(judge, &besides, slipped);
        if appliances(judge, &wires) >= FEWEST_OF_KIND {
            // Gone through for many only, so that the cost stays in line with the wires.
            let unsure = unsure.get(&kind).filter(|unsure| unsure.len() <= MOST_UNSURE * wires.len());
            wires.extend(unsure.into_iter().flatten().filter_map(|wire| {
                let right = sibling_at(judge, *wire, distance)?;
                (!told.contains(wire)).then_some((*wire, right))
            }));
            wires.sort_unstable();
            shifts.push(Shift { scope: Scope::Kind(kind), distance, wires });
        }
    }
    sort::by_key(&mut shifts, |shift| shift.wires.first().copied());
    shifts
}

/// Leaves out the wires that are told otherwise.
pub(super) fn leave_out(shifts: &mut Vec<Shift>, is_told: impl Fn(u32) -> bool) {
    shifts.iter_mut().for_each(|shift| shift.wires.retain(|(wire, _)| !is_told(*wire)));
    shifts.retain(|shift| !shift.wires.is_empty());
}

/// The row that names a wire plainly, and how far beside it the wire lies; none where the table does not say.
fn beside(judge: Judge<'_>, wired: &Wired, index: usize) -> Option<Beside> {
    let (home, table) = (judge.home(wired).filter(|_| !wired.shared)?, judge.table(wired)?);
    let learned = judge.learned;
    let fit = |row: u32| {
        let call = learned.stems.call(wired.bus, row)?;
        Some(learned.functions.fit(call, wired.function, None))
    };
    let here = wired.row.filter(|row| learned.stems.stem(wired.bus, *row) == Some(home.stem));
    let right = if here.and_then(fit).is_some_and(|fit| fit >= PLAIN) {
        wired.address
    } else {
        let mut fits: Vec<(f64, GroupAddress)> = learned
            .stems
            .rows_of(wired.bus, home.stem)
            .filter_map(|row| Some((fit(row)?, table.rows.get(row as usize)?.address.value)))
            .filter(|(fit, _)| *fit >= PLAIN)
            .collect();
        sort::by(&mut fits, |a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        match fits.as_slice() {
            [(_, right)] => *right,
            [(best, right), (next, _), ..] if best - next > 0.1 => *right,
            _ => return None,
        }
    };
    let distance = Distance::between(right, wired.address, judge.plan.house.notation);
    Some(Beside { wire: narrow(index), right, distance })
}

/// Single appliances of which every wire lies one distance beside its row: the first address was mistaken, and the others were
/// counted on from it. Of one that lies in the rows of another throughout, that is told.
fn single(judge: Judge<'_>, besides: &[Option<Beside>], told: &mut FxHashSet<u32>) -> Vec<Shift> {
    let mut shifts = Vec::new();
    for (appliance, index) in judge.plan.appliances.iter().zip(0..) {
        let (start, own) = judge.wires.of_appliance(index);
        let among_own = || own.first().and_then(|first| judge.home(first)).is_some_and(|home| home.wires > 0);
        let all = own.iter().zip(besides.get(start..start + own.len()).unwrap_or_default());
        let named =
            all.filter(|(wired, beside)| !wired.shared && (beside.is_some() || !judge.is_nameless(wired)));
        let all: Option<Vec<Beside>> = named.map(|(_, beside)| *beside).collect();
        let Some([first, others @ ..]) = all.as_deref().filter(|all| all.len() >= FEWEST_OF_ONE) else {
            continue;
        };
        let (distance, room) = (first.distance, narrow(appliance.room));
        let slipped =
            judge.wires.all.get(first.wire as usize).is_some_and(|wired| wired.address != first.right);
        let alike = slipped && others.iter().all(|beside| beside.distance == distance);
        if !alike || told.contains(&first.wire) || !among_own() {
            continue;
        }
        let count = others.len() + 1;
        let mut wires = free(judge, besides, all.unwrap_or_default());
        if wires.len() == count {
            add_nameless(judge, &mut wires, distance);
            wires.sort_unstable();
            told.extend(wires.iter().map(|(wire, _)| *wire));
            shifts.push(Shift { scope: Scope::Room { room, all: false }, distance, wires });
        }
    }
    shifts
}

/// What the table has under other numbers in each room, besides what was told.
fn renumbered_rooms(judge: Judge<'_>, told: &mut FxHashSet<u32>) -> Vec<Shift> {
    let mut shifts = Vec::new();
    for room in (0u32..).take(judge.plan.rooms.len()) {
        let left: Vec<_> = absent(judge, room).filter(|(wire, _)| !told.contains(wire)).collect();
        if let Some((distance, wires)) = renumbered(judge, &left) {
            told.extend(wires.iter().map(|(wire, _)| *wire));
            shifts.push(Shift { scope: Scope::Room { room, all: false }, distance, wires });
        }
    }
    shifts
}

/// The wires of a room whose addresses the table lacks.
fn absent(judge: Judge<'_>, room: u32) -> impl Iterator<Item = (u32, &Wired)> {
    let wires = of_room(judge, room).flat_map(move |appliance| {
        let (start, own) = judge.wires.of_appliance(appliance);
        own.iter().zip(start..).map(|(wired, index)| (narrow(index), wired))
    });
    wires.filter(move |(_, wired)| !wired.shared && wired.row.is_none() && judge.table(wired).is_some())
}

/// The address at a distance back from a wire, where the table has it and nobody else does.
fn free_row(judge: Judge<'_>, wired: &Wired, distance: Distance) -> Option<GroupAddress> {
    let right = distance.reversed().from(wired.address, judge.plan.house.notation)?;
    judge.table(wired)?.row(right)?;
    let is_free = judge.uses.of_address(wired.bus as usize, right).next().is_none();
    (is_free && judge.can_be(wired, right)).then_some(right)
}

/// Adds the wires of appliances that slipped whose rows have no name, where such a row lies at the distance that nobody else
/// uses.
fn add_nameless(judge: Judge<'_>, wires: &mut Vec<(u32, GroupAddress)>, distance: Distance) {
    let of_wire =
        |(wire, _): &(u32, GroupAddress)| judge.wires.all.get(*wire as usize).map(|wired| wired.appliance);
    let mut slipped: Vec<u32> = wires.iter().filter_map(of_wire).collect();
    slipped.sort_unstable();
    slipped.dedup();
    let known: FxHashSet<u32> = wires.iter().map(|(wire, _)| *wire).collect();
    let right = |wired: &Wired| {
        let right = distance.reversed().from(wired.address, judge.plan.house.notation)?;
        let row = judge.table(wired)?.by_address.get(right)?;
        let mut users = judge.uses.of_address(wired.bus as usize, right);
        let is_free =
            users.all(|used| slipped.binary_search(&used.appliance).is_ok()) && judge.can_be(wired, right);
        (is_free && judge.learned.stems.stem(wired.bus, row).is_none()).then_some(right)
    };
    for appliance in &slipped {
        let (start, own) = judge.wires.of_appliance(*appliance as usize);
        let nameless =
            own.iter().zip(start..).map(|(wired, index)| (narrow(index), wired)).filter(|(index, wired)| {
                !wired.shared && wired.row.is_some() && judge.is_nameless(wired) && !known.contains(index)
            });
        wires.extend(nameless.filter_map(|(index, wired)| Some((index, right(wired)?))));
    }
}

/// Wires whose addresses the table lacks, and has at one distance for all of them: rows that nobody uses and that name
/// their appliances. None where another distance would do as well.
fn renumbered(judge: Judge<'_>, absent: &[(u32, &Wired)]) -> Option<(Distance, Vec<(u32, GroupAddress)>)> {
    let (_, first) = absent.first().filter(|_| absent.len() >= FEWEST)?;
    let is_named = |wired: &Wired, right: GroupAddress| {
        let learned = judge.learned;
        let row = judge.table(wired)?.by_address.get(right)?;
        let stem = learned.stems.stem(wired.bus, row)?;
        let here = judge.plan.appliances.get(wired.appliance as usize)?.room;
        let elsewhere =
            learned.owners.room_said(stem, &learned.stems).is_some_and(|room| room as usize != here);
        let like = learned.owners.likeness(stem, wired.appliance as usize, &learned.stems, &learned.tokens);
        (!elsewhere && like >= NAMED).then_some(right)
    };
    let of_all = |distance: Distance| {
        let right = |wired: &Wired| is_named(wired, free_row(judge, wired, distance)?);
        right(first)?;
        let rights = absent.iter().map(|(wire, wired)| Some((*wire, right(wired)?)));
        Some((distance, rights.collect::<Option<Vec<_>>>()?))
    };
    let mut found = Distance::within_group(judge.plan.house.notation).filter_map(of_all);
    let only = found.next()?;
    found.next().is_none().then_some(only)
}

/// The address at a distance back from a wire of which the table does not say whose it is, where the row there is named as
/// that of a sibling.
fn sibling_at(judge: Judge<'_>, wire: u32, distance: Distance) -> Option<GroupAddress> {
    let wired = judge.wires.all.get(wire as usize)?;
    let right = distance.reversed().from(wired.address, judge.plan.house.notation)?;
    let stems = &judge.learned.stems;
    let stem = |row: Option<u32>| stems.stem(wired.bus, row?);
    let meant = stem(judge.table(wired)?.by_address.get(right))?;
    let (_, own) = judge.wires.of_appliance(wired.appliance as usize);
    let sibling = own.iter().any(|other| other.address != wired.address && stem(other.row) == Some(meant));
    (sibling && stem(wired.row) != Some(meant)).then_some(right)
}

/// Those of slipped wires whose appliances slipped whole, as far as the table says.
fn whole_appliances(
    judge: Judge<'_>,
    besides: &[Option<Beside>],
    mut slipped: Vec<Beside>,
    distance: Distance,
) -> Vec<Beside> {
    let whole = |beside: &Beside| {
        let wired = judge.wires.all.get(beside.wire as usize);
        let own = wired.map(|wired| judge.wires.of_appliance(wired.appliance as usize));
        own.is_some_and(|(start, own)| {
            let own = besides.get(start..start + own.len()).unwrap_or_default();
            own.iter().flatten().all(|beside| beside.distance == distance)
        })
    };
    slipped.retain(whole);
    slipped
}

/// Slipped wires whose right address nobody has by right, and none that has theirs: those two were exchanged.
fn free(judge: Judge<'_>, besides: &[Option<Beside>], slipped: Vec<Beside>) -> Vec<(u32, GroupAddress)> {
    let of_use = |used: Use| {
        let (start, own) = judge.wires.of_appliance(used.appliance as usize);
        let at = own.iter().position(|wired| wired.point == used.point && wired.role == used.role)?;
        besides.get(start + at).copied().flatten()
    };
    let free = |beside: &Beside| {
        let Some(wired) = judge.wires.all.get(beside.wire as usize) else { return false };
        let mut users = judge.uses.of_address(wired.bus as usize, beside.right).take(MOST_USERS);
        users.all(|used| {
            of_use(used).is_none_or(|other| other.right != beside.right && other.right != wired.address)
        })
    };
    slipped.into_iter().filter(free).map(|beside| (beside.wire, beside.right)).collect()
}

fn appliances(judge: Judge<'_>, wires: &[(u32, GroupAddress)]) -> usize {
    let mut appliances: Vec<u32> = wires
        .iter()
        .filter_map(|(wire, _)| judge.wires.all.get(*wire as usize))
        .map(|wired| wired.appliance)
        .collect();
    appliances.dedup();
    appliances.len()
}

/// The appliances of a room.
fn of_room(judge: Judge<'_>, room: u32) -> impl Iterator<Item = usize> {
    let start = judge.plan.appliances.partition_point(|appliance| narrow(appliance.room) < room);
    let rest = judge.plan.appliances.iter().enumerate().skip(start);
    rest.take_while(move |(_, appliance)| narrow(appliance.room) == room).map(|(index, _)| index)
}

/// How many wires of a room the table says something of.
fn in_room(judge: Judge<'_>, besides: &[Option<Beside>], room: u32) -> usize {
    let wires = of_room(judge, room).map(|index| {
        let (start, own) = judge.wires.of_appliance(index);
        besides.get(start..start + own.len()).unwrap_or_default().iter().flatten().count()
    });
    wires.sum()
}
