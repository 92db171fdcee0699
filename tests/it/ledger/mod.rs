//! Laws of the ledger: what is given, what is never given again, and what two branches make of it.

#![allow(clippy::indexing_slicing, reason = "a test may fail where the program may not")]

mod command;
mod format;
mod git;
mod going_back;
mod history;
mod merging;
mod naming;
mod taking_back;
mod three_way;

use housewright::ledger::{Allocation, Applicant, DeviceTypes, Identity, Ledger, Owner, Part, allocate};
use housewright::ledger::{Problem, read};
use housewright::source::{FileId, Limits, parse};
use std::collections::BTreeMap;

/// An appliance of the tests.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Appliance {
    bridge: &'static str,
    formerly: Option<String>,
    /// Name and device types of each part.
    parts: Vec<(&'static str, Vec<u32>)>,
}

/// The appliances of a house, by key.
type House = BTreeMap<String, Appliance>;

/// One part called `light`.
fn lamp(bridge: &'static str) -> Appliance {
    Appliance { bridge, formerly: None, parts: vec![("light", vec![0x0100])] }
}

/// A house of lamps on the bridge `wharf`.
fn lamps<'a>(keys: impl IntoIterator<Item = &'a str>) -> House {
    keys.into_iter().map(|key| (key.to_owned(), lamp("wharf"))).collect()
}

fn applicants(house: &House) -> Vec<Applicant<'_>> {
    house
        .iter()
        .map(|(key, appliance)| Applicant {
            key,
            bridge: appliance.bridge,
            formerly: appliance.formerly.as_deref(),
            parts: appliance
                .parts
                .iter()
                .map(|(name, types)| Part { name, device_types: DeviceTypes::new(types.iter().copied()) })
                .collect(),
        })
        .collect()
}

/// Whether an identity is one that the appliance with this key is described to have.
fn fits(house: &House, owner: &Owner, identity: &Identity) -> bool {
    let of = |(_, types): &(&str, Vec<u32>)| DeviceTypes::new(types.iter().copied());
    let renamed = || house.values().find(|it| it.formerly.as_ref() == Some(&owner.key));
    house.get(&owner.key).or_else(renamed).is_some_and(|appliance| {
        *appliance.bridge == *identity.bridge
            && appliance.parts.iter().any(|part| of(part) == identity.device_types)
    })
}

fn build(ledger: &Ledger, house: &House) -> Allocation {
    allocate(ledger, &applicants(house)).expect("houses of tests are small")
}

/// Reads a ledger that must be sound.
fn sound(text: &str) -> Ledger {
    match whole(text) {
        (Some(ledger), problems) if problems.is_empty() => ledger,
        (_, problems) => panic!("{problems:?} in\n{text}"),
    }
}

fn whole(text: &str) -> (Option<Ledger>, Vec<Problem>) {
    let (tree, syntax) = parse(text, FileId(0), &Limits::default());
    let (ledger, problems) = read(text, FileId(0), tree.as_ref(), None);
    assert!(tree.is_some() || problems.iter().any(|it| matches!(it, Problem::Unmerged { .. })), "{syntax:?}");
    (ledger, problems)
}

/// Key, part, bridge and number of all living identities.
fn numbers(ledger: &Ledger) -> Vec<String> {
    ledger.living().map(|(key, part, it)| format!("{key}/{part} {} {}", it.bridge, it.number)).collect()
}
