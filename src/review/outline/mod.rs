//! An endpoint as a review looks at it: what tells one from another at hand, and the rest as text.
//!
//! A large house has hundreds of megabytes of endpoints, most of them alike inside, and a review tells of most that it
//! tells of by their names, device types and addresses. So device types and clusters are read once for all endpoints that
//! have the same, and links are read again only where a difference is looked for in them.

mod mould;
mod read;

pub(super) use mould::Mould;
pub(super) use read::{Alike, Outside, Twins};

use crate::bridge::definition::{Cluster, DeviceTypeRef, Direction, Endpoint, Link};
use serde::ser::Error as _;
use serde::{Deserialize, Serialize, Serializer};
use serde_json::value::{RawValue, to_raw_value};
use std::hash::{Hash, Hasher};
use std::sync::Arc;

/// An endpoint of a build, sound as a whole. In JSON it is the endpoint.
#[derive(Debug, Deserialize)]
#[serde(from = "Endpoint")]
pub struct Outline {
    /// Endpoint number.
    pub number: u16,
    /// The endpoint above.
    pub parent: u16,
    /// The appliance's key; for a further part of an appliance `key/part`.
    pub key: String,
    /// What controllers know it by.
    pub unique_id: String,
    /// What the family sees.
    pub node_label: String,
    /// The room's name.
    pub room: String,
    /// The floor's name.
    pub floor: Option<String>,
    /// The rest; none where it is the same on both sides of the review.
    inside: Option<Arc<Inside>>,
}

/// What an endpoint is and does.
#[derive(Debug)]
struct Inside {
    make: Arc<Make>,
    /// As they are written.
    links: Box<RawValue>,
    /// What they are without their addresses, where that is known.
    mould: Option<Arc<Mould>>,
    uses: Box<[AddressUse]>,
}

/// What two endpoints have in common that differ in their group addresses only.
#[derive(Clone, PartialEq, Eq, Hash)]
pub(super) struct Cast {
    make: Arc<Make>,
    mould: Arc<Mould>,
}

/// What endpoints that are alike have in common.
#[derive(Debug)]
struct Make {
    device_types: Vec<DeviceTypeRef>,
    clusters: Vec<Cluster>,
    device_types_text: Box<RawValue>,
    clusters_text: Box<RawValue>,
}

/// What an endpoint has to do with a group address.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct AddressUse {
    pub(super) point: Box<str>,
    pub(super) direction: Direction,
    pub(super) bus: Box<str>,
    pub(super) group: Box<str>,
    pub(super) read: bool,
}

impl Outline {
    /// The endpoint, read whole. Without its inside where that is the same on both sides of the review.
    pub fn endpoint(&self) -> Endpoint {
        Endpoint {
            number: self.number,
            parent: self.parent,
            key: self.key.clone(),
            unique_id: self.unique_id.clone(),
            node_label: self.node_label.clone(),
            room: self.room.clone(),
            floor: self.floor.clone(),
            device_types: self.device_types().to_vec(),
            clusters: self.clusters().to_vec(),
            links: self.links(),
        }
    }

    /// Device types.
    pub(super) fn device_types(&self) -> &[DeviceTypeRef] {
        self.inside.as_ref().map_or(&[], |inside| &inside.make.device_types)
    }

    /// Server clusters.
    pub(super) fn clusters(&self) -> &[Cluster] {
        self.inside.as_ref().map_or(&[], |inside| &inside.make.clusters)
    }

    /// Links, read anew.
    pub(super) fn links(&self) -> Vec<Link> {
        let links = self.inside.as_ref().map(|inside| inside.links.get());
        links.map_or_else(Vec::new, |text| {
            serde_json::from_str(text).expect("links are kept once they were found sound")
        })
    }

    /// What the links have to do with which address, in their order; links in a row that have the same are one.
    pub(super) fn uses(&self) -> &[AddressUse] {
        self.inside.as_ref().map_or(&[], |inside| &inside.uses)
    }

    /// Whether device types, clusters and links are written alike; if not, they may still be the same.
    pub(super) fn is_alike(&self, other: &Self) -> bool {
        match (&self.inside, &other.inside) {
            (Some(one), Some(two)) => Arc::ptr_eq(one, two) || one.texts() == two.texts(),
            (None, None) => true,
            (Some(_), None) | (None, Some(_)) => false,
        }
    }
}

impl Outline {
    /// What this endpoint and another have in common, and the addresses of their links, where nothing else inside them
    /// differs.
    pub(super) fn cast_with<'a>(&'a self, other: &'a Self) -> Option<(Cast, [Vec<&'a str>; 2])> {
        let (one, two) = (self.inside.as_ref()?, other.inside.as_ref()?);
        let (mould, twin) = (one.mould.as_ref()?, two.mould.as_ref()?);
        if mould != twin || one.make != two.make {
            return None;
        }
        let mut rest = String::new();
        let groups = [mould::cut(one.links.get(), &mut rest)?, mould::cut(two.links.get(), &mut rest)?];
        Some((Cast { make: Arc::clone(&one.make), mould: Arc::clone(mould) }, groups))
    }
}

impl Inside {
    /// Device types, clusters and links as they are written.
    fn texts(&self) -> [&str; 3] {
        [self.make.device_types_text.get(), self.make.clusters_text.get(), self.links.get()]
    }
}

