//! Two builds in, changes out: which appliance is which, and which differences are one change to a person.
//!
//! First by the ledger's identity (`identity`), then the differences of each pair are gathered by appliance and kind
//! (`drafts`), then what is left alone is recognised (`kept`: no longer shown, or again; `recognition`: renamed, split and
//! merged appliances), and at last
//! what belongs together is told together (`bridges`: another key of one; `keys`: appliances that have each other's; `moves`:
//! swaps and blocks of addresses; `places`: appliances that went from one room to another, or took names). Only endpoints that differ are looked
//! at, so endpoints that are the same on both sides may be missing from both.

mod bridges;
mod crossed;
mod divided;
mod drafts;
mod identity;
mod kept;
mod keys;
mod lone;
mod moves;
mod places;
mod recognition;
mod renames;

use super::build::Bridge;
use super::change::{Change, Kind, Review, Subject};
use super::difference::{Difference, What, bridge_differences, endpoint_differences};
use super::{Build, Consequence, Side, Unread};
use crate::sort;
use drafts::Drafts;
use kept::Hidden;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use std::cmp::Reverse;

/// Compares two builds.
pub(super) fn review(old: &Build, new: &Build) -> Review {
    let (sides, unread) = comparable(old, new);
    let mut drafts = Drafts::default();
    let mut pairs = identity::pair(&sides.old, &sides.new);
    heads(&sides, &mut drafts);
    let found: Vec<_> =
        pairs.stayed.par_iter().map(|pair| endpoint_differences(pair.old, pair.new)).collect();
    for (pair, found) in pairs.stayed.iter_mut().zip(found) {
        pair.other_links = found.other_links;
        for (kind, what) in found.differences {
            drafts.add_inside(pair, kind, what);
        }
    }
    let hidden = Hidden::of(old, new, unread.is_empty());
    lone::tell(pairs, &hidden, &mut drafts);
    let changes = keys::fold(bridges::fold(drafts.changes, &of_bridges(&sides)));
    let mut changes = places::fold(moves::fold(changes));
    changes.par_sort_by_cached_key(place);
    let house = new.bridges.first().or(old.bridges.first()).map(|bridge| bridge.head.house.clone());
    Review { house, compared: None, before: old.size(), after: new.size(), changes, unread }
}

/// Where a change stands in the review: worst first; of the house, of bridges, of several rooms, room by room.
fn place(change: &Change) -> (Reverse<Consequence>, u8, String, String, String, Kind) {
    let (rank, room, label, key) = match &change.subject {
        Subject::House => (0, "", "", ""),
        Subject::Bridge { key, name } => (1, "", name.as_str(), key.as_str()),
        Subject::Appliances(members) => {
            let (label, key) = members.first().map_or(("", ""), |one| (one.label.as_str(), one.key.as_str()));
            match change.room() {
                None => (2, "", label, key),
                Some(room) => (3, room, label, key),
            }
        }
    };
    (Reverse(change.consequence()), rank, room.to_owned(), label.to_owned(), key.to_owned(), change.kind)
}

/// The bridges of both sides that can be compared, sorted by key.
struct Sides<'a> {
    old: Vec<&'a Bridge>,
    new: Vec<&'a Bridge>,
}

/// Leaves out what has no readable counterpart, so that a file that cannot be read is no bridge that is gone.
fn comparable<'a>(old: &'a Build, new: &'a Build) -> (Sides<'a>, Vec<(Side, Unread)>) {
    let mut unread: Vec<(Side, Unread)> = old.unread.iter().map(|one| (Side::Old, one.clone())).collect();
    unread.extend(new.unread.iter().map(|one| (Side::New, one.clone())));
    let keys: FxHashSet<&str> =
        old.unread.iter().chain(&new.unread).filter_map(|one| one.bridge.as_deref()).collect();
    // Without a name, or with one that the other side does not know: a file that was renamed, a bridge with another key.
    let may_be_any = |unread: &[Unread], other: &Build| {
        let others = other.unread.iter().filter_map(|one| one.bridge.as_deref());
        let known: FxHashSet<&str> = other.bridges.iter().map(Bridge::key).chain(others).collect();
        unread.iter().any(|one| one.bridge.as_deref().is_none_or(|key| !known.contains(key)))
    };
    let mut left_out = Vec::new();
    let mut readable = |build: &'a Build, other: &'a Build, side: Side| {
        let there: FxHashSet<&str> = other.bridges.iter().map(Bridge::key).collect();
        let may_be_any = may_be_any(&other.unread, build);
        let mut bridges = Vec::new();
        for bridge in build.bridges.iter().filter(|one| !keys.contains(one.key())) {
            if there.contains(bridge.key()) || !may_be_any {
                bridges.push(bridge);
            } else if !other.bridges.is_empty() {
                // With nothing on the other side it says enough that that side could not be read.
                left_out.push((side, without_counterpart(bridge)));
            }
        }
        sort::by(&mut bridges, |a: &&Bridge, b| a.key().cmp(b.key()));
        bridges
    };
    let sides = Sides { old: readable(old, new, Side::Old), new: readable(new, old, Side::New) };
    unread.append(&mut left_out);
    (sides, unread)
}

fn without_counterpart(bridge: &Bridge) -> Unread {
    let key = bridge.key();
    Unread {
        name: format!("{key}.bridge.json"),
        bridge: Some(key.to_owned()),
        why: "it may have its counterpart among what could not be read on the other side".to_owned(),
        help: "mend the other side first".to_owned(),
    }
}

/// What the bridges of both sides are called, and how much they hold.
fn of_bridges<'a>(sides: &Sides<'a>) -> bridges::Heads<'a> {
    bridges::Heads {
        endpoints: sides.old.iter().map(|bridge| (bridge.key(), bridge.size.endpoints)).collect(),
        names: sides.new.iter().map(|bridge| (bridge.key(), bridge.head.bridge.name.as_str())).collect(),
    }
}

/// Changes of the bridges themselves.
fn heads(sides: &Sides, drafts: &mut Drafts) {
    let new: FxHashMap<&str, &Bridge> = sides.new.iter().map(|bridge| (bridge.key(), *bridge)).collect();
    let old: FxHashSet<&str> = sides.old.iter().map(|bridge| bridge.key()).collect();
    let subject = |bridge: &Bridge| Subject::Bridge {
        key: bridge.key().to_owned(),
        name: bridge.head.bridge.name.clone(),
    };
    let head = |bridge: &Bridge| Box::new(bridge.head.clone());
    for bridge in &sides.old {
        let key = bridge.key();
        match new.get(key) {
            None => {
                let what = What::BridgeRemoved { definition: head(bridge) };
                drafts.push(Kind::BridgeRemoved, subject(bridge), vec![whole(key, what)]);
            }
            Some(after) => {
                for (kind, what) in bridge_differences(&bridge.head, &after.head) {
                    let subject = match kind {
                        Kind::BridgeRenamed => subject(after),
                        _ => Subject::House,
                    };
                    drafts.add_head(kind, subject, whole(key, what));
                }
            }
        }
    }
    for bridge in sides.new.iter().filter(|bridge| !old.contains(bridge.key())) {
        let what = What::BridgeAdded { definition: head(bridge) };
        drafts.push(Kind::BridgeAdded, subject(bridge), vec![whole(bridge.key(), what)]);
    }
}

fn whole(bridge: &str, what: What) -> Difference {
    Difference { bridge: bridge.to_owned(), endpoint: None, what }
}
