//! Before and after of a change, side by side and as lines.

use crate::bridge::definition::{Endpoint, Link};
use crate::classes::Direction;
use crate::findings::{self, Around};
use crate::review::change::{Change, Kind, Side};
use crate::review::difference::{Difference, LinkField, What, Wire};
use crate::review::outline::Outline;
use rustc_hash::FxHashMap;
use serde_json::{Value as Json, json};
use std::collections::VecDeque;

/// One fact with its value before and after; `None` where it is not there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::review) struct Row {
    /// What it is.
    pub(in crate::review) what: String,
    /// Value before.
    pub(in crate::review) before: Option<String>,
    /// Value after.
    pub(in crate::review) after: Option<String>,
}

/// The facts of a change, in the order of its differences. A value of several lines is a conversion, a step a line.
///
/// With several appliances each fact says whose it is.
pub(in crate::review) fn rows(change: &Change) -> Vec<Row> {
    let mut rows = Vec::new();
    let owners = Owners::of(change);
    let (mut gone, mut came) = (Vec::new(), Vec::new());
    let one_appliance = change.members().len() < 2;
    for difference in &change.differences {
        match &difference.what {
            // Nothing is different about them, and they may be a hundred thousand.
            What::EndpointRemoved { .. } | What::EndpointAdded { .. }
                if change.kind == Kind::BridgeRekeyed => {}
            What::EndpointRemoved { endpoint } if one_appliance => gone.push(endpoint),
            What::EndpointAdded { endpoint } if one_appliance => came.push(endpoint),
            What::EndpointRemoved { endpoint } => rows.extend(owners.whole(difference, endpoint, Side::Old)),
            What::EndpointAdded { endpoint } => rows.extend(owners.whole(difference, endpoint, Side::New)),
            _ => rows.extend(of_difference(difference).into_iter().map(|row| owners.sign(difference, row))),
        }
    }
    let pairs = gone.len().max(came.len());
    for at in 0..pairs {
        let (before, after) =
            (gone.get(at).map(|one| facts(&one.endpoint())), came.get(at).map(|one| facts(&one.endpoint())));
        rows.extend(beside(before.unwrap_or_default(), after.unwrap_or_default()));
    }
    rows
}

/// Whose each endpoint is, in a change of several appliances.
struct Owners<'c> {
    labels: FxHashMap<(&'c str, u16), &'c str>,
}

impl<'c> Owners<'c> {
    fn of(change: &'c Change) -> Self {
        let members = change.members();
        let labels = members.iter().filter(|_| members.len() > 1).flat_map(|member| {
            member.endpoints.iter().map(|number| ((member.bridge.as_str(), *number), member.label.as_str()))
        });
        Self { labels: labels.collect() }
    }

    /// The facts of an endpoint that came or went.
    fn whole(&self, difference: &Difference, endpoint: &Outline, side: Side) -> Vec<Row> {
        let facts = facts(&endpoint.endpoint());
        let rows = if side == Side::Old { beside(facts, Vec::new()) } else { beside(Vec::new(), facts) };
        rows.into_iter().map(|row| self.name(difference, endpoint.number, row)).collect()
    }

    fn sign(&self, difference: &Difference, row: Row) -> Row {
        self.name(difference, difference.endpoint.unwrap_or_default(), row)
    }

    fn name(&self, difference: &Difference, number: u16, row: Row) -> Row {
        match self.labels.get(&(difference.bridge.as_str(), number)) {
            Some(label) => Row { what: format!("{label}, {}", row.what), ..row },
            None => row,
        }
    }
}

/// The rows as a unified diff; empty if nothing of the change can be put in lines.
pub(in crate::review) fn unified(change: &Change) -> String {
    let (mut before, mut after) = (String::new(), String::new());
    let mut longest = 0;
    for row in rows(change) {
        for (side, value) in [(&mut before, &row.before), (&mut after, &row.after)] {
            if let Some(value) = value {
                let told = lines(&row.what, value);
                longest = longest.max(told.lines().count());
                side.push_str(&told);
            }
        }
    }
    // So far that no steps stand without what they are for.
    findings::unified(&before, &after, Around { radius: longest, ends: false, ..Around::default() })
}

