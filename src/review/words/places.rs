//! Appliances and bridges that are known by another key: whose place is whose now.

use super::Telling;
use crate::review::change::{Change, Member};
use crate::review::difference::{EndpointField, What};

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

/// Which appliance is now where, of two that exchanged their keys.
pub(super) fn places(members: &[Member]) -> Vec<String> {
    let [one, two] = members else { return Vec::new() };
    let name = |member: &Member| match &member.floor {
        _ if one.label != two.label => member.label.clone(),
        Some(floor) if one.room == two.room => {
            format!("{} in {} on the floor {floor}", member.label, member.room)
        }
        _ => format!("{} in {}", member.label, member.room),
    };
    let place = |now: &Member, was: &Member| {
        format!("Rooms, scenes and automations that had {} now have {} (`{}`)", name(was), name(now), now.key)
    };
    let back =
        "Exchange the two keys again, and nothing is lost: nobody sees a key, and identity goes with it";
    vec![place(one, two), place(two, one), back.to_owned()]
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
