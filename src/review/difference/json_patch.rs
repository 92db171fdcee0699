//! A review as a JSON patch (RFC 6902), for programs that know nothing of reviews.

use super::apply::{ApplyError, apply};
use super::{BridgeField, ClusterField, Difference, EndpointField, LinkField, What};
use crate::bridge::definition::{BridgeDefinition, Cluster, Endpoint};
use crate::review::change::Review;
use crate::sort;
use rustc_hash::FxHashMap;
use serde_json::{Value as Json, json};
use std::collections::BTreeSet;
use std::fmt::Display;
use std::hash::Hash;

/// The review as a JSON patch of the document `{"BRIDGE": bridge JSON, …}` that holds every bridge under its key.
///
/// The operations depend on each other and must be applied in order, all or none. Source: RFC 6902, RFC 6901.
///
/// # Errors
/// If the definitions are not the old ones of the review.
pub fn json_patch(review: &Review, old: &[BridgeDefinition]) -> Result<Json, ApplyError> {
    let new = apply(review, old)?;
    let new: FxHashMap<&str, &BridgeDefinition> =
        new.iter().map(|one| (one.bridge.key.as_str(), one)).collect();
    let mut sheets: FxHashMap<&str, Vec<&Difference>> = FxHashMap::default();
    for difference in review.changes.iter().flat_map(|change| &change.differences) {
        sheets.entry(&difference.bridge).or_default().push(difference);
    }
    let mut patch = Patch { operations: Vec::new() };
    for bridge in old {
        let key = bridge.bridge.key.as_str();
        let Some(differences) = sheets.remove(key) else { continue };
        match new.get(key) {
            None => patch.remove(&pointer(&[key])),
            Some(after) => patch.bridge(&pointer(&[key]), &differences, bridge, after),
        }
    }
    for key in sheets.keys().collect::<BTreeSet<_>>() {
        if let Some(added) = new.get(key) {
            patch.add(&pointer(&[key]), json!(added));
        }
    }
    Ok(Json::Array(patch.operations))
}

/// A JSON pointer of these keys (RFC 6901).
fn pointer(keys: &[&str]) -> String {
    keys.iter().map(|key| format!("/{}", key.replace('~', "~0").replace('/', "~1"))).collect()
}

struct Patch {
    operations: Vec<Json>,
}

impl Patch {
    fn add(&mut self, path: &str, value: Json) {
        self.operations.push(json!({"op": "add", "path": path, "value": value}));
    }

    fn remove(&mut self, path: &str) {
        self.operations.push(json!({"op": "remove", "path": path}));
    }

    fn replace(&mut self, path: &str, value: &Json) {
        self.operations.push(json!({"op": "replace", "path": path, "value": value}));
    }

    /// A value that may be absent on either side.
    fn set(&mut self, path: &str, before: &Json, after: &Json) {
        match (before.is_null(), after.is_null()) {
            (true, _) => self.add(path, after.clone()),
            (false, true) => self.remove(path),
            (false, false) => self.replace(path, after),
        }
    }

    /// Removes entries of a list by their old positions.
    fn remove_entries(&mut self, path: &str, mut positions: Vec<usize>) {
        positions.sort_unstable();
        for position in positions.iter().rev() {
            self.remove(&format!("{path}/{position}"));
        }
    }

    /// Adds entries at their new positions to a list that has `length` entries now.
    fn add_entries(&mut self, path: &str, mut length: usize, mut entries: Vec<(usize, Json)>) {
        sort::by_key(&mut entries, |(at, _)| *at);
        for (at, entry) in entries {
            self.add(&format!("{path}/{}", at.min(length)), entry);
            length += 1;
        }
    }

