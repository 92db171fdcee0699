//! Addresses that moved together: swaps, blocks and another notation, each told as one change.

use super::crossed::own_crossings;
use crate::review::address::{Address, address};
use crate::review::change::{Change, Kind, Member, Subject};
use crate::review::difference::{Difference, LinkField, What};
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// So many appliances whose addresses moved by the same distance are a block.
const BLOCK: usize = 3;
/// The longest ring of appliances, or of wires of one, that took each other's addresses.
pub(super) const RING: usize = 8;

/// Tells changes of addresses that belong together as one.
pub(super) fn fold(changes: Vec<Change>) -> Vec<Change> {
    let changes: Vec<Change> =
        changes.into_par_iter().flat_map_iter(own_rings).flat_map_iter(own_crossings).collect();
    let (rewired, mut rest): (Vec<_>, Vec<_>) =
        changes.into_iter().partition(|change| change.kind == Kind::Rewired);
    let (notation, others): (Vec<_>, Vec<_>) =
        rest.into_iter().partition(|change| change.kind == Kind::NotationChanged);
    rest = others;
    rest.extend(together(Kind::NotationChanged, notation));
    let moves: Vec<Vec<Move>> = rewired.par_iter().map(moves).collect();
    let mut group: Vec<Option<(Kind, usize)>> = vec![None; rewired.len()];
    mark_rings(&moves, &mut group);
    mark_blocks(&moves, &mut group);
    drop(moves);
    let mut groups: BTreeMap<(Kind, usize), Vec<Change>> = BTreeMap::new();
    for (change, group) in rewired.into_iter().zip(group) {
        match group {
            None => rest.push(change),
            Some(group) => groups.entry(group).or_default().push(change),
        }
    }
    rest.extend(groups.into_iter().filter_map(|((kind, _), changes)| together(kind, changes)));
    rest
}

/// One change of many; `None` of none.
pub(super) fn together(kind: Kind, changes: Vec<Change>) -> Option<Change> {
    let mut members: Vec<Member> = Vec::new();
    let mut differences: Vec<Difference> = Vec::new();
    for change in changes {
        if let Subject::Appliances(more) = change.subject {
            members.extend(more);
        }
        differences.extend(change.differences);
    }
    let order = |one: &Member| (one.room.clone(), one.label.clone(), one.bridge.clone(), one.key.clone());
    members.sort_by_cached_key(order);
    (!members.is_empty()).then_some(Change {
        kind,
        subject: Subject::Appliances(members),
        remedy: None,
        agreed: None,
        differences,
    })
}

/// A bus and an address.
pub(super) type Spot<'a> = (&'a str, Address<'a>);

/// Where a wire was and where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Move<'a> {
    pub(super) from: Spot<'a>,
    pub(super) to: Spot<'a>,
}

/// The distinct moves of a change, sorted.
pub(super) fn moves(change: &Change) -> Vec<Move<'_>> {
    let mut moves: Vec<Move> = wires(change).into_values().collect();
    moves.sort_unstable();
    moves.dedup();
    moves
}

/// A wire, by bridge, endpoint and position of its link.
type Wire<'a> = (&'a str, Option<u16>, u32);

/// How each wire of a change moved.
fn wires(change: &Change) -> BTreeMap<Wire<'_>, Move<'_>> {
    let mut wires: BTreeMap<(&str, Option<u16>, u32), Move> = BTreeMap::new();
    for difference in &change.differences {
        if let What::LinkField { index, wire, field, after, .. } = &difference.what {
            let from = (wire.bus.as_str(), address(&wire.group));
            let key = (difference.bridge.as_str(), difference.endpoint, *index);
            let there = wires.entry(key).or_insert(Move { from, to: from });
            match (field, after.as_str()) {
                (LinkField::Bus, Some(bus)) => there.to.0 = bus,
                (LinkField::Group, Some(group)) => there.to.1 = address(group),
                _ => {}
            }
        }
    }
    wires
}

/// Takes the wires of one appliance that took each other's addresses out of its change, as an exchange of its own.
fn own_rings(change: Change) -> Vec<Change> {
    if change.kind != Kind::Rewired {
        return vec![change];
    }
    let wires = wires(&change);
    let ringed = in_rings(wires.values());
    let exchanged: FxHashSet<(String, Option<u16>, u32)> = wires
        .iter()
        .filter(|(_, one)| ringed.contains(&one.from))
        .map(|((bridge, endpoint, index), _)| ((*bridge).to_owned(), *endpoint, *index))
        .collect();
    if exchanged.is_empty() {
        return vec![change];
    }
    let whole = exchanged.len() == wires.len();
    let is_exchanged = |difference: &Difference| match &difference.what {
        What::LinkField { index, .. } => {
            exchanged.contains(&(difference.bridge.clone(), difference.endpoint, *index))
        }
        _ => whole,
    };
    let Change { subject, differences, .. } = change;
    let (exchanged, others): (Vec<_>, Vec<_>) = differences.into_iter().partition(is_exchanged);
    let part = |kind, differences| Change {
        kind,
        subject: subject.clone(),
        remedy: None,
        agreed: None,
        differences,
    };
    let mut changes = vec![part(Kind::Swap, exchanged)];
    if !others.is_empty() {
        changes.push(part(Kind::Rewired, others));
    }
    changes
}

