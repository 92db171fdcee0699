//! Single differences of two sets of bridge definitions: how they are written, found and applied.
//!
//! A [`Difference`] is a border type: it stands in the review JSON as it is here. Lists are compared by what their
//! entries are, not by where they stand, since the order of clusters, features, commands or listening links means
//! nothing; only the order of telegrams that one command sends is kept as a difference.

mod apply;
mod faces;
mod find;
mod folding;
mod json_patch;
mod links;
mod modes;
mod order;
mod regrouped;
mod reversal;

pub use apply::{ApplyError, apply};
pub(super) use find::{
    application_types, application_types_of, bridge_differences, endpoint_differences, inside_differences,
};
pub(super) use folding::bounds;
pub use json_patch::json_patch;
pub(super) use modes::{MODES, changed as changed_modes};
pub use order::same;

use crate::bridge::definition::{BridgeDefinition, Cluster, DeviceTypeRef, Endpoint, Link};
use crate::classes::Direction;
use crate::review::outline::Outline;
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::Value as Json;
use std::sync::Arc;

/// One difference of the definitions: where it is, and what it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Difference {
    /// Key of the bridge.
    pub bridge: String,
    /// Number of the endpoint; absent where the bridge itself differs or the whole endpoint came or went.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub endpoint: Option<u16>,
    /// What is different.
    pub what: What,
}

/// What is different. Positions (`at`) count from 0 in the new list, `index` in the old one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "of", rename_all = "kebab-case", rename_all_fields = "camelCase", deny_unknown_fields)]
pub enum What {
    /// A bridge that was not there; its definition without endpoints.
    BridgeAdded {
        /// The definition.
        definition: Box<BridgeDefinition>,
    },
    /// A bridge that is gone; its definition without endpoints.
    BridgeRemoved {
        /// The definition.
        definition: Box<BridgeDefinition>,
    },
    /// A field of the bridge's head.
    BridgeField {
        /// Which.
        field: BridgeField,
        /// Old value.
        before: Json,
        /// New value.
        after: Json,
    },
    /// An endpoint that was not there.
    EndpointAdded {
        /// The whole endpoint.
        #[serde(serialize_with = "shared", deserialize_with = "sharing")]
        #[schemars(with = "Endpoint")]
        endpoint: Arc<Outline>,
    },
    /// An endpoint that is gone.
    EndpointRemoved {
        /// The whole endpoint.
        #[serde(serialize_with = "shared", deserialize_with = "sharing")]
        #[schemars(with = "Endpoint")]
        endpoint: Arc<Outline>,
    },
    /// A plain field of an endpoint.
    EndpointField {
        /// Which.
        field: EndpointField,
        /// Old value; null for a floor that was not named.
        before: Json,
        /// New value; null for a floor that is not named.
        after: Json,
    },
    /// A device type came, went or changed.
    DeviceType {
        /// Its id.
        id: u32,
        /// As it was.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        before: Option<DeviceTypeRef>,
        /// As it is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        after: Option<DeviceTypeRef>,
        /// Position of a new one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<u32>,
    },
    /// A cluster came or went.
    Cluster {
        /// Its id.
        id: u32,
        /// As it was.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        before: Option<Box<Cluster>>,
        /// As it is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        after: Option<Box<Cluster>>,
        /// Position of a new one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<u32>,
    },
    /// A cluster's name or revision.
    ClusterField {
        /// Id of the cluster.
        cluster: u32,
        /// Its name in the old definition.
        name: String,
        /// Which field.
        field: ClusterField,
        /// Old value.
        before: Json,
        /// New value.
        after: Json,
    },
    /// A feature was turned on or off.
    Feature {
        /// Id of the cluster.
        cluster: u32,
        /// Its name.
        name: String,
        /// Code of the feature.
        code: String,
        /// Position, if it was turned on; absent if it was turned off.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<u32>,
    },
    /// A command came or went.
    Command {
        /// Id of the cluster.
        cluster: u32,
        /// Its name.
        name: String,
        /// The command.
        command: String,
        /// Position, if it came; absent if it went.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<u32>,
    },
    /// An attribute came, went or has another first value.
    Attribute {
        /// Id of the cluster.
        cluster: u32,
        /// Its name.
        name: String,
        /// The attribute.
        attribute: String,
        /// Old value, also null; absent for an attribute that was not there.
        #[serde(default, skip_serializing_if = "Option::is_none", deserialize_with = "present")]
        before: Option<Json>,
        /// New value, also null; absent for an attribute that is gone.
        #[serde(default, skip_serializing_if = "Option::is_none", deserialize_with = "present")]
        after: Option<Json>,
        /// Position of a new one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<u32>,
    },
    /// A link that was not there.
    LinkAdded {
        /// Its position.
        at: u32,
        /// The link.
        link: Box<Link>,
    },
    /// A link that is gone.
    LinkRemoved {
        /// Its old position.
        index: u32,
        /// The link.
        link: Box<Link>,
    },
    /// A field of a link that stays.
    LinkField {
        /// The link's old position.
        index: u32,
        /// Which link it is, as it was.
        wire: Wire,
        /// Which field.
        field: LinkField,
        /// Old value; null for a `shown` or `joint` that was not given.
        before: Json,
        /// New value; null for a `shown` or `joint` that is not given.
        after: Json,
    },
    /// The links that stay stand in another order, given by their old positions.
    LinkOrder {
        /// Old positions in the new order.
        order: Vec<u32>,
    },
}