/// A fact as lines: `what: value`, or the steps of a conversion below what they are for.
fn lines(what: &str, value: &str) -> String {
    if value.contains('\n') {
        let steps: String = value.lines().map(|line| format!("    {line}\n")).collect();
        format!("{what}:\n{steps}")
    } else {
        format!("{what}: {value}\n")
    }
}

fn row(what: impl Into<String>, before: Option<String>, after: Option<String>) -> Row {
    Row { what: what.into(), before, after }
}

/// A value that is there; null is one that is not.
fn value(value: &Json) -> Option<String> {
    (!value.is_null()).then(|| plain(value))
}

fn of_difference(difference: &Difference) -> Vec<Row> {
    vec![match &difference.what {
        What::BridgeAdded { definition } => row("bridge", None, Some(definition.bridge.name.clone())),
        What::BridgeRemoved { definition } => row("bridge", Some(definition.bridge.name.clone()), None),
        What::BridgeField { field, before, after } => row(name(*field), value(before), value(after)),
        What::EndpointField { field, before, after } => row(name(*field), value(before), value(after)),
        What::DeviceType { before, after, .. } => {
            let told = |one: &crate::bridge::definition::DeviceTypeRef| {
                format!("{} revision {}", one.name, one.revision)
            };
            row("device type", before.as_ref().map(told), after.as_ref().map(told))
        }
        What::Cluster { before, after, .. } => row(
            "cluster",
            before.as_ref().map(|one| one.name.clone()),
            after.as_ref().map(|one| one.name.clone()),
        ),
        What::ClusterField { name: cluster, field, before, after, .. } => {
            row(format!("{cluster} {}", name(*field)), value(before), value(after))
        }
        What::Feature { name: cluster, code, at, .. } => presence(format!("{cluster} feature"), code, *at),
        What::Command { name: cluster, command, at, .. } => {
            presence(format!("{cluster} command"), command, *at)
        }
        What::Attribute { name: cluster, attribute, before, after, .. } => {
            row(format!("{cluster}.{attribute}"), before.as_ref().map(plain), after.as_ref().map(plain))
        }
        What::LinkAdded { link, .. } => return beside(Vec::new(), link_facts(link)),
        What::LinkRemoved { link, .. } => return beside(link_facts(link), Vec::new()),
        What::LinkField { wire, field, before, after, .. } => link_field(wire, *field, before, after),
        What::LinkOrder { order } => {
            let mut sorted = order.clone();
            sorted.sort_unstable();
            let told = |order: &[u32]| plain(&json!(order));
            row("order of links", Some(told(&sorted)), Some(told(order)))
        }
        What::EndpointAdded { .. } | What::EndpointRemoved { .. } => return Vec::new(),
    }]
}

fn presence(what: String, name: &str, at: Option<u32>) -> Row {
    let name = Some(name.to_owned());
    if at.is_some() { row(what, None, name) } else { row(what, name, None) }
}

/// A field's name as the border writes it, in words.
fn name(field: impl serde::Serialize) -> String {
    plain(&json!(field)).replace('-', " ")
}

fn link_field(wire: &Wire, field: LinkField, before: &Json, after: &Json) -> Row {
    let what = format!("{} {}", wire_name(&wire.point, wire.direction, &wire.end), name(field));
    match field {
        LinkField::Conversion => row(what, Some(conversion(before)), Some(conversion(after))),
        LinkField::Point
        | LinkField::Bus
        | LinkField::Group
        | LinkField::Dpt
        | LinkField::Read
        | LinkField::Shown
        | LinkField::Joint
        | LinkField::Timing => row(what, value(before), value(after)),
    }
}

/// Which wire: `switching → OnOff.On` to the bus is written from the controller's end, `OnOff.On → switching`.
pub(in crate::review) fn wire_name(point: &str, direction: Direction, end: &str) -> String {
    match direction {
        Direction::ToBus => format!("{end} → {point}"),
        Direction::FromBus => format!("{point} → {end}"),
    }
}

