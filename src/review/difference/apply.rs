//! Applies a review: old definitions and every difference in, new definitions out.

use super::{BridgeField, ClusterField, Difference, EndpointField, LinkField, What};
use crate::bridge::definition::{BridgeDefinition, Cluster, Endpoint, Link};
use crate::review::change::Review;
use crate::sort;
use rustc_hash::{FxHashMap, FxHashSet};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value as Json};
use std::hash::Hash;

/// Why a review cannot be applied: the definitions are not those it was made from.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ApplyError {
    /// A bridge is missing, or there although the review adds it.
    #[error("the bridge `{bridge}` is not as the review's old build has it")]
    Bridge {
        /// Its key.
        bridge: String,
    },
    /// An endpoint is missing, or there although the review adds it.
    #[error("endpoint {number} of the bridge `{bridge}` is not as the review's old build has it")]
    Endpoint {
        /// Key of the bridge.
        bridge: String,
        /// Number of the endpoint.
        number: u16,
    },
    /// A part of an endpoint is not what the review says it was.
    #[error("endpoint {number} of the bridge `{bridge}`: {what} is not as the review's old build has it")]
    Part {
        /// Key of the bridge.
        bridge: String,
        /// Number of the endpoint.
        number: u16,
        /// Which part.
        what: String,
    },
}

/// What is not as it was, before it is known where.
type Unlike = String;

/// Applies a review to the definitions that it was made from.
///
/// The result is the [`same`](super::same) as the new definitions, with bridges in the order of their keys and
/// endpoints in that of their numbers.
///
/// # Errors
/// If the definitions are not the old ones of the review.
pub fn apply(review: &Review, old: &[BridgeDefinition]) -> Result<Vec<BridgeDefinition>, ApplyError> {
    let mut sheets: FxHashMap<&str, Vec<&Difference>> = FxHashMap::default();
    for difference in review.changes.iter().flat_map(|change| &change.differences) {
        sheets.entry(&difference.bridge).or_default().push(difference);
    }
    let mut bridges = Vec::new();
    for bridge in old {
        match sheets.remove(bridge.bridge.key.as_str()) {
            None => bridges.push(sorted(bridge.clone())),
            Some(differences) => bridges.extend(apply_to_bridge(bridge.clone(), &differences)?),
        }
    }
    let mut rest: Vec<_> = sheets.into_iter().collect();
    rest.sort_unstable_by_key(|(key, _)| *key);
    for (key, differences) in rest {
        let added = differences.iter().find_map(|difference| match &difference.what {
            What::BridgeAdded { definition } => Some(definition.as_ref().clone()),
            _ => None,
        });
        let bridge = added.ok_or_else(|| ApplyError::Bridge { bridge: key.to_owned() })?;
        bridges.extend(apply_to_bridge(bridge, &differences)?);
    }
    sort::by(&mut bridges, |a, b| a.bridge.key.cmp(&b.bridge.key));
    Ok(bridges)
}

fn sorted(mut bridge: BridgeDefinition) -> BridgeDefinition {
    sort::by_key(&mut bridge.endpoints, |endpoint| endpoint.number);
    bridge
}

