//! Appliances whose rows all name something else, while other rows name them: which of those each of their ends belongs
//! to.
//!
//! Each row serves one end. What its words do not say is taken from the entry that was copied, whose addresses lie as its
//! own do, and from the distances that the house keeps: the command lies ten below the status, wherever that is found.

use super::marks::Judge;
use super::offsets::Distance;
use super::suspects::{Charge, Evidence};
use super::wires::{Wired, narrow};
use crate::knx::GroupAddress;
use crate::sort;

/// A row is called for an end from this on, or nothing is known.
const FITS: f64 = 0.3;

/// A row that lies right names the appliance at least so well.
const LIKE: f64 = 0.35;

/// What speaks against the ends of such an appliance, where a row was found for them.
pub(super) fn charges(judge: Judge<'_>, start: usize, own: &[Wired]) -> Vec<Charge> {
    let mut meant = by_names(judge, own);
    by_distance(judge, own, &mut meant);
    by_habits(judge, own, &mut meant);
    let found = own.iter().zip(start..).zip(meant);
    let charged = found.filter_map(|((wired, index), meant)| {
        // Of two rows of one address the first counts, whatever the second is called.
        let right = meant.filter(|right| *right != wired.address)?;
        Some(Charge {
            wire: narrow(index),
            right: Some(right),
            weight: 1.2,
            weight_alone: 0.0,
            evidence: vec![Evidence::Row { siblings: 0 }],
            opponents: Vec::new(),
            misnamed: false,
            named: None,
        })
    });
    charged.collect()
}

/// The rows of the name, each for the end that it fits best.
fn by_names(judge: Judge<'_>, own: &[Wired]) -> Vec<Option<GroupAddress>> {
    let mut meant = vec![None; own.len()];
    let first = own.first();
    let Some((first, home)) = first.and_then(|first| Some((first, judge.home(first)?))) else { return meant };
    let rows = judge.learned.stems.rows_of(first.bus, home.stem);
    // Where the name has one row and the appliance one wire, the words for what it is for do not matter.
    let only = rows.len() == 1 && own.len() == 1;
    let Some(table) = judge.table(first) else { return meant };
    let functions = &judge.learned.functions;
    let mut fits: Vec<(f64, f64, GroupAddress, usize)> = Vec::new();
    for row in rows {
        let (Some(call), Some(listed)) =
            (judge.learned.stems.call(first.bus, row), table.rows.get(row as usize))
        else {
            continue;
        };
        let address = listed.address.value;
        for (place, wired) in own.iter().enumerate().filter(|(_, wired)| wired.row.is_some()) {
            let fit = functions.fit(call, wired.function, None);
            if address == wired.address
                || (only || functions.is_called(call, wired.function, FITS)) && judge.can_be(wired, address)
            {
                fits.push((fit, functions.seen(call, wired.function), address, place));
            }
        }
    }
    let likest = |a: &(f64, f64, _, _), b: &(f64, f64, _, _)| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1));
    sort::by(&mut fits, |a, b| likest(a, b).then(a.2.cmp(&b.2)).then(a.3.cmp(&b.3)));
    for (.., address, place) in fits {
        if !meant.contains(&Some(address))
            && let Some(free @ None) = meant.get_mut(place)
        {
            *free = Some(address);
        }
    }
    meant
}

