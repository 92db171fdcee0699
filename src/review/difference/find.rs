//! Finds the differences of two bridge heads and of two endpoints that are the same endpoint, each with its kind.

use super::folding::fold;
use super::links::link_differences;
use super::modes::{MODES, choose_otherwise};
use super::order::{Entry, pair};
use super::regrouped;
use super::{BridgeField, ClusterField, EndpointField, Inside, What};
use crate::bridge::definition::{BridgeDefinition, Cluster, DeviceTypeRef, Link};
use crate::classes::Direction;
use crate::review::change::Kind;
use crate::review::outline::Outline;
use serde_json::{Value as Json, json};

/// Differences of two heads of the same bridge.
pub(in crate::review) fn bridge_differences(
    old: &BridgeDefinition,
    new: &BridgeDefinition,
) -> Vec<(Kind, What)> {
    let mut out = Vec::new();
    let mut field = |kind, field, before: Json, after: Json| {
        if before != after {
            out.push((kind, What::BridgeField { field, before, after }));
        }
    };
    field(Kind::HouseId, BridgeField::HouseId, json!(old.house.id), json!(new.house.id));
    field(Kind::HouseRenamed, BridgeField::HouseName, json!(old.house.name), json!(new.house.name));
    field(Kind::BridgeRenamed, BridgeField::BridgeName, json!(old.bridge.name), json!(new.bridge.name));
    let (before, after) = (&old.matter, &new.matter);
    field(
        Kind::MatterEdition,
        BridgeField::Specification,
        json!(before.specification),
        json!(after.specification),
    );
    field(
        Kind::MatterEdition,
        BridgeField::DataModelRevision,
        json!(before.data_model_revision),
        json!(after.data_model_revision),
    );
    out
}

/// What was found of two endpoints.
#[derive(Default)]
pub(in crate::review) struct Found {
    pub(in crate::review) differences: Vec<(Kind, What)>,
    /// Whether the links are not equal, if only in their order.
    pub(in crate::review) other_links: bool,
}

/// Differences of two endpoints with the same number. None if and only if they are the [`same`](super::same).
///
/// If the endpoint's device type was replaced, what is different about its clusters and links belongs to that.
pub(in crate::review) fn endpoint_differences(old: &Outline, new: &Outline) -> Found {
    let mut out = Vec::new();
    fields(old, new, &mut out);
    if old.is_alike(new) {
        return Found { differences: out, other_links: false };
    }
    let inside = || inside(old, new);
    let (found, other_links) = match regrouped::differences(old, new, || inside().0) {
        Some(found) => (found, true),
        None => inside(),
    };
    out.extend(found);
    Found { differences: out, other_links }
}

/// The differences inside of two endpoints, and whether their links are not equal.
fn inside(old: &Outline, new: &Outline) -> (Vec<(Kind, What)>, bool) {
    let mut out = Vec::new();
    device_types(old.device_types(), new.device_types(), &mut out);
    let replaced = out.iter().any(|(kind, _)| *kind == Kind::ClassChanged);
    let (old_links, new_links) = (old.links(), new.links());
    let before = Inside { clusters: old.clusters(), links: &old_links };
    let after = Inside { clusters: new.clusters(), links: &new_links };
    clusters(before, after, &mut out);
    out.extend(link_differences(before, after));
    if replaced {
        for (kind, _) in &mut out {
            *kind = Kind::ClassChanged;
        }
    } else {
        fold(&mut out);
    }
    (out, old_links != new_links)
}

/// What two endpoints do otherwise that are the same appliance and not the same endpoint. Of two with other device types
/// only what the same point does: the rest is what makes the class.
pub(in crate::review) fn inside_differences(old: &Outline, new: &Outline) -> Vec<(Kind, What)> {
    let (old_links, new_links) = (old.links(), new.links());
    let before = Inside { clusters: old.clusters(), links: &old_links };
    let after = Inside { clusters: new.clusters(), links: &new_links };
    let same_class = application_types(old.device_types()) == application_types(new.device_types());
    let mut out = Vec::new();
    if same_class {
        clusters(before, after, &mut out);
    }
    out.extend(link_differences(before, after));
    fold(&mut out);
    let other_values = [Kind::Reversed, Kind::OtherEffect, Kind::ShownOtherwise, Kind::TelegramSize];
    let is_told = |kind: &Kind| match kind {
        // Which addresses it has is told with the endpoints.
        Kind::Rewired | Kind::NotationChanged | Kind::Wording | Kind::FirstValueChanged => false,
        _ => same_class || other_values.contains(kind),
    };
    out.retain(|(kind, _)| is_told(kind));
    out
}

