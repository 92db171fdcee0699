//! Two ledgers in, a review out: what happened to the endpoint numbers and unique ids, in the words of any review.
//!
//! A ledger knows no clusters or wires, and no names: where nobody tells them, an appliance is called by its key and stands
//! below its bridge.

use super::{Build, Review, review};
use crate::bridge::definition::{
    BridgeDefinition, BridgeRef, DeviceTypeRef, Endpoint, FORMAT, HouseRef, MatterRef, VERSION,
};
use crate::ledger::{EndpointNumber, Identity, Ledger, TOP_PART, UNKNOWN, UniqueId};
use crate::matter;
use crate::sort;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// What is different about two ledgers.
#[derive(Clone, Debug, PartialEq)]
pub struct LedgerReview {
    /// What happened to living appliances.
    pub review: Review,
    /// What cannot be seen on living ones.
    pub forgotten: Forgotten,
}

/// What one ledger remembers, and a later one does not.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Forgotten {
    /// Identities that the old ledger remembers, living or retired, and the new one does not: their numbers could be
    /// given again. By key and part of the appliance, as the old ledger has it.
    pub forgotten: Vec<(String, String, Identity)>,
    /// Retired identities of the old ledger whose numbers another appliance has in the new one, with its key. Of living ones
    /// the review says it.
    pub given_again: Vec<(String, String, Identity, String)>,
}

/// What a house calls what is in its ledger.
#[derive(Clone, Debug, Default)]
pub struct Names<'a> {
    /// The name of the house.
    pub house: Option<&'a str>,
    /// The name of each bridge, by its key.
    pub bridges: FxHashMap<&'a str, &'a str>,
    /// Name, room and floor of each appliance, by its key.
    pub appliances: FxHashMap<&'a str, (&'a str, &'a str, Option<&'a str>)>,
}

/// Names for the identities of two ledgers: an appliance that is still described has the same on both sides.
struct Called<'a> {
    names: &'a Names<'a>,
    /// The keys of those that live in the new ledger.
    keys: FxHashMap<UniqueId, &'a str>,
}

impl<'a> Called<'a> {
    /// The name of a bridge.
    fn bridge<'b>(&self, key: &'b str) -> &'b str
    where
        'a: 'b,
    {
        self.names.bridges.get(key).copied().unwrap_or(key)
    }

    fn of(&self, key: &str, identity: &Identity) -> Option<(&'a str, &'a str, Option<&'a str>)> {
        let now = self.keys.get(&identity.unique_id).copied().unwrap_or(key);
        self.names.appliances.get(now).copied()
    }
}

/// Compares two ledgers, of a house that calls things by these names.
pub fn review_ledgers(old: &Ledger, new: &Ledger, names: &Names<'_>) -> LedgerReview {
    let keys = new.living().map(|(key, _, identity)| (identity.unique_id, key)).collect();
    let called = Called { names, keys };
    let (before, after) = (definitions(old, &called), definitions(new, &called));
    let review = review(&Build::of(&before), &Build::of(&after));
    LedgerReview { review, forgotten: forgotten(old, new) }
}

/// What the new ledger has lost of the old one, as far as the review of living appliances does not show it.
pub fn forgotten(old: &Ledger, new: &Ledger) -> Forgotten {
    let all = || old.living().chain(old.retired());
    let texts: Vec<String> = all().map(|(.., identity)| identity.unique_id.to_string()).collect();
    let endpoints = all()
        .zip(&texts)
        .map(|((.., identity), text)| (&*identity.bridge, identity.number.get(), text.as_str()));
    let unknown: Vec<&str> = new.unknown_of(endpoints).into_iter().map(|(.., text)| text).collect();
    let mut unknown = unknown.into_iter().peekable();
    let held: FxHashMap<(&str, EndpointNumber), &str> = new
        .living()
        .chain(new.retired())
        .map(|(key, _, identity)| ((&*identity.bridge, identity.number), key))
        .collect();
    let lived: FxHashSet<UniqueId> = old.living().map(|(.., identity)| identity.unique_id).collect();
    let (mut forgotten, mut given_again) = (Vec::new(), Vec::new());
    for ((key, part, identity), text) in all().zip(&texts) {
        if unknown.next_if_eq(&text.as_str()).is_none() {
            continue;
        }
        let (key, part) = (key.to_owned(), part.to_owned());
        match held.get(&(&*identity.bridge, identity.number)) {
            None => forgotten.push((key, part, identity.clone())),
            Some(holder)
                if [key.as_str(), UNKNOWN].contains(holder) || lived.contains(&identity.unique_id) => {}
            Some(holder) => given_again.push((key, part, identity.clone(), (*holder).to_owned())),
        }
    }
    Forgotten { forgotten, given_again }
}

/// What a ledger says of each bridge, as a definition without clusters and wires.
fn definitions(ledger: &Ledger, called: &Called<'_>) -> Vec<BridgeDefinition> {
    let types: BTreeMap<u32, &str> = matter::device_type_names()
        .filter_map(|name| matter::device_type(name).map(|known| (known.id, name)))
        .collect();
    let mut bridges: BTreeMap<&str, Vec<Endpoint>> = BTreeMap::new();
    let mut living = ledger.living().peekable();
    while let Some(first) = living.next() {
        let mut parts = vec![first];
        while let Some(part) = living.next_if(|(key, ..)| *key == first.0) {
            parts.push(part);
        }
        // The top part has its usual name; where none has, it was given the first number.
        sort::by_key(&mut parts, |(_, part, identity)| (*part != TOP_PART, identity.number));
        for (at, (appliance, part, identity)) in parts.into_iter().enumerate() {
            let key = if at == 0 { appliance.to_owned() } else { format!("{appliance}/{part}") };
            let mut endpoint = endpoint(key, appliance, identity, &types);
            endpoint.room = format!("Bridge {}", called.bridge(&identity.bridge));
            if let Some((name, room, floor)) = called.of(appliance, identity) {
                (endpoint.node_label, endpoint.room) = (name.to_owned(), room.to_owned());
                endpoint.floor = floor.map(str::to_owned);
            }
            bridges.entry(&identity.bridge).or_default().push(endpoint);
        }
    }
    let heads = bridges.into_iter();
    heads.map(|(key, endpoints)| definition(ledger.house(), key, endpoints, called)).collect()
}

fn definition(house: &str, bridge: &str, endpoints: Vec<Endpoint>, called: &Called<'_>) -> BridgeDefinition {
    let name = called.names.house.unwrap_or(house).to_owned();
    BridgeDefinition {
        format: FORMAT.to_owned(),
        version: VERSION,
        house: HouseRef { id: house.to_owned(), name },
        bridge: BridgeRef { key: bridge.to_owned(), name: called.bridge(bridge).to_owned() },
        matter: MatterRef { specification: String::new(), data_model_revision: 0 },
        endpoints,
    }
}

fn endpoint(key: String, appliance: &str, identity: &Identity, names: &BTreeMap<u32, &str>) -> Endpoint {
    let device_type = |id: &u32| DeviceTypeRef {
        id: *id,
        name: names.get(id).map_or_else(|| format!("0x{id:04x}"), |name| (*name).to_owned()),
        revision: 0,
    };
    Endpoint {
        number: identity.number.get(),
        parent: 1,
        node_label: appliance.to_owned(),
        key,
        unique_id: identity.unique_id.to_string(),
        room: String::new(),
        floor: None,
        device_types: identity.device_types.ids().iter().map(device_type).collect(),
        clusters: Vec::new(),
        links: Vec::new(),
    }
}