/// The places that wires left and others of the same appliance came to, round and round. Wires from one place to several
/// went nowhere in particular.
fn in_rings<'a>(moves: impl Iterator<Item = &'a Move<'a>>) -> FxHashSet<Spot<'a>> {
    let mut ways: BTreeMap<Spot, Option<Spot>> = BTreeMap::new();
    for one in moves {
        let way = ways.entry(one.from).or_insert(Some(one.to));
        *way = way.filter(|to| *to == one.to);
    }
    let mut ringed = FxHashSet::default();
    for start in ways.keys() {
        let mut ring = vec![*start];
        while let Some(Some(next)) = ring.last().and_then(|last| ways.get(last)) {
            if next == start {
                ringed.extend(ring);
                break;
            }
            if ring.len() == RING || ring.contains(next) {
                break;
            }
            ring.push(*next);
        }
    }
    ringed
}

/// Finds appliances that took each other's addresses: two, or a ring of some more.
fn mark_rings(moves: &[Vec<Move>], group: &mut [Option<(Kind, usize)>]) {
    let left = |at: usize| moves.get(at).map(|list| spots(list, |one| one.from));
    let mut who_left: FxHashMap<Vec<Spot>, usize> = FxHashMap::default();
    for at in 0..moves.len() {
        if let Some(spots) = left(at) {
            who_left.entry(spots).or_insert(at);
        }
    }
    // Where only the bus is another one, whole lines of addresses went over, and nothing was exchanged one by one.
    let other_bus_only = |list: &Vec<Move>| list.iter().all(|one| one.from.1 == one.to.1);
    for start in 0..moves.len() {
        if group.get(start) != Some(&None) || moves.get(start).is_some_and(other_bus_only) {
            continue;
        }
        let mut ring = vec![start];
        let mut closed = false;
        while let Some(at) = ring.last().and_then(|last| moves.get(*last)) {
            let Some(&next) = who_left.get(&spots(at, |one| one.to)) else { break };
            if next == start {
                closed = true;
                break;
            }
            if ring.len() == RING || ring.contains(&next) || group.get(next) != Some(&None) {
                break;
            }
            ring.push(next);
        }
        if closed && ring.len() > 1 {
            for at in ring {
                if let Some(place) = group.get_mut(at) {
                    *place = Some((Kind::Swap, start));
                }
            }
        }
    }
}

fn spots<'a>(moves: &[Move<'a>], end: impl Fn(&Move<'a>) -> Spot<'a>) -> Vec<Spot<'a>> {
    let mut spots: Vec<Spot> = moves.iter().map(end).collect();
    spots.sort_unstable();
    spots.dedup();
    spots
}

/// How a wire moved: from which bus to which, and how far.
type Distance<'a> = (&'a str, &'a str, i32);

fn distance<'a>(one: &Move<'a>) -> Option<Distance<'a>> {
    match (one.from, one.to) {
        ((from, Address::Raw(before)), (to, Address::Raw(after))) => {
            Some((from, to, i32::from(after) - i32::from(before)))
        }
        _ => None,
    }
}

/// Finds blocks: appliances all of whose wires moved by distances that [`BLOCK`] of them share, joined where they
/// share one.
fn mark_blocks(moves: &[Vec<Move>], group: &mut [Option<(Kind, usize)>]) {
    let distances: Vec<Option<Vec<Distance>>> = moves
        .iter()
        .zip(group.iter())
        .map(|(list, group)| {
            let mut all =
                list.iter().map(distance).collect::<Option<Vec<_>>>().filter(|_| group.is_none())?;
            all.sort_unstable();
            all.dedup();
            Some(all)
        })
        .collect();
    let mut users: FxHashMap<Distance, usize> = FxHashMap::default();
    for one in distances.iter().flatten().flatten() {
        *users.entry(*one).or_insert(0) += 1;
    }
    let in_block =
        |all: &[Distance]| all.iter().all(|one| users.get(one).is_some_and(|count| *count >= BLOCK));
    let mut blocks = Joined::of(moves.len());
    let mut first: FxHashMap<Distance, usize> = FxHashMap::default();
    for (at, all) in distances.iter().enumerate() {
        for one in all.iter().filter(|all| in_block(all)).flatten() {
            let other = *first.entry(*one).or_insert(at);
            blocks.join(at, other);
        }
    }
    let mut sizes: FxHashMap<usize, usize> = FxHashMap::default();
    let tops: Vec<Option<usize>> = distances
        .iter()
        .enumerate()
        .map(|(at, all)| all.as_ref().filter(|all| in_block(all)).map(|_| blocks.top(at)))
        .collect();
    for top in tops.iter().flatten() {
        *sizes.entry(*top).or_insert(0) += 1;
    }
    for (place, top) in group.iter_mut().zip(tops) {
        if let Some(top) = top.filter(|top| sizes.get(top).is_some_and(|size| *size >= BLOCK)) {
            *place = Some((Kind::BlockMoved, top));
        }
    }
}

/// Sets that are joined as it is found out that they belong together.
pub(super) struct Joined {
    above: Vec<usize>,
}

impl Joined {
    /// So many, each by itself.
    pub(super) fn of(count: usize) -> Self {
        Self { above: (0..count).collect() }
    }

    /// The set's lowest member.
    pub(super) fn top(&mut self, mut at: usize) -> usize {
        while let Some(&above) = self.above.get(at).filter(|above| **above != at) {
            let next = self.above.get(above).copied().unwrap_or(above);
            if let Some(place) = self.above.get_mut(at) {
                *place = next;
            }
            at = next;
        }
        at
    }

    pub(super) fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.top(a), self.top(b));
        if let Some(place) = self.above.get_mut(a.max(b)) {
            *place = a.min(b);
        }
    }
}
