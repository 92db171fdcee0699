//! A single ledger in which numbers were given twice: by a merge of lines, or by hand.

use super::entries::Ledger;
use super::identity::{EndpointNumber, Identity, UniqueId};
use super::merge::{Change, MergeError, Merged, Record, Right, know, records, settle};
use crate::sort;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// A number of a bridge.
type Place = (Arc<str>, EndpointNumber);

/// What says which of two appliances keeps a number.
#[derive(Clone, Copy, Debug)]
pub enum Keeps<'a> {
    /// The last build, by what it gave: the bridge's key and the number of each unique id.
    Built(&'a BTreeMap<UniqueId, (String, u16)>),
    /// A person who knows what the gateways have, by key. Where nobody is named it cannot be known.
    Keys(&'a [String]),
}

/// Brings a single ledger into order that has numbers twice. What the last build has at another number goes back to it if
/// that is free: the number was changed by hand. Else who is in the build keeps the number; of two that are not, the
/// retired one, then the first by key.
///
/// # Errors
///
/// [`MergeError::Exhausted`] if a bridge runs out of numbers; [`MergeError::Undecided`] and [`MergeError::NotTwice`] where a
/// person decides, and does not or does so for nothing.
pub fn resolve(ledger: &Ledger, keeps: Keeps<'_>) -> Result<Merged, MergeError> {
    let mut kept: Vec<Record> = records(ledger);
    sort::by_key(&mut kept, |record| (record.identity.unique_id, !record.living));
    for pair in kept.windows(2) {
        let [one, other] = pair else { continue };
        let is_same = place(one) == place(other) && (one.owner == other.owner || !other.living);
        if one.identity.unique_id == other.identity.unique_id && !is_same {
            let (first, second) = (one.owner.key.clone(), other.owner.key.clone());
            return Err(MergeError::OneId { unique_id: one.identity.unique_id, first, second });
        }
    }
    kept.dedup_by_key(|record| record.identity.unique_id);
    let mut changes = Vec::new();
    match keeps {
        Keeps::Built(built) => {
            put_back(&mut kept, built, &mut changes);
            for record in &mut kept {
                record.right = match (is_built(&record.identity, built), record.living) {
                    (true, _) => Right::Base,
                    (false, false) => Right::Built,
                    (false, true) => Right::GivesWay,
                };
            }
        }
        Keeps::Keys(keys) => decide(&mut kept, keys)?,
    }
    let mut merged = settle(ledger.house(), kept)?;
    changes.append(&mut merged.changes);
    merged.changes = changes;
    know(&mut merged.ledger, None, ledger, ledger);
    Ok(merged)
}

fn is_built(identity: &Identity, built: &BTreeMap<UniqueId, (String, u16)>) -> bool {
    built
        .get(&identity.unique_id)
        .is_some_and(|(bridge, number)| **bridge == *identity.bridge && *number == identity.number.get())
}

fn place(record: &Record) -> Place {
    (Arc::clone(&record.identity.bridge), record.identity.number)
}

/// How many have each number that more than one has.
fn twice(records: &[Record]) -> BTreeMap<Place, Vec<usize>> {
    let mut holders: BTreeMap<Place, Vec<usize>> = BTreeMap::new();
    for (position, record) in records.iter().enumerate() {
        holders.entry(place(record)).or_default().push(position);
    }
    holders.retain(|_, holders| holders.len() > 1);
    holders
}

/// Gives back to those whose number another one has what they were built with.
fn put_back(records: &mut [Record], built: &BTreeMap<UniqueId, (String, u16)>, changes: &mut Vec<Change>) {
    let mut taken: BTreeSet<Place> = records.iter().map(place).collect();
    for position in twice(records).into_values().flatten() {
        let Some(record) = records.get_mut(position) else { continue };
        let Some((bridge, number)) = built.get(&record.identity.unique_id) else { continue };
        let Some(number) = EndpointNumber::new(*number) else { continue };
        if **bridge == *record.identity.bridge && taken.insert((Arc::clone(&record.identity.bridge), number))
        {
            let from = std::mem::replace(&mut record.identity.number, number);
            let (owner, bridge) = (record.owner.clone(), Arc::clone(&record.identity.bridge));
            changes.push(Change::Renumbered { owner, bridge, from, to: number });
        }
    }
}

/// Lets those keep their number whom a person named: of each number that was given twice one.
fn decide(records: &mut [Record], keys: &[String]) -> Result<(), MergeError> {
    let mut idle: BTreeSet<&str> = keys.iter().map(String::as_str).collect();
    let key = |records: &[Record], at: usize| {
        records.get(at).map_or_else(String::new, |record| record.owner.key.clone())
    };
    for ((bridge, number), holders) in twice(records) {
        let named: Vec<usize> =
            holders.iter().copied().filter(|at| keys.contains(&key(records, *at))).collect();
        let keeper = match named.as_slice() {
            [keeper] => *keeper,
            several => {
                let mut undecided = if several.is_empty() { holders.iter() } else { several.iter() };
                let mut next = || undecided.next().map_or_else(String::new, |at| key(records, *at));
                let (first, second) = (next(), next());
                return Err(MergeError::Undecided { bridge: bridge.to_string(), number, first, second });
            }
        };
        idle.remove(key(records, keeper).as_str());
        if let Some(record) = records.get_mut(keeper) {
            record.right = Right::Base;
        }
    }
    match idle.first() {
        Some(key) => Err(MergeError::NotTwice { key: (*key).to_owned() }),
        None => Ok(()),
    }
}
