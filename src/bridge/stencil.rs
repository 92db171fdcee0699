//! An endpoint as text with gaps for what is an appliance's own.
//!
//! Appliances of a class that have the same points become the same endpoints but for names, numbers and addresses. What
//! they share is made into JSON once; the rest is filled in. A test holds the text to that of [`Endpoint`](super::definition::Endpoint).

use super::definition::{Cluster, DeviceTypeRef, Link};
use super::lower::lists_of_endpoints;
use crate::classes::{ENDPOINT_ABOVE, End, THIS_ENDPOINT};
use crate::knx::{GroupAddress, Notation};
use crate::resolve::plan::Point;
use serde::Serialize;
use std::io::{self, Write};

/// Where bus and group stand in the text of a link.
const GAP: &[u8] = br#""bus":"","group":"""#;

/// What all appliances share that have an endpoint of this form.
#[derive(Debug)]
pub(super) struct Stencil {
    /// From the device types up to the first link, parted where numbers of endpoints stand.
    middle: Vec<(Vec<u8>, Option<Whose>)>,
    links: Vec<LinkStencil>,
}

/// Whose number stands in a gap.
#[derive(Clone, Copy, Debug)]
enum Whose {
    This,
    Above,
}

#[derive(Debug)]
struct LinkStencil {
    point: u16,
    end: End,
    before: Vec<u8>,
    after: Vec<u8>,
}

/// What an endpoint begins with: the fields of [`Endpoint`](super::definition::Endpoint) that are an appliance's own, in their order.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Head<'a> {
    pub(super) number: u16,
    pub(super) parent: u16,
    pub(super) key: &'a str,
    pub(super) unique_id: &'a str,
    pub(super) node_label: &'a str,
    pub(super) room: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) floor: Option<&'a str>,
}

impl Stencil {
    /// Makes what is shared into text. Each link comes with the point and the end whose addresses it is for; its own
    /// bus and group are left out.
    pub(super) fn new(
        device_types: &[DeviceTypeRef],
        clusters: &[Cluster],
        links: Vec<(u16, End, Link)>,
    ) -> serde_json::Result<Self> {
        let (types, text) = (serde_json::to_string(device_types)?, serde_json::to_string(clusters)?);
        let middle = parted(&format!(",\"deviceTypes\":{types},\"clusters\":{text},\"links\":["), clusters);
        let links = links.into_iter().map(|(point, end, link)| LinkStencil::new(point, end, link));
        Ok(Self { middle, links: links.collect::<Result<_, _>>()? })
    }

    /// Writes the endpoint of one appliance.
    pub(super) fn write(
        &self,
        out: &mut Vec<u8>,
        head: &Head<'_>,
        points: &[Point],
        bus: &str,
        notation: Notation,
    ) -> io::Result<()> {
        serde_json::to_writer(&mut *out, head)?;
        // The head's closing brace makes way for what is shared.
        out.pop();
        for (text, whose) in &self.middle {
            out.extend_from_slice(text);
            match whose {
                Some(Whose::This) => write!(out, "{}", head.number)?,
                Some(Whose::Above) => write!(out, "{}", head.parent)?,
                None => {}
            }
        }
        let mut first = true;
        for link in &self.links {
            let Some(point) = points.iter().find(|point| point.spec == link.point) else { continue };
            for address in addresses(point, link.end) {
                if !std::mem::take(&mut first) {
                    out.push(b',');
                }
                out.extend_from_slice(&link.before);
                out.extend_from_slice(b"\"bus\":");
                serde_json::to_writer(&mut *out, bus)?;
                write!(out, ",\"group\":\"{}\"", address.display(notation))?;
                out.extend_from_slice(&link.after);
            }
        }
        out.extend_from_slice(b"]}");
        Ok(())
    }
}

/// A text parted where the lists of endpoints of its clusters have numbers to be put in.
fn parted(text: &str, clusters: &[Cluster]) -> Vec<(Vec<u8>, Option<Whose>)> {
    let mut gaps = Vec::new();
    for name in clusters.iter().flat_map(lists_of_endpoints) {
        // Between texts, since in them a quotation mark has a backslash.
        let list = format!("\"{name}\":[");
        for (at, _) in text.match_indices(&list) {
            let start = at + list.len();
            let entries = text.get(start..).and_then(|rest| rest.split(']').next()).unwrap_or("");
            let mut at = start;
            for entry in entries.split(',') {
                let whose = match entry.parse() {
                    Ok(THIS_ENDPOINT) => Some(Whose::This),
                    Ok(ENDPOINT_ABOVE) => Some(Whose::Above),
                    _ => None,
                };
                gaps.extend(whose.map(|whose| (at..at + entry.len(), whose)));
                at += entry.len() + 1;
            }
        }
    }
    gaps.sort_unstable_by_key(|(gap, _)| gap.start);
    gaps.dedup_by_key(|(gap, _)| gap.start);
    let mut from = 0;
    let mut parts = Vec::new();
    for (gap, whose) in gaps {
        parts.push((text.get(from..gap.start).unwrap_or("").as_bytes().to_vec(), Some(whose)));
        from = gap.end;
    }
    parts.push((text.get(from..).unwrap_or("").as_bytes().to_vec(), None));
    parts
}

impl LinkStencil {
    fn new(point: u16, end: End, link: Link) -> serde_json::Result<Self> {
        let text = serde_json::to_vec(&Link { bus: String::new(), group: String::new(), ..link })?;
        // The first one: before it stand texts alone, in which a quotation mark has a backslash.
        let gap = text.windows(GAP.len()).position(|window| window == GAP);
        let (before, after) = text.split_at(gap.unwrap_or(text.len()));
        let after = after.get(GAP.len()..).unwrap_or_default();
        Ok(Self { point, end, before: before.to_vec(), after: after.to_vec() })
    }
}

/// The addresses of an end of a point.
pub(super) fn addresses(point: &Point, end: End) -> impl Iterator<Item = GroupAddress> {
    let wires = match end {
        End::Command => point.command.as_slice(),
        End::Feedback => point.feedback.as_slice(),
        End::Listens => point.listens.as_slice(),
    };
    wires.iter().map(|wire| wire.address.value)
}

#[cfg(test)]
mod tests {
    use crate::bridge::{Lowered, lower};
    use crate::source::{Limits, load};
    use std::path::Path;

    fn check(lowered: &Lowered<'_>) {
        for bridge in 0..lowered.len() {
            assert!(lowered.endpoints(bridge) > 0);
            for index in 0..lowered.endpoints(bridge) {
                let mut text = Vec::new();
                lowered.write_endpoint(bridge, index, &mut text).unwrap();
                let whole = serde_json::to_string(&lowered.endpoint(bridge, index).unwrap()).unwrap();
                assert_eq!(String::from_utf8(text).unwrap(), whole);
            }
        }
    }

    #[test]
    fn the_text_is_that_of_the_endpoint() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let houses = [
            "examples/heron-wharf",
            "examples/heron-wharf-spring",
            "tests/cases/review/meter-taken-out/before",
        ];
        for house in houses {
            let limits = Limits::default();
            let inspection = crate::inspect(load(&root.join(house), &limits).unwrap(), &limits);
            check(&lower(inspection.judged.checked.as_ref().unwrap(), &inspection.ledger).unwrap());
        }
    }
}
