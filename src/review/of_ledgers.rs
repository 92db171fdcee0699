//! Two ledgers in, a review out: what happened to the endpoint numbers and unique ids, in the words of any review.
//!
//! A ledger knows no names, clusters or wires, so an appliance is called by its key and stands below its bridge.

use super::{Build, Review, review};
use crate::bridge::definition::{
    BridgeDefinition, BridgeRef, DeviceTypeRef, Endpoint, FORMAT, HouseRef, MatterRef, VERSION,
};
use crate::ledger::{EndpointNumber, Identity, Ledger, TOP_PART, UniqueId};
use crate::matter;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;

/// What is different about two ledgers.
#[derive(Clone, Debug, PartialEq)]
pub struct LedgerReview {
    /// What happened to living appliances.
    pub review: Review,
    /// Identities that the old ledger remembers, living or retired, and the new one does not: their numbers could be
    /// given again. By key and part of the appliance, as the old ledger has it.
    pub forgotten: Vec<(String, String, Identity)>,
    /// Retired identities of the old ledger whose numbers another appliance has in the new one, with its key. Of living ones
    /// the review says it.
    pub given_again: Vec<(String, String, Identity, String)>,
}

/// Compares two ledgers.
pub fn review_ledgers(old: &Ledger, new: &Ledger) -> LedgerReview {
    let (before, after) = (definitions(old), definitions(new));
    let review = review(&Build::of(&before), &Build::of(&after));
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
            Some(_) if lived.contains(&identity.unique_id) => {}
            Some(holder) => given_again.push((key, part, identity.clone(), (*holder).to_owned())),
        }
    }
    LedgerReview { review, forgotten, given_again }
}

/// What a ledger says of each bridge, as a definition without clusters and wires.
fn definitions(ledger: &Ledger) -> Vec<BridgeDefinition> {
    let names: BTreeMap<u32, &str> = matter::device_type_names()
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
        parts.sort_by_key(|(_, part, identity)| (*part != TOP_PART, identity.number));
        for (at, (appliance, part, identity)) in parts.into_iter().enumerate() {
            let key = if at == 0 { appliance.to_owned() } else { format!("{appliance}/{part}") };
            bridges.entry(&identity.bridge).or_default().push(endpoint(key, appliance, identity, &names));
        }
    }
    bridges.into_iter().map(|(key, endpoints)| definition(ledger.house(), key, endpoints)).collect()
}

fn definition(house: &str, bridge: &str, endpoints: Vec<Endpoint>) -> BridgeDefinition {
    BridgeDefinition {
        format: FORMAT.to_owned(),
        version: VERSION,
        house: HouseRef { id: house.to_owned(), name: house.to_owned() },
        bridge: BridgeRef { key: bridge.to_owned(), name: bridge.to_owned() },
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
        room: format!("Bridge {}", identity.bridge),
        floor: None,
        device_types: identity.device_types.ids().iter().map(device_type).collect(),
        clusters: Vec::new(),
        links: Vec::new(),
    }
}
