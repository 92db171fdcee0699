//! A bridge definition as lines, one fact a line: for `git diff` of a bridge JSON, and for people.

use super::view::clean;
use crate::bridge::definition::BridgeDefinition;
use crate::review::words::listing_facts;
use std::fmt::Write;

/// Writes a definition as lines. An endpoint's lines stand together under its number and name, and a line that is the
/// same in two definitions means that the fact is the same.
pub fn listing(definition: &BridgeDefinition) -> String {
    let mut out = String::new();
    let (house, bridge, matter) = (&definition.house, &definition.bridge, &definition.matter);
    let _ = writeln!(out, "house {}: {}", clean(&house.id), clean(&house.name));
    let _ = writeln!(out, "bridge {}: {}", clean(&bridge.key), clean(&bridge.name));
    let _ =
        writeln!(out, "matter: {}, data model {}", clean(&matter.specification), matter.data_model_revision);
    for endpoint in &definition.endpoints {
        let _ = writeln!(out, "\nendpoint {}: {}", endpoint.number, clean(&endpoint.node_label));
        for (what, value) in listing_facts(endpoint) {
            let value = value.trim_end().replace('\n', "; ");
            let _ = writeln!(out, "  {}: {}", clean(&what), clean(&value));
        }
    }
    out
}
