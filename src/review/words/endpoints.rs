//! The whole endpoints that a change takes away and brings: where they were and are, and what else is different.

use super::cautions::cautions;
use super::reversal::reversed;
use super::together::phrases;
use super::{capital, device_types, list};
use crate::classes::Direction;
use crate::review::change::{Change, Kind, Member, Side};
use crate::review::difference::{Difference, What, application_types, inside_differences};
use crate::review::outline::Outline;
use rustc_hash::FxHashSet;
use std::collections::BTreeMap;

/// The whole endpoints that a change takes away and brings, with their bridges.
pub(super) struct Endpoints<'c> {
    pub(super) old: Vec<(&'c str, &'c Outline)>,
    pub(super) new: Vec<(&'c str, &'c Outline)>,
}

impl<'c> Endpoints<'c> {
    pub(super) fn of(differences: &'c [Difference]) -> Self {
        let (mut old, mut new) = (Vec::new(), Vec::new());
        for difference in differences {
            match &difference.what {
                What::EndpointRemoved { endpoint } => {
                    old.push((difference.bridge.as_str(), endpoint.as_ref()))
                }
                What::EndpointAdded { endpoint } => new.push((difference.bridge.as_str(), endpoint.as_ref())),
                _ => {}
            }
        }
        Self { old, new }
    }

    pub(super) fn details(&self, side: Side) -> Vec<String> {
        let (verb, endpoints) = match side {
            Side::Old => ("Was", &self.old),
            Side::New | Side::Both => ("Is", &self.new),
        };
        let detail = |(_, endpoint): &(&str, &Outline)| {
            format!("{verb} endpoint {}, {}{}", endpoint.number, types(endpoint), wires(endpoint))
        };
        endpoints.iter().map(detail).collect()
    }

    /// What is new of it, with what can hurt somebody about it.
    pub(super) fn new_details(&self) -> Vec<String> {
        let mut details = self.details(Side::New);
        details.extend(self.cautions());
        details
    }

    /// What can hurt somebody about what came.
    pub(super) fn cautions(&self) -> Vec<String> {
        Self::main(&self.new).map_or_else(Vec::new, |(_, endpoint)| cautions(endpoint))
    }