fn fields(old: &Outline, new: &Outline, out: &mut Vec<(Kind, What)>) {
    let mut field = |kind, field, before: Json, after: Json| {
        out.push((kind, What::EndpointField { field, before, after }));
    };
    let mut text = |kind, name, before: &str, after: &str| {
        if before != after {
            field(kind, name, json!(before), json!(after));
        }
    };
    text(Kind::Rekeyed, EndpointField::Key, &old.key, &new.key);
    text(Kind::NewIdentity, EndpointField::UniqueId, &old.unique_id, &new.unique_id);
    text(Kind::Relabelled, EndpointField::NodeLabel, &old.node_label, &new.node_label);
    text(Kind::RoomChanged, EndpointField::Room, &old.room, &new.room);
    if old.floor != new.floor {
        field(Kind::RoomChanged, EndpointField::Floor, json!(old.floor), json!(new.floor));
    }
    if old.parent != new.parent {
        field(Kind::Regrouped, EndpointField::Parent, json!(old.parent), json!(new.parent));
    }
}

/// Utility device types: they say what else an endpoint can do, not what it is.
///
/// Source: Matter 1.6 Device Library, classification `utility` of the data model.
const UTILITY: [u32; 8] = [0x0011, 0x0012, 0x0013, 0x0014, 0x0019, 0x0130, 0x050D, 0x0510];

/// The device types that say what an endpoint is, sorted.
pub(in crate::review) fn application_types(device_types: &[DeviceTypeRef]) -> Vec<u32> {
    application_types_of(device_types.iter().map(|one| one.id))
}

/// Those of these device types that say what an endpoint is, sorted.
pub(in crate::review) fn application_types_of(ids: impl Iterator<Item = u32>) -> Vec<u32> {
    let mut ids: Vec<u32> = ids.filter(|id| !UTILITY.contains(id)).collect();
    ids.sort_unstable();
    ids
}

fn device_types(old: &[DeviceTypeRef], new: &[DeviceTypeRef], out: &mut Vec<(Kind, What)>) {
    let start = out.len();
    let mut replaced = false;
    for entry in pair(old, new, |one| one.id) {
        let (kind, id, before, after, at) = match entry {
            Entry::Kept(before, after) if before == after => continue,
            Entry::Kept(before, after) => {
                let same_revision = after.revision == before.revision;
                let kind = if same_revision { Kind::Wording } else { Kind::InterfaceChanged };
                (kind, before.id, Some(before), Some(after), None)
            }
            Entry::Removed(before) => {
                replaced |= !UTILITY.contains(&before.id);
                (Kind::InterfaceChanged, before.id, Some(before), None, None)
            }
            Entry::Added(at, after) => (Kind::InterfaceChanged, after.id, None, Some(after), Some(at)),
        };
        out.push((kind, What::DeviceType { id, before: before.cloned(), after: after.cloned(), at }));
    }
    if replaced {
        for (kind, _) in out.iter_mut().skip(start) {
            *kind = Kind::ClassChanged;
        }
    }
}

fn clusters(old: Inside, new: Inside, out: &mut Vec<(Kind, What)>) {
    for entry in pair(old.clusters, new.clusters, |one| one.id) {
        match entry {
            Entry::Kept(before, after) if before == after => {}
            Entry::Kept(before, after) => cluster((before, old.links), (after, new.links), out),
            Entry::Removed(before) => {
                // What only describes, such as labels, does nothing that somebody could miss.
                let is_used =
                    !before.commands.is_empty() || old.links.iter().any(|link| link.cluster == before.name);
                let kind = if is_used { Kind::FunctionRemoved } else { Kind::InterfaceChanged };
                let before = Some(Box::new(before.clone()));
                let id = before.as_ref().map_or(0, |one| one.id);
                out.push((kind, What::Cluster { id, before, after: None, at: None }));
            }
            Entry::Added(at, after) => {
                let (id, after) = (after.id, Some(Box::new(after.clone())));
                out.push((Kind::InterfaceChanged, What::Cluster { id, before: None, after, at: Some(at) }));
            }
        }
    }
}

