//! Recognises appliances that lost their key: probable renames (`renames`), splits and merges (`divided`).
//!
//! Candidates share an address or name and room; an address or name that more than [`CROWD`] lone appliances share
//! tells none of them apart and is not looked up. So the work is in proportion to the wires of lone appliances, and
//! only the sorting of pairs adds a logarithm.

use super::divided;
use super::identity::{self, Stayed};
use super::lone::Lone;
use super::renames::Renames;
use crate::classes::Direction;
use crate::review::address::{Address, address};
use crate::review::change::{Kind, Side};
use crate::review::outline::{AddressUse, Outline};
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// More appliances than this at one address or with one name are a crowd.
pub(super) const CROWD: usize = 8;

/// Appliances that belong together.
pub(super) struct Family<'a> {
    pub(super) kind: Kind,
    /// Indices of those that are gone.
    pub(super) gone: Vec<usize>,
    /// Indices of those that came.
    pub(super) came: Vec<usize>,
    /// One that stays and gave or took addresses: an endpoint of it, and its old key.
    pub(super) stayed: Option<(identity::Spot<'a>, &'a str)>,
}

/// A bus and an address.
pub(super) type Spot<'a> = (&'a str, Address<'a>);

/// One use of an address.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Use<'a> {
    pub(super) spot: Spot<'a>,
    pub(super) point: &'a str,
    pub(super) direction: Direction,
}

/// Finds the families among the lone appliances, given what stayed and the lone parts of what stayed.
pub(super) fn recognise<'a>(
    gone: &[Lone<'a>],
    came: &[Lone<'a>],
    stayed: &[Stayed<'a>],
    parts: &[(Side, identity::Spot<'a>)],
) -> Vec<Family<'a>> {
    if gone.is_empty() && came.is_empty() {
        return Vec::new();
    }
    let uses = |side: &[Lone<'a>]| -> Vec<Vec<Use<'a>>> {
        side.par_iter().map(|one| own_uses(&one.parts)).collect()
    };
    let (old_uses, new_uses) = (uses(gone), uses(came));
    let mut free = Free { gone: vec![true; gone.len()], came: vec![true; came.len()] };
    let pairs = Renames::of(gone, came, &old_uses, &new_uses);
    let mut families = pairs.renamed(&mut free);
    let lone = divided::Addresses::of(&old_uses, &new_uses, &free);
    families.extend(lone.splits(&mut free));
    families.extend(lone.merges(&mut free));
    families.extend(pairs.of_another_class(&mut free));
    families.extend(lone.exchanges(&divided::keepers(stayed, parts), &mut free));
    families
}

/// What is in no family yet.
pub(super) struct Free {
    pub(super) gone: Vec<bool>,
    pub(super) came: Vec<bool>,
}

impl Free {
    pub(super) fn take(&mut self, family: &Family) {
        let mark = |list: &mut [bool], at: usize| list.get_mut(at).into_iter().for_each(|free| *free = false);
        family.gone.iter().for_each(|at| mark(&mut self.gone, *at));
        family.came.iter().for_each(|at| mark(&mut self.came, *at));
    }
}

/// Whether the entry is marked.
pub(super) fn is(list: &[bool], at: usize) -> bool {
    list.get(at).copied().unwrap_or(false)
}

/// The uses of addresses that are the appliance's own: what it sends, and the status it may read. Addresses that it
/// only listens to (central functions) are many appliances'. Without any of its own, all count.
pub(super) fn own_uses<'a>(parts: &[&'a Arc<Outline>]) -> Vec<Use<'a>> {
    let all = || parts.iter().flat_map(|endpoint| endpoint.uses());
    let own = |one: &&AddressUse| one.direction == Direction::ToBus || one.read;
    let as_use = |one: &'a AddressUse| Use {
        spot: (&one.bus, address(&one.group)),
        point: &one.point,
        direction: one.direction,
    };
    let mut uses: Vec<Use> = all().filter(own).map(as_use).collect();
    if uses.is_empty() {
        uses = all().map(as_use).collect();
    }
    uses.sort_unstable();
    uses.dedup();
    uses
}

/// Who is at an address, unless it is a crowd.
pub(super) struct Index<'a, T> {
    entries: FxHashMap<Spot<'a>, Vec<T>>,
}

impl<'a, T: PartialEq> Index<'a, T> {
    pub(super) fn of(entries: impl Iterator<Item = (Spot<'a>, T)>) -> Self {
        let mut index: FxHashMap<Spot<'a>, Vec<T>> = FxHashMap::default();
        for (spot, entry) in entries {
            let there = index.entry(spot).or_default();
            // One more than a crowd marks it as one.
            if there.len() <= CROWD && there.last() != Some(&entry) {
                there.push(entry);
            }
        }
        Self { entries: index }
    }

    pub(super) fn at(&self, spot: Spot<'a>) -> &[T] {
        self.entries.get(&spot).filter(|there| there.len() <= CROWD).map_or(&[], Vec::as_slice)
    }
}