/// Rows that lie as far from what is written as those that were found do: the entry was copied, and all of its addresses
/// with it. Where that is so of every end, it says more than what single rows are called.
fn by_distance(judge: Judge<'_>, own: &[Wired], meant: &mut [Option<GroupAddress>]) {
    let notation = judge.plan.house.notation;
    let far = |(wired, meant): (&Wired, &Option<GroupAddress>)| {
        Some(Distance::between(wired.address, (*meant)?, notation))
    };
    let distances: Vec<Distance> = own.iter().zip(meant.iter()).filter_map(far).collect();
    let count = |distance: &Distance| distances.iter().filter(|other| *other == distance).count();
    let Some(distance) = distances.iter().max_by_key(|distance| count(distance)) else { return };
    let right = |wired: &Wired, fits: f64| {
        let address = distance.from(wired.address, notation)?;
        let is_own = is_free(judge, wired, address, fits) && likeness(judge, wired, address) >= LIKE;
        is_own.then_some(address)
    };
    if count(distance) > 1
        && let Some(all) = own.iter().map(|wired| right(wired, 0.0)).collect::<Option<Vec<_>>>()
    {
        meant.iter_mut().zip(all).for_each(|(meant, right)| *meant = Some(right));
    } else if count(distance) == distances.len() {
        for (place, wired) in own.iter().enumerate().filter(|(_, wired)| wired.row.is_some()) {
            let right = right(wired, 0.1).filter(|right| !meant.contains(&Some(*right)));
            if let Some(free @ None) = meant.get_mut(place) {
                *free = right;
            }
        }
    }
}

/// How well the row of an address names the appliance of a wire.
fn likeness(judge: Judge<'_>, wired: &Wired, address: GroupAddress) -> f64 {
    let learned = judge.learned;
    let row = judge.table(wired).and_then(|table| table.by_address.get(address));
    let stem = row.and_then(|row| learned.stems.stem(wired.bus, row));
    stem.map_or(0.0, |stem| {
        learned.owners.likeness(stem, wired.appliance as usize, &learned.stems, &learned.tokens)
    })
}

/// Rows that lie where the house has such ends, seen from those that were found.
fn by_habits(judge: Judge<'_>, own: &[Wired], meant: &mut [Option<GroupAddress>]) {
    let known: Vec<Wired> = own
        .iter()
        .zip(meant.iter())
        .filter_map(|(wired, meant)| Some(Wired { address: (*meant)?, ..*wired }))
        .collect();
    let mut taken: Vec<GroupAddress> = known.iter().map(|wired| wired.address).collect();
    for (wired, meant) in
        own.iter().zip(meant).filter(|(wired, meant)| meant.is_none() && wired.row.is_some())
    {
        let mut votes: Vec<(GroupAddress, usize)> = Vec::new();
        for sibling in &known {
            for habit in judge.learned.offsets.meant(sibling, wired) {
                let address = habit.distance.from(sibling.address, judge.plan.house.notation);
                let is_own = |address: &GroupAddress| {
                    !taken.contains(address) && is_free(judge, wired, *address, FITS)
                };
                let Some(address) = address.filter(is_own) else { continue };
                match votes.iter_mut().find(|(known, _)| *known == address) {
                    Some((_, count)) => *count += 1,
                    None => votes.push((address, 1)),
                }
            }
        }
        let most = votes.iter().map(|(_, count)| *count).max().unwrap_or(0);
        let mut best = votes.iter().filter(|(_, count)| *count == most);
        if let (Some((address, _)), None) = (best.next(), best.next()) {
            taken.push(*address);
            *meant = Some(*address);
        }
    }
}

/// Whether the row of an address is called for a wire at least so well, and is nobody else's than that of what has the
/// same function.
fn is_free(judge: Judge<'_>, wired: &Wired, address: GroupAddress, fits: f64) -> bool {
    let row = judge.table(wired).and_then(|table| table.by_address.get(address));
    let call = row.and_then(|row| judge.learned.stems.call(wired.bus, row));
    let is_called = call.is_some_and(|call| judge.learned.functions.is_called(call, wired.function, fits));
    let mut users = judge.uses.of_address(wired.bus as usize, address);
    is_called
        && users.all(|used| {
            let (_, theirs) = judge.wires.of_appliance(used.appliance as usize);
            let end = theirs.iter().find(|other| (other.point, other.role) == (used.point, used.role));
            end.is_some_and(|end| end.function == wired.function)
        })
        && judge.can_be(wired, address)
        && !judge.names_another(wired, address)
}
