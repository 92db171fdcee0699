//! The bridge JSON, as other programs read it: format `housewright-bridge`, version 1.
//!
//! These types cross the border, so they are written for it and nothing else: field names and order are the
//! file's. Version 1 is the first. A change that a reader of version 1 would misread makes a new version; a new
//! optional key does not.

pub use crate::classes::{Direction, Joint, Shown};
use crate::convert::Chain;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// The `format` word of every bridge JSON.
pub const FORMAT: &str = "housewright-bridge";
/// The version this program writes.
pub const VERSION: u32 = 1;

/// One bridge: everything a gateway needs to stand for the house.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct BridgeDefinition {
    /// Always `housewright-bridge`.
    pub format: String,
    /// Version of this format.
    pub version: u32,
    /// The house this bridge belongs to.
    pub house: HouseRef,
    /// The bridge.
    pub bridge: BridgeRef,
    /// Which edition of the Matter standard the names and numbers are from.
    pub matter: MatterRef,
    /// The bridged endpoints, by number.
    pub endpoints: Vec<Endpoint>,
}

/// The house a bridge belongs to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct HouseRef {
    /// The house's id; never changes.
    pub id: String,
    /// The house's name.
    pub name: String,
}

/// The bridge of a definition.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct BridgeRef {
    /// Its key in the house description.
    pub key: String,
    /// Its NodeLabel.
    pub name: String,
}

/// Edition of the Matter standard.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct MatterRef {
    /// Specification version, such as `1.6.0`.
    pub specification: String,
    /// Data model revision.
    pub data_model_revision: u16,
}

/// One endpoint below the aggregator (number 1).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Endpoint {
    /// Endpoint number, 2 to 65534; never given twice.
    pub number: u16,
    /// The endpoint above: 1 for the aggregator, or the top endpoint of a composed appliance.
    pub parent: u16,
    /// The appliance's key; for a further part of an appliance `key/part`.
    pub key: String,
    /// UniqueID: at most 32 bytes, the same as long as the appliance lives.
    pub unique_id: String,
    /// NodeLabel: what the family sees, at most 32 bytes of UTF-8.
    pub node_label: String,
    /// The room's name.
    pub room: String,
    /// The floor's name; absent where the room names none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<String>,
    /// Device types on this endpoint (Bridged Node among them on a top endpoint).
    pub device_types: Vec<DeviceTypeRef>,
    /// Server clusters.
    pub clusters: Vec<Cluster>,
    /// The wires between this endpoint and the bus.
    pub links: Vec<Link>,
}

/// A device type with its revision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct DeviceTypeRef {
    /// Device type id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// Device type revision.
    pub revision: u16,
}

/// A server cluster of an endpoint.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Cluster {
    /// Cluster id.
    pub id: u32,
    /// The data model's name.
    pub name: String,
    /// Cluster revision.
    pub revision: u16,
    /// Codes of the features that are on.
    pub features: Vec<String>,
    /// First value of each attribute, by the data model's names, in order of attribute id.
    pub attributes: Map<String, Value>,
    /// Commands the cluster accepts.
    pub commands: Vec<String>,
}

/// One wire: a group address and datapoint type, a Matter attribute, command or event, and the conversion between.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "camelCase")]
pub struct Link {
    /// The appliance's point.
    pub point: String,
    /// Name of the cluster.
    pub cluster: String,
    /// Name of the attribute, if the link ends at one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attribute: Option<String>,
    /// Name of the command, if the link starts at one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub command: Option<String>,
    /// Name of the event, if the link ends at one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub event: Option<String>,
    /// Which way values go.
    pub direction: Direction,
    /// Key of the bus.
    pub bus: String,
    /// Group address, in the house's notation.
    pub group: String,
    /// Datapoint type, such as `5.001`.
    pub dpt: String,
    /// Whether the gateway may read this address on the bus (`from-bus` links of a feedback).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub read: bool,
    /// What the attribute shows; absent on links that carry no state.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shown: Option<Shown>,
    /// How the attribute comes from what several points tell of it; absent where what came last counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub joint: Option<Joint>,
    /// Time parameters by name, in milliseconds, where a state must be estimated or a telegram repeated.
    #[serde(default, skip_serializing_if = "Map::is_empty")]
    pub timing: Map<String, Value>,
    /// The steps, in the order in which this link runs them.
    pub conversion: Chain,
}

/// The JSON Schema (draft 2020-12) of a bridge JSON.
pub fn schema() -> Value {
    schemars::schema_for!(BridgeDefinition).to_value()
}
