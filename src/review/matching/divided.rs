//! Splits and merges: appliances most of whose own addresses came from, or went to, one other.

use super::identity::{self, Stayed, appliance_key};
use super::recognition::{Family, Free, Index, Spot, Use, is, own_uses};
use crate::review::change::{Kind, Side};
use crate::review::outline::Outline;
use rustc_hash::FxHashMap;
use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The own addresses of the lone appliances that are in no family yet.
pub(super) struct Addresses<'a> {
    gone: Vec<Vec<Spot<'a>>>,
    came: Vec<Vec<Spot<'a>>>,
}

impl<'a> Addresses<'a> {
    pub(super) fn of(old_uses: &[Vec<Use<'a>>], new_uses: &[Vec<Use<'a>>], free: &Free) -> Self {
        let free_only = |uses: &[Vec<Use<'a>>], free: &[bool]| {
            uses.iter()
                .enumerate()
                .map(|(at, uses)| if is(free, at) { spots(uses) } else { Vec::new() })
                .collect()
        };
        Self { gone: free_only(old_uses, &free.gone), came: free_only(new_uses, &free.came) }
    }

    /// Appliances that are gone and whose addresses most of two or more new ones are made of.
    pub(super) fn splits(&self, free: &mut Free) -> Vec<Family<'a>> {
        let from = index(&self.gone);
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); self.gone.len()];
        for (new, spots) in self.came.iter().enumerate() {
            if let Some(list) = most(spots, &from).and_then(|old| children.get_mut(old)) {
                list.push(new);
            }
        }
        let split = children.into_iter().enumerate().filter(|(_, children)| children.len() > 1);
        let family = |(old, came)| Family { kind: Kind::Split, gone: vec![old], came, stayed: None };
        split.map(family).inspect(|family| free.take(family)).collect()
    }

    /// New appliances that took over most addresses of two or more that are gone.
    pub(super) fn merges(&self, free: &mut Free) -> Vec<Family<'a>> {
        let to = index(&self.came);
        let mut sources: Vec<Vec<usize>> = vec![Vec::new(); self.came.len()];
        for (old, spots) in self.gone.iter().enumerate().filter(|(old, _)| is(&free.gone, *old)) {
            if let Some(list) = most(spots, &to).and_then(|new| sources.get_mut(new)) {
                list.push(old);
            }
        }
        let mut families = Vec::new();
        for (new, gone) in sources.into_iter().enumerate().filter(|(_, sources)| sources.len() > 1) {
            if is(&free.came, new) {
                let family = Family { kind: Kind::Merged, gone, came: vec![new], stayed: None };
                free.take(&family);
                families.push(family);
            }
        }
        families
    }

    /// Appliances that one that stays took in, and new ones that were taken out of one that stays.
    pub(super) fn exchanges(&self, keepers: &[Keeper<'a>], free: &mut Free) -> Vec<Family<'a>> {
        let taken = index_of(keepers.iter().map(|one| &one.taken));
        let given = index_of(keepers.iter().map(|one| &one.given));
        let mut into: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (old, spots) in self.gone.iter().enumerate().filter(|(old, _)| is(&free.gone, *old)) {
            if let Some(keeper) = most(spots, &taken) {
                into.entry(keeper).or_default().push(old);
            }
        }
        let mut off: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (new, spots) in self.came.iter().enumerate().filter(|(new, _)| is(&free.came, *new)) {
            if let Some(keeper) = most(spots, &given) {
                off.entry(keeper).or_default().push(new);
            }
        }
        let merged = into.into_iter().map(|(keeper, gone)| (Kind::MergedInto, keeper, gone, Vec::new()));
        let split = off.into_iter().map(|(keeper, came)| (Kind::SplitOff, keeper, Vec::new(), came));
        let family = |(kind, keeper, gone, came)| {
            let stayed = keepers.get(keeper).map(|one: &Keeper<'a>| (one.endpoint, one.old_key));
            Family { kind, gone, came, stayed }
        };
        let families: Vec<_> = merged.chain(split).map(family).collect();
        families.iter().for_each(|family| free.take(family));
        families
    }
}

/// The distinct addresses of sorted uses.
fn spots<'a>(uses: &[Use<'a>]) -> Vec<Spot<'a>> {
    let mut spots: Vec<_> = uses.iter().map(|one| one.spot).collect();
    spots.dedup();
    spots
}

fn index<'a>(lists: &[Vec<Spot<'a>>]) -> Index<'a, usize> {
    index_of(lists.iter())
}

fn index_of<'i, 'a: 'i>(lists: impl Iterator<Item = &'i Vec<Spot<'a>>>) -> Index<'a, usize> {
    Index::of(lists.enumerate().flat_map(|(at, spots)| spots.iter().map(move |spot| (*spot, at))))
}

/// Who holds more than half of these addresses, if one does.
fn most<'a>(spots: &[Spot<'a>], index: &Index<'a, usize>) -> Option<usize> {
    let mut counts: FxHashMap<usize, usize> = FxHashMap::default();
    for at in spots.iter().flat_map(|spot| index.at(*spot)) {
        *counts.entry(*at).or_insert(0) += 1;
    }
    let most = counts.into_iter().max_by_key(|(at, count)| (*count, Reverse(*at)));
    most.filter(|(_, count)| count * 2 > spots.len()).map(|(at, _)| at)
}

/// An appliance that stays, and the own addresses that it gave away and took: those of wires, and of parts that went or
/// came.
pub(super) struct Keeper<'a> {
    /// One of its endpoints.
    endpoint: identity::Spot<'a>,
    old_key: &'a str,
    given: Vec<Spot<'a>>,
    taken: Vec<Spot<'a>>,
}

/// The appliances that stay and gave or took addresses. `parts` are further endpoints of appliances that stay, each with
/// the side that it is on.
pub(super) fn keepers<'a>(stayed: &[Stayed<'a>], parts: &[(Side, identity::Spot<'a>)]) -> Vec<Keeper<'a>> {
    let mut keepers: Vec<Keeper<'a>> = Vec::new();
    let mut place: FxHashMap<(&'a str, &'a str), usize> = FxHashMap::default();
    let mut add = |endpoint: identity::Spot<'a>, old_key, given: Vec<Spot<'a>>, taken: Vec<Spot<'a>>| {
        let key = (endpoint.bridge, appliance_key(&endpoint.endpoint.key));
        let at = *place.entry(key).or_insert(keepers.len());
        match keepers.get_mut(at) {
            Some(keeper) => {
                keeper.given.extend(given);
                keeper.taken.extend(taken);
            }
            None => keepers.push(Keeper { endpoint, old_key, given, taken }),
        }
    };
    for pair in stayed.iter().filter(|pair| pair.other_links) {
        let own = |endpoint: &'a Arc<Outline>| spots(&own_uses(&[endpoint]));
        let (old, new) = (own(pair.old), own(pair.new));
        let without = |all: &[Spot<'a>], other: &[Spot<'a>]| -> Vec<Spot<'a>> {
            all.iter().filter(|spot| other.binary_search(spot).is_err()).copied().collect()
        };
        let endpoint = identity::Spot { bridge: pair.bridge, endpoint: pair.new };
        add(endpoint, &pair.old.key, without(&old, &new), without(&new, &old));
    }
    for (side, part) in parts {
        let own = spots(&own_uses(&[part.endpoint]));
        let (given, taken) = if *side == Side::Old { (own, Vec::new()) } else { (Vec::new(), own) };
        add(*part, &part.endpoint.key, given, taken);
    }
    keepers
}
