//! Which endpoint is which, by the ledger's identity: endpoint number and unique id, then unique id, then key.

use crate::review::build::Bridge;
use crate::review::outline::Outline;
use crate::sort;
use rustc_hash::FxHashMap;
use std::hash::Hash;
use std::sync::Arc;

/// An endpoint and the key of its bridge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot<'a> {
    pub(super) bridge: &'a str,
    pub(super) endpoint: &'a Arc<Outline>,
}

/// Two endpoints that are the same one, in the same place, and may differ.
pub(super) struct Stayed<'a> {
    pub(super) bridge: &'a str,
    pub(super) old: &'a Arc<Outline>,
    pub(super) new: &'a Arc<Outline>,
    /// Whether their links differ, once they were compared.
    pub(super) other_links: bool,
}

/// Every endpoint that may differ, in pairs as far as the ledger or the key says so.
#[derive(Default)]
pub(super) struct Pairs<'a> {
    /// Same bridge and number.
    pub(super) stayed: Vec<Stayed<'a>>,
    /// The same appliance by unique id or key, with another number or behind another bridge.
    pub(super) moved: Vec<(Spot<'a>, Spot<'a>)>,
    /// Old endpoints without a new one.
    pub(super) gone: Vec<Spot<'a>>,
    /// New endpoints without an old one.
    pub(super) came: Vec<Spot<'a>>,
}

/// The key of the appliance that an endpoint belongs to.
pub(super) fn appliance_key(key: &str) -> &str {
    key.split_once('/').map_or(key, |(appliance, _)| appliance)
}

/// Which part of its appliance an endpoint is; empty for the first.
pub(super) fn part(key: &str) -> &str {
    key.split_once('/').map_or("", |(_, part)| part)
}

/// Pairs the endpoints of two sides, whose bridges are sorted by key.
pub(super) fn pair<'a>(old: &[&'a Bridge], new: &[&'a Bridge]) -> Pairs<'a> {
    let mut pairs = Pairs::default();
    let mut later = new.iter().peekable();
    for before in old {
        while let Some(added) = later.next_if(|bridge| bridge.key() < before.key()) {
            pairs.came.extend(spots(added));
        }
        match later.next_if(|bridge| bridge.key() == before.key()) {
            None => pairs.gone.extend(spots(before)),
            Some(after) => pairs.by_number(before, after),
        }
    }
    pairs.came.extend(later.flat_map(|added| spots(added)));
    pairs.by(|endpoint| (endpoint.unique_id.as_str(), part(&endpoint.key)));
    pairs.by(|endpoint| endpoint.key.as_str());
    pairs
}

/// The endpoints of a bridge, by number.
fn spots(bridge: &Bridge) -> Vec<Spot<'_>> {
    let mut spots: Vec<Spot> =
        bridge.endpoints.iter().map(|endpoint| Spot { bridge: bridge.key(), endpoint }).collect();
    sort::by_key(&mut spots, |spot| spot.endpoint.number);
    spots
}

impl<'a> Pairs<'a> {
    /// Pairs the endpoints of one bridge that kept their number and are still the same appliance.
    fn by_number(&mut self, old: &'a Bridge, new: &'a Bridge) {
        let mut new = spots(new).into_iter().peekable();
        for before in spots(old) {
            let number = before.endpoint.number;
            while let Some(added) = new.next_if(|spot| spot.endpoint.number < number) {
                self.came.push(added);
            }
            match new.next_if(|spot| spot.endpoint.number == number) {
                None => self.gone.push(before),
                Some(after) if before.endpoint.unique_id == after.endpoint.unique_id => {
                    self.put(before, after);
                }
                Some(after) => {
                    self.gone.push(before);
                    self.came.push(after);
                }
            }
        }
        self.came.extend(new);
    }

    /// Pairs endpoints that are still alone and have the same name in some sense.
    fn by<K: Eq + Hash>(&mut self, name: impl Fn(&'a Outline) -> K) {
        if self.gone.is_empty() || self.came.is_empty() {
            return;
        }
        let mut waiting: FxHashMap<K, Vec<Spot<'a>>> = FxHashMap::default();
        // From the back, so that the lowest number is taken first.
        for spot in self.gone.iter().rev() {
            waiting.entry(name(spot.endpoint)).or_default().push(*spot);
        }
        let mut taken = rustc_hash::FxHashSet::default();
        let mut alone = Vec::new();
        for after in std::mem::take(&mut self.came) {
            match waiting.get_mut(&name(after.endpoint)).and_then(Vec::pop) {
                None => alone.push(after),
                Some(before) => {
                    taken.insert((before.bridge, before.endpoint.number));
                    self.put(before, after);
                }
            }
        }
        self.came = alone;
        self.gone.retain(|spot| !taken.contains(&(spot.bridge, spot.endpoint.number)));
    }

    fn put(&mut self, before: Spot<'a>, after: Spot<'a>) {
        if before.bridge == after.bridge && before.endpoint.number == after.endpoint.number {
            let (bridge, old, new) = (after.bridge, before.endpoint, after.endpoint);
            self.stayed.push(Stayed { bridge, old, new, other_links: false });
        } else {
            self.moved.push((before, after));
        }
    }
}
