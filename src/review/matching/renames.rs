//! Probable renames: appliances that only have another key, found by a stable matching.
//!
//! Two appliances with the same application device types on all their endpoints are weighed:
//!
//! | what they share | weight |
//! | --- | --- |
//! | wires at the same bus and address, of the same point and direction | up to 10, by their part of the larger set |
//! | the same wires but of another point or direction | half of that |
//! | the name | 5 |
//! | the room, beside the name or more than half of the wires | 2 |
//!
//! From 7 on they are thought the same: seven tenths of the wires alone, or the name and the room. The heaviest pair is
//! taken first, so a perfect pair is never broken up for the sake of two poor ones; ties go to the order of endpoint
//! numbers.
//!
//! Two with other device types that share a wire and weigh as much have another key and another class. They are looked
//! for once splits and merges have been: an outlet and its lamp that became one lamp are no change of class.

use super::identity::part;
use super::lone::Lone;
use super::recognition::{CROWD, Family, Free, Index, Use, is};
use crate::classes::Direction;
use crate::review::change::Kind;
use crate::review::difference::application_types;
use crate::review::outline::Outline;
use crate::sort;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use std::cmp::Reverse;

/// Weight of all wires.
const WIRES: u32 = 10;
/// Weight of the name.
const NAME: u32 = 5;
/// Weight of the room.
const ROOM: u32 = 2;
/// From this weight on two appliances are thought the same.
const ENOUGH: u32 = 7;

/// Which lone appliance a wire belongs to, and what it is there.
type Wire<'a> = (usize, &'a str, Direction);

/// A pair that weighs enough: its weight, the old one and the new one.
type Pair = (u32, usize, usize);

/// The pairs that weigh enough.
pub(super) struct Renames {
    /// Of the same device types.
    same: Vec<Pair>,
    /// Of other device types.
    other: Vec<Pair>,
}

impl Renames {
    /// Finds the pairs.
    pub(super) fn of<'a>(
        gone: &[Lone<'a>],
        came: &[Lone<'a>],
        old_uses: &[Vec<Use<'a>>],
        new_uses: &[Vec<Use<'a>>],
    ) -> Self {
        let (mut same, mut other) = (Vec::new(), Vec::new());
        for (is_same, pair) in candidates(gone, came, old_uses, new_uses) {
            if is_same { same.push(pair) } else { other.push(pair) }
        }
        for pairs in [&mut same, &mut other] {
            pairs.sort_unstable_by_key(|(weight, old, new)| (Reverse(*weight), *old, *new));
        }
        Self { same, other }
    }

    /// The probable renames.
    pub(super) fn renamed<'a>(&self, free: &mut Free) -> Vec<Family<'a>> {
        families(Kind::ProbableRename, &self.same, free)
    }

    /// Appliances that got another class and another key.
    pub(super) fn of_another_class<'a>(&self, free: &mut Free) -> Vec<Family<'a>> {
        families(Kind::ClassChanged, &self.other, free)
    }
}

/// The heaviest pairs that are free, each appliance once.
fn families<'a>(kind: Kind, pairs: &[Pair], free: &mut Free) -> Vec<Family<'a>> {
    let mut families = Vec::new();
    for (_, old, new) in pairs {
        if is(&free.gone, *old) && is(&free.came, *new) {
            let family = Family { kind, gone: vec![*old], came: vec![*new], stayed: None };
            free.take(&family);
            families.push(family);
        }
    }
    families
}

/// Every pair that weighs enough, and whether it is of the same device types.
fn candidates<'a>(
    gone: &[Lone<'a>],
    came: &[Lone<'a>],
    old_uses: &[Vec<Use<'a>>],
    new_uses: &[Vec<Use<'a>>],
) -> Vec<(bool, Pair)> {
    let wires = new_uses
        .iter()
        .enumerate()
        .flat_map(|(at, uses)| uses.iter().map(move |one| (one.spot, (at, one.point, one.direction))));
    let by_name = || {
        let mut by_name: FxHashMap<(&str, &str), Vec<usize>> = FxHashMap::default();
        for (at, appliance) in came.iter().enumerate() {
            if let Some(main) = appliance.main() {
                by_name.entry((&main.node_label, &main.room)).or_default().push(at);
            }
        }
        by_name
    };
    let (at_address, by_name) = rayon::join(|| Index::of(wires), by_name);
    let new_types: Vec<Vec<u32>> = came.par_iter().map(types).collect();
    let candidates = |(old, (appliance, uses)): (usize, (&Lone<'a>, &Vec<Use<'a>>))| {
        let mut pairs = Vec::new();
        let Some(main) = appliance.main() else { return pairs };
        let mut shared = shared_wires(uses, &at_address);
        let name = (main.node_label.as_str(), main.room.as_str());
        for at in by_name.get(&name).filter(|all| all.len() <= CROWD).into_iter().flatten() {
            shared.entry(*at).or_insert(0);
        }
        let old_types = types(appliance);
        pairs.extend(shared.into_iter().filter_map(|(new, halves)| {
            let same = new_types.get(new) == Some(&old_types);
            let other = came.get(new).and_then(Lone::main)?;
            let all = new_uses.get(new).map_or(0, Vec::len).max(uses.len());
            let weight = weigh(halves, all, main, other);
            (weight >= ENOUGH * 100 && (same || halves > 1)).then_some((same, (weight, old, new)))
        }));
        pairs
    };
    gone.par_iter().zip(old_uses).enumerate().flat_map_iter(candidates).collect()
}

/// The application device types of all parts, in the order of the parts' names.
fn types(appliance: &Lone) -> Vec<u32> {
    let mut parts = appliance.parts.clone();
    sort::by(&mut parts, |a, b| part(&a.key).cmp(part(&b.key)));
    parts.into_iter().flat_map(|endpoint| application_types(endpoint.device_types())).collect()
}

/// For each new appliance that shares wires, how many halves of a wire: two for the same point and direction.
fn shared_wires<'a>(uses: &[Use<'a>], index: &Index<'a, Wire<'a>>) -> FxHashMap<usize, usize> {
    let mut shared = FxHashMap::default();
    for one in uses {
        let mut best: Vec<(usize, usize)> = Vec::new();
        for (at, point, direction) in index.at(one.spot) {
            let halves = if *point == one.point && *direction == one.direction { 2 } else { 1 };
            match best.iter_mut().find(|(known, _)| known == at) {
                Some((_, most)) => *most = halves.max(*most),
                None => best.push((*at, halves)),
            }
        }
        for (at, halves) in best {
            *shared.entry(at).or_insert(0) += halves;
        }
    }
    shared
}

/// The weight of a pair, in hundredths.
fn weigh(halves: usize, wires: usize, old: &Outline, new: &Outline) -> u32 {
    let all = WIRES as usize * 100;
    let wires = (all * halves).checked_div(2 * wires).unwrap_or(0).min(all);
    let name = if old.node_label == new.node_label { NAME * 100 } else { 0 };
    // Half of the wires in the same room is what each part of a divided appliance has.
    let room = if old.room == new.room && (name > 0 || wires * 2 > all) { ROOM * 100 } else { 0 };
    u32::try_from(wires).unwrap_or(u32::MAX).saturating_add(name + room)
}
