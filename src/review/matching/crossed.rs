//! Endpoints of one appliance that took each other's wires: what one of them showed or did, another does.

use crate::bridge::definition::Link;
use crate::classes::Direction;
use crate::review::address::{Address, address};
use crate::review::change::{Change, Kind};
use crate::review::difference::{Difference, What, link_end};
use rustc_hash::{FxHashMap, FxHashSet};

/// A wire wherever it ends: point, direction, cluster, attribute or command, bus, address, datapoint type.
type Wire<'a> = (&'a str, Direction, &'a str, &'a str, &'a str, Address<'a>, &'a str);

fn wire(link: &Link) -> Wire<'_> {
    (&link.point, link.direction, &link.cluster, link_end(link), &link.bus, address(&link.group), &link.dpt)
}

/// Takes the wires that endpoints of one appliance took from each other out of its change, as an exchange of its own.
pub(super) fn own_crossings(change: Change) -> Vec<Change> {
    if change.kind != Kind::WiresAdded {
        return vec![change];
    }
    let crossed = crossed(&change.differences);
    if crossed.is_empty() {
        return vec![change];
    }
    let Change { subject, differences, .. } = change;
    let mut at = crossed.into_iter().peekable();
    let (exchanged, others): (Vec<_>, Vec<_>) =
        differences.into_iter().enumerate().partition(|(index, _)| at.next_if_eq(index).is_some());
    let part = |kind, differences: Vec<(usize, Difference)>| Change {
        kind,
        subject: subject.clone(),
        remedy: None,
        agreed: None,
        differences: differences.into_iter().map(|(_, difference)| difference).collect(),
    };
    let mut changes = vec![part(Kind::Swap, exchanged)];
    if !others.is_empty() {
        changes.push(part(Kind::WiresAdded, others));
    }
    changes
}

/// An endpoint: key of its bridge, and number.
type Spot<'a> = (&'a str, Option<u16>);

/// The positions of the differences that are wires which went from one endpoint to another, of endpoints that both gave and
/// took one.
fn crossed(differences: &[Difference]) -> Vec<usize> {
    let mut came: FxHashMap<Wire, (usize, Spot)> = FxHashMap::default();
    for (index, difference) in differences.iter().enumerate() {
        if let What::LinkAdded { link, .. } = &difference.what {
            came.insert(wire(link), (index, (&difference.bridge, difference.endpoint)));
        }
    }
    let mut went: Vec<([usize; 2], Spot, Spot)> = Vec::new();
    for (index, difference) in differences.iter().enumerate() {
        let from = (difference.bridge.as_str(), difference.endpoint);
        if let What::LinkRemoved { link, .. } = &difference.what
            && let Some((at, to)) = came.get(&wire(link)).filter(|(_, to)| *to != from)
        {
            went.push(([index, *at], from, *to));
        }
    }
    let gave: FxHashSet<Spot> = went.iter().map(|(_, from, _)| *from).collect();
    let took: FxHashSet<Spot> = went.iter().map(|(.., to)| *to).collect();
    let both = went.iter().filter(|(_, from, to)| took.contains(from) && gave.contains(to));
    let mut positions: Vec<usize> = both.flat_map(|(positions, ..)| *positions).collect();
    positions.sort_unstable();
    positions.dedup();
    positions
}