/// A conversion, a step a line.
pub(in crate::review) fn conversion(chain: &Json) -> String {
    let steps: Vec<String> = chain.as_array().into_iter().flatten().map(step).collect();
    match steps.len() {
        0 => "passed on as it is".to_owned(),
        // A line end marks it as a conversion even if it is short.
        1 => steps.concat() + "\n",
        _ => steps.join("\n"),
    }
}

/// A step in words: its name, then its parameters.
fn step(step: &Json) -> String {
    let Some(fields) = step.as_object() else { return plain(step) };
    let name = fields.get("step").map(plain).unwrap_or_default();
    let parameters: Vec<String> = fields
        .iter()
        .filter(|(key, _)| *key != "step")
        .map(|(key, value)| format!("{key} {}", plain(value)))
        .collect();
    if parameters.is_empty() { name } else { format!("{name} {}", parameters.join(", ")) }
}

/// A value in full, numbers without needless decimals.
pub(in crate::review) fn plain(value: &Json) -> String {
    match value {
        Json::String(text) => text.clone(),
        Json::Number(number) => match number.as_f64() {
            Some(float) if number.is_f64() => float.to_string(),
            _ => number.to_string(),
        },
        Json::Array(entries) => format!("[{}]", entries.iter().map(plain).collect::<Vec<_>>().join(", ")),
        Json::Object(fields) => {
            let told: Vec<String> =
                fields.iter().map(|(key, value)| format!("{key}: {}", plain(value))).collect();
            format!("{{{}}}", told.join(", "))
        }
        Json::Null | Json::Bool(_) => value.to_string(),
    }
}

/// Everything about an endpoint that a person compares.
fn facts(endpoint: &Endpoint) -> Vec<(String, String)> {
    let mut facts = vec![
        ("endpoint".to_owned(), endpoint.number.to_string()),
        ("key".to_owned(), endpoint.key.clone()),
        ("unique id".to_owned(), endpoint.unique_id.clone()),
        ("name".to_owned(), endpoint.node_label.clone()),
        ("room".to_owned(), endpoint.room.clone()),
    ];
    facts.extend(endpoint.floor.iter().map(|floor| ("floor".to_owned(), floor.clone())));
    for one in &endpoint.device_types {
        facts.push((format!("device type {}", one.name), format!("revision {}", one.revision)));
    }
    for cluster in &endpoint.clusters {
        let features =
            if cluster.features.is_empty() { "no features".to_owned() } else { cluster.features.join(", ") };
        facts.push((format!("cluster {}", cluster.name), features));
    }
    for link in &endpoint.links {
        facts.extend(link_facts(link));
    }
    facts
}

fn link_facts(link: &Link) -> Vec<(String, String)> {
    let wire = Wire::of(link);
    let what = wire_name(&wire.point, wire.direction, &wire.end);
    let address = format!("{} as {} on {}", wire.group, wire.dpt, wire.bus);
    let conversion = conversion(&json!(link.conversion));
    vec![(what.clone(), address), (format!("{what} conversion"), conversion)]
}

/// Two lists of facts side by side: those that differ, in the order in which they stand.
fn beside(before: Vec<(String, String)>, after: Vec<(String, String)>) -> Vec<Row> {
    let mut waiting: FxHashMap<String, VecDeque<String>> = FxHashMap::default();
    let one_side = before.is_empty() || after.is_empty();
    for (what, value) in after.iter().cloned() {
        waiting.entry(what).or_default().push_back(value);
    }
    let mut rows = Vec::new();
    for (what, value) in before {
        let now = waiting.get_mut(&what).and_then(VecDeque::pop_front);
        if one_side || now.as_ref() != Some(&value) {
            rows.push(row(what, Some(value), now));
        }
    }
    for (what, _) in after {
        if let Some(value) = waiting.get_mut(&what).and_then(VecDeque::pop_front) {
            rows.push(row(what, None, Some(value)));
        }
    }
    rows
}
