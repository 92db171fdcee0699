//! Appliances that a house describes and does not show to controllers, with the places that its ledger keeps for them.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An appliance that is described and not shown to controllers (`bridged: false`).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
pub struct Unshown {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Its room's name.
    pub room: String,
    /// Its floor's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<String>,
    /// The places that are kept for it.
    pub kept: Vec<KeptPlace>,
}

/// The place of an endpoint that is kept for an appliance that is not shown.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "camelCase")]
pub struct KeptPlace {
    /// Name of the part in the device class.
    pub part: String,
    /// Key of the bridge.
    pub bridge: String,
    /// Endpoint number.
    pub endpoint: u16,
    /// What controllers know it by.
    pub unique_id: String,
    /// Ids of the device types that say what it is.
    pub device_types: Vec<u32>,
}
