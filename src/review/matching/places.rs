//! Appliances whose places changed together: one that has the key of another that is gone, those that took each other's names,
//! and those that went from one room to another.

use super::moves::{RING, together};
use crate::review::change::{Change, Kind, Member};
use crate::review::difference::{EndpointField, What};
use rustc_hash::{FxHashMap, FxHashSet};
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// Tells what belongs together as one change.
pub(super) fn fold(changes: Vec<Change>) -> Vec<Change> {
    rooms(names(taken(changes)))
}

/// Tells appliances that took each other's names as one change: who asks for one of them by name gets another.
fn names(changes: Vec<Change>) -> Vec<Change> {
    let (named, mut rest): (Vec<_>, Vec<_>) = changes
        .into_iter()
        .partition(|change| change.kind == Kind::Relabelled && change.members().len() == 1);
    let mut group: Vec<Option<usize>> = vec![None; named.len()];
    mark_names(&named, &mut group);
    let mut rings: BTreeMap<usize, Vec<Change>> = BTreeMap::new();
    for (change, ring) in named.into_iter().zip(group) {
        match ring {
            Some(ring) => rings.entry(ring).or_default().push(change),
            None => rest.push(change),
        }
    }
    rest.extend(rings.into_values().filter_map(|ring| together(Kind::Relabelled, ring)));
    rest
}

/// Finds appliances that took each other's names: two, or a ring of some more. A name that several had counts in its room,
/// if it was one appliance's there.
fn mark_names(named: &[Change], group: &mut [Option<usize>]) {
    let called: Vec<Option<Called>> = named.iter().map(called).collect();
    let mut who_had: FxHashMap<(Option<&str>, &str), Option<usize>> = FxHashMap::default();
    for (at, one) in called.iter().enumerate() {
        let Some(one) = one else { continue };
        for room in [None, Some(one.room)] {
            who_had.entry((room, one.before)).and_modify(|who| *who = None).or_insert(Some(at));
        }
    }
    let next = |at: usize| -> Option<usize> {
        let now = called.get(at)?.as_ref()?;
        let in_room = who_had.get(&(Some(now.room), now.after)).copied().flatten();
        in_room.or_else(|| who_had.get(&(None, now.after)).copied().flatten())
    };
    for start in 0..named.len() {
        if group.get(start) != Some(&None) {
            continue;
        }
        let mut ring = vec![start];
        while let Some(found) = ring.last().and_then(|last| next(*last)) {
            if found == start {
                for at in ring.iter().filter(|_| ring.len() > 1) {
                    if let Some(place) = group.get_mut(*at) {
                        *place = Some(start);
                    }
                }
                break;
            }
            if ring.len() == RING || ring.contains(&found) || group.get(found) != Some(&None) {
                break;
            }
            ring.push(found);
        }
    }
}

/// What an appliance was called and is.
struct Called<'a> {
    room: &'a str,
    before: &'a str,
    after: &'a str,
}

/// What the appliance of a change was called and is; none where only a part of it is called otherwise.
fn called(change: &Change) -> Option<Called<'_>> {
    let member = change.members().first()?;
    change.differences.iter().find_map(|difference| match &difference.what {
        What::EndpointField { field: EndpointField::NodeLabel, before, after }
            if after.as_str() == Some(&member.label) =>
        {
            Some(Called { room: &member.room, before: before.as_str()?, after: &member.label })
        }
        _ => None,
    })
}

/// So many appliances that went from one room to another are told together: very often the room has another name.
const ROOM: usize = 3;

/// From which room and floor to which.
type Way<'a> = [Option<&'a Json>; 4];

/// Tells appliances that went the same way between rooms as one change.
fn rooms(changes: Vec<Change>) -> Vec<Change> {
    let mut numbers: FxHashMap<Way, usize> = FxHashMap::default();
    let mut number = |way| {
        let next = numbers.len();
        *numbers.entry(way).or_insert(next)
    };
    let ways: Vec<Option<usize>> = changes.iter().map(|change| way(change).map(&mut number)).collect();
    let mut groups: Vec<Vec<Change>> = (0..numbers.len()).map(|_| Vec::new()).collect();
    let mut rest = Vec::new();
    for (change, way) in changes.into_iter().zip(ways) {
        match way.and_then(|way| groups.get_mut(way)) {
            Some(group) => group.push(change),
            None => rest.push(change),
        }
    }
    for group in groups {
        if group.len() < ROOM {
            rest.extend(group);
        } else {
            rest.extend(together(Kind::RoomChanged, group));
        }
    }
    rest
}

