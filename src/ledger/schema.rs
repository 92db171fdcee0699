//! The JSON Schema of `ledger.yaml`, for editors and other programs. The file is read by `read`, without it.

use super::format::{HOUSE_KEY, LIVING_KEY, RETIRED_KEY, VERSION, VERSION_KEY};
use serde_json::{Value, json};

/// Bridge, endpoint number, device types, unique id.
const LINE: &str = r"^\S+ [0-9]{1,5} (-|0x[0-9A-Fa-f]{1,8}(\+0x[0-9A-Fa-f]{1,8})*) [0-9a-f]{32}$";

/// The JSON Schema (draft 2020-12) of a ledger.
pub fn schema() -> Value {
    let line = json!({
        "description": "Key of the bridge, endpoint number, ids of the device types, unique id.",
        "type": "string",
        "pattern": LINE,
    });
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "housewright ledger",
        "description": "Which endpoint number and unique id each appliance has, for ever. Made by housewright; never edit it.",
        "type": "object",
        "additionalProperties": false,
        "required": [VERSION_KEY, HOUSE_KEY],
        "properties": {
            VERSION_KEY: { "description": format!("Version of the format: {VERSION}."), "const": VERSION },
            HOUSE_KEY: { "description": "Id of the house.", "type": "string" },
            LIVING_KEY: {
                "description": "What each appliance has now, by its key and the name of the part; `{}` where controllers never saw it.",
                "type": ["object", "null"],
                "additionalProperties": { "type": ["object", "null"], "additionalProperties": line },
            },
            RETIRED_KEY: {
                "description": "What was given and is never given again, by the key of the appliance that had it.",
                "type": ["object", "null"],
                "additionalProperties": {
                    "type": ["array", "null"],
                    "items": { "type": ["object", "null"], "additionalProperties": line },
                },
            },
        },
    })
}