/// A cluster and the links of its endpoint.
type Wired<'a> = (&'a Cluster, &'a [Link]);

fn cluster((old, old_links): Wired, (new, new_links): Wired, out: &mut Vec<(Kind, What)>) {
    let (cluster, name) = (old.id, &old.name);
    let gone = if does_less((old, old_links), new) { Kind::FunctionRemoved } else { Kind::InterfaceChanged };
    let mut field = |kind, field, before: Json, after: Json| {
        if before != after {
            out.push((kind, What::ClusterField { cluster, name: name.clone(), field, before, after }));
        }
    };
    field(Kind::Wording, ClusterField::Name, json!(old.name), json!(new.name));
    field(Kind::InterfaceChanged, ClusterField::Revision, json!(old.revision), json!(new.revision));
    for entry in pair(&old.features, &new.features, String::as_str) {
        let (kind, code, at) = match entry {
            Entry::Kept(..) => continue,
            Entry::Removed(code) => (gone, code, None),
            Entry::Added(at, code) => (Kind::InterfaceChanged, code, Some(at)),
        };
        out.push((kind, What::Feature { cluster, name: name.clone(), code: code.clone(), at }));
    }
    for entry in pair(&old.commands, &new.commands, String::as_str) {
        let (kind, command, at) = match entry {
            Entry::Kept(..) => continue,
            Entry::Removed(command) => (Kind::FunctionRemoved, command, None),
            Entry::Added(at, command) => (Kind::InterfaceChanged, command, Some(at)),
        };
        out.push((kind, What::Command { cluster, name: name.clone(), command: command.clone(), at }));
    }
    attributes(old, (new, new_links), gone, out);
}

/// Whether a cluster could do something that it cannot do any more: a command, an attribute with a wire, or a feature in
/// whose place none came. (Sensing by radar instead of infrared is another feature and does no less.)
fn does_less((old, links): Wired, new: &Cluster) -> bool {
    let gone = |list: &[String], other: &[String]| list.iter().any(|one| !other.contains(one));
    let wired = |attribute: &str| {
        links.iter().any(|link| link.cluster == old.name && link.attribute.as_deref() == Some(attribute))
    };
    gone(&old.commands, &new.commands)
        || gone(&old.features, &new.features) && !gone(&new.features, &old.features)
        || old.attributes.keys().any(|name| !new.attributes.contains_key(name) && wired(name))
}

fn attributes(old: &Cluster, (new, links): Wired, gone: Kind, out: &mut Vec<(Kind, What)>) {
    let mut push = |kind, attribute: &str, before: Option<&Json>, after: Option<&Json>, at| {
        let (attribute, before, after) = (attribute.to_owned(), before.cloned(), after.cloned());
        let what = What::Attribute { cluster: old.id, name: old.name.clone(), attribute, before, after, at };
        out.push((kind, what));
    };
    for (name, before) in &old.attributes {
        match new.attributes.get(name) {
            None => push(gone, name, Some(before), None, None),
            Some(after) if after != before => {
                let kind = if name == MODES && choose_otherwise(before, after) {
                    Kind::OtherEffect
                } else {
                    value_kind(&new.name, name, links)
                };
                push(kind, name, Some(before), Some(after), None);
            }
            Some(_) => {}
        }
    }
    for ((name, after), at) in new.attributes.iter().zip(0u32..) {
        if !old.attributes.contains_key(name) {
            push(Kind::InterfaceChanged, name, None, Some(after), Some(at));
        }
    }
}

/// What another value of an attribute means: a limit that is shown, a state that the bus will tell, or a fixed value.
///
/// Limits are known by the data model's own way of naming them: `MinLevel`, `AbsMaxHeatSetpointLimit`,
/// `ColorTempPhysicalMinMireds` …
fn value_kind(cluster: &str, attribute: &str, links: &[Link]) -> Kind {
    let told_by_bus = links.iter().any(|link| {
        link.direction == Direction::FromBus
            && link.cluster == cluster
            && link.attribute.as_deref() == Some(attribute)
    });
    if told_by_bus {
        Kind::FirstValueChanged
    } else if attribute.contains("Min") || attribute.contains("Max") || attribute.contains("Limit") {
        Kind::LimitsChanged
    } else {
        Kind::ValuesChanged
    }
}