/// Which way a change of room goes, if it is one way for all of the appliance.
fn way(change: &Change) -> Option<Way<'_>> {
    if change.kind != Kind::RoomChanged {
        return None;
    }
    let mut way = Way::default();
    for difference in &change.differences {
        let What::EndpointField { field, before, after } = &difference.what else { return None };
        let at = match field {
            EndpointField::Room => 0,
            EndpointField::Floor => 2,
            _ => return None,
        };
        for (place, value) in way.get_mut(at..at + 2)?.iter_mut().zip([before, after]) {
            match place {
                None => *place = Some(value),
                Some(known) if *known == value => {}
                Some(_) => return None,
            }
        }
    }
    Some(way)
}

/// Name, room and floor of an appliance.
pub(super) type Face = (String, String, Option<String>);

/// The key by which an appliance's changes are found: bridge and key.
type Key = (String, String);

fn key(member: &Member) -> Key {
    (member.bridge.clone(), member.key.clone())
}

/// Tells an appliance that is gone and whose name, room and addresses another one has as one that has the other's key.
fn taken(mut changes: Vec<Change>) -> Vec<Change> {
    let pair = |change: &Change| match change.members() {
        [gone, stays] if change.kind == Kind::MergedInto && face(gone) == face(stays) => Some(key(stays)),
        _ => None,
    };
    let takers: FxHashSet<Key> = changes.iter().filter_map(pair).collect();
    if takers.is_empty() {
        return changes;
    }
    let is_of = |change: &Change| matches!(change.members(), [only] if takers.contains(&key(only)));
    let mut more: FxHashMap<Key, Vec<Change>> = FxHashMap::default();
    let is_part = |change: &Change| (is_of_face(change) || change.kind == Kind::Rewired) && is_of(change);
    let (parts, rest): (Vec<_>, Vec<_>) = changes.drain(..).partition(is_part);
    for part in parts {
        if let Some(member) = part.members().first() {
            more.entry(key(member)).or_default().push(part);
        }
    }
    changes = rest;
    let mut left = Vec::new();
    for change in &mut changes {
        let Some(mut parts) = pair(change).and_then(|taker| more.remove(&taker)) else { continue };
        // One that had this name already only took addresses.
        if parts.iter().any(is_of_face) && parts.iter().any(|part| part.kind == Kind::Rewired) {
            change.kind = Kind::KeyTaken;
            change.differences.extend(parts.into_iter().flat_map(|part| part.differences));
        } else {
            left.append(&mut parts);
        }
    }
    changes.append(&mut left);
    changes.extend(more.into_values().flatten());
    changes
}

/// Whether a change is of an appliance's name or room.
pub(super) fn is_of_face(change: &Change) -> bool {
    matches!(change.kind, Kind::Relabelled | Kind::RoomChanged)
}

pub(super) fn face(member: &Member) -> Face {
    (member.label.clone(), member.room.clone(), member.floor.clone())
}

/// Puts in what a change says that the face was before.
pub(super) fn was(face: &mut Face, member: &Member, change: &Change) {
    let text = |value: &Json| value.as_str().map(str::to_owned);
    for difference in &change.differences {
        let What::EndpointField { field, before, .. } = &difference.what else { continue };
        if difference.endpoint != member.endpoints.first().copied() {
            continue;
        }
        match field {
            EndpointField::NodeLabel => face.0 = text(before).unwrap_or_default(),
            EndpointField::Room => face.1 = text(before).unwrap_or_default(),
            EndpointField::Floor => face.2 = text(before),
            EndpointField::Parent | EndpointField::Key | EndpointField::UniqueId => {}
        }
    }
}