/// `None` if the bridge is gone.
fn apply_to_bridge(
    mut bridge: BridgeDefinition,
    differences: &[&Difference],
) -> Result<Option<BridgeDefinition>, ApplyError> {
    let key = bridge.bridge.key.clone();
    let mut inside: FxHashMap<u16, Vec<&What>> = FxHashMap::default();
    let (mut gone, mut added, mut removed_bridge) = (FxHashMap::default(), Vec::new(), false);
    for difference in differences {
        match (&difference.what, difference.endpoint) {
            (What::BridgeAdded { .. }, _) => {}
            (What::BridgeRemoved { .. }, _) => removed_bridge = true,
            (What::BridgeField { field, before, after }, _) => {
                set_bridge_field(&mut bridge, *field, before, after)
                    .map_err(|_| ApplyError::Bridge { bridge: key.clone() })?;
            }
            (What::EndpointRemoved { endpoint }, _) => {
                gone.insert(endpoint.number, endpoint.as_ref());
            }
            (What::EndpointAdded { endpoint }, _) => added.push(endpoint.endpoint()),
            (what, Some(number)) => inside.entry(number).or_default().push(what),
            (_, None) => return Err(ApplyError::Bridge { bridge: key }),
        }
    }
    let mut kept = Vec::with_capacity(bridge.endpoints.len() + added.len());
    for mut endpoint in std::mem::take(&mut bridge.endpoints) {
        let number = endpoint.number;
        match gone.remove(&number) {
            Some(was) if was.endpoint() == endpoint => continue,
            Some(_) => return Err(ApplyError::Endpoint { bridge: key, number }),
            None => {}
        }
        if let Some(whats) = inside.remove(&number) {
            let part = |what| ApplyError::Part { bridge: key.clone(), number, what };
            apply_to_endpoint(&mut endpoint, &whats).map_err(part)?;
        }
        kept.push(endpoint);
    }
    if let Some(number) = gone.keys().chain(inside.keys()).min() {
        return Err(ApplyError::Endpoint { bridge: key, number: *number });
    }
    let numbers: FxHashSet<u16> = kept.iter().map(|endpoint| endpoint.number).collect();
    if let Some(twice) = added.iter().find(|endpoint| numbers.contains(&endpoint.number)) {
        return Err(ApplyError::Endpoint { bridge: key, number: twice.number });
    }
    bridge.endpoints = kept;
    bridge.endpoints.append(&mut added);
    if removed_bridge && !bridge.endpoints.is_empty() {
        return Err(ApplyError::Bridge { bridge: key });
    }
    Ok((!removed_bridge).then(|| sorted(bridge)))
}

fn set_bridge_field(
    bridge: &mut BridgeDefinition,
    field: BridgeField,
    before: &Json,
    after: &Json,
) -> Result<(), Unlike> {
    match field {
        BridgeField::HouseId => set(&mut bridge.house.id, before, after),
        BridgeField::HouseName => set(&mut bridge.house.name, before, after),
        BridgeField::BridgeName => set(&mut bridge.bridge.name, before, after),
        BridgeField::Specification => set(&mut bridge.matter.specification, before, after),
        BridgeField::DataModelRevision => set(&mut bridge.matter.data_model_revision, before, after),
    }
}

/// Gives a field its new value, if it has its old one.
fn set<T: DeserializeOwned + PartialEq>(field: &mut T, before: &Json, after: &Json) -> Result<(), Unlike> {
    let read = |value: &Json| serde_json::from_value::<T>(value.clone()).map_err(|error| error.to_string());
    if read(before)? != *field {
        return Err("a field".to_owned());
    }
    *field = read(after)?;
    Ok(())
}

fn apply_to_endpoint(endpoint: &mut Endpoint, whats: &[&What]) -> Result<(), Unlike> {
    let mut device_types = Edits::default();
    let mut clusters = Edits::default();
    let mut inside: FxHashMap<u32, Vec<&What>> = FxHashMap::default();
    let mut links = Vec::new();
    for what in whats {
        match what {
            What::EndpointField { field, before, after } => set_field(endpoint, *field, before, after)?,
            What::DeviceType { id, before, after, at } => {
                device_types.note(*id, before.as_ref(), after.as_ref(), *at)
            }
            What::Cluster { id, before, after, at } => {
                clusters.note(*id, before.as_deref(), after.as_deref(), *at);
            }
            What::ClusterField { cluster, .. }
            | What::Feature { cluster, .. }
            | What::Command { cluster, .. }
            | What::Attribute { cluster, .. } => inside.entry(*cluster).or_default().push(what),
            What::LinkAdded { .. }
            | What::LinkRemoved { .. }
            | What::LinkField { .. }
            | What::LinkOrder { .. } => {
                links.push(*what);
            }
            What::BridgeAdded { .. }
            | What::BridgeRemoved { .. }
            | What::BridgeField { .. }
            | What::EndpointAdded { .. }
            | What::EndpointRemoved { .. } => return Err("the endpoint".to_owned()),
        }
    }
    device_types.make(&mut endpoint.device_types, |one| one.id, "a device type")?;
    for cluster in &mut endpoint.clusters {
        if let Some(whats) = inside.remove(&cluster.id) {
            apply_to_cluster(cluster, &whats)?;
        }
    }
    if !inside.is_empty() {
        return Err("a cluster".to_owned());
    }
    clusters.make(&mut endpoint.clusters, |one| one.id, "a cluster")?;
    if links.is_empty() { Ok(()) } else { apply_to_links(&mut endpoint.links, &links) }
}