    /// The part that gives an appliance its name.
    pub(super) fn main<'e>(all: &'e [(&'c str, &'c Outline)]) -> Option<&'e (&'c str, &'c Outline)> {
        all.iter().find(|(_, one)| !one.key.contains('/')).or(all.first())
    }

    /// The name of an appliance that was replaced, with the one that the family knows if that is another.
    pub(super) fn named(&self, member: &Member) -> String {
        match Self::main(&self.old).filter(|(_, old)| !old.key.contains('/')) {
            Some((_, old)) if old.node_label != member.label => {
                format!("{} (until now {})", member.label, old.node_label)
            }
            _ => member.label.clone(),
        }
    }

    /// Which device types it has instead of which, if they are others.
    pub(super) fn classes(&self) -> Option<String> {
        let ((_, old), (_, new)) = (Self::main(&self.old)?, Self::main(&self.new)?);
        let types = |one: &Outline| application_types(one.device_types());
        (types(old) != types(new)).then(|| format!("{} instead of {}", self::types(new), self::types(old)))
    }

    /// What is different about it beside its place, and would be with the place it had: told as it is of one that stays.
    pub(super) fn otherwise(&self, change: &Change) -> Vec<String> {
        let part = |one: &Outline| one.key.split_once('/').map_or(String::new(), |(_, part)| part.to_owned());
        let mut kinds: BTreeMap<Kind, Vec<Difference>> = BTreeMap::new();
        for (bridge, new) in &self.new {
            let Some((_, old)) = self.old.iter().find(|(_, old)| part(old) == part(new)) else { continue };
            if old.is_alike(new) {
                continue;
            }
            for (kind, what) in
                inside_differences(old, new).into_iter().filter(|(_, what)| !is_of_numbers(what))
            {
                let difference =
                    Difference { bridge: (*bridge).to_owned(), endpoint: Some(new.number), what };
                kinds.entry(kind).or_default().push(difference);
            }
        }
        let told = |(kind, differences)| {
            let change = Change { kind, differences, remedy: None, agreed: None, ..change.clone() };
            if kind == Kind::Reversed { reversed("", &change).lines() } else { phrases(&change) }
        };
        let told = kinds.into_iter().flat_map(told);
        told.map(|phrase| capital(phrase.trim())).collect()
    }

    /// Whether a difference is a further part that was replaced, and is told as what it was and is.
    pub(super) fn is_replaced(&self, difference: &Difference) -> bool {
        let part = |one: &Outline| one.key.split_once('/').map(|(_, part)| part.to_owned());
        let has = |all: &[(&str, &Outline)], of: &Outline| all.iter().any(|(_, one)| part(one) == part(of));
        match &difference.what {
            What::EndpointRemoved { endpoint } => has(&self.new, endpoint),
            What::EndpointAdded { endpoint } => has(&self.old, endpoint),
            _ => false,
        }
    }

    /// From which room to which one, where it is another; with the floors, where those are others.
    fn rooms(&self) -> Option<String> {
        let ((_, old), (_, new)) = (Self::main(&self.old)?, Self::main(&self.new)?);
        let is_same_floor = old.floor == new.floor;
        let place = |one: &Outline| match &one.floor {
            Some(floor) if !is_same_floor => format!("{} on the floor {floor}", one.room),
            _ => one.room.clone(),
        };
        (old.room != new.room || !is_same_floor)
            .then(|| format!("Was in {}, and is in {}", place(old), place(new)))
    }

    pub(super) fn both(&self) -> Vec<String> {
        let mut details: Vec<String> = self.rooms().into_iter().collect();
        details.extend(self.details(Side::Old));
        details.extend(self.details(Side::New));
        details
    }
}

/// Whether an attribute is another one because endpoints have other numbers.
fn is_of_numbers(what: &What) -> bool {
    match what {
        What::Attribute { attribute, .. } => {
            matches!(attribute.as_str(), "AvailableEndpoints" | "EndpointList")
        }
        _ => false,
    }
}

/// Where an endpoint sends to and learns from, to stand behind what it is; each address once, in the order of its links.
fn wires(endpoint: &Outline) -> String {
    let of = |way: Direction| -> Vec<&str> {
        let mut seen = FxHashSet::default();
        let groups = endpoint.uses().iter().filter(|one| one.direction == way).map(|one| &*one.group);
        groups.filter(|group| seen.insert(*group)).collect()
    };
    let told = |verb: &str, groups: &[&str]| (!groups.is_empty()).then(|| format!("{verb} {}", list(groups)));
    let ways = [told("sending to", &of(Direction::ToBus)), told("learning from", &of(Direction::FromBus))];
    let ways: Vec<String> = ways.into_iter().flatten().collect();
    if ways.is_empty() { String::new() } else { format!(", {}", ways.join(", ")) }
}

/// The device type of everything behind a bridge.
const BRIDGED_NODE: u32 = 0x0013;

/// The application device types of an endpoint, or all if it has only others: "a dimmable light
/// (`DimmableLight`)", without the marks.
pub(super) fn types(endpoint: &Outline) -> String {
    let ids = application_types(endpoint.device_types());
    let mut names: Vec<String> = Vec::new();
    let counts = |id: u32| if ids.is_empty() { id != BRIDGED_NODE } else { ids.contains(&id) };
    for one in endpoint.device_types().iter().filter(|one| counts(one.id)) {
        names.push(device_types::told(&one.name));
    }
    if names.is_empty() {
        return "without a device type".to_owned();
    }
    list(&names.iter().map(String::as_str).collect::<Vec<_>>())
}