/// A field of a bridge's head.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BridgeField {
    /// `house.id`
    HouseId,
    /// `house.name`
    HouseName,
    /// `bridge.name`
    BridgeName,
    /// `matter.specification`
    Specification,
    /// `matter.dataModelRevision`
    DataModelRevision,
}

/// A plain field of an endpoint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EndpointField {
    /// `parent`
    Parent,
    /// `key`
    Key,
    /// `uniqueId`
    UniqueId,
    /// `nodeLabel`
    NodeLabel,
    /// `room`
    Room,
    /// `floor`
    Floor,
}

/// A plain field of a cluster.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ClusterField {
    /// `name`
    Name,
    /// `revision`
    Revision,
}

/// A field of a link that may change while it stays the same link.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LinkField {
    /// `point`
    Point,
    /// `bus`
    Bus,
    /// `group`
    Group,
    /// `dpt`
    Dpt,
    /// `read`
    Read,
    /// `shown`
    Shown,
    /// `joint`
    Joint,
    /// `timing`
    Timing,
    /// `conversion`
    Conversion,
}

/// Which link: what a person needs to recognise it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Wire {
    /// The appliance's point.
    pub point: String,
    /// Which way values go.
    pub direction: Direction,
    /// `Cluster.Attribute`, `Cluster.Command` or `Cluster.Event`.
    pub end: String,
    /// Key of the bus.
    pub bus: String,
    /// Group address, as written.
    pub group: String,
    /// Datapoint type.
    pub dpt: String,
}

impl Wire {
    /// The wire of a link.
    pub fn of(link: &Link) -> Self {
        Self {
            point: link.point.clone(),
            direction: link.direction,
            end: format!("{}.{}", link.cluster, link_end(link)),
            bus: link.bus.clone(),
            group: link.group.clone(),
            dpt: link.dpt.clone(),
        }
    }
}

/// What is inside of an endpoint and may differ.
#[derive(Clone, Copy)]
struct Inside<'a> {
    clusters: &'a [Cluster],
    links: &'a [Link],
}

/// The attribute, command or event a link ends or starts at; empty in a link that names none.
pub(super) fn link_end(link: &Link) -> &str {
    link.attribute.as_deref().or(link.command.as_deref()).or(link.event.as_deref()).unwrap_or("")
}

fn shared<S: Serializer>(endpoint: &Arc<Outline>, serializer: S) -> Result<S::Ok, S::Error> {
    endpoint.as_ref().serialize(serializer)
}

fn sharing<'de, D: Deserializer<'de>>(reader: D) -> Result<Arc<Outline>, D::Error> {
    Outline::deserialize(reader).map(Arc::new)
}

/// Keeps a null that is there apart from a value that is not there.
fn present<'de, D: Deserializer<'de>>(reader: D) -> Result<Option<Json>, D::Error> {
    Json::deserialize(reader).map(Some)
}
