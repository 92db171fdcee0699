//! A single difference as a phrase that stands after the name of what it happens to.

use super::attributes;
use super::points::phrase;
use super::values::value;
use super::{device_types, list};
use crate::bridge::definition::{DeviceTypeRef, Link, Shown};
use crate::classes::Direction;
use crate::ledger::TOP_PART;
use crate::review::address::{Address, address};
use crate::review::difference::{
    BridgeField, ClusterField, Difference, EndpointField, LinkField, What, Wire,
};
use rustc_hash::FxHashMap;
use serde_json::Value as Json;

/// Where each wire went whose bus or address changed.
pub(super) struct Wires<'d> {
    #[allow(clippy::type_complexity, reason = "a key and its two sides; a name for it would say no more")]
    moved: FxHashMap<(&'d str, Option<u16>, u32), (Option<&'d str>, Option<&'d str>)>,
}

impl<'d> Wires<'d> {
    pub(super) fn of(differences: &[&'d Difference]) -> Self {
        let mut moved: FxHashMap<_, (Option<&str>, Option<&str>)> = FxHashMap::default();
        for difference in differences {
            if let What::LinkField { index, field, after, .. } = &difference.what {
                let place =
                    moved.entry((difference.bridge.as_str(), difference.endpoint, *index)).or_default();
                match field {
                    LinkField::Bus => place.0 = after.as_str(),
                    LinkField::Group => place.1 = after.as_str(),
                    _ => {}
                }
            }
        }
        Self { moved }
    }

    /// The address at which a wire is now.
    fn group<'o>(&self, difference: &Difference, index: u32, wire: &'o Wire) -> &'o str
    where
        'd: 'o,
    {
        let key = (difference.bridge.as_str(), difference.endpoint, index);
        self.moved.get(&key).and_then(|(_, group)| *group).unwrap_or(&wire.group)
    }

    /// "1/1/14 instead of 1/1/10", with the buses where they differ.
    fn instead(&self, difference: &Difference, index: u32, wire: &Wire) -> String {
        let key = (difference.bridge.as_str(), difference.endpoint, index);
        let (bus, group) = self.moved.get(&key).copied().unwrap_or_default();
        let group = group.unwrap_or(&wire.group);
        match bus {
            None => format!("{group} instead of {}", wire.group),
            Some(bus) => format!("{group} on the bus `{bus}` instead of {} on `{}`", wire.group, wire.bus),
        }
    }
}

pub(super) fn of_difference(difference: &Difference, wires: &Wires) -> Option<String> {
    Some(match &difference.what {
        What::BridgeAdded { .. }
        | What::BridgeRemoved { .. }
        | What::EndpointAdded { .. }
        | What::EndpointRemoved { .. } => return whole(difference),
        What::BridgeField { field, before, after } => bridge_field(*field, before, after),
        What::EndpointField { field, before, after } => endpoint_field(*field, before, after),
        What::DeviceType { before, after, .. } => return device_type(before.as_ref(), after.as_ref()),
        What::Cluster { before, after, .. } => match (before, after) {
            (None, Some(after)) => format!("now has {}", after.name),
            (Some(before), _) => format!("no longer has {}", before.name),
            (None, None) => return None,
        },
        What::ClusterField { name, field: ClusterField::Revision, before, after, .. } => {
            format!("has revision {after} of {name} instead of {before}")
        }
        What::ClusterField { field: ClusterField::Name, before, after, .. } => {
            format!("names a cluster {} instead of {}", text(after), text(before))
        }
        What::Feature { name, code, at, .. } => match at {
            Some(_) => format!("now has the feature {}", attributes::feature(name, code)),
            None => format!("no longer has the feature {}", attributes::feature(name, code)),
        },
        What::Command { name, command, at, .. } => match at {
            Some(_) => format!("now takes the command {name}.{command}"),
            None => format!("no longer takes the command {name}.{command}"),
        },
        What::Attribute { name, attribute, before, after, .. } => {
            attribute_phrase(name, attribute, before.as_ref(), after.as_ref())
        }
        What::LinkAdded { link, .. } => said("now also", &link_phrase(link)),
        What::LinkRemoved { link, .. } => said("no longer", &link_phrase(link)),
        What::LinkField { index, wire, field, before, after } => match field {
            LinkField::Bus | LinkField::Group => {
                let verb = phrase(&wire.point, wire.direction);
                said("now", &format!("{verb} {}", wires.instead(difference, *index, wire)))
            }
            _ => link_field(wire, (*field, wires.group(difference, *index, wire)), before, after),
        },
        What::LinkOrder { .. } => "sends the telegrams of a command in another order".to_owned(),
    })
}