    fn bridge(
        &mut self,
        path: &str,
        differences: &[&Difference],
        old: &BridgeDefinition,
        new: &BridgeDefinition,
    ) {
        let position = positions(&old.endpoints, |endpoint| endpoint.number);
        let mut inside: FxHashMap<u16, Vec<&What>> = FxHashMap::default();
        let (mut gone, mut came) = (Vec::new(), BTreeSet::new());
        for difference in differences {
            match (&difference.what, difference.endpoint) {
                (What::BridgeField { field, after, .. }, _) => {
                    self.replace(&format!("{path}/{}", bridge_field(*field)), after);
                }
                (What::EndpointRemoved { endpoint }, _) => {
                    gone.extend(position.get(&endpoint.number).copied())
                }
                (What::EndpointAdded { endpoint }, _) => {
                    came.insert(endpoint.number);
                }
                (what, Some(number)) => inside.entry(number).or_default().push(what),
                (_, None) => {}
            }
        }
        let path = format!("{path}/endpoints");
        if !old.endpoints.is_sorted_by_key(|endpoint| endpoint.number) {
            return self.replace(&path, &json!(new.endpoints));
        }
        let after: FxHashMap<u16, &Endpoint> = new.endpoints.iter().map(|one| (one.number, one)).collect();
        for (index, endpoint) in old.endpoints.iter().enumerate() {
            if let (Some(whats), Some(after)) = (inside.get(&endpoint.number), after.get(&endpoint.number)) {
                self.endpoint(&format!("{path}/{index}"), whats, endpoint, after);
            }
        }
        let length = old.endpoints.len() - gone.len();
        self.remove_entries(&path, gone);
        let came = new.endpoints.iter().enumerate().filter(|(_, endpoint)| came.contains(&endpoint.number));
        self.add_entries(&path, length, came.map(|(at, endpoint)| (at, json!(endpoint))).collect());
    }

    fn endpoint(&mut self, path: &str, whats: &[&What], old: &Endpoint, new: &Endpoint) {
        let mut inside: FxHashMap<u32, Vec<&What>> = FxHashMap::default();
        let mut device_types = Entries::new(&old.device_types, |one| one.id);
        let mut clusters = Entries::new(&old.clusters, |one| one.id);
        let mut links = Vec::new();
        for what in whats {
            match what {
                What::EndpointField { field, before, after } => {
                    self.set(&format!("{path}/{}", endpoint_field(*field)), before, after);
                }
                What::DeviceType { id, after, at, .. } => device_types.note(id, json!(after), *at),
                What::Cluster { id, after, at, .. } => clusters.note(id, json!(after), *at),
                What::ClusterField { cluster, .. }
                | What::Feature { cluster, .. }
                | What::Command { cluster, .. }
                | What::Attribute { cluster, .. } => inside.entry(*cluster).or_default().push(what),
                _ => links.push(*what),
            }
        }
        for (index, cluster) in old.clusters.iter().enumerate() {
            if let Some(whats) = inside.get(&cluster.id) {
                self.cluster(&format!("{path}/clusters/{index}"), whats, cluster);
            }
        }
        device_types.write(self, &format!("{path}/deviceTypes"));
        clusters.write(self, &format!("{path}/clusters"));
        self.links(&format!("{path}/links"), &links, old, new);
    }

    fn cluster(&mut self, path: &str, whats: &[&What], old: &Cluster) {
        let mut features = Entries::new(&old.features, Clone::clone);
        let mut commands = Entries::new(&old.commands, Clone::clone);
        for what in whats {
            match what {
                What::ClusterField { field, after, .. } => {
                    let name = match field {
                        ClusterField::Name => "name",
                        ClusterField::Revision => "revision",
                    };
                    self.replace(&format!("{path}/{name}"), after);
                }
                What::Feature { code, at, .. } => {
                    features.note(code, at.map_or(Json::Null, |_| json!(code)), *at)
                }
                What::Command { command, at, .. } => {
                    commands.note(command, at.map_or(Json::Null, |_| json!(command)), *at);
                }
                What::Attribute { attribute, after, before, .. } => {
                    let path = format!("{path}/attributes{}", pointer(&[attribute]));
                    match (before, after) {
                        (None, Some(after)) => self.add(&path, after.clone()),
                        (_, Some(after)) => self.replace(&path, after),
                        (_, None) => self.remove(&path),
                    }
                }
                _ => {}
            }
        }
        features.write(self, &format!("{path}/features"));
        commands.write(self, &format!("{path}/commands"));
    }