fn set_field(
    endpoint: &mut Endpoint,
    field: EndpointField,
    before: &Json,
    after: &Json,
) -> Result<(), Unlike> {
    match field {
        EndpointField::Parent => set(&mut endpoint.parent, before, after),
        EndpointField::Key => set(&mut endpoint.key, before, after),
        EndpointField::UniqueId => set(&mut endpoint.unique_id, before, after),
        EndpointField::NodeLabel => set(&mut endpoint.node_label, before, after),
        EndpointField::Room => set(&mut endpoint.room, before, after),
        EndpointField::Floor => set(&mut endpoint.floor, before, after),
    }
}

/// What happens to the entries of a list.
struct Edits<'a, K, T> {
    /// By key: what was there, and what it becomes (`None`: it goes).
    changed: FxHashMap<K, (&'a T, Option<&'a T>)>,
    /// What comes, with its position.
    added: Vec<(u32, &'a T)>,
}

impl<K, T> Default for Edits<'_, K, T> {
    fn default() -> Self {
        Self { changed: FxHashMap::default(), added: Vec::new() }
    }
}

impl<'a, K: Eq + Hash, T: Clone + PartialEq> Edits<'a, K, T> {
    fn note(&mut self, key: K, before: Option<&'a T>, after: Option<&'a T>, at: Option<u32>) {
        match (before, after) {
            (Some(before), after) => {
                self.changed.insert(key, (before, after));
            }
            (None, Some(after)) => self.added.push((at.unwrap_or(u32::MAX), after)),
            (None, None) => {}
        }
    }

    fn make(mut self, list: &mut Vec<T>, key: impl Fn(&T) -> K, what: &str) -> Result<(), Unlike> {
        if self.changed.is_empty() && self.added.is_empty() {
            return Ok(());
        }
        let mut kept = Vec::with_capacity(list.len());
        for entry in std::mem::take(list) {
            match self.changed.remove(&key(&entry)) {
                None => kept.push(entry),
                Some((before, _)) if *before != entry => return Err(what.to_owned()),
                Some((_, after)) => kept.extend(after.cloned()),
            }
        }
        if !self.changed.is_empty() {
            return Err(what.to_owned());
        }
        *list = insert(kept, self.added.into_iter().map(|(at, entry)| (at, entry.clone())).collect());
        Ok(())
    }
}

/// Puts each new entry at its position in the finished list, or at the end if the list is shorter.
fn insert<T>(kept: Vec<T>, mut added: Vec<(u32, T)>) -> Vec<T> {
    sort::by_key(&mut added, |(at, _)| *at);
    let mut list = Vec::with_capacity(kept.len() + added.len());
    let mut added = added.into_iter().peekable();
    for entry in kept {
        while let Some((_, new)) = added.next_if(|(at, _)| *at as usize <= list.len()) {
            list.push(new);
        }
        list.push(entry);
    }
    list.extend(added.map(|(_, new)| new));
    list
}

fn apply_to_cluster(cluster: &mut Cluster, whats: &[&What]) -> Result<(), Unlike> {
    let mut features = Edits::default();
    let mut commands = Edits::default();
    let mut attributes = Vec::new();
    for what in whats {
        match what {
            What::ClusterField { field: ClusterField::Name, before, after, .. } => {
                set(&mut cluster.name, before, after)?;
            }
            What::ClusterField { field: ClusterField::Revision, before, after, .. } => {
                set(&mut cluster.revision, before, after)?;
            }
            What::Feature { code, at, .. } => note_name(&mut features, code, *at),
            What::Command { command, at, .. } => note_name(&mut commands, command, *at),
            What::Attribute { attribute, before, after, at, .. } => {
                attributes.push((attribute, before, after, *at));
            }
            _ => {}
        }
    }
    features.make(&mut cluster.features, Clone::clone, "a feature")?;
    commands.make(&mut cluster.commands, Clone::clone, "a command")?;
    set_attributes(&mut cluster.attributes, attributes)
}