/// A device type that came, went or is another revision or name.
fn device_type(before: Option<&DeviceTypeRef>, after: Option<&DeviceTypeRef>) -> Option<String> {
    Some(match (before, after) {
        (None, Some(after)) => format!("is now also {}", device_types::told(&after.name)),
        (Some(before), None) => format!("is no longer {}", device_types::told(&before.name)),
        (Some(before), Some(after)) if before.revision != after.revision => {
            format!("follows revision {} of {} instead of {}", after.revision, after.name, before.revision)
        }
        (Some(before), Some(after)) => {
            format!("names its device type {} instead of {}", after.name, before.name)
        }
        (None, None) => return None,
    })
}

fn attribute_phrase(cluster: &str, name: &str, before: Option<&Json>, after: Option<&Json>) -> String {
    let told = |one| value(cluster, name, one);
    let Some(words) = attributes::words(cluster, name) else {
        return match (before, after) {
            (None, Some(Json::Null)) => format!("now has {cluster}.{name}"),
            (None, Some(after)) => format!("now has {cluster}.{name}, {}", told(after)),
            (Some(before), Some(after)) => {
                format!("has {cluster}.{name} {} instead of {}", told(after), told(before))
            }
            (_, None) => format!("no longer has {cluster}.{name}"),
        };
    };
    match (before, after) {
        (None, Some(Json::Null)) => format!("now has {words}"),
        (None, Some(after)) => format!("now has {words}, {}", told(after)),
        (Some(before), Some(after)) => format!("has {} as {words} instead of {}", told(after), told(before)),
        (_, None) => format!("no longer has {words}"),
    }
}

/// A part that came or went; whole appliances are told otherwise.
fn whole(difference: &Difference) -> Option<String> {
    let (word, endpoint) = match &difference.what {
        What::EndpointAdded { endpoint } => ("has the further", endpoint),
        What::EndpointRemoved { endpoint } => ("no longer has the", endpoint),
        _ => return None,
    };
    let (_, part) = endpoint.key.split_once('/')?;
    Some(format!("{word} endpoint {} (`{part}`)", endpoint.number))
}

/// Puts an adverb where it belongs: before the verb, but after "is".
pub(super) fn said(adverb: &str, phrase: &str) -> String {
    match phrase.strip_prefix("is ") {
        Some(rest) => format!("is {adverb} {rest}"),
        None => format!("{adverb} {phrase}"),
    }
}

/// What a wire does: of several that a point has at one address, what this one does.
pub(super) fn link_phrase(link: &Link) -> String {
    let words = link.attribute.as_deref().and_then(|attribute| attributes::words(&link.cluster, attribute));
    let does = format!("{} {}", phrase(&link.point, link.direction), link.group);
    match (words, link.shown, &link.event) {
        (Some(words), Some(Shown::Estimated), _) if link.direction == Direction::FromBus => {
            format!("reckons {words} from {}", link.group)
        }
        (.., Some(event)) => format!("{does} as `{event}`"),
        (Some(words), ..) => match words.strip_prefix("the setpoint ") {
            Some(which) => format!("{does} {which}"),
            None => does,
        },
        _ => does,
    }
}

fn bridge_field(field: BridgeField, before: &Json, after: &Json) -> String {
    let (before, after) = (text(before), text(after));
    match field {
        BridgeField::HouseId => format!("has the id `{after}` instead of `{before}`"),
        BridgeField::HouseName | BridgeField::BridgeName => format!("is called {after} instead of {before}"),
        BridgeField::Specification => format!("follows Matter {after} instead of {before}"),
        BridgeField::DataModelRevision => {
            format!("follows revision {after} of Matter's data model instead of {before}")
        }
    }
}

