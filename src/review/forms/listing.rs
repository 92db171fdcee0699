//! A bridge definition or a ledger as lines, one fact a line: for `git diff` of these files, and for people.

use super::view::clean;
use crate::bridge::definition::{BridgeDefinition, Cluster, Endpoint, Link};
use crate::ledger::Ledger;
use crate::review::difference::Wire;
use crate::review::words::{conversion, plain, wire_name};
use serde_json::json;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Writes a definition as lines. An endpoint's lines stand together under its number and name. Nothing is left out: two
/// definitions that differ have different lines.
pub fn listing(definition: &BridgeDefinition) -> String {
    let mut out = String::new();
    let (house, bridge, matter) = (&definition.house, &definition.bridge, &definition.matter);
    let _ = writeln!(out, "house {}: {}", one_line(&house.id), one_line(&house.name));
    let _ = writeln!(out, "bridge {}: {}", one_line(&bridge.key), one_line(&bridge.name));
    let edition = one_line(&matter.specification);
    let _ = writeln!(out, "matter: {edition}, data model {}", matter.data_model_revision);
    for endpoint in &definition.endpoints {
        list_endpoint(&mut out, endpoint);
    }
    out
}

fn list_endpoint(out: &mut String, endpoint: &Endpoint) {
    let _ = writeln!(out, "\nendpoint {}: {}", endpoint.number, one_line(&endpoint.node_label));
    let mut line = |what: &str, value: &str| {
        let _ = writeln!(out, "  {}: {}", one_line(what), one_line(value));
    };
    line("key", &endpoint.key);
    line("unique id", &endpoint.unique_id);
    line("below", &format!("endpoint {}", endpoint.parent));
    line("room", &endpoint.room);
    if let Some(floor) = &endpoint.floor {
        line("floor", floor);
    }
    for one in &endpoint.device_types {
        line(&format!("device type {}", one.name), &format!("0x{:04x}, revision {}", one.id, one.revision));
    }
    for cluster in &endpoint.clusters {
        list_cluster(cluster, &mut line);
    }
    for link in &endpoint.links {
        list_link(link, &mut line);
    }
}

fn list_cluster(cluster: &Cluster, line: &mut impl FnMut(&str, &str)) {
    let name = &cluster.name;
    line(&format!("cluster {name}"), &format!("0x{:04x}, revision {}", cluster.id, cluster.revision));
    line(&format!("cluster {name} features"), &json!(cluster.features).to_string());
    line(&format!("cluster {name} commands"), &json!(cluster.commands).to_string());
    for (attribute, value) in &cluster.attributes {
        line(&format!("cluster {name} {attribute}"), &value.to_string());
    }
}

fn list_link(link: &Link, line: &mut impl FnMut(&str, &str)) {
    let wire = Wire::of(link);
    let what = wire_name(&wire.point, wire.direction, &wire.end);
    let end = match (&link.attribute, &link.command, &link.event) {
        (Some(_), None, None) => "attribute",
        (None, Some(_), None) => "command",
        (None, None, Some(_)) => "event",
        _ => "several",
    };
    let read = if link.read { ", may be read" } else { "" };
    line(&what, &format!("{} as {} on {}{read}", wire.group, wire.dpt, wire.bus));
    line(&format!("{what} ends at"), &format!("{} of {}", end, link.cluster));
    if let Some(shown) = &link.shown {
        line(&format!("{what} shows"), &plain(&json!(shown)));
    }
    if let Some(joint) = &link.joint {
        line(&format!("{what} together"), &plain(&json!(joint)));
    }
    if !link.timing.is_empty() {
        line(&format!("{what} times"), &plain(&json!(link.timing)));
    }
    line(&format!("{what} conversion"), &conversion(&json!(link.conversion)).trim_end().replace('\n', "; "));
}

/// Writes a ledger as lines, one endpoint number a line, by bridge and number: what happens to a number shows as one
/// line that changed.
pub fn ledger_listing(ledger: &Ledger) -> String {
    let mut lines: BTreeMap<(&str, u16, String), String> = BTreeMap::new();
    let living = ledger.living().map(|one| (one, ""));
    for ((key, part, identity), state) in living.chain(ledger.retired().map(|one| (one, "retired, was "))) {
        let (types, id) = (&identity.device_types, identity.unique_id);
        let line = format!("{state}{key} ({part}), {types}, {id}");
        lines.insert((&identity.bridge, identity.number.get(), id.to_string()), line);
    }
    let mut out = format!("house {}\n", one_line(ledger.house()));
    for ((bridge, number, _), line) in lines {
        let _ = writeln!(out, "{} endpoint {number}: {}", one_line(bridge), one_line(&line));
    }
    out
}

/// Text in one line; line ends and what would steer a terminal are written as escapes, so that nothing is lost.
fn one_line(text: &str) -> String {
    let steers = |letter: char| letter.is_control() || clean(letter.encode_utf8(&mut [0; 4])) == "\u{fffd}";
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        if steers(letter) {
            out.extend(letter.escape_unicode());
        } else {
            out.push(letter);
        }
    }
    out
}
