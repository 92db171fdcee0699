//! One identity out of what two branches and their common base say of it.

use super::entries::Owner;
use super::identity::{EndpointNumber, Identity, UniqueId};
use super::merge::{Record, Right};
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

/// The numbers that one side gave.
pub(super) struct Places {
    held: FxHashSet<(Arc<str>, EndpointNumber)>,
    highest: FxHashMap<Arc<str>, EndpointNumber>,
}

impl Places {
    pub(super) fn of(records: &[Record]) -> Self {
        let mut places = Self { held: FxHashSet::default(), highest: FxHashMap::default() };
        for Record { identity: Identity { bridge, number, .. }, .. } in records {
            places.held.insert((Arc::clone(bridge), *number));
            let highest = places.highest.entry(Arc::clone(bridge)).or_insert(*number);
            *highest = (*highest).max(*number);
        }
        places
    }

    /// Whether the side has given this number and lost the line: the numbers of a bridge are given one after the other.
    fn has_lost(&self, identity: &Identity) -> bool {
        let is_given = self.highest.get(&identity.bridge).is_some_and(|highest| identity.number < *highest);
        is_given && !self.holds(identity)
    }

    /// Whether the side has given this number, and knows to whom.
    fn holds(&self, identity: &Identity) -> bool {
        self.held.contains(&(Arc::clone(&identity.bridge), identity.number))
    }
}

/// One identity out of its three states; `built` are the places of the first side.
pub(super) fn three_way(
    base: Option<&Record>,
    first: Option<&Record>,
    second: Option<&Record>,
    built: &Places,
) -> Option<Record> {
    let state = |record: &Record| (record.owner.clone(), record.living);
    // The first side was never where the second one comes from.
    let is_strange = first.is_none() && base.is_some_and(|base| !built.has_lost(&base.identity));
    let chosen = match (first, second) {
        (Some(first), Some(second)) => both_know(base, first, second, built),
        (None, Some(second)) if is_strange => {
            let is_new = base.is_none_or(|base| state(base) != state(second));
            Record { living: second.living && is_new, ..second.clone() }
        }
        (Some(only), None) | (None, Some(only)) => only.clone(),
        // Gone on both sides by hand; its number must not come back.
        (None, None) => Record { living: false, ..base?.clone() },
    };
    let right = match (base, first) {
        (Some(_), _) if !is_strange => Right::Base,
        (_, Some(_)) => Right::Built,
        (_, None) => Right::GivesWay,
    };
    Some(Record { right, before: base.map(|base| base.owner.clone()), ..chosen })
}

/// An identity that both sides have.
fn both_know(base: Option<&Record>, first: &Record, second: &Record, built: &Places) -> Record {
    let state = |record: &Record| (record.owner.clone(), record.living);
    let by_first = base.is_none_or(|base| state(base) != state(first));
    let by_second = base.is_none_or(|base| state(base) != state(second));
    let takes_second = by_second && (!by_first || second.living && !first.living);
    let (owner, living) = state(if takes_second { second } else { first });
    // Another number is the second side's to give, unless the first one gave it to something that was built.
    let renumbered =
        base.is_some_and(|base| base.identity == first.identity) && !built.holds(&second.identity);
    let identity = if renumbered { &second.identity } else { &first.identity };
    let moved = owner != first.owner;
    let is_disputed = by_first && by_second && first.living && second.living;
    let rival = if takes_second { first } else { second };
    let other = Some(&rival.owner).filter(|other| is_disputed && **other != owner).cloned();
    Record { owner, living, identity: identity.clone(), moved, other, ..first.clone() }
}

/// Places that a side gave and nobody has any more, since both sides made one unique id for two of them: retired, each with a
/// unique id that nobody has.
pub(super) fn displaced(house: &str, kept: &[Record], sides: [&[Record]; 3]) -> Vec<Record> {
    let mut held = Places::of(kept).held;
    let mut ids: FxHashSet<UniqueId> = FxHashSet::default();
    let mut displaced = Vec::new();
    for record in sides.into_iter().flatten() {
        if !held.insert((Arc::clone(&record.identity.bridge), record.identity.number)) {
            continue;
        }
        if ids.is_empty() {
            ids.extend(kept.iter().map(|record| record.identity.unique_id));
        }
        let Owner { key, part } = &record.owner;
        let mut fresh = (0..=u32::MAX).map(|generation| UniqueId::derive(house, key, part, generation));
        if let Some(unique_id) = fresh.find(|id| ids.insert(*id)) {
            let identity = Identity { unique_id, ..record.identity.clone() };
            displaced.push(Record { living: false, identity, right: Right::GivesWay, ..record.clone() });
        }
    }
    displaced
}
