//! Which commands a new wire is for: its address may be new to some commands of the appliance only.

use super::list;
use super::phrases::{link_phrase, said};
use super::points::phrase;
use crate::bridge::definition::Link;
use crate::classes::Direction;
use crate::review::change::Kind;
use crate::review::difference::{Difference, LinkField, What, link_end};
use rustc_hash::FxHashMap;

/// By bridge, endpoint, direction, point, bus and address.
type Wire<'d> = (&'d str, Option<u16>, Direction, &'d str, &'d str, &'d str);

/// By bridge, endpoint, direction, cluster and attribute, command or event.
type End<'d> = (&'d str, Option<u16>, Direction, &'d str, &'d str);

/// The new wires, with the commands or attributes that they are for.
pub(super) struct Asked<'d> {
    ends: FxHashMap<Wire<'d>, Vec<&'d Difference>>,
    /// What went through another wire before, with the addresses of those.
    gone: FxHashMap<End<'d>, Vec<&'d str>>,
    kind: Kind,
}

impl<'d> Asked<'d> {
    /// Those of a change of that kind.
    pub(super) fn of(differences: &[&'d Difference], kind: Kind) -> Self {
        let mut ends: FxHashMap<Wire, Vec<&Difference>> = FxHashMap::default();
        let mut gone: FxHashMap<End, Vec<&str>> = FxHashMap::default();
        for difference in differences {
            match &difference.what {
                What::LinkAdded { link, .. } => {
                    ends.entry(wire(difference, link)).or_default().push(difference);
                }
                What::LinkRemoved { link, .. } if kind == Kind::WiresAdded => {
                    let groups = gone.entry(end(difference, link)).or_default();
                    if !groups.contains(&link.group.as_str()) {
                        groups.push(&link.group);
                    }
                }
                _ => {}
            }
        }
        Self { ends, gone, kind }
    }

    /// Whether the difference is told with the wire that came in its place.
    pub(super) fn tells(&self, difference: &Difference) -> bool {
        self.kind == Kind::WiresAdded && matches!(difference.what, What::LinkRemoved { .. })
    }

    /// "is now also set to a position through 2/2/40 for `UpOrOpen` and `DownOrClose`"; `None` for anything else than a
    /// new wire to the bus, one in another's place, or one that does less.
    pub(super) fn phrase(&self, difference: &Difference) -> Option<String> {
        if let What::LinkField { wire, field: LinkField::Conversion, .. } = &difference.what {
            if self.kind != Kind::FunctionReduced {
                return None;
            }
            let end = wire.end.split_once('.').map_or(wire.end.as_str(), |(_, end)| end);
            let does = format!("{} {}", phrase(&wire.point, wire.direction), wire.group);
            return Some(format!("{} for `{end}`, whatever value is asked for", said("only", &does)));
        }
        let What::LinkAdded { link, .. } = &difference.what else { return None };
        let instead_of = self.gone.get(&end(difference, link));
        let alike = |other: &&&Difference| match &other.what {
            What::LinkAdded { link, .. } => self.gone.get(&end(other, link)) == instead_of,
            _ => false,
        };
        let mut ends: Vec<String> = Vec::new();
        for other in self.ends.get(&wire(difference, link))?.iter().filter(alike) {
            if let What::LinkAdded { link, .. } = &other.what {
                let name = format!("`{}`", link_end(link));
                if !ends.contains(&name) {
                    ends.push(name);
                }
            }
        }
        let ends = list(&ends.iter().map(String::as_str).collect::<Vec<_>>());
        if let Some(groups) = instead_of {
            return Some(exchanged(link, &ends, &list(groups)));
        }
        if link.direction == Direction::FromBus {
            return None;
        }
        Some(match self.kind {
            Kind::FunctionReduced => {
                format!("{} for {ends}, whatever value is asked for", said("only", &link_phrase(link)))
            }
            Kind::WiresAdded => format!("{} for {ends}", said("now also", &link_phrase(link))),
            _ => return None,
        })
    }
}

/// What goes through another wire than it did.
fn exchanged(link: &Link, ends: &str, before: &str) -> String {
    let (way, group) = match link.direction {
        Direction::ToBus => ("takes", format!("through {}", link.group)),
        Direction::FromBus => ("learns", format!("from {}", link.group)),
    };
    if before == link.group {
        return format!("{way} {ends} {group} in another way, as `{}`", link.point);
    }
    format!("now {way} {ends} {group} instead of {before}")
}

fn wire<'d>(difference: &'d Difference, link: &'d Link) -> Wire<'d> {
    (&difference.bridge, difference.endpoint, link.direction, &link.point, &link.bus, &link.group)
}

fn end<'d>(difference: &'d Difference, link: &'d Link) -> End<'d> {
    (&difference.bridge, difference.endpoint, link.direction, &link.cluster, link_end(link))
}
