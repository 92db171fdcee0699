//! Appliances and bridges that are known by another key: whose place is whose now.

use super::Telling;
use crate::review::change::{Change, Member, Side};
use crate::review::difference::{EndpointField, What};
use rustc_hash::{FxHashMap, FxHashSet};

/// A bridge that only has another key.
pub(super) fn rekeyed(name: &str, change: &Change) -> Telling {
    let key = |side: fn(&What) -> bool| {
        let found = change.differences.iter().find(|one| side(&one.what));
        found.map_or("", |one| one.bridge.as_str())
    };
    let old = key(|what| matches!(what, What::EndpointRemoved { .. }));
    let new = key(|what| matches!(what, What::EndpointAdded { .. }));
    let keys = change.differences.iter().filter_map(|one| match &one.what {
        What::EndpointAdded { endpoint } => Some(endpoint.key.as_str()),
        _ => None,
    });
    let appliances = keys.filter(|key| !key.contains('/')).count();
    let plural = if appliances == 1 { "" } else { "s" };
    Telling {
        headline: format!(
            "{name} has the key `{new}` instead of `{old}`, so controllers take it for another bridge"
        ),
        details: vec![
            format!(
                "It is commissioned anew, and {appliances} appliance{plural} behind it come with it as new ones"
            ),
            format!(
                "Call it `{old}` again, and nothing is lost: a bridge is shown by its name, never by its key"
            ),
        ],
    }
}

/// Appliances that have each other's keys: which of them is now where. The last of a row is one that had the key of none.
pub(super) fn exchanged(all: &str, members: &[Member], change: &Change) -> Telling {
    let new = members.iter().map(|one| (one.label.as_str(), one.room.as_str(), one.floor.as_deref()));
    let new: Vec<Called> = new.collect();
    let old = called_before(members, &new, change);
    let before: FxHashSet<&Called> = old.iter().collect();
    let is_ring =
        members.iter().all(|one| one.side == Side::Both) && new.iter().all(|one| before.contains(one));
    let (headline, back) = match (is_ring, members.len()) {
        (true, 2) => ("exchanged their keys, so each takes the other's place", "Exchange the two keys again"),
        (true, _) => {
            ("exchanged their keys in a ring, so each takes another's place", "Give each the key that it had")
        }
        (false, _) => ("have keys that others had, and so their places", "Give each the key that it had"),
    };
    let place = |((member, old), new): ((&Member, &Called), &Called)| {
        let name = |(label, room, floor): &Called| match floor {
            _ if old.0 != new.0 => (*label).to_owned(),
            Some(floor) if old.1 == new.1 => format!("{label} in {room} on the floor {floor}"),
            _ => format!("{label} in {room}"),
        };
        let (old, new) = (name(old), name(new));
        if member.side == Side::Old {
            return format!("Those that had {} (`{}`) have nothing any more", member.label, member.key);
        }
        format!("Rooms, scenes and automations that had {old} now have {new} (`{}`)", member.key)
    };
    let mut details: Vec<String> = members.iter().zip(&old).zip(&new).map(place).collect();
    details.push(format!("{back}, and nothing is lost: nobody sees a key, and identity goes with it"));
    Telling { headline: format!("{all} {headline}"), details }
}

/// Name, room and floor.
type Called<'a> = (&'a str, &'a str, Option<&'a str>);

/// What appliances were called before a change, of what they are called after it.
fn called_before<'a>(members: &'a [Member], new: &[Called<'a>], change: &'a Change) -> Vec<Called<'a>> {
    let mut old = new.to_vec();
    let place = |(at, one): (usize, &'a Member)| ((one.bridge.as_str(), one.endpoints.first().copied()), at);
    let places: FxHashMap<(&str, Option<u16>), usize> = members.iter().enumerate().map(place).collect();
    for difference in &change.differences {
        let What::EndpointField { field, before, .. } = &difference.what else { continue };
        let at = places.get(&(difference.bridge.as_str(), difference.endpoint));
        let Some(called) = at.and_then(|at| old.get_mut(*at)) else { continue };
        match field {
            EndpointField::NodeLabel => called.0 = before.as_str().unwrap_or_default(),
            EndpointField::Room => called.1 = before.as_str().unwrap_or_default(),
            EndpointField::Floor => called.2 = before.as_str(),
            EndpointField::Parent | EndpointField::Key | EndpointField::UniqueId => {}
        }
    }
    old
}

/// An appliance that has the key of one that is gone: whose place it has now, and how it keeps its own. Of the two members
/// the one under its own old key stands first.
pub(super) fn taken(change: &Change) -> Telling {
    let [own, now] = change.members() else {
        return Telling { headline: String::new(), details: Vec::new() };
    };
    let before = |wanted: EndpointField| {
        change.differences.iter().find_map(|difference| match &difference.what {
            What::EndpointField { field, before, .. } if *field == wanted => before.as_str(),
            _ => None,
        })
    };
    let name = &now.label;
    let old = match (before(EndpointField::NodeLabel), before(EndpointField::Room)) {
        (Some(label), _) => label.to_owned(),
        (None, Some(room)) => format!("{name} in {room}"),
        (None, None) => match before(EndpointField::Floor) {
            Some(floor) => format!("{name} on the floor {floor}"),
            None => name.clone(),
        },
    };
    Telling {
        headline: format!("{name} has the key of {old}, which is gone, and so its place"),
        details: vec![
            format!("Rooms, scenes and automations that had {old} now have {name} (`{}`)", now.key),
            format!("Those that had {name} (`{}`) have nothing any more", own.key),
            format!(
                "Give {name} the key `{}` again, and it keeps its place: nobody sees a key, and identity goes with it",
                own.key
            ),
        ],
    }
}