fn endpoint_field(field: EndpointField, before: &Json, after: &Json) -> String {
    match field {
        EndpointField::Parent => format!("hangs below endpoint {after} instead of {before}"),
        EndpointField::Key => key(&text(before), &text(after)),
        EndpointField::UniqueId => "has another unique id".to_owned(),
        EndpointField::NodeLabel => format!("is called {} instead of {}", text(after), text(before)),
        EndpointField::Room => format!("is now in {} instead of {}", text(after), text(before)),
        EndpointField::Floor => match (before.as_str(), after.as_str()) {
            (Some(before), Some(after)) => format!("is now on the floor {after} instead of {before}"),
            (None, Some(after)) => format!("is now said to be on the floor {after}"),
            (Some(before), None) => format!("is no longer said to be on the floor {before}"),
            (None, None) => "is on the same floor".to_owned(),
        },
    }
}

/// The key of an appliance, and which part of it an endpoint is.
fn split(key: &str) -> (&str, &str) {
    key.split_once('/').unwrap_or((key, TOP_PART))
}

/// Another key of an endpoint: that of its appliance, or of the part that it is.
fn key(before: &str, after: &str) -> String {
    let ((old, was), (new, is)) = (split(before), split(after));
    match old == new {
        true if is == TOP_PART => format!("is now what was its part `{was}`, and keeps the place of that"),
        true => format!("has the part `{is}` in the place of what was its part `{was}`"),
        // A further part has the new key of its appliance, which is told once.
        false if is == was => format!("has the key `{new}` instead of `{old}`, and keeps its place"),
        false => format!("has the key `{after}` instead of `{before}`, and keeps its place"),
    }
}

/// A field of a link that is at the address `group` now.
fn link_field(wire: &Wire, (field, group): (LinkField, &str), before: &Json, after: &Json) -> String {
    let point = &wire.point;
    let way = match wire.direction {
        Direction::ToBus => "to",
        Direction::FromBus => "from",
    };
    match field {
        LinkField::Point => {
            format!("names the point of {group} `{}` instead of `{}`", text(after), text(before))
        }
        LinkField::Dpt => format!("now takes {group} as {} instead of {}", text(after), text(before)),
        LinkField::Conversion => {
            format!("converts `{point}` on its way {way} {group} in another way, which comes to the same")
        }
        LinkField::Read if after.as_bool() == Some(true) => format!("now asks {group} for its status"),
        LinkField::Read => format!("no longer asks {} for its status", wire.group),
        LinkField::Shown => {
            // What a command shows is the state behind it, whichever command it is.
            let of = match wire.direction {
                Direction::FromBus => format!(" for {}", wire.end),
                Direction::ToBus => String::new(),
            };
            match (shown(before), shown(after)) {
                (Some(before), Some(after)) => format!("now shows{of} {after} instead of {before}"),
                (None, Some(after)) => format!("now shows{of} {after}"),
                (Some(before), None) => format!("no longer shows{of} {before}"),
                (None, None) => format!("shows the same{of}"),
            }
        }
        LinkField::Joint => format!("puts together in another way what it hears of {}", wire.end),
        LinkField::Timing => times(point, before, after),
        LinkField::Bus | LinkField::Group => format!("now uses {} instead of {}", text(after), text(before)),
    }
}

pub(super) fn shown(value: &Json) -> Option<&'static str> {
    match value.as_str() {
        Some("reported") => Some("what the bus reports"),
        Some("requested") => Some("what was asked for"),
        Some("estimated") => Some("what running times say"),
        _ => None,
    }
}

/// Times that differ.
fn times(point: &str, before: &Json, after: &Json) -> String {
    let both = |name: &str| {
        let (before, after) = (before.get(name)?, after.get(name)?);
        if before == after { None } else { before.as_f64().zip(after.as_f64()) }
    };
    let seconds = |time: f64| (time / 10.0).round() / 100.0;
    match (both("afterTravel"), both("fullTravel")) {
        (Some((before, after)), _) => format!(
            "now runs {} s instead of {} s when it is open and asked for 50 %",
            seconds(after / 2.0),
            seconds(before / 2.0)
        ),
        (None, Some((before, after))) => format!(
            "is now reckoned to need {} s instead of {} s for its whole way",
            seconds(after),
            seconds(before)
        ),
        (None, None) => other_times(point, before, after),
    }
}