fn note_name<'a>(edits: &mut Edits<'a, String, String>, name: &'a String, at: Option<u32>) {
    match at {
        Some(_) => edits.note(name.clone(), None, Some(name), at),
        None => edits.note(name.clone(), Some(name), None, None),
    }
}

type AttributeEdit<'a> = (&'a String, &'a Option<Json>, &'a Option<Json>, Option<u32>);

fn set_attributes(attributes: &mut Map<String, Json>, edits: Vec<AttributeEdit>) -> Result<(), Unlike> {
    let (mut changed, mut added) = (FxHashMap::default(), Vec::new());
    for (name, before, after, at) in edits {
        match (before, after) {
            (Some(before), after) => {
                changed.insert(name.clone(), (before, after));
            }
            (None, Some(after)) => added.push((at.unwrap_or(u32::MAX), (name.clone(), after.clone()))),
            (None, None) => {}
        }
    }
    let mut kept = Vec::with_capacity(attributes.len());
    for (name, value) in std::mem::take(attributes) {
        match changed.remove(&name) {
            None => kept.push((name, value)),
            Some((before, _)) if *before != value => return Err(format!("the attribute `{name}`")),
            Some((_, after)) => kept.extend(after.clone().map(|after| (name, after))),
        }
    }
    if !changed.is_empty() {
        return Err("an attribute".to_owned());
    }
    *attributes = insert(kept, added).into_iter().collect();
    Ok(())
}

fn apply_to_links(links: &mut Vec<Link>, whats: &[&What]) -> Result<(), Unlike> {
    let mut kept: Vec<Option<Link>> = std::mem::take(links).into_iter().map(Some).collect();
    let (mut added, mut order) = (Vec::new(), None);
    let unlike = || "a link".to_owned();
    for what in whats {
        match what {
            What::LinkField { index, field, before, after, .. } => {
                let link = kept.get_mut(*index as usize).and_then(Option::as_mut).ok_or_else(unlike)?;
                set_link_field(link, *field, before, after)?;
            }
            What::LinkRemoved { index, link } => {
                let was = kept.get_mut(*index as usize).and_then(Option::take);
                if was.as_ref() != Some(link.as_ref()) {
                    return Err(unlike());
                }
            }
            What::LinkAdded { at, link } => added.push((*at, link.as_ref().clone())),
            What::LinkOrder { order: wanted } => order = Some(wanted),
            _ => {}
        }
    }
    let stay: Vec<Link> = match order {
        None => kept.into_iter().flatten().collect(),
        Some(order) => {
            let moved: Vec<Link> = order
                .iter()
                .filter_map(|index| kept.get_mut(*index as usize).and_then(Option::take))
                .collect();
            if kept.iter().any(Option::is_some) || moved.len() != order.len() {
                return Err(unlike());
            }
            moved
        }
    };
    *links = insert(stay, added);
    Ok(())
}

fn set_link_field(link: &mut Link, field: LinkField, before: &Json, after: &Json) -> Result<(), Unlike> {
    match field {
        LinkField::Point => set(&mut link.point, before, after),
        LinkField::Bus => set(&mut link.bus, before, after),
        LinkField::Group => set(&mut link.group, before, after),
        LinkField::Dpt => set(&mut link.dpt, before, after),
        LinkField::Read => set(&mut link.read, before, after),
        LinkField::Shown => set(&mut link.shown, before, after),
        LinkField::Joint => set(&mut link.joint, before, after),
        LinkField::Timing => set(&mut link.timing, before, after),
        LinkField::Conversion => set(&mut link.conversion, before, after),
    }
}
