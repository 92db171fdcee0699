//! Appliances that have each other's keys, so that each takes another's place: two that exchanged them, a ring of some more, or
//! a row in which each has the key of the next, as where one was put in and the rest were numbered anew.

use super::moves::{Joined, Spot, moves, together};
use super::places::{Face, face, is_of_face, was};
use crate::review::Side;
use crate::review::address::address;
use crate::review::change::{Change, Kind, Member, Subject};
use crate::review::difference::What;
use crate::sort;
use rustc_hash::FxHashMap;
use std::collections::BTreeMap;

/// Tells appliances that have each other's keys as one change. An appliance is known again by its name and room and by one of
/// its addresses, under a key that stayed and was another's.
pub(super) fn fold(changes: Vec<Change>) -> Vec<Change> {
    let groups = groups(&changes);
    if groups.is_empty() {
        return changes;
    }
    let (mut folded, mut rest): (BTreeMap<usize, Vec<Change>>, Vec<Change>) = Default::default();
    for (at, change) in changes.into_iter().enumerate() {
        match groups.get(&at) {
            Some(group) => folded.entry(*group).or_default().push(change),
            None => rest.push(change),
        }
    }
    rest.extend(folded.into_values().filter_map(exchanged));
    rest
}

/// One change of all that is told of appliances that have each other's keys. Whose name it is stands first.
fn exchanged(mut changes: Vec<Change>) -> Option<Change> {
    sort::by_key(&mut changes, |change| !is_of_face(change));
    let mut change = together(Kind::KeysExchanged, changes)?;
    if let Subject::Appliances(members) = &mut change.subject {
        members.dedup_by(|next, kept| {
            let is_same = (&next.bridge, &next.key) == (&kept.bridge, &kept.key);
            if is_same {
                let known = kept.endpoints.clone();
                kept.endpoints.extend(next.endpoints.iter().filter(|number| !known.contains(number)));
            }
            is_same
        });
    }
    Some(change)
}

/// An appliance whose name or room changed: what it was and is, and the addresses that it left and came to.
struct Known<'a> {
    was: Face,
    is: &'a Member,
    left: Vec<Spot<'a>>,
    came: Vec<Spot<'a>>,
}

/// For each change that belongs to others, by its position: which ones.
fn groups(changes: &[Change]) -> FxHashMap<usize, usize> {
    let mut known: Vec<Known> = Vec::new();
    let mut places: FxHashMap<(&str, &str), usize> = FxHashMap::default();
    for change in changes.iter().filter(|change| is_of_face(change)) {
        let [only] = change.members() else { continue };
        if only.side != Side::Both {
            continue;
        }
        let at = *places.entry((&only.bridge, &only.key)).or_insert(known.len());
        if at == known.len() {
            known.push(Known { was: face(only), is: only, left: Vec::new(), came: Vec::new() });
        }
        if let Some(known) = known.get_mut(at) {
            was(&mut known.was, only, change);
        }
    }
    // Of one that is gone, and whose place in the row nobody has: the one that has its name and addresses now.
    let place = |change: &Change| match change.members() {
        [only] => places.get(&(only.bridge.as_str(), only.key.as_str())).copied(),
        [gone, only] if change.kind == Kind::MergedInto && face(gone) == face(only) => {
            places.get(&(only.bridge.as_str(), only.key.as_str())).copied()
        }
        _ => None,
    };
    for change in changes {
        let Some(known) = place(change).and_then(|at| known.get_mut(at)) else { continue };
        if change.kind == Kind::Rewired {
            for one in moves(change) {
                known.left.push(one.from);
                known.came.push(one.to);
            }
        }
        for difference in &change.differences {
            match &difference.what {
                What::LinkRemoved { link, .. } => known.left.push((&link.bus, address(&link.group))),
                What::LinkAdded { link, .. } => known.came.push((&link.bus, address(&link.group))),
                _ => {}
            }
        }
    }
    let (mut joined, is_one) = joined(&known);
    let is_told =
        |change: &Change| is_of_face(change) || matches!(change.kind, Kind::Rewired | Kind::MergedInto);
    let told = changes.iter().enumerate().filter(|(_, change)| is_told(change));
    let placed = told.filter_map(|(index, change)| Some((index, place(change)?)));
    let placed = placed.filter(|(_, at)| is_one.get(*at) == Some(&true));
    placed.map(|(index, at)| (index, joined.top(at))).collect()
}

/// Those that have what another of them had, joined with it, and which of them these are.
fn joined(known: &[Known<'_>]) -> (Joined, Vec<bool>) {
    let mut who_was: FxHashMap<(&Face, Spot), usize> = FxHashMap::default();
    for (at, one) in known.iter().enumerate() {
        for spot in &one.left {
            who_was.entry((&one.was, *spot)).or_insert(at);
        }
    }
    let mut joined = Joined::of(known.len());
    let mut is_one = vec![false; known.len()];
    for (at, one) in known.iter().enumerate() {
        let now = face(one.is);
        let other =
            one.came.iter().find_map(|spot| who_was.get(&(&now, *spot))).filter(|other| **other != at);
        if let Some(&other) = other {
            joined.join(at, other);
            for at in [at, other] {
                is_one.get_mut(at).into_iter().for_each(|one| *one = true);
            }
        }
    }
    (joined, is_one)
}