/// Times that nobody has words for, by name.
fn other_times(point: &str, before: &Json, after: &Json) -> String {
    let names = |value: &Json| -> Vec<String> {
        value.as_object().map(|times| times.keys().cloned().collect()).unwrap_or_default()
    };
    let mut all = names(after);
    all.extend(names(before).into_iter().filter(|name| after.get(name).is_none()));
    let time =
        |value: Option<&Json>| value.map_or_else(|| "none".to_owned(), |value| format!("{} ms", text(value)));
    let changed: Vec<String> = all
        .iter()
        .filter(|name| before.get(name) != after.get(name))
        .map(|name| format!("{name} {} instead of {}", time(after.get(name)), time(before.get(name))))
        .collect();
    format!(
        "has other times for `{point}`: {}",
        list(&changed.iter().map(String::as_str).collect::<Vec<_>>())
    )
}

/// A value as a sentence shows it: text without quotes, anything else as JSON, cut where it is long.
pub(super) fn text(value: &Json) -> String {
    const LONGEST: usize = 60;
    let text = match value {
        Json::String(text) => text.clone(),
        _ => value.to_string(),
    };
    if text.chars().count() <= LONGEST {
        text
    } else {
        text.chars().take(LONGEST - 1).chain(['…']).collect()
    }
}

/// Old and new address of every wire that moved.
fn moved(differences: &[Difference]) -> impl Iterator<Item = (&str, &str)> {
    differences.iter().filter_map(|difference| match &difference.what {
        What::LinkField { field: LinkField::Group, before, after, .. } => {
            Some((before.as_str()?, after.as_str()?))
        }
        _ => None,
    })
}

/// How a block moved: "1/1/… is now 1/3/…", or by how far.
pub(super) fn block(differences: &[Difference]) -> String {
    const MOST: usize = 4;
    let mut lines: Vec<(String, String)> = Vec::new();
    let mut far: Vec<i32> = Vec::new();
    for (before, after) in moved(differences) {
        if let (Address::Raw(old), Address::Raw(new)) = (address(before), address(after)) {
            let distance = i32::from(new) - i32::from(old);
            if !far.contains(&distance) && far.len() <= MOST {
                far.push(distance);
            }
        }
        let line = match (before.rsplit_once('/'), after.rsplit_once('/')) {
            (Some((old, a)), Some((new, b))) if a == b => (old.to_owned(), new.to_owned()),
            _ => (String::new(), String::new()),
        };
        if !lines.contains(&line) && lines.len() <= MOST {
            lines.push(line);
        }
    }
    if lines.is_empty() {
        return buses(differences);
    }
    if lines.len() <= MOST && !lines.iter().any(|(old, _)| old.is_empty()) {
        lines.sort();
        let told: Vec<String> = lines.iter().map(|(old, new)| format!("{old}/… is now {new}/…")).collect();
        return list(&told.iter().map(String::as_str).collect::<Vec<_>>());
    }
    match far.as_slice() {
        [one] if *one > 0 => format!("their addresses are {one} higher"),
        [one] => format!("their addresses are {} lower", -one),
        _ => "their addresses keep their distances".to_owned(),
    }
}

/// From which bus to which a block moved whose addresses stayed.
fn buses(differences: &[Difference]) -> String {
    let found = differences.iter().find_map(|difference| match &difference.what {
        What::LinkField { field: LinkField::Bus, before, after, .. } => {
            Some(format!("the bus `{}` is now `{}`", text(before), text(after)))
        }
        _ => None,
    });
    found.unwrap_or_else(|| "their addresses".to_owned())
}

/// An example of the two notations.
pub(super) fn notation(differences: &[Difference]) -> String {
    let first = moved(differences).next();
    first.map_or_else(String::new, |(before, after)| format!("{after} instead of {before}"))
}