impl PartialEq for Make {
    /// Equal if it is written alike.
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self, other)
            || self.device_types_text.get() == other.device_types_text.get()
                && self.clusters_text.get() == other.clusters_text.get()
    }
}

impl Eq for Make {}

impl Hash for Make {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.device_types_text.get().hash(state);
    }
}

impl Make {
    fn new(device_types: Vec<DeviceTypeRef>, clusters: Vec<Cluster>) -> Self {
        let (device_types_text, clusters_text) = (text_of(&device_types), text_of(&clusters));
        Self { device_types, clusters, device_types_text, clusters_text }
    }
}

/// In one line, as a build writes it.
fn text_of(part: &impl Serialize) -> Box<RawValue> {
    to_raw_value(part).expect("a part of a definition is plain data")
}

impl From<&Endpoint> for Outline {
    fn from(endpoint: &Endpoint) -> Self {
        let mut uses = Vec::new();
        for link in &endpoint.links {
            add_use(&mut uses, &link.point, link.direction, (&link.bus, &link.group), link.read);
        }
        let make = Arc::new(Make::new(endpoint.device_types.clone(), endpoint.clusters.clone()));
        Self {
            number: endpoint.number,
            parent: endpoint.parent,
            key: endpoint.key.clone(),
            unique_id: endpoint.unique_id.clone(),
            node_label: endpoint.node_label.clone(),
            room: endpoint.room.clone(),
            floor: endpoint.floor.clone(),
            inside: Some(Arc::new(Inside {
                make,
                links: text_of(&endpoint.links),
                mould: None,
                uses: uses.into(),
            })),
        }
    }
}

impl From<Endpoint> for Outline {
    fn from(endpoint: Endpoint) -> Self {
        Self::from(&endpoint)
    }
}

/// Adds what a link does, unless the one before it does the same: the commands of a point go to one address.
fn add_use(
    uses: &mut Vec<AddressUse>,
    point: &str,
    direction: Direction,
    (bus, group): (&str, &str),
    read: bool,
) {
    let same = |last: &AddressUse| {
        *last.point == *point
            && last.direction == direction
            && *last.bus == *bus
            && *last.group == *group
            && last.read == read
    };
    if !uses.last().is_some_and(same) {
        uses.push(AddressUse { point: point.into(), direction, bus: bus.into(), group: group.into(), read });
    }
}

impl PartialEq for Outline {
    /// Equal if the endpoints are.
    fn eq(&self, other: &Self) -> bool {
        self.endpoint() == other.endpoint()
    }
}

/// An endpoint as it is written; the fields are those of [`Endpoint`].
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Written<'a> {
    number: u16,
    parent: u16,
    key: &'a str,
    unique_id: &'a str,
    node_label: &'a str,
    room: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    floor: Option<&'a str>,
    device_types: &'a RawValue,
    clusters: &'a RawValue,
    links: &'a RawValue,
}

impl Serialize for Outline {
    /// In one line, as in a bridge JSON, however the rest is laid out.
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let line = match self.inside.as_deref() {
            Some(Inside { make, links, .. }) => to_raw_value(&Written {
                number: self.number,
                parent: self.parent,
                key: &self.key,
                unique_id: &self.unique_id,
                node_label: &self.node_label,
                room: &self.room,
                floor: self.floor.as_deref(),
                device_types: &make.device_types_text,
                clusters: &make.clusters_text,
                links,
            }),
            None => to_raw_value(&self.endpoint()),
        };
        line.map_err(S::Error::custom)?.serialize(serializer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// The uses of an endpoint with links that have these fields, and the rest of the first one's.
    fn check(links: &[serde_json::Value], expected: &[(&str, &str, &str)]) {
        let mut fields = json!({"point": "switching", "cluster": "OnOff", "command": "On", "direction": "to-bus",
            "bus": "main", "group": "1/1/1", "dpt": "1.001", "conversion": []});
        let mut all = Vec::new();
        for link in links {
            for (name, value) in link.as_object().into_iter().flatten() {
                fields[name] = value.clone();
            }
            all.push(fields.clone());
        }
        let endpoint: Endpoint =
            serde_json::from_value(json!({"number": 2, "parent": 1, "key": "lamp", "uniqueId": "u",
            "nodeLabel": "Lamp", "room": "Hall", "deviceTypes": [], "clusters": [], "links": all}))
            .expect("it keeps to the format");
        let outline = Outline::from(endpoint);
        let uses = outline.uses().iter().map(|one| (&*one.point, &*one.bus, &*one.group));
        assert_eq!(uses.collect::<Vec<_>>(), expected);
    }

    #[test]
    fn links_in_a_row_are_one_use_if_they_have_the_same_to_do_with_the_same_address() {
        let first = ("switching", "main", "1/1/1");
        check(&[], &[]);
        check(&[json!({}), json!({"command": "Off"}), json!({"dpt": "1.002"})], &[first]);
        check(&[json!({}), json!({"point": "stop"})], &[first, ("stop", "main", "1/1/1")]);
        check(&[json!({}), json!({"bus": "shed"})], &[first, ("switching", "shed", "1/1/1")]);
        check(&[json!({}), json!({"group": "1/1/2"})], &[first, ("switching", "main", "1/1/2")]);
        check(&[json!({}), json!({"direction": "from-bus"})], &[first, first]);
        check(&[json!({"direction": "from-bus"}), json!({"read": true})], &[first, first]);
    }
}