    fn links(&mut self, path: &str, whats: &[&What], old: &Endpoint, new: &Endpoint) {
        if whats.iter().any(|what| matches!(what, What::LinkOrder { .. })) {
            return self.replace(path, &json!(new.links));
        }
        let (mut gone, mut came) = (Vec::new(), Vec::new());
        for what in whats {
            match what {
                What::LinkField { index, field, after, .. } => {
                    self.link_field(&format!("{path}/{index}"), *field, after, old.links.get(*index as usize))
                }
                What::LinkRemoved { index, .. } => gone.push(*index as usize),
                What::LinkAdded { at, link } => came.push((*at as usize, json!(link))),
                _ => {}
            }
        }
        let length = old.links.len().saturating_sub(gone.len());
        self.remove_entries(path, gone);
        self.add_entries(path, length, came);
    }

    /// A field of a link. Fields with their usual value are not written in a definition.
    fn link_field(
        &mut self,
        path: &str,
        field: LinkField,
        after: &Json,
        old: Option<&crate::bridge::definition::Link>,
    ) {
        let path = format!("{path}/{}", link_field(field));
        let usual = match field {
            LinkField::Read => *after == json!(false),
            LinkField::Timing => after.as_object().is_some_and(serde_json::Map::is_empty),
            LinkField::Shown | LinkField::Joint => after.is_null(),
            LinkField::Point | LinkField::Bus | LinkField::Group | LinkField::Dpt | LinkField::Conversion => {
                false
            }
        };
        let written = old.is_some_and(|link| json!(link).get(link_field(field)).is_some());
        match (written, usual) {
            (true, true) => self.remove(&path),
            (true, false) => self.replace(&path, after),
            (false, true) => {}
            (false, false) => self.add(&path, after.clone()),
        }
    }
}

/// What happens to the entries of a list, by position.
struct Entries<K> {
    position: FxHashMap<K, usize>,
    length: usize,
    replaced: Vec<(usize, Json)>,
    gone: Vec<usize>,
    came: Vec<(usize, Json)>,
}

impl<K: Eq + Hash> Entries<K> {
    fn new<T>(list: &[T], key: impl Fn(&T) -> K) -> Self {
        let position = positions(list, key);
        Self { position, length: list.len(), replaced: Vec::new(), gone: Vec::new(), came: Vec::new() }
    }

    /// An entry that comes (`at`), goes (`after` is null) or is replaced.
    fn note(&mut self, key: &K, after: Json, at: Option<u32>) {
        match (at, self.position.get(key)) {
            (Some(at), _) => self.came.push((at as usize, after)),
            (None, Some(&position)) if after.is_null() => self.gone.push(position),
            (None, Some(&position)) => self.replaced.push((position, after)),
            (None, None) => {}
        }
    }

    fn write(self, patch: &mut Patch, path: &str) {
        for (position, after) in &self.replaced {
            patch.replace(&format!("{path}/{position}"), after);
        }
        let length = self.length.saturating_sub(self.gone.len());
        patch.remove_entries(path, self.gone);
        patch.add_entries(path, length, self.came);
    }
}

fn positions<T, K: Eq + Hash>(list: &[T], key: impl Fn(&T) -> K) -> FxHashMap<K, usize> {
    list.iter().enumerate().map(|(position, one)| (key(one), position)).collect()
}

fn bridge_field(field: BridgeField) -> impl Display {
    match field {
        BridgeField::HouseId => "house/id",
        BridgeField::HouseName => "house/name",
        BridgeField::BridgeName => "bridge/name",
        BridgeField::Specification => "matter/specification",
        BridgeField::DataModelRevision => "matter/dataModelRevision",
    }
}

fn endpoint_field(field: EndpointField) -> &'static str {
    match field {
        EndpointField::Parent => "parent",
        EndpointField::Key => "key",
        EndpointField::UniqueId => "uniqueId",
        EndpointField::NodeLabel => "nodeLabel",
        EndpointField::Room => "room",
        EndpointField::Floor => "floor",
    }
}

fn link_field(field: LinkField) -> &'static str {
    match field {
        LinkField::Point => "point",
        LinkField::Bus => "bus",
        LinkField::Group => "group",
        LinkField::Dpt => "dpt",
        LinkField::Read => "read",
        LinkField::Shown => "shown",
        LinkField::Joint => "joint",
        LinkField::Timing => "timing",
        LinkField::Conversion => "conversion",
    }
}
