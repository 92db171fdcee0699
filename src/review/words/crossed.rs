//! Words for endpoints of one appliance that took each other's wires.

use super::{Telling, list};
use crate::bridge::definition::Link;
use crate::review::change::Change;
use crate::review::difference::What;
use std::collections::{BTreeMap, BTreeSet};

/// Tells of wires that went from one endpoint to another; none where the exchange is another one.
pub(super) fn told(name: &str, change: &Change) -> Option<Telling> {
    let mut endpoints: BTreeMap<u16, [BTreeSet<String>; 2]> = BTreeMap::new();
    let place = |link: &Link| format!("{} (`{}`)", link.group, link.point);
    for difference in &change.differences {
        let [gone, came] = endpoints.entry(difference.endpoint?).or_default();
        match &difference.what {
            What::LinkRemoved { link, .. } => gone.insert(place(link)),
            What::LinkAdded { link, .. } => came.insert(place(link)),
            _ => return None,
        };
    }
    let texts = |all: &BTreeSet<String>| list(&all.iter().map(String::as_str).collect::<Vec<_>>());
    let mut details: Vec<String> = endpoints
        .iter()
        .map(|(number, [gone, came])| {
            format!("Endpoint {number} goes by {} instead of {}", texts(came), texts(gone))
        })
        .collect();
    details.push(
        "What one of them showed or did, another does: it mends a mix-up or makes one, so try them on site"
            .to_owned(),
    );
    Some(Telling { headline: format!("{name} has endpoints that took each other's wires"), details })
}
