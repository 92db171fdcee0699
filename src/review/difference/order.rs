//! Lists whose order means nothing: paired by what their entries are, and put into one order to be compared.

use super::link_end;
use crate::bridge::definition::{BridgeDefinition, Endpoint, Link};
use crate::classes::Direction;
use crate::sort;
use rustc_hash::FxHashMap;
use std::hash::Hash;

/// An entry of two lists that were paired.
pub(super) enum Entry<'a, T> {
    /// In both.
    Kept(&'a T, &'a T),
    /// In the old list only.
    Removed(&'a T),
    /// In the new list only, at this position.
    Added(u32, &'a T),
}

/// Pairs two lists by a key that is unique in each: what was in the old one in its order, then what came.
pub(super) fn pair<'a, T: PartialEq, K: Eq + Hash>(
    old: &'a [T],
    new: &'a [T],
    key: impl Fn(&'a T) -> K,
) -> Vec<Entry<'a, T>> {
    if old == new {
        return Vec::new();
    }
    let by_key = |list: &'a [T]| -> FxHashMap<K, &'a T> { list.iter().map(|one| (key(one), one)).collect() };
    let (in_old, in_new) = (by_key(old), by_key(new));
    let was = old.iter().map(|before| match in_new.get(&key(before)) {
        Some(after) => Entry::Kept(before, after),
        None => Entry::Removed(before),
    });
    let came = new
        .iter()
        .zip(0u32..)
        .filter(|(after, _)| !in_old.contains_key(&key(after)))
        .map(|(after, at)| Entry::Added(at, after));
    was.chain(came).collect()
}

/// True if two sets of definitions say the same: their review is empty.
///
/// The order of bridges, endpoints, device types, clusters, features, commands, attributes and of links from the bus
/// means nothing; nor does that of links to the bus that start at different commands or attributes.
pub fn same(old: &[BridgeDefinition], new: &[BridgeDefinition]) -> bool {
    let ordered = |list: &[BridgeDefinition]| {
        let mut list = list.to_vec();
        sort::by(&mut list, |a, b| a.bridge.key.cmp(&b.bridge.key));
        for bridge in &mut list {
            sort::by_key(&mut bridge.endpoints, |endpoint| endpoint.number);
            bridge.endpoints.iter_mut().for_each(put_in_order);
        }
        list
    };
    old == new || ordered(old) == ordered(new)
}

/// Puts the lists of an endpoint into one order, as far as their order means nothing.
fn put_in_order(endpoint: &mut Endpoint) {
    sort::by_key(&mut endpoint.device_types, |one| one.id);
    sort::by_key(&mut endpoint.clusters, |one| one.id);
    for cluster in &mut endpoint.clusters {
        cluster.features.sort_unstable();
        cluster.commands.sort_unstable();
    }
    endpoint.links.sort_by_cached_key(|link| match link.direction {
        Direction::ToBus => (start(link), String::new()),
        Direction::FromBus => (String::new(), format!("{link:?}")),
    });
}

/// Where a link to the bus starts: links with the same start send their telegrams in the order of the list.
pub(super) fn start(link: &Link) -> String {
    format!("{}.{}", link.cluster, link_end(link))
}
